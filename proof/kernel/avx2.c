// Eight pixels are placed at a time and two mixed in one register of 256 bits.

#include "kernel.h"

#if defined(__x86_64__)

#include <immintrin.h>

#define AVX2 __attribute__((target("avx2")))
#define INLINE static inline __attribute__((always_inline)) AVX2

INLINE __m256i two(const void *low, const void *high) {
	return _mm256_inserti128_si256(_mm256_castsi128_si256(_mm_loadu_si128((const __m128i *)low)), _mm_loadu_si128((const __m128i *)high), 1);
}

INLINE __m256i twice(const void *p) { return _mm256_broadcastsi128_si256(_mm_loadu_si128((const __m128i *)p)); }

INLINE __m256i all(uint32_t v) { return _mm256_set1_epi32((int)v); }

// eight has a number of each of eight pixels.
typedef __m256i eight;

INLINE eight load(const uint32_t *plane) { return _mm256_load_si256((const eight *)plane); }

INLINE void store(uint32_t *plane, eight v) { _mm256_store_si256((eight *)plane, v); }

// lattice is an fs_lattice, each number eight times.
typedef struct {
	eight dark, light, offset; // of the axes
	eight bits, below, rest;   // of a fraction, their mask, what they lack of a step's 31
	eight stride[FS_CHANNELS];
	eight low[FS_CHANNELS], high[FS_CHANNELS]; // see fs_reader
} lattice;

INLINE void widen(const fs_job *job, lattice *l, int n) {
	const fs_lattice *from = job->lattice;
	l->dark = all(from->dark), l->light = all(from->light), l->offset = all(from->offset);
	l->bits = all((uint32_t)from->bits), l->rest = all(31 - (uint32_t)from->bits);
	l->below = all(((uint32_t)1 << from->bits) - 1);
	for (int k = 0; k < n; k++) {
		l->stride[k] = all(from->stride[k][0]);
		l->low[k] = twice(job->reader->low[k]), l->high[k] = twice(job->reader->high[k]);
	}
}

// along places eight pixels on each axis and returns the node below. n is known to
// the compiler, and wide: whether four pixels need the second load.
INLINE eight along(const lattice *l, const char *p, size_t four, size_t second, eight *x, int n, int wide) {
	const eight low = two(p, p + four);
	const eight high = wide ? two(p + second, p + four + second) : low;
	eight at = _mm256_setzero_si256();
	for (int k = 0; k < n; k++) {
		eight v = _mm256_shuffle_epi8(low, l->low[k]);
		if (wide) v = _mm256_or_si256(v, _mm256_shuffle_epi8(high, l->high[k]));
		x[k] = _mm256_min_epu32(_mm256_mullo_epi32(v, l->dark), _mm256_add_epi32(_mm256_mullo_epi32(v, l->light), l->offset));
		at = _mm256_add_epi32(at, _mm256_madd_epi16(_mm256_srlv_epi32(x[k], l->bits), l->stride[k]));
	}
	return at;
}

// within goes on from cells to their patches.
INLINE eight within(const lattice *l, const fs_lattice *from, eight cell, eight *x, eight *stride, int n) {
	const eight shift = _mm256_and_si256(cell, all(FS_SHIFTS - 1));
	eight at = _mm256_srli_epi32(_mm256_slli_epi32(cell, 1), 3); // without FS_WANTED
	for (int k = 0; k < n; k++) {
		stride[k] = _mm256_castps_si256(_mm256_permutevar_ps(_mm256_castsi256_ps(twice(from->stride[k])), shift));
		x[k] = _mm256_sllv_epi32(_mm256_and_si256(x[k], l->below), shift);
		at = _mm256_add_epi32(at, _mm256_madd_epi16(_mm256_srlv_epi32(x[k], l->bits), stride[k]));
	}
	return at;
}

// path orders the steps and stores them, and the vertices between them.
INLINE void path(const lattice *l, fs_block *b, int i, eight at, const eight *x, const eight *stride, int n) {
	eight step[FS_CHANNELS];
	for (int k = 0; k < n; k++)
		step[k] = _mm256_or_si256(_mm256_and_si256(_mm256_sllv_epi32(x[k], l->rest), all(0x7fff0000)), stride[k]);
	for (int j = 0; j < n; j++)
		for (int k = n - 1; k > j; k--) {
			eight p = step[k - 1], q = step[k];
			step[k - 1] = _mm256_max_epi32(p, q);
			step[k] = _mm256_min_epi32(p, q);
		}
	store(b->at[0] + i, _mm256_slli_epi32(at, 4));
	for (int k = 0; k < n; k++) {
		at = _mm256_add_epi32(at, _mm256_and_si256(step[k], all(0xffff)));
		store(b->at[k + 1] + i, _mm256_slli_epi32(at, 4));
		store(b->step[k] + i, step[k]);
	}
}

// cells looks up where the patches of all pixels begin and returns how many are
// wanted. One load after the other is faster than this machine's gathering of eight.
INLINE size_t cells(const fs_job *job, const uint32_t *at, uint32_t *cell) {
	for (int i = 0; i < FS_BLOCK; i++) cell[i] = job->cells[at[i]];
	eight any = load(cell);
	for (int i = 8; i < FS_BLOCK; i += 8) any = _mm256_or_si256(any, load(cell + i));
	const int wanted = _mm256_movemask_ps(_mm256_castsi256_ps(any)); // the uppermost bits
	return wanted ? fs_want(job, at, cell) : 0;
}

