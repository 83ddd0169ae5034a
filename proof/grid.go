package proof

import (
	"context"
	"fmt"
	"slices"

	"firstsheet/proof/kernel"
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
	fine := min(q, Good) // what a fine grid has more are patches
	switch channels {
	case 1:
		return [...]int{257, 1025}[fine]
	case 4:
		return [...]int{9, 17}[fine]
	}
	return [...]int{17, 33}[fine]
}

// Grid is a plan sampled on a regular grid of the picture's numbers. A fine one is
// sampled anew, finer, in each cell that a picture touches for the first time; what
// has been read of it does not change. It may be used from several goroutines at once.
type Grid struct {
	quality Quality
	// first goes from the picture's numbers to what the screen is told, or to the
	// numbers that the route stores in 8 bits between two conversions: pictures are
	// rounded there, as the file is. Differences are told without the rounding.
	first *field
	// then goes on from the stored numbers; nil where none are. exact knows them for
	// pictures of 8 bits; nil where first has to do.
	then  *field
	exact *storedBytes
	black int16 // lane of the L* of the paper's black, see core
}

// newLatticeOf arranges the nodes of a plan's grid.
func newLatticeOf(channels int, q Quality) (*kernel.Lattice, error) {
	if channels != 1 && channels != 3 && channels != 4 {
		return nil, &PlanError{fmt.Sprintf("pictures of %d channels cannot be shown", channels)}
	}
	return kernel.NewLattice(channels, q.nodes(channels)), nil
}

// newGrid returns a grid that is not sampled yet.
func (e *Engine) newGrid(ctx context.Context, p Plan, q Quality) (*Grid, error) {
	c, err := e.Chain(p)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	l, err := newLatticeOf(p.Source.Channels(), q)
	if err != nil {
		return nil, err
	}
	shared, err := e.base(ctx, p, l)
	if err != nil {
		return nil, err
	}
	g, stored := &Grid{quality: q, black: kernel.LightLane(c.deepest)}, c.storedAfter()
	g.first = newField(l, q, func(dst []kernel.Node, points []point, numbers []float64) error {
		return e.run(p, func(c *core) error { return shared.nodes(c, dst, points, numbers, stored) })
	})
	if stored == 0 {
		return g, nil
	}
	to := p.Conversions[stored-1].To.Channels()
	if l, err = newLatticeOf(to, q); err != nil {
		return nil, err
	}
	g.then = newField(l, q, func(dst []kernel.Node, _ []point, numbers []float64) error {
		return e.run(p, func(c *core) error { return c.nodesFrom(dst, numbers, stored) })
	})
	if q == Fine && p.Source.Channels() == 3 {
		g.exact = &storedBytes{channels: to, evaluate: func(numbers []float64) (out []float64, err error) {
			err = e.run(p, func(c *core) (err error) {
				out, err = c.pass(numbers, 0, stored)
				return err
			})
			return out, err
		}}
	}
	return g, nil
}

// run works with the chain of a plan.
func (e *Engine) run(p Plan, work func(c *core) error) error {
	c, err := e.Chain(p)
	if err != nil {
		return err
	}
	defer c.Close()
	return work(c.core)
}

// fill samples all nodes of a grid that is not refined.
func (g *Grid) fill(ctx context.Context) error {
	if err := g.first.fill(ctx); err != nil || g.then == nil {
		return err
	}
	return g.then.fill(ctx)
}

// begin takes over what a good grid of the same plan has sampled.
func (g *Grid) begin(good *Grid) {
	g.first.begin(good.first)
	if g.then != nil {
		g.then.begin(good.then)
	}
}

// storedAfter returns after how many conversions the numbers are stored in 8 bits and can
// be read back from a grid; 0 when they are not.
func (c *core) storedAfter() int {
	at := slices.IndexFunc(c.plan.Conversions, func(k Conversion) bool { return k.Clipped })
	if at < 0 {
		return 0
	}
	if channels := c.plan.Conversions[at].To.Channels(); channels != 3 && channels != 4 {
		return 0 // they go on unrounded
	}
	return at + 1
}

// Quality returns how finely it is sampled.
func (g *Grid) Quality() Quality { return g.quality }

// Proof writes what the screen is told for every pixel of src: W*H pixels of red,
// green, blue and an opaque alpha, 8 bits each, ready to be shown unchanged. It
// returns the context's error when it was stopped, dst then being half written, a
// *[PlanError] when the picture's channels are not the source's or dst is too short,
// and what [Chain.Values] does.
func (g *Grid) Proof(ctx context.Context, dst []uint8, src raster.Pixels) error {
	if err := g.fits(src, len(dst)/4); err != nil {
		return err
	}
	return g.read(ctx, src, output{bytes: dst})
}

// Sample is what a grid says about one pixel beside its colour.
type Sample struct {
	DeltaE00, Reach Steps
	Darker          bool
}

// Steps is a difference as grids keep it, in steps of one StepsPerDeltaE00th of a ΔE00.
// Sums of them are exact.
type Steps uint16

// StepsPerDeltaE00 is how many steps make one ΔE00.
const StepsPerDeltaE00 = kernel.DeltaScale

// StepsOf rounds a difference in ΔE00 to steps; what lies beyond 63 is cut off there.
func StepsOf(deltaE00 float64) Steps { return Steps(kernel.DeltaLane(deltaE00)) }

// Float returns the difference in ΔE00.
func (s Steps) Float() float64 { return float64(s) / StepsPerDeltaE00 }

// Samples writes difference and reach of every pixel of src, W*H of them. It stops
// and fails like [Grid.Proof].
func (g *Grid) Samples(ctx context.Context, dst []Sample, src raster.Pixels) error {
	if err := g.fits(src, len(dst)); err != nil {
		return err
	}
	return g.read(ctx, src, output{samples: dst})
}

// ProofAndSamples does what [Grid.Proof] and [Grid.Samples] do, in one pass.
func (g *Grid) ProofAndSamples(ctx context.Context, dst []uint8, samples []Sample, src raster.Pixels) error {
	if err := g.fits(src, min(len(dst)/4, len(samples))); err != nil {
		return err
	}
	return g.read(ctx, src, output{bytes: dst, samples: samples})
}

// ProofAndFigures does what [Grid.Proof] does and counts the figures of all pixels in the
// same pass.
func (g *Grid) ProofAndFigures(ctx context.Context, dst []uint8, src raster.Pixels) (Figures, error) {
	if err := g.fits(src, len(dst)/4); err != nil {
		return Figures{}, err
	}
	t, err := g.count(ctx, src, output{bytes: dst, some: someOf(narrowPixels, src, weights{})})
	if err != nil {
		return Figures{}, err
	}
	return tallied(t), nil
}

// fits reports why the grid cannot be read for src, with room for so many pixels.
func (g *Grid) fits(src raster.Pixels, room int) error {
	if err := fits(src, g.first.table.Channels); err != nil {
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
