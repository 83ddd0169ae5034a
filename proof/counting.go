package proof

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"firstsheet/proof/kernel"
	"firstsheet/proof/raster"
)

// byChain says that a picture is counted by the exact chain over its colours and not by a
// grid over its pixels.
func byChain(pixels, channels int) bool { return pixels <= fullColours || channels != 3 }

// How many pixels stand for all, and which ones may have the largest difference.
const (
	somePixels    = 4096
	topDifference = 0.25 // ΔE00 below the largest in the grid, more than it is off there
	topPieces     = 8    // of the picture, those with the largest differences
	topColours    = 1024
)

// counting counts the figures of a picture by a fine grid, all of it or strip by strip. It
// may be used from several goroutines at once.
type counting struct {
	grid   *Grid
	pixels int // of the whole picture

	mu    sync.Mutex
	tally *kernel.Tally
	some  *spread // tells where the percentile lies, and mends the mean
	tops  []top   // may have the largest difference, the largest first
}

// top is a piece of a picture and the largest difference in it.
type top struct {
	at      int // of its first pixel
	most    float64
	pixels  raster.Pixels
	weights []uint32
}

// newCounting counts a picture of so many pixels.
func newCounting(g *Grid, pixels, channels int, deep bool) *counting {
	return &counting{grid: g, pixels: pixels, tally: g.newTally(), some: newSpread(somePixels, pixels, channels, deep)}
}

// read proofs the pixels of src, the first of which is the picture's pixel from, where dst
// is not nil, and counts them. weights and progress are as in output.
func (k *counting) read(ctx context.Context, dst []uint8, from int, src raster.Pixels, weights weights, progress func(done float64)) error {
	out := output{bytes: dst, weights: weights, progress: progress, most: make([]float64, pieces(src))}
	if src.W*src.H == k.pixels { // where the picture's percentile lies a strip cannot tell
		out.some = k.some.row()
	}
	t, err := k.grid.count(ctx, src, out)
	if err != nil {
		return err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.tally.Add(t)
	for _, i := range largestAt(out.most) {
		k.keep(from, i, out.most[i], src, weights)
	}
	return nil
}

// largestAt returns where the largest numbers are, as many as pieces are kept.
func largestAt(of []float64) []int {
	at := make([]int, len(of))
	for i := range at {
		at[i] = i
	}
	slices.SortFunc(at, func(i, j int) int { return cmp.Or(cmp.Compare(of[j], of[i]), cmp.Compare(i, j)) })
	return at[:min(len(at), topPieces)]
}

// sample takes those pixels of src that stand for all; the first is the picture's pixel from.
func (k *counting) sample(from int, src raster.Pixels, weights weights) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.some.add(from, src, weights)
}

// keep keeps a piece of src when it has one of the largest differences.
func (k *counting) keep(from, piece int, most float64, src raster.Pixels, weights weights) {
	lo, hi := piece*piecePixels, min((piece+1)*piecePixels, src.W*src.H)
	t := top{at: from + lo, most: most}
	order := func(a, b top) int { return cmp.Or(cmp.Compare(b.most, a.most), cmp.Compare(a.at, b.at)) }
	at, _ := slices.BinarySearchFunc(k.tops, t, order)
	if at == topPieces {
		return
	}
	// Copied, or the strip would stay in memory.
	p := src.Run(lo, hi)
	t.pixels, t.pixels.P8, t.pixels.P16 = p, slices.Clone(p.P8), slices.Clone(p.P16)
	t.weights = slices.Clone(weights.run(lo, hi))
	k.tops = slices.Insert(k.tops, at, t)
	k.tops = k.tops[:min(len(k.tops), topPieces)]
}

// figures returns what was counted. It takes off what the grid's mean is wrong by in the
// average of some pixels, and finds the largest difference among those that are the
// largest in the grid.
func (k *counting) figures(ctx context.Context, c *core) (Figures, error) {
	f := tallied(k.tally)
	if f.Pixels == 0 {
		return f, ctx.Err()
	}
	exact, sampled, err := c.both(ctx, k.grid, k.some.row())
	if err != nil {
		return Figures{}, err
	}
	for i, s := range sampled {
		f.Mean += (exact[i] - s.DeltaE00.Float()) / float64(len(sampled))
	}
	f.Mean = max(f.Mean, 0)
	largest, err := k.largest(ctx, f.Max-topDifference)
	if err != nil {
		return Figures{}, err
	}
	if exact, _, err = c.both(ctx, k.grid, largest); err == nil && len(exact) > 0 {
		f.Max = slices.Max(exact)
	}
	return f, err
}

// largest returns the colours, each once, that the grid finds to differ by so much and more.
func (k *counting) largest(ctx context.Context, least float64) (raster.Pixels, error) {
	found, taken := raster.Pixels{H: 1}, map[uint64]bool{}
	samples := make([]Sample, piecePixels)
	for _, t := range k.tops {
		found.Channels = t.pixels.Channels
		if t.most < least {
			break
		}
		if err := k.grid.Samples(ctx, samples, t.pixels); err != nil {
			return found, err
		}
		for i, s := range samples[:t.pixels.W] {
			if s.DeltaE00.Float() < least || found.W == topColours || t.weights != nil && t.weights[i] == 0 {
				continue
			}
			if colour := numbersOf(t.pixels, i); !taken[colour] {
				taken[colour] = true
				one := t.pixels.Run(i, i+1)
				found.P8, found.P16 = append(found.P8, one.P8...), append(found.P16, one.P16...)
				found.W++
			}
		}
	}
	return found, nil
}

// spread are some pixels of a picture, spread over it: one of each run.
type spread struct {
	run    int
	pixels raster.Pixels // one row
	has    []bool
}

// newSpread takes about n of so many.
func newSpread(n, pixels, channels int, deep bool) *spread {
	run := max(1, pixels/n)
	return &spread{run, raster.New(pixels/run, 1, channels, deep), make([]bool, pixels/run)}
}

// someOf returns about n of a picture's pixels as one row.
func someOf(n int, src raster.Pixels, weights weights) raster.Pixels {
	s := newSpread(n, src.W*src.H, src.Channels, src.Deep())
	s.add(0, src, weights)
	return s.row()
}

// add takes its share of the pixels of src, the first of which is the picture's pixel from.
// Those of the weight 0 are left out.
func (s *spread) add(from int, src raster.Pixels, weights weights) {
	n, channels := src.W*src.H, src.Channels
	for i := from / s.run; i < len(s.has); i++ {
		// Not the middle one, which would meet the same place of a regular pattern every time.
		lo := i * s.run
		at := lo + int(scatter(uint32(lo), 0))%s.run - from
		switch {
		case at >= n:
			return
		case at < 0 || weights.at(at) == 0:
			continue
		}
		s.has[i] = true
		take(s.pixels.P8, src.P8, i*channels, at*channels, channels)
		take(s.pixels.P16, src.P16, i*channels, at*channels, channels)
	}
}

// take copies so few numbers that calling for it would be most of the work.
func take[T uint8 | uint16](dst, src []T, to, from, n int) {
	if src == nil {
		return
	}
	for k := range n {
		dst[to+k] = src[from+k]
	}
}

// row returns what was taken as one row.
func (s *spread) row() raster.Pixels {
	if !slices.Contains(s.has, false) {
		return s.pixels
	}
	out := raster.Pixels{H: 1, Channels: s.pixels.Channels}
	for i, has := range s.has {
		if has {
			one := s.pixels.Run(i, i+1)
			out.P8, out.P16 = append(out.P8, one.P8...), append(out.P16, one.P16...)
			out.W++
		}
	}
	return out
}
