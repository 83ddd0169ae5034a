// Placing pixels by vectors. Who includes this has told what these are:
//
//	many, all      a vector with a number of each of MANY pixels, and one that is the same for all
//	along          places pixels on each axis and returns the nodes below
//	larger, less   of two vectors, of numbers below 1 << 31
//	times          products of numbers below 1 << 15
//	bytes_of       FS_NODE times the lower halves of numbers, which are below 1 << 15
//	doubled        numbers times 1 << shift, the shift from 0 to FS_SHIFTS - 1
//	pick           one of FS_SHIFTS numbers for each pixel
//	words          one word of a table for each pixel: by a load for each, which is faster than
//	               the gathering of all
//	uppermost      whether any number has its highest bit
//
// n, the number of channels, is known to the compiler wherever it is usual.

INLINE many load(const uint32_t *plane) { return *(const many *)plane; }

INLINE void store(uint32_t *plane, many v) { *(many *)plane = v; }

// steps is what a lattice says about its steps, for many pixels.
typedef struct {
	many bits, below, rest; // of a fraction, their mask, what they lack of a weight's 31
	many stride[FS_CHANNELS];
} steps;

INLINE steps steps_of(const fs_lattice *l, int n) {
	const uint32_t bits = (uint32_t)l->bits;
	steps s = {.bits = all(bits), .below = all(((uint32_t)1 << bits) - 1), .rest = all(31 - bits)};
	for (int k = 0; k < n; k++) s.stride[k] = all(l->stride[k][0]);
	return s;
}

// within goes on from cells to their patches and returns the nodes below there. Along the
// last channel the stride is 1, in a patch as well.
INLINE many within(const fs_lattice *l, const steps *s, many cell, many *x, many *stride, int n) {
	const many shift = cell & (FS_SHIFTS - 1);
	many at = (cell & ~FS_WANTED) / FS_SHIFTS;
	for (int k = 0; k < n; k++) {
		stride[k] = k < n - 1 ? pick(l->stride[k], shift) : all(1);
		x[k] = doubled(x[k] & s->below, shift);
		const many below = x[k] >> s->bits;
		at += k < n - 1 ? times(below, stride[k]) : below;
	}
	return at;
}

// path orders the steps, the largest fraction first, and stores them and the vertices
// between them.
INLINE void path(const steps *s, fs_block *b, int i, many at, const many *x, const many *stride, int n) {
	many step[FS_CHANNELS];
	for (int k = 0; k < n; k++) step[k] = (x[k] << s->rest & 0x7fff0000) | stride[k];
	for (int j = 0; j < n; j++)
		for (int k = n - 1; k > j; k--) {
			const many p = step[k - 1], q = step[k];
			step[k - 1] = larger(p, q), step[k] = less(p, q);
		}
	at *= FS_NODE;
	store(b->at[0] + i, at);
	for (int k = 0; k < n; k++) {
		at += bytes_of(step[k]);
		store(b->at[k + 1] + i, at);
		store(b->step[k] + i, step[k]);
	}
}

INLINE int place(const fs_job *job, const void *pixels, fs_block *b, int n, int wide, int patched) {
	const fs_lattice *l = job->lattice;
	const axes a = axes_of(job, pixels, n);
	const steps s = steps_of(l, n);
	many x[FS_CHANNELS], stride[FS_CHANNELS];
	if (!patched) {
		for (int i = 0; i < FS_BLOCK; i += MANY) {
			const many at = along(&a, i, x, n, wide);
			path(&s, b, i, at, x, s.stride, n);
		}
		return 0;
	}
	// All nodes first: read back at once, one by one, they would have to be waited for. The
	// block's own fields serve for what is between.
	uint32_t node[FS_BLOCK] __attribute__((aligned(64)));
	for (int i = 0; i < FS_BLOCK; i += MANY) {
		store(node + i, along(&a, i, x, n, wide));
		for (int k = 0; k < n; k++) store(b->step[k] + i, x[k]);
	}
	many any = {0};
	for (int i = 0; i < FS_BLOCK; i += MANY) {
		const many cell = words(job->cells, node + i);
		for (int k = 0; k < n; k++) x[k] = load(b->step[k] + i);
		const many at = within(l, &s, cell, x, stride, n);
		path(&s, b, i, at, x, stride, n);
		any |= cell;
	}
	const int wanted = uppermost(any) != 0;
	if (wanted) fs_want(job, node);
	return wanted;
}

// usual is compiled anew for the usual kinds of picture.
INLINE int usual(const fs_job *job, const void *pixels, fs_block *b, int wide) {
	const int n = job->lattice->channels, patched = job->cells != NULL;
	switch (n << 2 | wide << 1 | patched) {
	case 3 << 2: return place(job, pixels, b, 3, 0, 0);
	case 3 << 2 | 1: return place(job, pixels, b, 3, 0, 1);
	case 3 << 2 | 2: return place(job, pixels, b, 3, 1, 0);
	case 3 << 2 | 3: return place(job, pixels, b, 3, 1, 1);
	case 4 << 2: return place(job, pixels, b, 4, 0, 0);
	case 4 << 2 | 1: return place(job, pixels, b, 4, 0, 1);
	case 4 << 2 | 2: return place(job, pixels, b, 4, 1, 0);
	case 4 << 2 | 3: return place(job, pixels, b, 4, 1, 1);
	}
	return place(job, pixels, b, n, wide, patched);
}
