// Package overlay draws over a finished sheet: the reach bands, the pattern
// where a picture is darker than the paper's black, the map of differences.
//
// It works on the buffer that goes to the screen and on figures that the engine
// gave for each of its pixels. It knows no toolkit and no colour management:
// its few colours are meant for the eye beside the picture, not as data.
package overlay

import (
	"image"
	"image/color"
	"math"
	"runtime"
	"sync"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// Field is what is known of each pixel of the drawn area, row by row.
type Field struct {
	W, H int
	// Reach is how far the original lies outside the paper's reach, Diff how far
	// the sheet lies from what it is compared with; both ΔE00.
	Reach, Diff []float32
	// Dark says that the original is darker than the paper's black.
	Dark []bool
}

// Options say how to draw.
type Options struct {
	// Limit is the ΔE00 from which a colour counts: one of proof.BandEdges.
	Limit float64
	// Line is the width of a contour line in device pixels, 1 at scale 1.
	Line int
}

// Over says what kind of sheet an overlay is drawn over.
type Over uint8

const (
	// Proofs show the picture on a paper.
	Proofs Over = iota
	// Differences show how far a sheet lies from what it is compared with.
	Differences
)

// Overlay is one way to draw over a sheet.
type Overlay struct {
	ID, Name string
	// Over is the kind of sheet that it is drawn over.
	Over Over
	// Switch is what its switch is called, "" where it has none and is always drawn; Help
	// says what the switch does, Key is its key or "". Usual is whether it is on at first.
	Switch, Help, Key string
	Usual             bool
	// With is the ID of an overlay without which this one is not drawn, "" for none.
	With string
	// Legend says in one line what is drawn.
	Legend string
	// Draw changes the f.W by f.H pixels of dst from at on.
	Draw func(dst *image.RGBA, at image.Point, f Field, o Options)
}

// Band returns the number of the reach band that a difference lies in: 0 below the
// first edge of proof.BandEdges, 4 from the last one on.
func Band(deltaE00 float64) int {
	n := 0
	for _, e := range proof.BandEdges() {
		if deltaE00 >= e {
			n++
		}
	}
	return n
}

// scale are the bands' tints as CIELAB LCh: one hue, the blue-green that skin, foliage and
// red cloth are not, told apart by lightness alone, which every eye sees, and by lines that
// grow heavier from band to band.
var scale = [4]cie.LCh{{L: 93, C: 16, H: 205}, {L: 74, C: 30, H: 208}, {L: 53, C: 34, H: 214}, {L: 30, C: 28, H: 224}}

// grey replaces pixels by pale grey ones of their lightness, squeezed to the middle so that
// tints over them stay telling.
func grey(dst *image.RGBA, at image.Point, w, h int) {
	for y := range h {
		p := dst.Pix[dst.PixOffset(at.X, at.Y+y):]
		for x := range w {
			q := p[4*x : 4*x+3]
			l := (54*int(q[0]) + 183*int(q[1]) + 19*int(q[2])) >> 8 // luma of ITU-R BT.709
			g := uint8(90 + l*130/255)
			q[0], q[1], q[2] = g, g, g
		}
	}
}

// Tint returns the colour of a band from 1 to 4.
func Tint(band int) color.NRGBA {
	v := space.SRGB().FromLab(scale[band-1].Lab())
	b := func(x float64) uint8 { return uint8(math.Round(math.Min(math.Max(x, 0), 1) * 255)) }
	return color.NRGBA{b(v[0]), b(v[1]), b(v[2]), 255}
}

// strips runs f over h rows in strips, one goroutine a core.
func strips(h int, f func(y0, y1 int)) {
	n := min(runtime.GOMAXPROCS(0), max(h/32, 1))
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { f(h*i/n, h*(i+1)/n) })
	}
	wg.Wait()
}

// smooth returns the mean of v over squares of 2r+1 pixels, leaving out pixels
// where skip is set; where all are left out it returns 0. Contour lines of the
// raw values would follow the grain of the picture.
func smooth(v []float32, skip []bool, w, h, r int) []float32 {
	// Running sums along the rows, then down the columns a row at a time, so that
	// memory is read in order.
	sum, wgt := make([]float32, w*h), make([]float32, w*h)
	strips(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			row := y * w
			var s, n float32
			add := func(x int, k float32) {
				if x >= 0 && x < w && (skip == nil || !skip[row+x]) {
					s += k * v[row+x]
					n += k
				}
			}
			for x := -r; x < r; x++ {
				add(x, 1)
			}
			for x := range w {
				add(x+r, 1)
				sum[row+x], wgt[row+x] = s, n
				add(x-r, -1)
			}
		}
	})
	out := make([]float32, w*h)
	strips(h, func(y0, y1 int) {
		s, n := make([]float32, w), make([]float32, w)
		add := func(y int, k float32) {
			if y < 0 || y >= h {
				return
			}
			a, b := sum[y*w:(y+1)*w], wgt[y*w:(y+1)*w]
			for x := range s {
				s[x] += k * a[x]
				n[x] += k * b[x]
			}
		}
		for y := y0 - r; y < y0+r; y++ {
			add(y, 1)
		}
		for y := y0; y < y1; y++ {
			add(y+r, 1)
			o := out[y*w : (y+1)*w]
			for x := range o {
				if n[x] > 0.5 {
					o[x] = s[x] / n[x]
				}
			}
			add(y-r, -1)
		}
	})
	return out
}

// classes sorts a field into bands from limit on; what lies below is 0.
func classes(v []float32, limit float64) []uint8 {
	out := make([]uint8, len(v))
	for i, d := range v {
		if float64(d) >= limit {
			out[i] = uint8(Band(float64(d)))
		}
	}
	return out
}

func mix(p []uint8, c color.NRGBA, a int) {
	p[0] = uint8((int(p[0])*(256-a) + int(c.R)*a) >> 8)
	p[1] = uint8((int(p[1])*(256-a) + int(c.G)*a) >> 8)
	p[2] = uint8((int(p[2])*(256-a) + int(c.B)*a) >> 8)
}

// paint tints the classes and draws the contours between them: a dark line on
// the far side of an edge and a light one on the near side, so that one of the
// two shows on any picture.
func paint(dst *image.RGBA, at image.Point, class []uint8, w, h, alpha, line int) {
	var tint [5]color.NRGBA
	for b := 1; b <= 4; b++ {
		tint[b] = Tint(b)
	}
	line = max(line, 1)
	strips(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			p := dst.Pix[dst.PixOffset(at.X, at.Y+y):]
			for x := range w {
				c := class[y*w+x]
				far, near := false, false
				look := func(xx, yy int) {
					if xx < 0 || yy < 0 || xx >= w || yy >= h {
						return
					}
					if n := class[yy*w+xx]; n < c {
						far = true
					} else if n > c {
						near = true
					}
				}
				// The line round a band stands inside it, the wider the farther out.
				heavy := line + line*(int(c)-1)/2
				for d := 1; d <= heavy && !far; d++ {
					look(x-d, y)
					look(x+d, y)
					look(x, y-d)
					look(x, y+d)
				}
				q := p[4*x : 4*x+3]
				switch {
				case far:
					mix(q, color.NRGBA{A: 255}, 210)
				case near:
					mix(q, color.NRGBA{255, 255, 255, 255}, 210)
				case c > 0:
					mix(q, tint[c], alpha)
				}
			}
		}
	})
}
