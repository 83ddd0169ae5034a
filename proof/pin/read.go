package pin

import (
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
)

// Value is what a plan makes of the colour under a pin: every pixel of it passes the
// exact chain, then the results are averaged. Lab is D50 CIELAB, as in [proof.Value].
type Value struct {
	// Original, Counted, Relative and Look are means of the light, see [Average].
	Original, Counted, Relative, Look cie.Lab
	// Screen is the mean of what the screen is told, 0 to 1.
	Screen [3]float64
	// DeltaE00 is between Original and Counted, Reach the pixels' mean.
	DeltaE00, Reach float64
	// Darker says that most of the pixels are darker than the paper's black.
	Darker bool
}

// Numbers are the means of a pin's numbers, 0 to 1 a channel: those of the file, and
// those that the printer gets (none for the original itself).
type Numbers struct{ File, Device []float64 }

// Read reads a pin on a picture through the exact chain of a plan. The picture's
// channels must be the source's. The error is [ErrEmpty] for a picture without pixels, or
// the chain's.
func Read(c *proof.Chain, picture raster.Pixels, p Pin) (Value, Numbers, error) {
	points := p.Pixels(picture.W, picture.H)
	n := len(points)
	src := make([]float64, 0, n*picture.Channels)
	for _, at := range points {
		src = picture.At(src, at.X, at.Y)
	}
	return ReadNumbers(c, src, n)
}

// atOnce is how many pixels pass the chain together.
const atOnce = 256

// ReadNumbers is [Read] of n pixels whose numbers are at hand, pixel by pixel, 0 to 1 a
// channel: of a pin on a picture that is written in other numbers than its file's.
func ReadNumbers(c *proof.Chain, src []float64, n int) (Value, Numbers, error) {
	if n == 0 {
		return Value{}, Numbers{}, ErrEmpty
	}
	var out Value
	channels := len(src) / n
	numbers := Numbers{File: make([]float64, channels)}
	share := 1 / float64(n)
	dark := 0
	var original, counted, relative, look light
	values := make([]proof.Value, min(n, atOnce))
	for from := 0; from < n; from += atOnce {
		some := values[:min(atOnce, n-from)]
		if err := c.Values(some, src[from*channels:(from+len(some))*channels]); err != nil {
			return Value{}, Numbers{}, err
		}
		for i, v := range some {
			if numbers.Device == nil {
				numbers.Device = make([]float64, len(v.Device))
			}
			addShare(numbers.File, src[(from+i)*channels:(from+i+1)*channels], share)
			addShare(numbers.Device, v.Device, share)
			addShare(out.Screen[:], v.Screen[:], share)
			out.Reach += v.Reach * share
			if v.Darker {
				dark++
			}
			original.add(v.Original)
			counted.add(v.Counted)
			relative.add(v.Relative)
			look.add(v.Look)
		}
	}
	out.Darker = 2*dark > n
	out.Original, out.Counted, out.Relative, out.Look = original.mean(), counted.mean(), relative.mean(), look.mean()
	out.DeltaE00 = cie.DeltaE00(out.Original, out.Counted)
	return out, numbers, nil
}

// addShare adds a share of each number of src to dst.
func addShare(dst, src []float64, share float64) {
	for i, v := range src {
		dst[i] += v * share
	}
}
