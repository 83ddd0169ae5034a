package proof

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
)

// Quality is how finely a grid samples its plan.
type Quality uint8

// Three qualities, for the three speeds at which a person works.
const (
	Draft Quality = iota // while something is being dragged
	Good                 // the first look at a new set-up
	Fine                 // when it has settled, and for everything that is written
)

// nodes returns how many nodes an axis gets. A fourth channel multiplies the
// nodes of all the others, so those grids are coarser; one channel costs nothing.
func (q Quality) nodes(channels int) int {
	switch channels {
	case 1:
		return [...]int{257, 1025, 4097}[q]
	case 4:
		return [...]int{9, 17, 25}[q]
	}
	return [...]int{17, 33, 65}[q]
}

// Lanes of the two node arrays of a grid.
//
//	colour  screen R, G, B as (v + 0.5) / 2, so that colours outside the screen
//	        are clipped where the picture leaves it and not at the next node
//	figure  ΔE00, reach in ΔE00, L* of the original
//
// The fourth lane of a colour node names the patch of its cell, see refine.
const (
	laneScreen     = 65535.0 / 2
	deltaStep      = 1.0 / 1024 // ΔE00 a step of the figure lanes: up to 64
	lightnessLo    = -20.0      // L* of the lowest step; unclamped originals can be below 0
	lightnessScale = 65535.0 / 180
)

// Grid is a plan sampled on a regular grid of the picture's numbers. It does not
// change and may be used from several goroutines at once.
type Grid struct {
	*lattice
	quality        Quality
	colour, figure field
	// stored is set when the route stores numbers in 8 bits between two
	// conversions: pictures are rounded there, as the file is.
	stored  *stored
	deepest float64 // L* of the paper's black, see core
}

// stored samples a route in two parts, up to the stored numbers and on from them.
// Differences are told without the rounding.
type stored struct {
	numbers field    // over the grid's own lattice: the stored numbers, 0 to 65535
	then    *lattice // over the stored numbers
	colour  field
}

// base is what a grid shares with every other of the same source and reach paper.
type base struct {
	original []float64 // Lab
	reach    []float64 // ΔE00
}

// fillStep is how many nodes are computed between two looks at the context.
const fillStep = 2048

// newLatticeOf arranges the nodes of a plan's grid.
func newLatticeOf(p Plan, q Quality) (*lattice, error) {
	channels := p.Source.Channels()
	if channels != 1 && channels != 3 && channels != 4 {
		return nil, &PlanError{fmt.Sprintf("pictures of %d channels cannot be shown", channels)}
	}
	return newLattice(channels, q.nodes(channels)), nil
}

// newBase computes what grids of that quality share.
func newBase(ctx context.Context, c *core, q Quality) (*base, error) {
	l, err := newLatticeOf(c.plan, q)
	if err != nil {
		return nil, err
	}
	b := &base{make([]float64, 3*l.total), make([]float64, l.total)}
	return b, l.inSteps(ctx, func(lo, hi int) error {
		if err := c.original(b.original[3*lo:3*hi], l.numbers(lo, hi)); err != nil {
			return err
		}
		return c.reach(b.reach[lo:hi], b.original[3*lo:3*hi])
	})
}

// newGrid samples the chain.
func newGrid(ctx context.Context, c *core, q Quality, shared *base) (*Grid, error) {
	l, err := newLatticeOf(c.plan, q)
	if err != nil {
		return nil, err
	}
	g := &Grid{lattice: l, quality: q, deepest: c.deepest}
	g.colour.nodes, g.figure.nodes = make([]uint64, g.padded), make([]uint64, g.padded)
	err = g.inSteps(ctx, func(lo, hi int) error {
		return g.fill(c, lo, g.numbers(lo, hi), shared.original[3*lo:3*hi], shared.reach[lo:hi])
	})
	if err != nil {
		return nil, err
	}
	if err := g.store(ctx, c); err != nil {
		return nil, err
	}
	if g.stored == nil && g.refined(g.channels) {
		if err := g.refine(ctx, &g.colour, screenLook(), c.colourNodes); err != nil {
			return nil, err
		}
	}
	return g, nil
}

// refined reports whether fields over so many numbers get patches.
func (g *Grid) refined(channels int) bool { return g.quality == Fine && channels == 3 }

// colourNodes encodes what the screen is told for source numbers.
func (c *core) colourNodes(dst []uint64, src []float64) error {
	relative, absolute, err := c.look(src)
	if err != nil {
		return err
	}
	var original []float64
	if relative == nil {
		original = make([]float64, len(src))
		if err := c.original(original, src); err != nil {
			return err
		}
	}
	return c.screenNodes(dst, c.shown(original, relative, absolute))
}

