// Figures are counted a row of pixels at a time, in narrow fields that are added to
// the tally before they can overflow.

#include "kernel.h"

#include <string.h>

#define INLINE static inline __attribute__((always_inline))

typedef fs_row row;

enum { bin = FS_COPIES * sizeof(uint16_t) };

_Static_assert(bin == 1 << FS_BIN_BITS, "a bin takes as many bytes as differences fall into it");

INLINE row all(int v) { return (int16_t)v - (row){0}; }

INLINE int any(row v) {
	uint64_t half[2];
	memcpy(half, &v, sizeof half);
	return (half[0] | half[1]) != 0;
}

// spread counts the differences that are in, in their bins: a difference without its lowest
// bits is the way to its bin. The others go into one that nobody reads.
INLINE void spread(row delta, row in, fs_counts *c) {
	const row to = (delta & -bin & in) | (all(bin * FS_BINS) & ~in);
	uint16_t way[FS_ROW];
	memcpy(way, &to, sizeof way);
	for (int i = 0; i < FS_ROW; i++) ((uint16_t *)((char *)c->bins + way[i]))[i % FS_COPIES]++;
}

INLINE void count(const fs_job *job, const fs_block *b, fs_counts *c) {
	const fs_limits *l = job->limits;
	row most = c->rest.most, lit = c->rest.lit, high = c->rest.high, over[FS_EDGES], edges[FS_EDGES];
	const row black = all(l->black - 1), from = all(l->from - 1), to = all(l->to);
	for (int e = 0; e < FS_EDGES; e++) edges[e] = all(l->edges[e] - 1);
	memcpy(over, c->rest.over, sizeof over);
	int32_t sum = 0;
	for (int i = 0; i < FS_BLOCK; i++) sum += b->delta[i];
	for (int i = 0; i < FS_BLOCK; i += FS_ROW) {
		const row delta = *(const row *)(b->delta + i), more = delta > most, above = delta > from, in = above & (delta < to);
		const row light = *(const row *)(b->light + i) > black;
		const row reach = *(const row *)(b->reach + i) | ~light; // -1, below all edges, where darker
		if (any(in)) spread(delta, in, c);
		most = (delta & more) | (most & ~more);
		high += above, lit += light;
		for (int e = 0; e < FS_EDGES; e++) over[e] += reach > edges[e];
	}
	c->rest.sum += (uint64_t)sum;
	c->rest.most = most, c->rest.high = high, c->rest.lit = lit;
	memcpy(c->rest.over, over, sizeof over);
}

void fs_count_plain(const fs_job *job, const fs_block *b, fs_counts *c) { count(job, b, c); }
#if defined(__x86_64__)
__attribute__((target("avx2")))
#endif
void fs_count_avx2(const fs_job *job, const fs_block *b, fs_counts *c) { count(job, b, c); }

// The first and the last bin that is asked for.
static int first_bin(const fs_job *job) { return job->limits->from >> FS_BIN_BITS; }

static int last_bin(const fs_job *job) { return (job->limits->to - 1) >> FS_BIN_BITS; }

void fs_clear(const fs_job *job, fs_counts *c) {
	const int first = first_bin(job), last = last_bin(job);
	memset(c->bins + first, 0, (size_t)(last + 1 - first) * sizeof *c->bins);
	memset(&c->rest, 0, sizeof c->rest);
}

void fs_flush(const fs_job *job, fs_counts *c, size_t blocks) {
	fs_tally *t = job->tally;
	t->sum += c->rest.sum;
	t->lower += blocks * FS_BLOCK;
	t->darker += blocks * FS_BLOCK;
	for (int j = 0; j < FS_ROW; j++) {
		t->lower += (uint64_t)c->rest.high[j];
		t->darker += (uint64_t)c->rest.lit[j];
		for (int e = 0; e < FS_EDGES; e++) t->over[e] -= (uint64_t)c->rest.over[e][j];
		if ((uint32_t)c->rest.most[j] > t->most) t->most = (uint32_t)c->rest.most[j];
	}
	const int most = (int)(t->most >> FS_BIN_BITS), last = last_bin(job);
	for (int i = first_bin(job); i <= last && i <= most; i++)
		for (int j = 0; j < FS_COPIES; j++) t->bins[i] += c->bins[i][j];
	fs_clear(job, c);
}

void fs_count_some(const fs_job *job, const fs_block *b, size_t n) {
	const fs_limits *l = job->limits;
	fs_tally *t = job->tally;
	for (size_t i = 0; i < n; i++) {
		const int16_t delta = b->delta[i];
		t->sum += (uint64_t)delta;
		if (delta < l->from) t->lower++;
		else if (delta < l->to) t->bins[delta >> FS_BIN_BITS]++;
		if ((uint32_t)delta > t->most) t->most = (uint32_t)delta;
		if (b->light[i] < l->black) t->darker++;
		else
			for (int e = 0; e < FS_EDGES; e++) t->over[e] += b->reach[i] >= l->edges[e];
	}
}
