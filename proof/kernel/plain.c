// One pixel and one number at a time, for every machine.

#include "kernel.h"

#include <string.h>

#define INLINE static inline __attribute__((always_inline))

// A plane has one number for each pixel of a block.
typedef uint32_t plane[FS_BLOCK] __attribute__((aligned(64)));

INLINE uint32_t lower(uint32_t a, uint32_t b) { return a < b ? a : b; }

// along finds the place of a number on its axis.
INLINE uint32_t along(const fs_lattice *l, uint32_t v) { return lower(v * l->dark, l->offset + v * l->light); }

void fs_look_up(const fs_lattice *l, fs_lookup *t) {
	for (int k = 0; k < l->channels; k++)
		for (uint32_t v = 0; v < 256; v++) {
			uint32_t x = along(l, v);
			t->place[k][v] = (fs_found){x, (x >> l->bits) * l->stride[k][0]};
		}
}

// Places on all axes, and the nodes below them.
INLINE void place8(const fs_job *job, const uint8_t *p, plane *x, uint32_t *at, int n) {
	for (int i = 0; i < FS_BLOCK; i++, p += job->pitch) {
		uint32_t sum = 0;
		for (int k = 0; k < n; k++) {
			fs_found f = job->lookup->place[k][p[k]];
			x[k][i] = f.x;
			sum += f.at;
		}
		at[i] = sum;
	}
}

INLINE void place16(const fs_job *job, const uint16_t *p, plane *x, uint32_t *at, int n) {
	const fs_lattice *l = job->lattice;
	for (int k = 0; k < n; k++)
		for (int i = 0; i < FS_BLOCK; i++) x[k][i] = p[i * job->pitch + k];
	for (int i = 0; i < FS_BLOCK; i++) at[i] = 0;
	for (int k = 0; k < n; k++)
		for (int i = 0; i < FS_BLOCK; i++) {
			x[k][i] = along(l, x[k][i]);
			at[i] += (x[k][i] >> l->bits) * l->stride[k][0];
		}
}

void fs_want(const fs_job *job, const uint32_t *at) {
	for (int i = 0; i < FS_BLOCK; i++)
		if (job->cells[at[i]] & FS_WANTED) job->wanted[at[i]] = 1;
}

// step is a fraction of 15 bits in the upper half, and the nodes to go in the lower.
INLINE uint32_t step(uint32_t x, uint32_t bits, uint32_t stride) { return (x << (31 - bits) & 0x7fff0000) | stride; }

// patches goes on from cells to their patches and returns how many pixels lie in
// wanted ones.
INLINE int patches(const fs_job *job, plane *x, uint32_t *at, plane *steps, int n) {
	const fs_lattice *l = job->lattice;
	const uint32_t bits = (uint32_t)l->bits, below = ((uint32_t)1 << bits) - 1;
	plane cell;
	uint32_t any = 0;
	for (int i = 0; i < FS_BLOCK; i++) any |= cell[i] = job->cells[at[i]];
	const int wanted = (any & FS_WANTED) != 0;
	if (wanted) fs_want(job, at);
	for (int i = 0; i < FS_BLOCK; i++) {
		uint32_t sum = (cell[i] & ~FS_WANTED) / FS_SHIFTS, shift = cell[i] % FS_SHIFTS;
		for (int k = 0; k < n; k++) {
			uint32_t y = (x[k][i] & below) << shift, stride = l->stride[k][shift];
			sum += (y >> bits) * stride;
			steps[k][i] = step(y, bits, stride);
		}
		at[i] = sum;
	}
	return wanted;
}

// order sorts each pixel's steps, the largest fraction first.
INLINE void order(plane *steps, int n) {
	for (int j = 0; j < n; j++)
		for (int k = n - 1; k > j; k--)
			for (int i = 0; i < FS_BLOCK; i++) {
				int32_t a = (int32_t)steps[k - 1][i], b = (int32_t)steps[k][i];
				steps[k - 1][i] = (uint32_t)(a > b ? a : b);
				steps[k][i] = (uint32_t)(a > b ? b : a);
			}
}

INLINE int place(const fs_job *job, const void *pixels, fs_block *b, int n, int deep, int patched) {
	const fs_lattice *l = job->lattice;
	plane x[FS_CHANNELS], at;
	int wanted = 0;
	if (deep) place16(job, pixels, x, at, n);
	else place8(job, pixels, x, at, n);
	if (patched) {
		wanted = patches(job, x, at, b->step, n);
	} else {
		for (int k = 0; k < n; k++)
			for (int i = 0; i < FS_BLOCK; i++) b->step[k][i] = step(x[k][i], (uint32_t)l->bits, l->stride[k][0]);
	}
	order(b->step, n);
	for (int i = 0; i < FS_BLOCK; i++) b->at[0][i] = at[i] * FS_NODE;
	for (int k = 0; k < n; k++)
		for (int i = 0; i < FS_BLOCK; i++) b->at[k + 1][i] = b->at[k][i] + (b->step[k][i] & 0xffff) * FS_NODE;
	return wanted;
}

int fs_place_plain(const fs_job *job, const void *pixels, fs_block *b) {
	return place(job, pixels, b, job->lattice->channels, job->deep, job->cells != NULL);
}

INLINE const int16_t *node(const fs_job *job, uint32_t at) {
	return (const int16_t *)((const char *)job->nodes + at);
}

// part returns d * w / 2^15 to the nearest.
INLINE int part(int d, int w) { return (d * w + (1 << 14)) >> 15; }

INLINE uint32_t byte(int lane) {
	int v = (lane - FS_BYTE_BIAS) >> FS_BYTE_BITS;
	return (uint32_t)(v < 0 ? 0 : v > 255 ? 255 : v);
}

INLINE int16_t from_zero(int16_t lane) { return lane > 0 ? lane : 0; }

void fs_mix_plain(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) {
	const int n = job->lattice->channels;
	for (int i = 0; i < FS_BLOCK; i++) {
		const int16_t *from = node(job, b->at[0][i]);
		int16_t sum[FS_LANES];
		memcpy(sum, from, sizeof sum);
		for (int k = 0; k < n; k++) {
			const int16_t *to = node(job, b->at[k + 1][i]);
			int w = (int)(b->step[k][i] >> 16);
			for (int j = 0; j < FS_LANES; j++) sum[j] = (int16_t)(sum[j] + part(to[j] - from[j], w));
			from = to;
		}
		if (bytes) bytes[i] = byte(sum[0]) | byte(sum[1]) << 8 | byte(sum[2]) << 16 | byte(sum[3]) << 24;
		if (!out) continue;
		out->delta[i] = from_zero(sum[4]);
		out->reach[i] = from_zero(sum[5]);
		out->light[i] = from_zero(sum[6]);
	}
}
