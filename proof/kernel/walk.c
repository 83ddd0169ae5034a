#include "kernel.h"

#include <string.h>

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

int fs_walk(int way, const fs_job *asked) {
	const size_t pixel = (size_t)asked->pitch * (asked->deep ? 2 : 1);
	const char *pixels = asked->pixels;
	char last[FS_BLOCK * FS_CHANNELS * 2 + fs_slack];
	uint32_t spare[FS_BLOCK];
	fs_block b;
	fs_counts c;
	fs_reader r;
	fs_lookup lookup;
	fs_job of = *asked, *job = &of;
	read_by(&r, job);
	if (!job->deep && (way != FS_AVX2 || !r.loads)) fs_look_up(job->lattice, &lookup); // who uses it
	job->reader = &r, job->lookup = &lookup;
	if (job->tally) fs_begin(job, &c);
	fs_block *figures = job->tally || job->delta ? &b : NULL;
	int wanted = 0;
	size_t unflushed = 0; // blocks
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
		wanted |= ways[way].place(job, from, &b);
		if (bytes || figures) ways[way].mix(job, &b, bytes, figures);
		if (bytes == spare) memcpy(job->bytes + at, spare, k * sizeof *spare);
		if (job->delta) {
			memcpy(job->delta + at, b.delta, k * sizeof *b.delta);
			memcpy(job->reach + at, b.reach, k * sizeof *b.reach);
			memcpy(job->light + at, b.light, k * sizeof *b.light);
		}
		if (job->tally && k < FS_BLOCK) {
			fs_count_some(job, &b, k);
		} else if (job->tally) {
			ways[way].count(&b, &c);
			if (++unflushed == FS_FLUSH) fs_flush(job, &c, unflushed), unflushed = 0;
		}
	}
	if (job->tally) fs_flush(job, &c, unflushed);
	return wanted;
}