// store samples the two parts of a route that stores its numbers on the way.
func (g *Grid) store(ctx context.Context, c *core) error {
	at := slices.IndexFunc(c.plan.Conversions, func(k Conversion) bool { return k.Clipped })
	if at < 0 {
		return nil
	}
	channels := c.plan.Conversions[at].To.Channels()
	if channels != 3 && channels != 4 {
		return nil // such numbers cannot be read back from a grid; they go on unrounded
	}
	then := newLattice(channels, g.quality.nodes(channels))
	s := &stored{field{nodes: make([]uint64, g.padded)}, then, field{nodes: make([]uint64, then.padded)}}
	numbersAt := func(dst []uint64, src []float64) error {
		numbers, err := c.pass(src, 0, at+1)
		if err != nil {
			return err
		}
		for i := range dst {
			var v [4]uint16
			for k := range channels {
				v[k] = lane(numbers[i*channels+k] * 65535)
			}
			dst[i] = pack(v[0], v[1], v[2], v[3])
		}
		return nil
	}
	colourAt := func(dst []uint64, numbers []float64) error {
		device, err := c.pass(numbers, at+1, len(c.links))
		if err != nil {
			return err
		}
		relative, absolute, err := c.print(device)
		if err != nil {
			return err
		}
		return c.screenNodes(dst, c.shown(nil, relative, absolute))
	}
	g.stored = s
	if err := g.sample(ctx, s.numbers.nodes, numbersAt); err != nil {
		return err
	}
	if err := then.sample(ctx, s.colour.nodes, colourAt); err != nil {
		return err
	}
	if g.refined(g.channels) && channels == 3 {
		if err := g.refine(ctx, &s.numbers, laneLook(func(v float64) float64 { return v / 65535 }), numbersAt); err != nil {
			return err
		}
	}
	if g.refined(channels) {
		return then.refine(ctx, &s.colour, screenLook(), colourAt)
	}
	return nil
}

// sample fills nodes by eval.
func (l *lattice) sample(ctx context.Context, nodes []uint64, eval func(dst []uint64, numbers []float64) error) error {
	return l.inSteps(ctx, func(lo, hi int) error { return eval(nodes[lo:hi], l.numbers(lo, hi)) })
}

// inSteps hands all nodes to work, some at a time, on all cores.
func (l *lattice) inSteps(ctx context.Context, work func(lo, hi int) error) error {
	return inParallel(ctx, l.total, fillStep, runtime.GOMAXPROCS(0), func() func(lo, hi int) error { return work })
}

// row takes one row of the stored numbers, rounds them to 8 bits and goes on from
// there. bytes is room for them, as long as dst.
func (s *stored) row(dst []uint64, bytes raster.Pixels) {
	for i, v := range dst {
		for k := range s.then.channels {
			bytes.P8[i*s.then.channels+k] = uint8((v>>(16*k)&0xffff*255 + 32767) / 65535)
		}
	}
	s.then.readRow(dst, bytes, s.colour)
}

// fill samples the chain at the nodes from lo on.
func (g *Grid) fill(c *core, lo int, src, original, reach []float64) error {
	relative, absolute, err := c.look(src)
	if err != nil {
		return err
	}
	if err := c.screenNodes(g.colour.nodes[lo:lo+len(reach)], c.shown(original, relative, absolute)); err != nil {
		return err
	}
	counted := c.counted(original, relative, absolute)
	for i := range reach {
		l0 := labAt(original, i)
		g.figure.nodes[lo+i] = pack(
			lane(cie.DeltaE00(l0, labAt(counted, i))/deltaStep), lane(reach[i]/deltaStep),
			lane((l0.L-lightnessLo)*lightnessScale), 0)
	}
	return nil
}

func lane(v float64) uint16 {
	if !(v > 0) { // also NaN
		return 0
	}
	return uint16(min(math.Round(v), 65535))
}

// screenLook tells the colour of a node of screen lanes.
func screenLook() func(node uint64) cie.Lab {
	return laneLook(func(v float64) float64 { return v/laneScreen - 0.5 })
}

// screenNodes encodes what the screen is told for looks.
func (c *core) screenNodes(dst []uint64, look []float64) error {
	screen := make([]float64, len(look))
	if err := c.toScreen(screen, look); err != nil {
		return err
	}
	for i := range dst {
		dst[i] = pack(screenLane(screen[3*i]), screenLane(screen[3*i+1]), screenLane(screen[3*i+2]), 0)
	}
	return nil
}

// screenLane encodes a screen number. Below 0 Little CMS goes on along the straight
// foot of the screen's curve, far steeper than the curve is above 0; a line from
// such a node to a positive one would cross 0 much too late. It is bent back to
// the mirrored curve first.
func screenLane(v float64) uint16 {
	if v < 0 {
		v = -footToCurve(-v)
	}
	return lane((v + 0.5) * laneScreen)
}

// footToCurve takes a number on the continued straight foot of the sRGB curve to
// the curve itself. Other screens' curves are near enough: only numbers that are
// clipped in the end pass here.
func footToCurve(v float64) float64 {
	linear := v / 12.92
	if linear <= 0.0031308 {
		return v
	}
	return 1.055*math.Pow(linear, 1/2.4) - 0.055
}

