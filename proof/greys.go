package proof

import (
	"context"
	"runtime"
	"sync"

	"firstsheet/proof/raster"
)

// greys counts the colours of a grey picture, of which there are few: all of it, or strip by
// strip. It may be used from several goroutines at once.
type greys struct {
	mu     sync.Mutex
	pixels [1 << 16]uint64 // of each number of 16 bits
}

// add counts pixels, those that are fully transparent left out.
func (g *greys) add(src raster.Pixels, alpha []uint8) {
	count := make([]uint32, len(g.pixels))
	own := weights{alpha: alpha}
	for i := range src.W * src.H {
		count[number(src, i)] += own.at(i)
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	for v, n := range count {
		g.pixels[v] += uint64(n)
	}
}

// colours returns what was counted, the darkest first.
func (g *greys) colours() *Colours {
	c := &Colours{Channels: 1}
	for v, n := range g.pixels {
		if n > 0 {
			c.Numbers, c.Pixels = append(c.Numbers, float64(v)/65535), append(c.Pixels, float64(n))
		}
	}
	return c
}

// countGreys counts a picture as a whole.
func countGreys(ctx context.Context, src raster.Pixels, alpha []uint8) (*Colours, error) {
	const rows = 256
	g := new(greys)
	err := inParallel(ctx, src.H, rows, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(lo, hi int) error {
			var opacities []uint8
			if alpha != nil {
				opacities = alpha[lo*src.W : hi*src.W]
			}
			g.add(src.Rows(lo, hi), opacities)
			return ctx.Err()
		}
	})
	if err != nil {
		return nil, err
	}
	return g.colours(), nil
}
