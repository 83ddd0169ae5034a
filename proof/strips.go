package proof

import (
	"bytes"
	"context"
	"fmt"
	"sync"

	"firstsheet/proof/raster"
)

// Strips is a whole picture that is proofed and counted strip by strip, so that it need not
// lie in memory as a whole. It may be used from several goroutines at once.
type Strips struct {
	engine *Engine
	plan   Plan
	w, h   int
	grid   *Grid

	// One of these counts: by the grid, each grey, or all pixels at the end.
	count *counting
	greys *greys
	whole *gathered
}

// Strips begins a picture of w by h pixels, which a fine grid of the plan will proof. Its
// strips have as many channels as the plan's source, and 16 bits where deep is set. Pictures in
// inks and small ones are gathered to be counted; of others nothing is kept. It fails like
// [Engine.Grid].
func (e *Engine) Strips(ctx context.Context, p Plan, w, h int, deep bool) (*Strips, error) {
	g, err := e.Grid(ctx, p, Fine)
	if err != nil {
		return nil, err
	}
	s := &Strips{engine: e, plan: p, w: w, h: h, grid: g}
	switch channels := p.Source.Channels(); {
	case channels == 1:
		s.greys = new(greys)
	case byChain(w*h, channels):
		s.whole = &gathered{pixels: raster.New(w, h, channels, deep)}
	default:
		s.count = newCounting(g, w*h, channels, deep)
	}
	return s, nil
}

// Grid returns the grid that proofs.
func (s *Strips) Grid() *Grid { return s.grid }

// Proof proofs the rows of src, which begin with row y0 of the picture, and counts them.
// dst is as for [Grid.Proof], or nil where only figures are wanted. Each row is given once,
// in any order. It stops and fails like [Grid.Proof].
func (s *Strips) Proof(ctx context.Context, dst []uint8, y0 int, src raster.Pixels, alpha []uint8) error {
	if err := fits(src, s.plan.Source.Channels()); err != nil {
		return err
	}
	from, n := y0*s.w, src.W*src.H
	if src.W != s.w || y0 < 0 || y0+src.H > s.h {
		return &PlanError{fmt.Sprintf("rows %d to %d of %d pixels are none of a picture of %d x %d", y0, y0+src.H, src.W, s.w, s.h)}
	}
	if dst != nil && len(dst) < 4*n || alpha != nil && len(alpha) != n {
		return &PlanError{fmt.Sprintf("there is room for %d of %d pixels, and %d opacities", len(dst)/4, n, len(alpha))}
	}
	switch {
	case s.count != nil:
		own := weights{alpha: alpha}
		s.count.sample(from, src, own)
		return s.count.read(ctx, dst, from, src, own, nil)
	case s.greys != nil:
		s.greys.add(src, alpha)
	default:
		s.whole.add(from, src, alpha)
	}
	if dst == nil {
		return ctx.Err()
	}
	return s.grid.Proof(ctx, dst, src)
}

// Figures returns the figures, as [Engine.Count] counts them, after all rows were given.
func (s *Strips) Figures(ctx context.Context) (Figures, error) {
	if s.whole != nil {
		return s.engine.Count(ctx, s.plan, NewPicture(s.whole.pixels, s.whole.alpha), nil)
	}
	c, err := s.engine.Chain(s.plan)
	if err != nil {
		return Figures{}, err
	}
	defer c.Close()
	if s.greys != nil {
		return c.figures(ctx, s.greys.colours(), func(float64) {})
	}
	return s.count.figures(ctx, c.core)
}

// gathered is a picture that is put together from its strips.
type gathered struct {
	pixels raster.Pixels
	once   sync.Once
	alpha  []uint8 // nil where all is opaque
}

// add takes the pixels of src, the first of which is the picture's pixel from.
func (g *gathered) add(from int, src raster.Pixels, alpha []uint8) {
	n := src.W * src.H
	to := g.pixels.Run(from, from+n)
	copy(to.P8, src.P8)
	copy(to.P16, src.P16)
	if alpha != nil {
		g.once.Do(func() { g.alpha = bytes.Repeat([]byte{255}, g.pixels.W*g.pixels.H) })
		copy(g.alpha[from:from+n], alpha)
	}
}