// inParallel works on [0, total) in pieces of step, on at most workers goroutines,
// until the context ends or a piece fails; it returns the context's error then, or one
// of the failures. begin is called once in each goroutine and returns what works on one
// piece.
func inParallel(ctx context.Context, total, step, workers int, begin func() func(lo, hi int) error) error {
	outer := ctx
	ctx, stop := context.WithCancelCause(outer)
	defer stop(nil)
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(workers, (total+step-1)/step) {
		group.Go(func() {
			work := begin()
			for ctx.Err() == nil {
				lo := int(next.Add(int64(step))) - step
				if lo >= total {
					return
				}
				if err := work(lo, min(lo+step, total)); err != nil {
					stop(err)
				}
			}
		})
	}
	group.Wait()
	if err := outer.Err(); err != nil {
		return err
	}
	return context.Cause(ctx)
}

// bandRows is how many rows of a picture are computed between two looks at the
// context.
const bandRows = 32

// Quality returns how finely it is sampled.
func (g *Grid) Quality() Quality { return g.quality }

// Proof writes what the screen is told for every pixel of src: W*H pixels of red,
// green, blue and an opaque alpha, 8 bits each, ready to be shown unchanged. It
// returns the context's error when it was stopped, dst then being half written, and
// a *[PlanError] when the picture's channels are not the source's or dst is too short.
func (g *Grid) Proof(ctx context.Context, dst []uint8, src raster.Pixels) error {
	if err := g.fits(src, len(dst)/4); err != nil {
		return err
	}
	f := g.colour
	if g.stored != nil {
		f = g.stored.numbers
	}
	return g.eachRow(ctx, src, func() func(y int, row []uint64) {
		var bytes raster.Pixels
		if g.stored != nil {
			bytes = raster.New(src.W, 1, g.stored.then.channels, false)
		}
		return func(y int, row []uint64) {
			if g.stored != nil {
				g.stored.row(row, bytes)
			}
			out := dst[y*src.W*4 : (y+1)*src.W*4]
			for x, v := range row {
				o := out[4*x : 4*x+4 : 4*x+4]
				o[0], o[1], o[2], o[3] = screenByte(v&0xffff), screenByte(v>>16&0xffff), screenByte(v>>32&0xffff), 255
			}
		}
	}, f)
}

// screenByte rounds a colour lane to the screen's 8 bits, clipping it to 0..1.
func screenByte(lane uint64) uint8 {
	// (lane/65535*2 - 0.5) * 255 to the nearest: the half of rounding makes -127.5 -127.
	v := (int64(lane)*510 - 127*65535) / 65535
	return uint8(min(max(v, 0), 255))
}

// fits reports why the grid cannot be read for src, with room for so many pixels.
func (g *Grid) fits(src raster.Pixels, room int) error {
	if err := fits(src, g.channels); err != nil {
		return err
	}
	if n := src.W * src.H; room < n {
		return &PlanError{fmt.Sprintf("there is room for %d of the picture's %d pixels", room, n)}
	}
	return nil
}

// fits reports why pixels cannot be taken for numbers of so many channels.
func fits(src raster.Pixels, channels int) error {
	if src.Channels != channels {
		return &PlanError{fmt.Sprintf("the picture has %d channels and the profile of its numbers %d", src.Channels, channels)}
	}
	if have, want := len(src.P8)+len(src.P16), src.W*src.H*channels; src.W < 0 || src.H < 0 || have != want {
		return &PlanError{fmt.Sprintf("a picture of %d x %d pixels of %d channels holds %d numbers, not %d", src.W, src.H, channels, want, have)}
	}
	return nil
}

// Sample is what a grid says about one pixel beside its colour.
type Sample struct {
	DeltaE00 float32
	Reach    float32
	Darker   bool
}

// Samples writes difference and reach of every pixel of src, W*H of them. It stops
// and fails like [Grid.Proof].
func (g *Grid) Samples(ctx context.Context, dst []Sample, src raster.Pixels) error {
	if err := g.fits(src, len(dst)); err != nil {
		return err
	}
	black := g.blackLane()
	return g.eachRow(ctx, src, func() func(y int, row []uint64) {
		return func(y int, row []uint64) {
			out := dst[y*src.W : (y+1)*src.W]
			for x, v := range row {
				out[x] = Sample{
					DeltaE00: float32(v&0xffff) * deltaStep,
					Reach:    float32(v>>16&0xffff) * deltaStep,
					Darker:   v>>32&0xffff < black,
				}
			}
		}
	}, g.figure)
}

func (g *Grid) blackLane() uint64 {
	if math.IsInf(g.deepest, -1) {
		return 0
	}
	return uint64(lane((g.deepest - lightnessLo) * lightnessScale))
}

// eachRow interpolates a field for all pixels of src, on all cores, and hands over
// finished rows. begin is called once a goroutine.
func (g *Grid) eachRow(ctx context.Context, src raster.Pixels, begin func() func(y int, row []uint64), f field) error {
	return inParallel(ctx, src.H, bandRows, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		row, done := make([]uint64, src.W), begin()
		return func(lo, hi int) error {
			for y := lo; y < hi; y++ {
				g.readRow(row, src.Rows(y, y+1), f)
				done(y, row)
			}
			return nil
		}
	})
}
