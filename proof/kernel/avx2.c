// Eight pixels are placed, two mixed and sixteen counted in one register of 256 bits.

// Loads stay where they are written. Moved to where they are used they are spread over
// fewer registers, and a proof takes a seventh longer.
#pragma GCC optimize("no-tree-ter")

#include "kernel.h"

#if defined(__x86_64__)

#include <immintrin.h>

#define AVX2 __attribute__((target("avx2")))
#define INLINE static inline __attribute__((always_inline)) AVX2

INLINE __m256i two(const void *low, const void *high) {
	return _mm256_inserti128_si256(_mm256_castsi128_si256(_mm_loadu_si128((const __m128i *)low)), _mm_loadu_si128((const __m128i *)high), 1);
}

INLINE __m256i twice(const void *p) { return _mm256_broadcastsi128_si256(_mm_loadu_si128((const __m128i *)p)); }

enum { MANY = 8 };
typedef uint32_t many __attribute__((vector_size(4 * MANY)));

INLINE many all(uint32_t v) { return v - (many){0}; }

INLINE many larger(many a, many b) { return (many)_mm256_max_epi32((__m256i)a, (__m256i)b); }

INLINE many less(many a, many b) { return (many)_mm256_min_epi32((__m256i)a, (__m256i)b); }

INLINE many times(many a, many b) { return (many)_mm256_madd_epi16((__m256i)a, (__m256i)b); }

INLINE many bytes_of(many step) { return times(step, all(FS_NODE)); }

INLINE many doubled(many v, many shift) { return v << shift; }

INLINE many pick(const uint32_t *of, many i) {
	return (many)_mm256_permutevar_ps(_mm256_castsi256_ps(twice(of)), (__m256i)i);
}

INLINE many words(const uint32_t *of, const uint32_t *at) {
	return (many){of[at[0]], of[at[1]], of[at[2]], of[at[3]], of[at[4]], of[at[5]], of[at[6]], of[at[7]]};
}

INLINE int uppermost(many v) { return _mm256_movemask_ps((__m256)v); }

// axes are a lattice's axes and a picture's numbers, for eight pixels.
typedef struct {
	const char *pixels;
	size_t four, second; // see fs_reader
	many dark, light, offset, bits, stride[FS_CHANNELS];
	__m256i low[FS_CHANNELS], high[FS_CHANNELS];
} axes;

INLINE axes axes_of(const fs_job *job, const void *pixels, int n) {
	const fs_lattice *l = job->lattice;
	const fs_reader *r = job->reader;
	axes a = {.pixels = pixels, .four = r->four, .second = r->second,
		.dark = all(l->dark), .light = all(l->light), .offset = all(l->offset), .bits = all((uint32_t)l->bits)};
	for (int k = 0; k < n; k++) {
		a.stride[k] = all(l->stride[k][0]);
		a.low[k] = twice(r->low[k]), a.high[k] = twice(r->high[k]);
	}
	return a;
}

// along takes the numbers out of one load for each four pixels, out of two where wide.
INLINE many along(const axes *a, int i, many *x, int n, int wide) {
	const char *p = a->pixels + (size_t)i / 4 * a->four, *q = p + a->four;
	const __m256i low = two(p, q), high = wide ? two(p + a->second, q + a->second) : low;
	many at = {0};
	for (int k = 0; k < n; k++) {
		many v = (many)_mm256_shuffle_epi8(low, a->low[k]);
		if (wide) v |= (many)_mm256_shuffle_epi8(high, a->high[k]);
		x[k] = (many)_mm256_min_epu32((__m256i)(v * a->dark), (__m256i)(v * a->light + a->offset));
		const many below = x[k] >> a->bits;
		at += k < n - 1 ? times(below, a->stride[k]) : below; // the last stride is 1
	}
	return at;
}

#include "place.h"

AVX2 int fs_place_avx2(const fs_job *job, const void *pixels, fs_block *b) {
	if (!job->reader->loads) return fs_place_plain(job, pixels, b);
	return usual(job, pixels, b, job->reader->loads == 2);
}

