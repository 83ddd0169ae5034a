// Counting figures a row of pixels at a time, in narrow fields that are added to the tally
// before they can overflow. Who includes this has told what these are:
//
//	ROW            how many pixels a row has, FS_ROW at most
//	any            whether any number of a row of 16 bits is not 0
//	pairs, paired  sums of 32 bits of each two neighbours of a row, none of them negative

enum { bin = FS_COPIES * sizeof(uint16_t) };

_Static_assert(bin == 1 << FS_BIN_BITS, "a bin takes as many bytes as differences fall into it");

INLINE row load_row(const int16_t *v) { return *(const row *)v; }

INLINE void store_row(int16_t *to, row v) { *(row *)to = v; }

INLINE row same(int v) { return (int16_t)v - (row){0}; }

// spread counts the differences that are in, in their bins: a difference without its lowest
// bits is the way to its bin. The others go into one that nobody reads.
INLINE void spread(row delta, row in, fs_counts *c) {
	int16_t way[ROW] __attribute__((aligned(32)));
	store_row(way, (delta & -bin & in) | (same(bin * FS_BINS) & ~in));
	for (int i = 0; i < ROW; i++) ((uint16_t *)((char *)c->bins + (uint16_t)way[i]))[i % FS_COPIES]++;
}

INLINE void count(const fs_block *b, fs_counts *c) {
	row most = load_row(c->rest.most), high = load_row(c->rest.high), lit = load_row(c->rest.lit), over[FS_EDGES];
	pairs sum = *(const pairs *)c->rest.sum;
#pragma GCC unroll 4 // or the loop becomes a copy in halves of a row, which stalls the loads of whole ones
	for (int e = 0; e < FS_EDGES; e++) over[e] = load_row(c->rest.over[e]);
	for (int i = 0; i < FS_BLOCK; i += ROW) {
		const row delta = load_row(b->delta + i), more = delta > most;
		const row above = delta > load_row(c->limits.from), in = above & (delta < load_row(c->limits.to));
		const row light = load_row(b->light + i) > load_row(c->limits.black);
		const row reach = load_row(b->reach + i) | ~light; // -1, below all edges, where darker
		if (any(in)) spread(delta, in, c);
		sum += paired(delta);
		most = (delta & more) | (most & ~more);
		high += above, lit += light;
		for (int e = 0; e < FS_EDGES; e++) over[e] += reach > load_row(c->limits.edges[e]);
	}
	*(pairs *)c->rest.sum = sum;
	store_row(c->rest.most, most), store_row(c->rest.high, high), store_row(c->rest.lit, lit);
	for (int e = 0; e < FS_EDGES; e++) store_row(c->rest.over[e], over[e]);
}
