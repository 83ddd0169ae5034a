package proof

import (
	"context"
	"fmt"

	"firstsheet/proof/raster"
)

// Strips is a whole picture that is proofed and counted strip by strip, so that it need not
// lie in memory as a whole. It may be used from several goroutines at once.
type Strips struct {
	engine *Engine
	plan   Plan
	w, h   int
	grid   *Grid
	count  *counting
	// whole takes the strips of what the exact chain counts in the end: small pictures, grey
	// ones and those in inks. Nil for others.
	whole *Picture
}

// Strips begins a picture of w by h pixels, which a fine grid of the plan will proof. Its
// strips have as many channels as the plan's source, 16 bits where deep is set, and
// opacities where alpha is set. It fails like [Engine.Grid].
func (e *Engine) Strips(ctx context.Context, p Plan, w, h int, deep, alpha bool) (*Strips, error) {
	g, err := e.Grid(ctx, p, Fine)
	if err != nil {
		return nil, err
	}
	s := &Strips{engine: e, plan: p, w: w, h: h, grid: g}
	channels := p.Source.Channels()
	if !byChain(w*h, channels) {
		s.count = newCounting(g, w*h, channels, deep)
		return s, nil
	}
	var opacities []uint8
	if alpha {
		opacities = make([]uint8, w*h)
	}
	s.whole = NewPicture(raster.New(w, h, channels, deep), opacities)
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
	if s.whole == nil {
		own := weights{alpha: alpha}
		s.count.sample(from, src, own)
		return s.count.read(ctx, dst, from, src, own, nil)
	}
	all := s.whole.pixels.Run(from, from+n)
	copy(all.P8, src.P8)
	copy(all.P16, src.P16)
	if s.whole.alpha != nil {
		copy(s.whole.alpha[from:from+n], alpha)
	}
	if dst == nil {
		return ctx.Err()
	}
	return s.grid.Proof(ctx, dst, src)
}

// Figures returns the figures, as [Engine.Count] counts them, after all rows were given.
func (s *Strips) Figures(ctx context.Context) (Figures, error) {
	if s.whole != nil {
		return s.engine.Count(ctx, s.plan, s.whole, nil)
	}
	c, err := s.engine.Chain(s.plan)
	if err != nil {
		return Figures{}, err
	}
	defer c.Close()
	return s.count.figures(ctx, c.core)
}