// pair loads a node for pixel j of a block's eight and one for pixel j + 4.
INLINE __m256i pair(const int16_t *nodes, const uint32_t *at) {
	return two((const char *)nodes + at[0], (const char *)nodes + at[4]);
}

// weights picks the upper half of word j for each lane of both pixels.
INLINE __m256i weights(int j) { return _mm256_set1_epi16((short)((4 * j + 3) << 8 | (4 * j + 2))); }

// tell writes the figures of eight pixels: a has those of 0, 1, 4 and 5, c of the others.
INLINE void tell(__m256i a, __m256i c, fs_block *out, int i) {
	const __m256i zero = _mm256_setzero_si256();
	a = _mm256_max_epi16(a, zero), c = _mm256_max_epi16(c, zero);
	__m256i even = _mm256_unpacklo_epi16(a, c), odd = _mm256_unpackhi_epi16(a, c);
	// Four pixels' differences and reaches a half, then in order.
	__m256i far = _mm256_permute4x64_epi64(_mm256_unpacklo_epi16(even, odd), 0xd8);
	__m256i light = _mm256_permute4x64_epi64(_mm256_unpackhi_epi16(even, odd), 0xd8);
	_mm_store_si128((__m128i *)(out->delta + i), _mm256_castsi256_si128(far));
	_mm_store_si128((__m128i *)(out->reach + i), _mm256_extracti128_si256(far, 1));
	_mm_store_si128((__m128i *)(out->light + i), _mm256_castsi256_si128(light));
}

// show writes the bytes of eight pixels.
INLINE void show(__m256i a, __m256i c, uint32_t *bytes) {
	const __m256i bias = _mm256_set1_epi16(FS_BYTE_BIAS);
	a = _mm256_srai_epi16(_mm256_sub_epi16(a, bias), FS_BYTE_BITS);
	c = _mm256_srai_epi16(_mm256_sub_epi16(c, bias), FS_BYTE_BITS);
	_mm256_storeu_si256((__m256i *)bytes, _mm256_packus_epi16(a, c));
}

// mixn mixes the nodes of n + 1 vertices for a block's pixels.
INLINE void mixn(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out, int n) {
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
		if (bytes) show(_mm256_unpacklo_epi64(sum[0], sum[1]), _mm256_unpacklo_epi64(sum[2], sum[3]), bytes + i);
		if (out) tell(_mm256_unpackhi_epi64(sum[0], sum[1]), _mm256_unpackhi_epi64(sum[2], sum[3]), out, i);
	}
}

// asked is compiled anew for whatever is asked for.
INLINE void asked(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out, int n) {
	if (bytes && out) mixn(job, b, bytes, out, n);
	else if (bytes) mixn(job, b, bytes, NULL, n);
	else mixn(job, b, NULL, out, n);
}

AVX2 void fs_mix_avx2(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) {
	const int n = job->lattice->channels;
	if (n == 3) asked(job, b, bytes, out, 3);
	else if (n == 4) asked(job, b, bytes, out, 4);
	else mixn(job, b, bytes, out, n);
}

enum { ROW = 16 };
typedef int16_t row __attribute__((vector_size(2 * ROW)));

INLINE int any(row v) { return _mm256_movemask_epi8((__m256i)v); }

typedef int32_t pairs __attribute__((vector_size(2 * ROW)));

INLINE pairs paired(row v) { return (pairs)_mm256_madd_epi16((__m256i)v, _mm256_set1_epi16(1)); }

#include "count.h"

AVX2 void fs_count_avx2(const fs_block *b, fs_counts *c) { count(b, c); }

#else

int fs_place_avx2(const fs_job *job, const void *pixels, fs_block *b) { return fs_place_plain(job, pixels, b); }
void fs_mix_avx2(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) { fs_mix_plain(job, b, bytes, out); }
void fs_count_avx2(const fs_block *b, fs_counts *c) { fs_count_plain(b, c); }

#endif