INLINE size_t placen(const fs_job *job, const char *pixels, fs_block *b, int n, int wide, int patched) {
	const size_t four = job->reader->four, second = job->reader->second;
	lattice l;
	eight x[FS_CHANNELS], stride[FS_CHANNELS];
	widen(job, &l, n);
	if (!patched) {
		for (int i = 0; i < FS_BLOCK; i += 8, pixels += 2 * four) {
			eight at = along(&l, pixels, four, second, x, n, wide);
			path(&l, b, i, at, x, l.stride, n);
		}
		return 0;
	}
	// The block's own fields serve for what is between.
	uint32_t *node = b->at[0], *cell = b->at[1];
	for (int i = 0; i < FS_BLOCK; i += 8, pixels += 2 * four) {
		store(node + i, along(&l, pixels, four, second, x, n, wide));
		for (int k = 0; k < n; k++) store(b->step[k] + i, x[k]);
	}
	const size_t wanted = cells(job, node, cell);
	for (int i = 0; i < FS_BLOCK; i += 8) {
		for (int k = 0; k < n; k++) x[k] = load(b->step[k] + i);
		eight at = within(&l, job->lattice, load(cell + i), x, stride, n);
		path(&l, b, i, at, x, stride, n);
	}
	return wanted;
}

// fs_place_avx2 is compiled anew for the usual kinds of picture.
AVX2 size_t fs_place_avx2(const fs_job *job, const void *pixels, fs_block *b) {
	const int n = job->lattice->channels, wide = job->reader->loads == 2, patched = job->cells != NULL;
	if (!job->reader->loads) return fs_place_plain(job, pixels, b);
	if (n != 3) return placen(job, pixels, b, n, wide, patched);
	if (patched) return wide ? placen(job, pixels, b, 3, 1, 1) : placen(job, pixels, b, 3, 0, 1);
	return wide ? placen(job, pixels, b, 3, 1, 0) : placen(job, pixels, b, 3, 0, 0);
}

// pair loads a node for pixel j of a block's eight and one for pixel j + 4.
INLINE __m256i pair(const int16_t *nodes, const uint32_t *at) {
	return two((const char *)nodes + at[0], (const char *)nodes + at[4]);
}

// weights picks the upper half of word j for each lane of both pixels.
INLINE __m256i weights(int j) { return _mm256_set1_epi16((short)((4 * j + 3) << 8 | (4 * j + 2))); }

INLINE void mixn(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out, int n) {
	const __m256i bias = _mm256_set1_epi16(FS_BYTE_BIAS);
	for (int i = 0; i < FS_BLOCK; i += 8) {
		__m256i sum[4]; // of pixels 0 and 4, 1 and 5, ...
		for (int j = 0; j < 4; j++) {
			__m256i from = pair(job->nodes, b->at[0] + i + j);
			sum[j] = from;
			for (int k = 0; k < n; k++) {
				__m256i to = pair(job->nodes, b->at[k + 1] + i + j);
				__m256i w = _mm256_shuffle_epi8(_mm256_load_si256((const __m256i *)(b->step[k] + i)), weights(j));
				sum[j] = _mm256_add_epi16(sum[j], _mm256_mulhrs_epi16(_mm256_sub_epi16(to, from), w));
				from = to;
			}
		}
		if (bytes) {
			__m256i a = _mm256_sub_epi16(_mm256_unpacklo_epi64(sum[0], sum[1]), bias);
			__m256i c = _mm256_sub_epi16(_mm256_unpacklo_epi64(sum[2], sum[3]), bias);
			_mm256_storeu_si256((__m256i *)(bytes + i), _mm256_packus_epi16(_mm256_srai_epi16(a, FS_BYTE_BITS), _mm256_srai_epi16(c, FS_BYTE_BITS)));
		}
		if (out) {
			__m256i a = _mm256_unpackhi_epi64(sum[0], sum[1]), c = _mm256_unpackhi_epi64(sum[2], sum[3]);
			__m256i even = _mm256_unpacklo_epi16(a, c), odd = _mm256_unpackhi_epi16(a, c);
			// Four pixels' differences and reaches a half, then in order.
			__m256i far = _mm256_permute4x64_epi64(_mm256_unpacklo_epi16(even, odd), 0xd8);
			__m256i light = _mm256_permute4x64_epi64(_mm256_unpackhi_epi16(even, odd), 0xd8);
			_mm_store_si128((__m128i *)(out->delta + i), _mm256_castsi256_si128(far));
			_mm_store_si128((__m128i *)(out->reach + i), _mm256_extracti128_si256(far, 1));
			_mm_store_si128((__m128i *)(out->light + i), _mm256_castsi256_si128(light));
		}
	}
}

AVX2 void fs_mix_avx2(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) {
	switch (job->lattice->channels) {
	case 3:
		if (!out) mixn(job, b, bytes, NULL, 3);
		else if (!bytes) mixn(job, b, NULL, out, 3);
		else mixn(job, b, bytes, out, 3);
		return;
	case 4: mixn(job, b, bytes, out, 4); return;
	default: mixn(job, b, bytes, out, job->lattice->channels);
	}
}

#else

size_t fs_place_avx2(const fs_job *job, const void *pixels, fs_block *b) { return fs_place_plain(job, pixels, b); }
void fs_mix_avx2(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) { fs_mix_plain(job, b, bytes, out); }

#endif
