// Package pin holds the marks a person puts on a picture, reads the colour under
// them, and proposes the places of a picture that tell most about a print.
//
// A pin's position and size are fractions, so that one pin serves a picture at
// every size. All colours are CIELAB under D50. Where the pins come from on
// screen, and what the colour becomes in print, are left to others.
package pin

import (
	"errors"
	"fmt"
	"math"

	"firstsheet/proof/cie"
)

// Pin is a named mark on a picture.
type Pin struct {
	Name string `json:"name"`
	// X and Y are the place as fractions of the picture's width and height,
	// from the left and from the top, 0 to 1.
	X float64 `json:"x"`
	Y float64 `json:"y"`
	// Radius is that of the disc which is averaged, as a fraction of the
	// picture's longer side. 0 reads the single pixel.
	Radius float64 `json:"radius"`
}

// MaxSamples is the most pixels that one reading takes. A larger disc is read on
// an even grid of about so many pixels: 1,600 fix the mean of noise of 5 ΔE to
// 0.13 ΔE, and each costs a floating-point run of the chain (1.9 million a
// second on one core).
const MaxSamples = 1600

// Point is a pixel's place.
type Point struct{ X, Y int }

// Pixels returns the pixels of a w by h picture that the pin reads, row by row:
// those whose centre is inside the disc, the pixel under the pin always. At
// most about [MaxSamples] of them, evenly spread. A pin outside the picture
// reads the nearest pixels of it; an empty picture gives nil.
func (p Pin) Pixels(w, h int) []Point {
	if w <= 0 || h <= 0 {
		return nil
	}
	cx, cy := clamp(p.X, 1)*float64(w), clamp(p.Y, 1)*float64(h)
	px, py := min(int(cx), w-1), min(int(cy), h-1)
	r := clamp(p.Radius, 2) * float64(max(w, h))
	step := 1
	if area := min(math.Pi*r*r, float64(w)*float64(h)); area > MaxSamples {
		step = int(math.Ceil(math.Sqrt(area / MaxSamples)))
	}
	reach := int(r)/step + 1
	left, right := min(reach, px/step), min(reach, (w-1-px)/step)
	up, down := min(reach, py/step), min(reach, (h-1-py)/step)
	out := make([]Point, 0, (left+right+1)*(up+down+1))
	for j := -up; j <= down; j++ {
		for i := -left; i <= right; i++ {
			x, y := px+i*step, py+j*step
			dx, dy := float64(x)+0.5-cx, float64(y)+0.5-cy
			if i == 0 && j == 0 || dx*dx+dy*dy <= r*r {
				out = append(out, Point{x, y})
			}
		}
	}
	return out
}

func clamp(v, top float64) float64 {
	if !(v > 0) { // NaN too
		return 0
	}
	return min(v, top)
}

// Reading is the colour under a pin.
type Reading struct {
	// Lab is the mean colour.
	Lab cie.Lab
	// Spread is the root mean square CIE76 distance of the pixels from Lab:
	// above about 10 the disc holds more than one colour, and the mean is a
	// colour that is nowhere in the picture.
	Spread float64
	// Count is how many pixels were read.
	Count int
}

// ErrEmpty is returned for a reading of no pixels.
var ErrEmpty = errors.New("pin: no pixels to read")

// Average returns the reading of the given pixels' colours.
//
// The mean is taken in XYZ, that is of the light, as a measuring instrument
// with an aperture of the pin's size would read the print; the mean of the
// Lab values would be too light where pixels differ much. So that an original
// and its print can be compared, each pixel is to pass the exact chain first,
// then its results are averaged: never the chain of an averaged number.
func Average(colours []cie.Lab) (Reading, error) {
	if len(colours) == 0 {
		return Reading{}, ErrEmpty
	}
	var all light
	for _, c := range colours {
		all.add(c)
	}
	mean := all.mean()
	var squares float64
	for _, c := range colours {
		d := cie.DeltaE76(c, mean)
		squares += d * d
	}
	return Reading{Lab: mean, Spread: math.Sqrt(squares / float64(len(colours))), Count: len(colours)}, nil
}

// light is that of n colours together.
type light struct {
	sum cie.XYZ
	n   int
}

func (l *light) add(c cie.Lab) {
	v := c.ToXYZ(cie.D50)
	l.sum.X, l.sum.Y, l.sum.Z = l.sum.X+v.X, l.sum.Y+v.Y, l.sum.Z+v.Z
	l.n++
}

func (l *light) mean() cie.Lab { return l.sum.Scale(1 / float64(l.n)).ToLab(cie.D50) }

// Picture is a small picture in CIELAB: W*H colours row by row from the top.
type Picture struct {
	W, H int
	Lab  []cie.Lab
}

func (p Picture) check() error {
	if p.W <= 0 || p.H <= 0 || len(p.Lab) != p.W*p.H {
		return fmt.Errorf("pin: picture of %d by %d with %d colours", p.W, p.H, len(p.Lab))
	}
	return nil
}

// Read returns the reading of a pin on the picture.
func (p Picture) Read(pin Pin) (Reading, error) {
	if err := p.check(); err != nil {
		return Reading{}, err
	}
	points := pin.Pixels(p.W, p.H)
	colours := make([]cie.Lab, len(points))
	for i, q := range points {
		colours[i] = p.Lab[q.Y*p.W+q.X]
	}
	return Average(colours)
}
