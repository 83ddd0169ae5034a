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

// place8 places pixels i to i + 7 of a block. n is known to the compiler, wide whether
// four pixels need the second load, and patched whether cells may have patches.
INLINE size_t place8(const fs_job *job, const char *pixels, fs_block *b, int i, int n, int wide, int patched) {
	const fs_lattice *l = job->lattice;
	const fs_reader *r = job->reader;
	const __m128i bits = _mm_cvtsi32_si128(l->bits), rest = _mm_cvtsi32_si128(31 - l->bits);
	const char *p = pixels + (size_t)i / 4 * r->four;
	const __m256i low = two(p, p + r->four);
	const __m256i high = wide ? two(p + r->second, p + r->four + r->second) : low;
	__m256i x[FS_CHANNELS], stride[FS_CHANNELS], at = _mm256_setzero_si256();
	for (int k = 0; k < n; k++) {
		__m256i v = _mm256_shuffle_epi8(low, twice(r->low[k]));
		if (wide) v = _mm256_or_si256(v, _mm256_shuffle_epi8(high, twice(r->high[k])));
		__m256i dark = _mm256_mullo_epi32(v, all(l->axis[k].dark));
		__m256i light = _mm256_add_epi32(all(l->axis[k].offset), _mm256_mullo_epi32(v, all(l->axis[k].light)));
		x[k] = _mm256_min_epu32(dark, light);
		stride[k] = all(l->stride[k][0]);
		at = _mm256_add_epi32(at, _mm256_madd_epi16(_mm256_srl_epi32(x[k], bits), stride[k]));
	}
	size_t wanted = 0;
	if (patched) {
		__m256i cell = _mm256_i32gather_epi32((const int *)job->cells, at, 4);
		unsigned missing = (unsigned)_mm256_movemask_ps(_mm256_castsi256_ps(_mm256_cmpeq_epi32(cell, all(FS_WANTED))));
		if (__builtin_expect(missing != 0, 0)) {
			uint32_t a[8], c[8];
			_mm256_storeu_si256((__m256i *)a, at);
			_mm256_storeu_si256((__m256i *)c, cell);
			for (int j = 0; j < 8; j++)
				if (missing >> j & 1) job->wanted[a[j]] = 1, c[j] = a[j] * FS_SHIFTS, wanted++;
			cell = _mm256_loadu_si256((const __m256i *)c);
		}
		const __m256i below = all(((uint32_t)1 << l->bits) - 1);
		const __m256i shift = _mm256_and_si256(cell, all(FS_SHIFTS - 1));
		at = _mm256_srli_epi32(cell, 2);
		for (int k = 0; k < n; k++) {
			__m256i of = twice(l->stride[k]);
			stride[k] = _mm256_castps_si256(_mm256_permutevar_ps(_mm256_castsi256_ps(of), shift));
			x[k] = _mm256_sllv_epi32(_mm256_and_si256(x[k], below), shift);
			at = _mm256_add_epi32(at, _mm256_madd_epi16(_mm256_srl_epi32(x[k], bits), stride[k]));
		}
	}
	__m256i step[FS_CHANNELS];
	for (int k = 0; k < n; k++)
		step[k] = _mm256_or_si256(_mm256_and_si256(_mm256_sll_epi32(x[k], rest), all(0x7fff0000)), stride[k]);
	for (int j = 0; j < n; j++)
		for (int k = n - 1; k > j; k--) {
			__m256i a = step[k - 1], c = step[k];
			step[k - 1] = _mm256_max_epi32(a, c);
			step[k] = _mm256_min_epi32(a, c);
		}
	_mm256_store_si256((__m256i *)(b->at[0] + i), _mm256_slli_epi32(at, 4));
	for (int k = 0; k < n; k++) {
		at = _mm256_add_epi32(at, _mm256_and_si256(step[k], all(0xffff)));
		_mm256_store_si256((__m256i *)(b->at[k + 1] + i), _mm256_slli_epi32(at, 4));
		_mm256_store_si256((__m256i *)(b->step[k] + i), step[k]);
	}
	return wanted;
}

INLINE size_t placen(const fs_job *job, const void *pixels, fs_block *b, int n, int wide, int patched) {
	size_t wanted = 0;
	for (int i = 0; i < FS_BLOCK; i += 8) wanted += place8(job, pixels, b, i, n, wide, patched);
	return wanted;
}

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
