// Counting without knowing the machine, and what all ways to count share.

#include "kernel.h"

#include <string.h>

#define INLINE static inline __attribute__((always_inline))

enum { ROW = 8 };
typedef int16_t row __attribute__((vector_size(2 * ROW)));

INLINE int any(row v) {
	uint64_t half[2];
	memcpy(half, &v, sizeof half);
	return (half[0] | half[1]) != 0;
}

typedef int32_t pairs __attribute__((vector_size(2 * ROW)));

INLINE pairs paired(row v) {
	const pairs p = (pairs)v; // no number is negative
	return (p & 0xffff) + (p >> 16);
}

#include "count.h"

void fs_count_plain(const fs_block *b, fs_counts *c) { count(b, c); }

// The first and the last bin that is asked for.
static int first_bin(const fs_job *job) { return job->limits->from >> FS_BIN_BITS; }

static int last_bin(const fs_job *job) { return (job->limits->to - 1) >> FS_BIN_BITS; }

static void clear(const fs_job *job, fs_counts *c) {
	const int first = first_bin(job), last = last_bin(job);
	memset(c->bins + first, 0, (size_t)(last + 1 - first) * sizeof *c->bins);
	memset(&c->rest, 0, sizeof c->rest);
}

void fs_begin(const fs_job *job, fs_counts *c) {
	const fs_limits *l = job->limits;
	for (int j = 0; j < FS_ROW; j++) {
		c->limits.black[j] = (int16_t)(l->black - 1), c->limits.from[j] = (int16_t)(l->from - 1), c->limits.to[j] = l->to;
		for (int e = 0; e < FS_EDGES; e++) c->limits.edges[e][j] = (int16_t)(l->edges[e] - 1);
	}
	clear(job, c);
}

void fs_flush(const fs_job *job, fs_counts *c, size_t blocks) {
	fs_tally *t = job->tally;
	for (int j = 0; j < FS_ROW / 2; j++) t->sum += (uint64_t)c->rest.sum[j];
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
	clear(job, c);
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
