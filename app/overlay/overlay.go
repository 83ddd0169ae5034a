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
	// Limit is the ΔE00 from which a colour counts: one of Edges.
	Limit float64
	// Line is the width of a contour line in device pixels, 1 at scale 1.
	Line int
}

// Overlay is one way to draw over a sheet. Draw changes the f.W by f.H pixels of
// dst from at on.
type Overlay struct {
	ID, Name string
	// Legend says in one line what is drawn.
	Legend string
	Draw   func(dst *image.RGBA, at image.Point, f Field, o Options)
}

// Edges are the ΔE00 at which one band ends and the next begins.
var edges = [4]float64{1, 2, 4, 8}

// Edges returns the ΔE00 at which one band ends and the next begins.
func Edges() [4]float64 { return edges }

// Band returns the number of the band that a difference lies in: 0 below the
// first edge, 4 from the last one on.
func Band(deltaE00 float64) int {
	n := 0
	for _, e := range edges {
		if deltaE00 >= e {
			n++
		}
	}
	return n
}

// scale are the bands' tints as CIELAB LCh: lightness falls by 20 and more from
// band to band, and the hues run from yellow by orange and magenta to violet,
// along which eyes without red or green cones still see yellow turn to blue.
var scale = [4]cie.LCh{{L: 94, C: 52, H: 102}, {L: 72, C: 64, H: 60}, {L: 50, C: 62, H: 355}, {L: 27, C: 60, H: 305}}

// Tint returns the colour of a band from 1 to 4.
func Tint(band int) color.NRGBA {
	v := space.SRGB().FromLab(scale[band-1].Lab())
	b := func(x float64) uint8 { return uint8(math.Round(math.Min(math.Max(x, 0), 1) * 255)) }
	return color.NRGBA{b(v[0]), b(v[1]), b(v[2]), 255}
}

// smooth returns the mean of v over squares of 2r+1 pixels, leaving out pixels
// where skip is set; where all are left out it returns 0. Contour lines of the
// raw values would follow the grain of the picture.
func smooth(v []float32, skip []bool, w, h, r int) []float32 {
	sum := make([]float32, w*h)
	wgt := make([]float32, w*h)
	for y := range h {
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
	out := make([]float32, w*h)
	for x := range w {
		var s, n float32
		add := func(y int, k float32) {
			if y >= 0 && y < h {
				s += k * sum[y*w+x]
				n += k * wgt[y*w+x]
			}
		}
		for y := -r; y < r; y++ {
			add(y, 1)
		}
		for y := range h {
			add(y+r, 1)
			if n > 0.5 {
				out[y*w+x] = s / n
			}
			add(y-r, -1)
		}
	}
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
	for y := range h {
		p := dst.Pix[dst.PixOffset(at.X, at.Y+y):]
		for x := range w {
			c := class[y*w+x]
			far, near := false, false
			for d := 1; d <= line && !far; d++ {
				for _, n := range [4]int{-d, d, -d * w, d * w} {
					xx := x
					if n == d || n == -d {
						xx += n
						if xx < 0 || xx >= w {
							continue
						}
					}
					i := y*w + x + n
					if i < 0 || i >= len(class) {
						continue
					}
					if class[i] < c {
						far = true
					} else if class[i] > c {
						near = true
					}
				}
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
}
