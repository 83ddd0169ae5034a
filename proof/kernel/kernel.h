// The table walk, for C. What the numbers mean is told in doc.go and layout.go.

#ifndef FS_KERNEL_H
#define FS_KERNEL_H

#include <stddef.h>
#include <stdint.h>

enum {
	FS_LANES = 8,    // of a node
	FS_NODE = 16,    // bytes of a node
	FS_CHANNELS = 8, // of a picture, at most
	FS_SHIFTS = 4,   // a patch has 1 << shift cells along an edge; shift 0 is the table itself
	FS_BLOCK = 64,   // pixels that are placed before they are mixed
	FS_BINS = 2048,  // of the histogram of differences
	FS_BIN_BITS = 4, // of a difference that fall into one bin
	FS_COPIES = 8,   // of each bin while it is counted: equal neighbours need not wait for each other
	FS_ROW = 16,     // pixels whose figures are compared at a time, at most
	FS_FLUSH = 4096, // blocks after which the counts are flushed: sums of the largest lanes just fit
	FS_EDGES = 4,    // of the reach bands
};

// A cell that has not been looked at yet has this bit, and no patch.
#define FS_WANTED 0x80000000u

typedef struct {
	int32_t channels;
	int32_t bits; // of the fraction of a place
	uint32_t stride[FS_CHANNELS][FS_SHIFTS]; // in nodes, below 1 << 15
	uint32_t dark, light, offset; // a number's place on its axis is on the lower of two lines
} fs_lattice;

// What is counted, by lanes: see Limits.
typedef struct {
	int16_t black, edges[FS_EDGES], from, to;
} fs_limits;

typedef struct {
	uint64_t sum; // of the differences
	uint64_t lower; // than those that are binned
	uint64_t darker;
	uint64_t over[FS_EDGES]; // pixels that are not darker and reach an edge
	uint32_t most;           // the largest difference
	uint32_t bins[FS_BINS];
} fs_tally;

// Where a number lies on its axis, and the nodes below that.
typedef struct {
	uint32_t x, at;
} fs_found;

typedef struct {
	fs_found place[FS_CHANNELS][256];
} fs_lookup;

// A reader takes one channel of four pixels out of their interleaved numbers. The four
// lie in at most two loads of 16 bytes, the second of which ends with them.
typedef struct {
	uint8_t low[FS_CHANNELS][16], high[FS_CHANNELS][16]; // which bytes of the loads make a channel
	size_t four, second; // bytes: of four pixels, before the second load
	int loads;           // 1 or 2; 0 when two are not enough
} fs_reader;

// What is read and written. A null pointer stands for what is not asked for.
typedef struct {
	const fs_lattice *lattice;
	const int16_t *nodes;
	const uint32_t *cells; // null where no cell has a patch
	const void *pixels;
	int32_t deep;  // the pixels have 16 bits a number, not 8
	int32_t pitch; // numbers from one pixel to the next
	size_t n;
	uint32_t *bytes;
	int16_t *delta, *reach, *light;
	fs_tally *tally;
	const fs_limits *limits;
	uint8_t *wanted; // one byte for each cell

	// Made by the walk itself.
	const fs_lookup *lookup; // for pixels of 8 bits
	const fs_reader *reader;
} fs_job;

// The ways to walk: 0 is plain C.
enum { FS_PLAIN, FS_SIMD128, FS_AVX2, FS_WAYS };

int fs_has(int way);

// fs_walk reads the table for all pixels and returns whether any lies in a cell that was
// wanted.
int fs_walk(int way, const fs_job *asked);

// What the ways share.

typedef struct {
	// The way from a cell's lowest corner to its highest one: the vertices' places in
	// nodes, in bytes, and between each two the step's weight, 15 bits, in the upper half.
	uint32_t at[FS_CHANNELS + 1][FS_BLOCK] __attribute__((aligned(64)));
	uint32_t step[FS_CHANNELS][FS_BLOCK] __attribute__((aligned(64)));
	int16_t delta[FS_BLOCK] __attribute__((aligned(64)));
	int16_t reach[FS_BLOCK] __attribute__((aligned(64)));
	int16_t light[FS_BLOCK] __attribute__((aligned(64)));
} fs_block;

// What is counted before it is flushed into a tally. What a comparison counts is counted
// downwards: it gives -1 where it holds.
typedef struct {
	uint16_t bins[FS_BINS + 1][FS_COPIES]; // one more for what is not binned
	struct { // by place in a row
		int32_t sum[FS_ROW / 2];
		int16_t most[FS_ROW], high[FS_ROW], lit[FS_ROW], over[FS_EDGES][FS_ROW];
	} rest __attribute__((aligned(32)));
	struct { // the limits, the same all along a row; those that are reached are less by one
		int16_t black[FS_ROW], edges[FS_EDGES][FS_ROW], from[FS_ROW], to[FS_ROW];
	} limits __attribute__((aligned(32)));
} fs_counts;

// fs_place finds the vertices of a block's pixels and returns whether any lies in a wanted
// cell, fs_mix reads them, fs_count counts their figures. Bytes, if any, have room for a
// whole block. Figures are 0 where rounding after each step ends below the least of a
// cell's nodes.
typedef int fs_place(const fs_job *job, const void *pixels, fs_block *b);
typedef void fs_mix(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out);
typedef void fs_count(const fs_block *b, fs_counts *c);

extern fs_place fs_place_plain, fs_place_simd128, fs_place_avx2;
extern fs_mix fs_mix_plain, fs_mix_simd128, fs_mix_avx2;
extern fs_count fs_count_plain, fs_count_avx2;

void fs_look_up(const fs_lattice *l, fs_lookup *t);

// fs_want marks the wanted ones among the cells of a block's pixels, which begin at the
// nodes at.
void fs_want(const fs_job *job, const uint32_t *at);

// fs_begin makes counts ready, of the bins those alone that are asked for. fs_flush adds what
// was counted of so many blocks to the tally and clears it.
void fs_begin(const fs_job *job, fs_counts *c);
void fs_flush(const fs_job *job, fs_counts *c, size_t blocks);

// fs_count_some counts the first n pixels of a block at once.
void fs_count_some(const fs_job *job, const fs_block *b, size_t n);

// Bytes of a node's first four lanes: a number v stands as (128 + 255 v) * 64.
enum { FS_BYTE_BIAS = 128 * 64 - 32, FS_BYTE_BITS = 6 };

#endif
