package proof

import (
	"context"
	"math"
	"runtime"
	"sync"

	"firstsheet/proof/kernel"
	"firstsheet/proof/raster"
)

// output is what is asked of a grid for a picture's pixels; what is nil is not.
type output struct {
	bytes    []uint8 // four a pixel
	samples  []Sample
	tally    *kernel.Tally
	some     raster.Pixels // by which the tally is narrowed to what the percentile asks for; none where it is not
	weights  weights
	progress func(done float64) // told while it is counted; may be nil
	most     []float64          // gets the largest ΔE00 of each piece; may be nil
}

// piecePixels is how many pixels are computed between two looks at the context.
const piecePixels = 1 << 15

// pieces returns how many pieces a picture has.
func pieces(src raster.Pixels) int { return (src.W*src.H + piecePixels - 1) / piecePixels }

// read reads the grid for all pixels of src, on all cores. Pieces of the picture that
// touch cells of a fine grid for the first time are read again when these are refined.
func (g *Grid) read(ctx context.Context, src raster.Pixels, out output) error {
	var todo []int
	for lo := 0; lo < src.W*src.H; lo += piecePixels {
		todo = append(todo, lo)
	}
	if g.then == nil && g.first.fresh() {
		if err := g.look(ctx, src, todo); err != nil {
			return err
		}
	}
	if out.some.W > 0 {
		if err := g.narrow(ctx, out.tally, out.some); err != nil {
			return err
		}
	}
	done := 0
	for len(todo) > 0 {
		p := &pass{grid: g, src: src, out: out, done: done, first: g.first.wants(), then: g.then.wants()}
		p.unknown = p.colours()
		err := inParallel(ctx, len(todo), 1, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
			r := p.reader()
			return func(i, _ int) error {
				r.piece(todo[i], min(todo[i]+piecePixels, src.W*src.H))
				return nil
			}
		})
		if err != nil {
			return err
		}
		if err := g.first.refine(ctx, p.first); err != nil {
			return err
		}
		if err := g.exact.fill(ctx, p.unknown); err != nil {
			return err
		}
		if err := g.then.refine(ctx, p.then); err != nil {
			return err
		}
		todo, done = p.again, p.done
	}
	return nil
}

// look refines the cells that a picture touches without reading it: nearly every piece of
// a first picture touches some, and would be read twice.
func (g *Grid) look(ctx context.Context, src raster.Pixels, pieces []int) error {
	var mu sync.Mutex
	touched := g.first.wants()
	err := inParallel(ctx, len(pieces), 1, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		own := g.first.wants()
		return func(i, _ int) error {
			piece := src.Run(pieces[i], min(pieces[i]+piecePixels, src.W*src.H))
			if g.first.walk(piece, kernel.Out{}, own) {
				mu.Lock()
				defer mu.Unlock()
				touched.take(own)
			}
			return nil
		}
	})
	if err != nil {
		return err
	}
	return g.first.refine(ctx, touched)
}

// How many pixels a picture has whose tally is worth being narrowed, and how many of them
// tell enough for it.
const (
	narrowedPixels = 1 << 20
	narrowPixels   = 1 << 10
)

// count reads the grid for all pixels of src, as [Grid.read] does, into a tally of its own.
func (g *Grid) count(ctx context.Context, src raster.Pixels, out output) (*kernel.Tally, error) {
	if out.tally = g.newTally(); !out.weights.even() || src.W*src.H < narrowedPixels {
		out.some = raster.Pixels{}
	}
	if err := g.read(ctx, src, out); err != nil {
		return nil, err
	}
	if _, known := out.tally.Rank(rank95(float64(out.tally.Pixels))); !known && out.some.W > 0 {
		out.tally, out.some = g.newTally(), raster.Pixels{}
		return out.tally, g.read(ctx, src, out)
	}
	return out.tally, nil
}

// narrow makes a tally tell only such differences apart among which the percentile of all
// pixels lies, to judge by some of them.
func (g *Grid) narrow(ctx context.Context, t *kernel.Tally, some raster.Pixels) error {
	of := g.newTally()
	if err := g.read(ctx, some, output{tally: of}); err != nil {
		return err
	}
	// Off by more than so many standard deviations is one rank in two thousand.
	n := float64(of.Pixels)
	off := 3.5 * math.Sqrt(n*0.95*0.05)
	lo, _ := of.Rank(rank95(n) - off)
	hi, _ := of.Rank(rank95(n) + off)
	t.Binned = kernel.Between(lo, hi)
	return nil
}

