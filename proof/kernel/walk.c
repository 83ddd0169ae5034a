#include "kernel.h"

#include <string.h>

#if defined(__x86_64__)
#include <immintrin.h>
#endif
#if defined(__aarch64__)
#include <arm_neon.h>
#endif

// One pixel at a time, for every machine.

static inline const int16_t *node(const fs_job *job, uint32_t at) {
	return (const int16_t *)((const char *)job->nodes + at);
}

// part returns d * w / 2^15 to the nearest.
static inline int part(int d, int w) { return (d * w + (1 << 14)) >> 15; }

static inline uint32_t byte(int lane) {
	int v = (lane - FS_BYTE_BIAS) >> FS_BYTE_BITS;
	return (uint32_t)(v < 0 ? 0 : v > 255 ? 255 : v);
}

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
		out->delta[i] = sum[4];
		out->reach[i] = sum[5];
		out->light[i] = sum[6];
	}
}

// One pixel in a register of 128 bits: SSSE3 and NEON.

#if defined(__x86_64__)
#define TARGET __attribute__((target("ssse3")))
typedef __m128i lanes;
TARGET static inline lanes load(const int16_t *p) { return _mm_loadu_si128((const __m128i *)p); }
TARGET static inline lanes weight(uint32_t step) { return _mm_set1_epi16((short)(step >> 16)); }
TARGET static inline lanes toward(lanes sum, lanes from, lanes to, lanes w) {
	return _mm_add_epi16(sum, _mm_mulhrs_epi16(_mm_sub_epi16(to, from), w));
}
TARGET static inline void store(int16_t *p, lanes v) { _mm_store_si128((__m128i *)p, v); }
TARGET static inline void four(uint32_t *bytes, const lanes v[4]) {
	const lanes bias = _mm_set1_epi16(FS_BYTE_BIAS);
	lanes a = _mm_srai_epi16(_mm_sub_epi16(_mm_unpacklo_epi64(v[0], v[1]), bias), FS_BYTE_BITS);
	lanes b = _mm_srai_epi16(_mm_sub_epi16(_mm_unpacklo_epi64(v[2], v[3]), bias), FS_BYTE_BITS);
	_mm_storeu_si128((__m128i *)bytes, _mm_packus_epi16(a, b));
}
// figures4 writes the figures of four pixels, a plane each.
TARGET static inline void figures4(fs_block *out, int i, const lanes v[4]) {
	lanes a = _mm_unpackhi_epi64(v[0], v[1]), b = _mm_unpackhi_epi64(v[2], v[3]);
	lanes even = _mm_unpacklo_epi16(a, b), odd = _mm_unpackhi_epi16(a, b);
	lanes far = _mm_unpacklo_epi16(even, odd);
	_mm_storel_epi64((__m128i *)(out->delta + i), far);
	_mm_storel_epi64((__m128i *)(out->reach + i), _mm_unpackhi_epi64(far, far));
	_mm_storel_epi64((__m128i *)(out->light + i), _mm_unpackhi_epi16(even, odd));
}
#elif defined(__aarch64__)
#define TARGET
typedef int16x8_t lanes;
static inline lanes load(const int16_t *p) { return vld1q_s16(p); }
static inline lanes weight(uint32_t step) { return vdupq_n_s16((int16_t)(step >> 16)); }
static inline lanes toward(lanes sum, lanes from, lanes to, lanes w) {
	return vaddq_s16(sum, vqrdmulhq_s16(vsubq_s16(to, from), w));
}
static inline void four(uint32_t *bytes, const lanes v[4]) {
	for (int i = 0; i < 4; i++) {
		uint8x8_t b = vqmovun_s16(vshrq_n_s16(vsubq_s16(v[i], vdupq_n_s16(FS_BYTE_BIAS)), FS_BYTE_BITS));
		bytes[i] = vget_lane_u32(vreinterpret_u32_u8(b), 0);
	}
}
static inline void figures4(fs_block *out, int i, const lanes v[4]) {
	for (int j = 0; j < 4; j++) {
		out->delta[i + j] = vgetq_lane_s16(v[j], 4);
		out->reach[i + j] = vgetq_lane_s16(v[j], 5);
		out->light[i + j] = vgetq_lane_s16(v[j], 6);
	}
}
#endif

#ifdef TARGET
TARGET static inline lanes mix1(const fs_job *job, const fs_block *b, int n, int i) {
	lanes from = load(node(job, b->at[0][i])), sum = from;
	for (int k = 0; k < n; k++) {
		lanes to = load(node(job, b->at[k + 1][i]));
		sum = toward(sum, from, to, weight(b->step[k][i]));
		from = to;
	}
	return sum;
}

// mixn is compiled anew for each usual n, which unrolls mix1.
TARGET static inline __attribute__((always_inline)) void mixn(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out, int n) {
	for (int i = 0; i < FS_BLOCK; i += 4) {
		lanes v[4];
		for (int j = 0; j < 4; j++) v[j] = mix1(job, b, n, i + j);
		if (bytes) four(bytes + i, v);
		if (out) figures4(out, i, v);
	}
}

