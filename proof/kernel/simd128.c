// Four pixels are placed at a time and one mixed in a register of 128 bits: SSSE3 or NEON.

#include "kernel.h"

#if defined(__x86_64__)
#include <immintrin.h>
#define TARGET __attribute__((target("ssse3")))
#elif defined(__aarch64__)
#include <arm_neon.h>
#define TARGET
#endif

#ifdef TARGET

#define INLINE static inline __attribute__((always_inline)) TARGET

enum { MANY = 4 };
typedef uint32_t many __attribute__((vector_size(4 * MANY)));
typedef int32_t signs __attribute__((vector_size(4 * MANY)));

INLINE many all(uint32_t v) { return v - (many){0}; }

// The larger and the less of two, for machines that know of neither.
INLINE many excess(many a, many b) { return (a - b) & (many)((signs)(a - b) >> 31); }

INLINE many larger(many a, many b) { return a - excess(a, b); }

INLINE many less(many a, many b) { return b + excess(a, b); }

INLINE many words(const uint32_t *of, const uint32_t *at) { return (many){of[at[0]], of[at[1]], of[at[2]], of[at[3]]}; }

// Nor do they shift each number by its own count.
INLINE many doubled(many v, many shift) {
	v += v & -(shift & 1);
	return v + (3 * v & -(shift >> 1));
}

// pairs makes vectors of the first and of the second words of four.
#if defined(__x86_64__)
typedef __m128i lanes;

INLINE many times(many a, many b) { return (many)_mm_madd_epi16((__m128i)a, (__m128i)b); }

INLINE many bytes_of(many step) { return times(step, all(FS_NODE)); }

INLINE many pick(const uint32_t *of, many i) {
	return (many)_mm_shuffle_epi8(_mm_loadu_si128((const __m128i *)of), (__m128i)((i << 2 | i << 10 | i << 18 | i << 26) + 0x03020100));
}

INLINE int uppermost(many v) { return _mm_movemask_ps((__m128)v); }

INLINE void pairs(const void *const p[4], many *first, many *second) {
	__m128i v[4];
	for (int i = 0; i < 4; i++) v[i] = _mm_loadl_epi64((const __m128i *)p[i]);
	const __m128 a = (__m128)_mm_unpacklo_epi64(v[0], v[1]), b = (__m128)_mm_unpacklo_epi64(v[2], v[3]);
	*first = (many)_mm_shuffle_ps(a, b, 0x88);
	*second = (many)_mm_shuffle_ps(a, b, 0xdd);
}

INLINE lanes node(const fs_job *job, uint32_t at) {
	return _mm_loadu_si128((const __m128i *)((const char *)job->nodes + at));
}

INLINE lanes toward(lanes sum, lanes from, lanes to, uint32_t step) {
	return _mm_add_epi16(sum, _mm_mulhrs_epi16(_mm_sub_epi16(to, from), _mm_set1_epi16((short)(step >> 16))));
}

INLINE void bytes4(uint32_t *bytes, const lanes v[4]) {
	const lanes bias = _mm_set1_epi16(FS_BYTE_BIAS);
	const lanes a = _mm_srai_epi16(_mm_sub_epi16(_mm_unpacklo_epi64(v[0], v[1]), bias), FS_BYTE_BITS);
	const lanes b = _mm_srai_epi16(_mm_sub_epi16(_mm_unpacklo_epi64(v[2], v[3]), bias), FS_BYTE_BITS);
	_mm_storeu_si128((__m128i *)bytes, _mm_packus_epi16(a, b));
}

// figures4 writes the figures of four pixels, a plane each.
INLINE void figures4(fs_block *out, int i, const lanes v[4]) {
	const lanes zero = _mm_setzero_si128();
	const lanes a = _mm_max_epi16(_mm_unpackhi_epi64(v[0], v[1]), zero), b = _mm_max_epi16(_mm_unpackhi_epi64(v[2], v[3]), zero);
	const lanes even = _mm_unpacklo_epi16(a, b), odd = _mm_unpackhi_epi16(a, b);
	const lanes far = _mm_unpacklo_epi16(even, odd);
	_mm_storel_epi64((__m128i *)(out->delta + i), far);
	_mm_storel_epi64((__m128i *)(out->reach + i), _mm_unpackhi_epi64(far, far));
	_mm_storel_epi64((__m128i *)(out->light + i), _mm_unpackhi_epi16(even, odd));
}
#else
typedef int16x8_t lanes;

INLINE many times(many a, many b) { return a * b; }

INLINE many bytes_of(many step) { return (step & 0xffff) * FS_NODE; }

INLINE many pick(const uint32_t *of, many i) {
	const many which = (i << 2 | i << 10 | i << 18 | i << 26) + 0x03020100;
	return (many)vqtbl1q_u8((uint8x16_t)vld1q_u32(of), (uint8x16_t)which);
}