// pass is one run over pieces of a picture.
type pass struct {
	grid *Grid
	src  raster.Pixels
	out  output

	mu          sync.Mutex
	done        int   // pixels that are counted
	again       []int // pieces that touched wanted cells or unknown colours
	first, then wants
	unknown     colours
}

// colours returns room for colours whose stored numbers are unknown; nil where nobody
// asks for them.
func (p *pass) colours() colours {
	if p.out.bytes == nil || !p.grid.exact.knows(p.src) {
		return nil
	}
	return newColours()
}

// reader reads pieces in one goroutine.
type reader struct {
	*pass
	first, then         wants
	unknown             colours
	bytes               []uint8 // stored numbers
	delta, reach, light []int16
	counted             kernel.Tally // of a piece
}

func (p *pass) reader() *reader {
	r := &reader{pass: p, first: p.grid.first.wants(), then: p.grid.then.wants(), unknown: p.colours()}
	if p.grid.then != nil && p.out.bytes != nil {
		r.bytes = make([]uint8, 4*piecePixels)
	}
	if p.out.samples != nil || !p.out.weights.even() {
		lanes := make([]int16, 3*piecePixels)
		r.delta, r.reach, r.light = lanes[:piecePixels], lanes[piecePixels:2*piecePixels], lanes[2*piecePixels:]
	}
	return r
}

// piece reads the pixels from lo up to but not including hi.
func (r *reader) piece(lo, hi int) {
	src := r.src.Run(lo, hi)
	first := kernel.Out{Delta: r.delta, Reach: r.reach, Light: r.light}
	if r.out.bytes != nil {
		first.Bytes = r.out.bytes[4*lo : 4*hi]
	}
	if r.out.tally != nil {
		r.counted = kernel.Tally{Limits: r.out.tally.Limits}
		if r.out.weights.even() { // others are counted afterwards
			first.Tally = &r.counted
		}
	}
	screen, wanted := first.Bytes, false
	if r.bytes != nil {
		first.Bytes = r.bytes[:4*(hi-lo)]
	}
	stored := raster.Pixels{W: hi - lo, H: 1, Channels: 4, P8: first.Bytes}
	if r.unknown != nil {
		wanted = r.grid.exact.walk(stored.P8, src, r.unknown) > 0
		first.Bytes = nil // only the figures are left to be read
	}
	if first.Bytes != nil || first.Tally != nil || first.Delta != nil {
		wanted = r.grid.first.walk(src, first, r.first) || wanted
	}
	if r.bytes != nil && !wanted {
		wanted = r.grid.then.walk(stored, kernel.Out{Bytes: screen}, r.then)
	}
	if wanted {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.again = append(r.again, lo)
		r.pass.first.take(r.first)
		r.pass.then.take(r.then)
		r.pass.unknown.take(r.unknown)
		return
	}
	r.grid.samples(r.out.samples, lo, hi, first)
	if r.out.tally == nil {
		return
	}
	if first.Tally == nil {
		r.counted.Weigh(first, r.out.weights.run(lo, hi))
	}
	if r.out.most != nil {
		r.out.most[lo/piecePixels] = r.counted.Max()
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.out.tally.Add(&r.counted)
	if r.done += hi - lo; r.out.progress != nil {
		r.out.progress(float64(r.done) / float64(r.src.W*r.src.H))
	}
}

// samples decodes lanes.
func (g *Grid) samples(dst []Sample, lo, hi int, lanes kernel.Out) {
	if dst == nil {
		return
	}
	dst = dst[lo:hi]
	delta, reach, light := lanes.Delta[:len(dst)], lanes.Reach[:len(dst)], lanes.Light[:len(dst)]
	for i := range dst {
		dst[i] = Sample{DeltaE00: Steps(delta[i]), Reach: Steps(reach[i]), Darker: light[i] < g.black}
	}
}

// newTally returns what counts the grid's figures.
func (g *Grid) newTally() *kernel.Tally {
	t := &kernel.Tally{Limits: kernel.Limits{Black: g.black, Binned: kernel.All()}}
	for i, edge := range bandEdges {
		t.Edges[i] = kernel.DeltaLane(edge)
	}
	return t
}
