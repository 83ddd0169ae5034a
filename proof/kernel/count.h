// Counting figures a row of pixels at a time, in narrow fields that are added to the tally
// before they can overflow. Who includes this has told what these are:
//
//	ROW            how many pixels a row has, FS_ROW at most
//	any            whether any number of a row of 16 bits is not 0

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

INLINE void count(const fs_job *job, const fs_block *b, fs_counts *c) {
	const fs_limits *l = job->limits;
	row most = load_row(c->rest.most), high = load_row(c->rest.high), lit = load_row(c->rest.lit), over[FS_EDGES], edges[FS_EDGES];
	const row black = same(l->black - 1), from = same(l->from - 1), to = same(l->to);
	for (int e = 0; e < FS_EDGES; e++) edges[e] = same(l->edges[e] - 1), over[e] = load_row(c->rest.over[e]);
	int32_t sum = 0;
	for (int i = 0; i < FS_BLOCK; i++) sum += b->delta[i];
	for (int i = 0; i < FS_BLOCK; i += ROW) {
		const row delta = load_row(b->delta + i), more = delta > most, above = delta > from, in = above & (delta < to);
		const row light = load_row(b->light + i) > black;
		const row reach = load_row(b->reach + i) | ~light; // -1, below all edges, where darker
		if (any(in)) spread(delta, in, c);
		most = (delta & more) | (most & ~more);
		high += above, lit += light;
		for (int e = 0; e < FS_EDGES; e++) over[e] += reach > edges[e];
	}
	c->rest.sum += (uint64_t)sum;
	store_row(c->rest.most, most), store_row(c->rest.high, high), store_row(c->rest.lit, lit);
	for (int e = 0; e < FS_EDGES; e++) store_row(c->rest.over[e], over[e]);
}
