package proof

import (
	"context"
	"fmt"
	"sync"

	"firstsheet/proof/raster"
)

// Picture is a whole picture that figures are counted over. It does not change and may
// be used from several goroutines at once.
type Picture struct {
	pixels raster.Pixels
	alpha  []uint8

	mu      sync.Mutex
	counted bool   // at least once
	index   *index // nil before the second time, and where there are too many colours
	tried   bool
}

// NewPicture returns a picture of these pixels. alpha has W*H entries or is nil; fully
// transparent pixels do not count. Both are kept and must not be changed.
func NewPicture(pixels raster.Pixels, alpha []uint8) *Picture {
	return &Picture{pixels: pixels, alpha: alpha}
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

// index has each colour of a picture once, and for how many pixels it stands.
type index struct {
	colours raster.Pixels // one row
	pixels  []uint32
}

// mostColours is how many colours are indexed at most: a photograph of 24 megapixels in 8 bits has
// 0.8 million, noise nearly as many as pixels.
const mostColours = 1 << 22

// indexed returns the picture's index when it is worth having: when the picture is
// counted for the second time, and has far fewer colours than pixels.
func (p *Picture) indexed(ctx context.Context) *index {
	p.mu.Lock()
	defer p.mu.Unlock()
	if again := p.counted; !again || p.tried {
		p.counted = true
		return p.index
	}
	if !p.pixels.Deep() {
		p.index = p.newIndex(ctx)
	}
	p.tried = ctx.Err() == nil
	return p.index
}

// newIndex counts pixels of three numbers of 8 bits: one count for each possible colour,
// 64 MB for a moment. It returns nil when it was stopped or there are too many colours.
func (p *Picture) newIndex(ctx context.Context) *index {
	counts := make([]uint32, 1<<24)
	n, most := 0, min(mostColours, p.pixels.W*p.pixels.H/4)
	for y := range p.pixels.H {
		if ctx.Err() != nil || n > most {
			return nil
		}
		row := p.pixels.Rows(y, y+1).P8
		for x := range p.pixels.W {
			if p.alpha != nil && p.alpha[y*p.pixels.W+x] == 0 {
				continue
			}
			c := &counts[uint32(row[3*x])<<16|uint32(row[3*x+1])<<8|uint32(row[3*x+2])]
			if *c++; *c == 1 {
				n++
			}
		}
	}
	x := &index{raster.New(n, 1, 3, false), make([]uint32, 0, n)}
	colours := x.colours.P8[:0]
	for c, k := range counts {
		if k > 0 {
			colours = append(colours, uint8(c>>16), uint8(c>>8), uint8(c))
			x.pixels = append(x.pixels, k)
		}
	}
	return x
}

// weights returns for how many pixels each one of a picture's own stands: 0 for
// transparent ones; nil stands for 1 each.
func weights(alpha []uint8) []uint32 {
	if alpha == nil {
		return nil
	}
	w := make([]uint32, len(alpha))
	for i, a := range alpha {
		w[i] = uint32(min(a, 1))
	}
	return w
}