INLINE int uppermost(many v) { return vmaxvq_u32((uint32x4_t)v) >> 31; }

INLINE void pairs(const void *const p[4], many *first, many *second) {
	uint32x2_t v[4];
	for (int i = 0; i < 4; i++) v[i] = vld1_u32(p[i]);
	const uint32x4_t a = vcombine_u32(v[0], v[1]), b = vcombine_u32(v[2], v[3]);
	*first = (many)vuzp1q_u32(a, b);
	*second = (many)vuzp2q_u32(a, b);
}

INLINE lanes node(const fs_job *job, uint32_t at) { return vld1q_s16((const int16_t *)((const char *)job->nodes + at)); }

INLINE lanes toward(lanes sum, lanes from, lanes to, uint32_t step) {
	return vaddq_s16(sum, vqrdmulhq_n_s16(vsubq_s16(to, from), (int16_t)(step >> 16)));
}

INLINE void bytes4(uint32_t *bytes, const lanes v[4]) {
	const lanes bias = vdupq_n_s16(FS_BYTE_BIAS);
	for (int i = 0; i < 4; i++) {
		const uint8x8_t b = vqmovun_s16(vshrq_n_s16(vsubq_s16(v[i], bias), FS_BYTE_BITS));
		bytes[i] = vget_lane_u32(vreinterpret_u32_u8(b), 0);
	}
}

INLINE void figures4(fs_block *out, int i, const lanes v[4]) {
	for (int j = 0; j < 4; j++) {
		const int16x4_t figures = vmax_s16(vget_high_s16(v[j]), vdup_n_s16(0));
		out->delta[i + j] = vget_lane_s16(figures, 0);
		out->reach[i + j] = vget_lane_s16(figures, 1);
		out->light[i + j] = vget_lane_s16(figures, 2);
	}
}
#endif

// axes are a lattice's axes and a picture's numbers.
typedef struct {
	const fs_lookup *lookup; // for numbers of 8 bits
	const uint8_t *pixels;
	const uint16_t *deep;
	size_t pitch;
	many dark, light, offset, bits, stride[FS_CHANNELS];
} axes;

INLINE axes axes_of(const fs_job *job, const void *pixels, int n) {
	const fs_lattice *l = job->lattice;
	axes a = {.lookup = job->lookup, .pixels = pixels, .deep = pixels, .pitch = (size_t)job->pitch,
		.dark = all(l->dark), .light = all(l->light), .offset = all(l->offset), .bits = all((uint32_t)l->bits)};
	for (int k = 0; k < n; k++) a.stride[k] = all(l->stride[k][0]);
	return a;
}

// along looks up the places of numbers of 8 bits and computes those of wide ones, of 16.
INLINE many along(const axes *a, int i, many *x, int n, int wide) {
	const size_t first = (size_t)i * a->pitch, second = first + a->pitch, third = second + a->pitch, fourth = third + a->pitch;
	many at = {0};
	for (int k = 0; k < n; k++) {
		many below;
		if (wide) {
			const uint16_t *p = a->deep + k;
			const many v = {p[first], p[second], p[third], p[fourth]};
			x[k] = less(v * a->dark, v * a->light + a->offset);
			below = times(x[k] >> a->bits, a->stride[k]);
		} else {
			const uint8_t *p = a->pixels + k;
			const fs_found *f = a->lookup->place[k];
			pairs((const void *const[]){f + p[first], f + p[second], f + p[third], f + p[fourth]}, &x[k], &below);
		}
		at += below;
	}
	return at;
}

#include "place.h"

TARGET int fs_place_simd128(const fs_job *job, const void *pixels, fs_block *b) {
	return usual(job, pixels, b, job->deep);
}

// mix is compiled anew for each usual n, which unrolls it.
INLINE void mix(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out, int n) {
	for (int i = 0; i < FS_BLOCK; i += 4) {
		lanes v[4];
		for (int j = 0; j < 4; j++) {
			lanes from = node(job, b->at[0][i + j]);
			v[j] = from;
			for (int k = 0; k < n; k++) {
				const lanes to = node(job, b->at[k + 1][i + j]);
				v[j] = toward(v[j], from, to, b->step[k][i + j]);
				from = to;
			}
		}
		if (bytes) bytes4(bytes + i, v);
		if (out) figures4(out, i, v);
	}
}

TARGET void fs_mix_simd128(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) {
	switch (job->lattice->channels) {
	case 3: mix(job, b, bytes, out, 3); break;
	case 4: mix(job, b, bytes, out, 4); break;
	default: mix(job, b, bytes, out, job->lattice->channels);
	}
}

#else

int fs_place_simd128(const fs_job *job, const void *pixels, fs_block *b) { return fs_place_plain(job, pixels, b); }
void fs_mix_simd128(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) { fs_mix_plain(job, b, bytes, out); }

#endif
