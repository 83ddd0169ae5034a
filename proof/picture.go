package proof

import (
	"context"
	"fmt"
	"sync/atomic"

	"firstsheet/proof/raster"
)

// Picture is a whole picture that figures are counted over. It does not change and may
// be used from several goroutines at once.
type Picture struct {
	pixels raster.Pixels
	alpha  []uint8

	index atomic.Pointer[index] // nil until there is one

	making gate // guards tried
	tried  bool // the index was made or given up
	taking gate // guards taken
	taken  *Colours
}

// gate lets one in at a time. Unlike a lock's, its waiting can be stopped.
type gate chan struct{}

func (g gate) enter(ctx context.Context) error {
	select {
	case g <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (g gate) leave() { <-g }

// NewPicture returns a picture of these pixels. alpha has W*H entries or is nil; fully
// transparent pixels do not count. Both are kept and must not be changed.
func NewPicture(pixels raster.Pixels, alpha []uint8) *Picture {
	return &Picture{pixels: pixels, alpha: alpha, making: make(gate, 1), taking: make(gate, 1)}
}

// Pixels returns the picture's pixels, Alpha what [NewPicture] was given beside them.
func (p *Picture) Pixels() raster.Pixels { return p.pixels }

// Alpha returns W*H opacities, nil where all is opaque.
func (p *Picture) Alpha() []uint8 { return p.alpha }

// Colours returns the colours that [CountColours] takes of the picture. It takes them
// once.
func (p *Picture) Colours(ctx context.Context) (*Colours, error) {
	if err := p.taking.enter(ctx); err != nil {
		return nil, err
	}
	defer p.taking.leave()
	if p.taken != nil {
		return p.taken, nil
	}
	c, err := CountColours(ctx, p.pixels, p.alpha)
	p.taken = c
	return c, err
}

// check reports why the picture cannot be counted with a source of so many channels.
func (p *Picture) check(channels int) error {
	if err := fits(p.pixels, channels); err != nil {
		return err
	}
	if n := p.pixels.W * p.pixels.H; p.alpha != nil && len(p.alpha) != n {
		return &PlanError{fmt.Sprintf("%d values of alpha come with %d pixels", len(p.alpha), n)}
	}
	return nil
}

// Index has the picture's colours indexed: from then on [Engine.Count] and [Picture.Proof]
// read each of them once. It is for pictures that are counted or drawn again and again, and
// takes 0.1 s of one core for 24 megapixels, 64 MB meanwhile and 7 bytes for each colour. Pictures of 16 bits,
// grey ones, those in inks, small ones and those with too many colours are left as they
// are. It returns the context's error when it was stopped, and can be asked again.
func (p *Picture) Index(ctx context.Context) error {
	if err := p.making.enter(ctx); err != nil {
		return err
	}
	defer p.making.leave()
	if p.tried || p.pixels.Deep() || byChain(p.pixels.W*p.pixels.H, p.pixels.Channels) || p.check(p.pixels.Channels) != nil {
		return nil
	}
	x, err := p.newIndex(ctx)
	if err != nil {
		return err
	}
	p.tried = true
	p.index.Store(x)
	return nil
}

// Proof writes what [Grid.Proof] does for all W*H pixels of the picture, and fails like it.
// Where [Picture.Index] has indexed it, the grid is read once for each colour and the pixels
// look theirs up. The first time that is done takes 0.1 s longer for 24 megapixels, 64 MB
// meanwhile, and 4 bytes a pixel for as long as there is the picture.
func (p *Picture) Proof(ctx context.Context, g *Grid, dst []uint8) error {
	x := p.index.Load()
	if x == nil {
		return g.Proof(ctx, dst, p.pixels)
	}
	if err := g.fits(p.pixels, len(dst)/4); err != nil {
		return err
	}
	return x.proof(ctx, g, dst, p.pixels)
}

// weights say for how many pixels each one counts: as many as pixels says, or one
// where it is not fully transparent. Where both are nil each counts for one.
type weights struct {
	pixels []uint32
	alpha  []uint8
}

// even reports whether each counts for one.
func (w weights) even() bool { return w.pixels == nil && w.alpha == nil }

// at returns for how many pixels one counts.
func (w weights) at(i int) uint32 {
	switch {
	case w.pixels != nil:
		return w.pixels[i]
	case w.alpha != nil:
		return uint32(min(w.alpha[i], 1))
	}
	return 1
}

// run returns the weights from lo up to but not including hi; nil where they are even.
func (w weights) run(lo, hi int) []uint32 {
	switch {
	case w.even():
		return nil
	case w.pixels != nil:
		return w.pixels[lo:hi]
	}
	out := make([]uint32, hi-lo)
	for i := range out {
		out[i] = w.at(lo + i)
	}
	return out
}