TARGET void fs_mix_simd128(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) {
	switch (job->lattice->channels) {
	case 3: mixn(job, b, bytes, out, 3); break;
	case 4: mixn(job, b, bytes, out, 4); break;
	default: mixn(job, b, bytes, out, job->lattice->channels);
	}
}
#else
void fs_mix_simd128(const fs_job *job, const fs_block *b, uint32_t *bytes, fs_block *out) { fs_mix_plain(job, b, bytes, out); }
#endif

// from_zero lifts figures that have come out below 0, where no lane is: rounding after
// each step can end one below the least of a cell's nodes.
static inline void from_zero(fs_block *b) {
	for (int i = 0; i < FS_BLOCK; i++) {
		b->delta[i] = b->delta[i] > 0 ? b->delta[i] : 0;
		b->reach[i] = b->reach[i] > 0 ? b->reach[i] : 0;
		b->light[i] = b->light[i] > 0 ? b->light[i] : 0;
	}
}

// The walk itself.

static const struct {
	fs_place *place;
	fs_mix *mix;
	fs_count *count;
} ways[FS_WAYS] = {
	[FS_PLAIN] = {fs_place_plain, fs_mix_plain, fs_count_plain},
	[FS_SIMD128] = {fs_place_simd128, fs_mix_simd128, fs_count_plain},
	[FS_AVX2] = {fs_place_avx2, fs_mix_avx2, fs_count_avx2},
};

int fs_has(int way) {
	switch (way) {
	case FS_PLAIN:
		return 1;
	case FS_SIMD128:
#if defined(__x86_64__)
		return __builtin_cpu_supports("ssse3") != 0;
#elif defined(__aarch64__)
		return 1;
#endif
		return 0;
	case FS_AVX2:
		// This compiler does not align the stack for such registers on Windows (GCC
		// bug 54412).
#if defined(__x86_64__) && !(defined(_WIN32) && !defined(__clang__))
		return __builtin_cpu_supports("avx2") != 0;
#endif
		return 0;
	}
	return 0;
}

static void read_by(fs_reader *r, const fs_job *job) {
	enum { none = 0x80 }; // a byte that becomes 0
	const int width = job->deep ? 2 : 1;
	r->four = 4 * (size_t)job->pitch * (size_t)width;
	r->loads = r->four <= 16 ? 1 : r->four <= 32 ? 2 : 0;
	r->second = r->loads == 2 ? r->four - 16 : 0;
	memset(r->low, none, sizeof r->low);
	memset(r->high, none, sizeof r->high);
	for (int k = 0; r->loads && k < job->lattice->channels; k++)
		for (int i = 0; i < 4; i++)
			for (int j = 0; j < width; j++) {
				int at = (i * job->pitch + k) * width + j;
				if (at < 16) r->low[k][4 * i + j] = (uint8_t)at;
				else r->high[k][4 * i + j] = (uint8_t)(at - (int)r->second);
			}
}

// fs_slack is how far beyond a block's pixels a way may read, in bytes.
enum { fs_slack = 64 };

size_t fs_walk(int way, fs_job *job) {
	const size_t pixel = (size_t)job->pitch * (job->deep ? 2 : 1);
	const char *pixels = job->pixels;
	char last[FS_BLOCK * FS_CHANNELS * 2 + fs_slack];
	uint32_t spare[FS_BLOCK];
	fs_block b;
	fs_counts c;
	fs_reader r;
	fs_lookup lookup;
	read_by(&r, job);
	job->reader = &r;
	if (!job->deep && (way != FS_AVX2 || !r.loads)) fs_look_up(job->lattice, &lookup); // who uses it
	job->lookup = &lookup;
	if (job->tally) memset(&c, 0, sizeof c);
	fs_block *figures = job->tally || job->delta ? &b : NULL;
	size_t wanted = 0, unflushed = 0; // pixels, blocks
	for (size_t at = 0; at < job->n; at += FS_BLOCK) {
		size_t k = job->n - at < FS_BLOCK ? job->n - at : FS_BLOCK;
		const char *from = pixels + at * pixel;
		if ((job->n - at) * pixel < FS_BLOCK * pixel + fs_slack) {
			// The last ones are taken aside: nothing behind them is read. What is left
			// of the block repeats the last pixel.
			memcpy(last, from, k * pixel);
			for (size_t i = k; i < FS_BLOCK; i++) memcpy(last + i * pixel, last + (k - 1) * pixel, pixel);
			from = last;
		}
		uint32_t *bytes = !job->bytes ? NULL : k < FS_BLOCK ? spare : job->bytes + at;
		wanted += ways[way].place(job, from, &b);
		ways[way].mix(job, &b, bytes, figures);
		if (figures) from_zero(figures);
		if (bytes == spare) memcpy(job->bytes + at, spare, k * sizeof *spare);
		if (job->delta) {
			memcpy(job->delta + at, b.delta, k * sizeof *b.delta);
			memcpy(job->reach + at, b.reach, k * sizeof *b.reach);
			memcpy(job->light + at, b.light, k * sizeof *b.light);
		}
		if (job->tally && k < FS_BLOCK) {
			fs_count_some(job, &b, k);
		} else if (job->tally) {
			ways[way].count(job, &b, &c);
			if (++unflushed == FS_FLUSH) fs_flush(&c, job->tally, unflushed), unflushed = 0;
		}
	}
	if (job->tally) fs_flush(&c, job->tally, unflushed);
	return wanted;
}
