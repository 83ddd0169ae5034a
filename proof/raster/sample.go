package raster

import (
	"context"
	"image"
	"math"
	"runtime"
	"sync"
)

// Halve returns p at half its size, each number the mean of four. Odd last rows
// and columns are averaged with themselves. Means are taken of the encoded
// numbers, as the paper's own halftone would not: but so do all previews that a
// photographer compares with, and a sheet and its original are treated alike.
func Halve(p Pixels) Pixels {
	w, h := (p.W+1)/2, (p.H+1)/2
	q := New(w, h, p.Channels, p.Deep())
	InRows(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			ya, yb := 2*y*p.W, min(2*y+1, p.H-1)*p.W
			for x := range w {
				xa, xb := 2*x, min(2*x+1, p.W-1)
				for c := range p.Channels {
					a, b := (ya+xa)*p.Channels+c, (ya+xb)*p.Channels+c
					d, e := (yb+xa)*p.Channels+c, (yb+xb)*p.Channels+c
					o := (y*w+x)*p.Channels + c
					if p.Deep() {
						q.P16[o] = uint16((uint32(p.P16[a]) + uint32(p.P16[b]) + uint32(p.P16[d]) + uint32(p.P16[e]) + 2) / 4)
					} else {
						q.P8[o] = uint8((uint32(p.P8[a]) + uint32(p.P8[b]) + uint32(p.P8[d]) + uint32(p.P8[e]) + 2) / 4)
					}
				}
			}
		}
	})
	return q
}

// Levels returns p and its halves down to about 256 pixels.
func Levels(p Pixels) []Pixels {
	out := []Pixels{p}
	for max(p.W, p.H) > 512 {
		p = Halve(p)
		out = append(out, p)
	}
	return out
}

// InRows runs f over h rows in strips, one goroutine a core.
func InRows(h int, f func(y0, y1 int)) {
	n := min(runtime.GOMAXPROCS(0), max(h/16, 1))
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { f(h*i/n, h*(i+1)/n) })
	}
	wg.Wait()
}

// span is how an output pixel is made of input pixels on one axis.
type span struct {
	first int
	w     []float32 // weights of first, first+1, ...; their sum is 1
}

// spans works out n output pixels whose left edges lie at (i-origin)/scale input
// pixels, times factor; the input has size of them. An output pixel is the mean
// of what it covers: small pictures are averaged, enlarged ones show their
// pixels as squares with clean edges, and at scale 1 each is a copy.
func spans(n, origin int, scale, factor float64, size int) []span {
	out := make([]span, n)
	for i := range out {
		a := min(max(float64(i-origin)/scale*factor, 0), float64(size))
		b := min(max(float64(i+1-origin)/scale*factor, 0), float64(size))
		// Whole numbers that arithmetic has missed by a hair are whole.
		if r := math.Round(a); math.Abs(a-r) < 1e-6 {
			a = r
		}
		if r := math.Round(b); math.Abs(b-r) < 1e-6 {
			b = r
		}
		first := min(int(a), size-1)
		s := span{first: first}
		last := max(int(math.Ceil(b))-1, first)
		total := b - a
		for k := first; k <= min(last, size-1); k++ {
			wgt := math.Min(b, float64(k+1)) - math.Max(a, float64(k))
			if total <= 0 {
				wgt, total = 1, 1
			}
			s.w = append(s.w, float32(wgt/total))
		}
		out[i] = s
	}
	return out
}

// View is the part of a picture that is to be shown, and how large.
type View struct {
	// Visible is where the part is shown, in pixels of the device.
	Visible image.Rectangle
	// Scale is in device pixels per picture pixel, above 0.
	Scale float64
	// X0, Y0 is where the picture's top left corner lies, in pixels of the device.
	X0, Y0 int
}

// Sample returns the part of a picture that view shows, one pixel for each device
// pixel of view.Visible. levels are as [Levels] makes them, or the picture alone. When
// ctx ends the pixels are incomplete.
func Sample(ctx context.Context, levels []Pixels, view View) Pixels {
	full := levels[0]
	level := 0
	for level+1 < len(levels) && view.Scale*float64(int(2)<<level) <= 1 {
		level++
	}
	p := levels[level]
	w, h := view.Visible.Dx(), view.Visible.Dy()
	xs := spans(w, view.X0-view.Visible.Min.X, view.Scale, float64(p.W)/float64(full.W), p.W)
	ys := spans(h, view.Y0-view.Visible.Min.Y, view.Scale, float64(p.H)/float64(full.H), p.H)
	copying := view.Scale == 1
	deep := p.Deep() || !copying
	out := New(w, h, p.Channels, deep)
	lo := xs[0].first
	hi := lo
	for _, s := range xs {
		hi = max(hi, s.first+len(s.w))
	}
	ch := p.Channels
	InRows(h, func(y0, y1 int) {
		row := make([]float32, (hi-lo)*ch)
		for y := y0; y < y1; y++ {
			if y%32 == 0 && ctx.Err() != nil {
				return
			}
			s := ys[y]
			if copying {
				from := (s.first*p.W + lo) * ch
				if p.Deep() {
					copy(out.P16[y*w*ch:(y+1)*w*ch], p.P16[from:from+w*ch])
				} else {
					copy(out.P8[y*w*ch:(y+1)*w*ch], p.P8[from:from+w*ch])
				}
				continue
			}
			clear(row)
			for k, wy := range s.w {
				from := ((s.first+k)*p.W + lo) * ch
				if p.Deep() {
					for i, v := range p.P16[from : from+len(row)] {
						row[i] += wy * float32(v)
					}
				} else {
					wy *= 257
					for i, v := range p.P8[from : from+len(row)] {
						row[i] += wy * float32(v)
					}
				}
			}
			o := out.P16[y*w*ch : (y+1)*w*ch]
			for x, sx := range xs {
				at := (sx.first - lo) * ch
				for c := range ch {
					var v float32
					for k, wx := range sx.w {
						v += wx * row[at+k*ch+c]
					}
					o[x*ch+c] = uint16(min(v+0.5, 65535))
				}
			}
		}
	})
	return out
}
