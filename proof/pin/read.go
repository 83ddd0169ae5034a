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
	var src []float64
	for _, at := range points {
		src = picture.At(src, at.X, at.Y)
	}
	return ReadNumbers(c, src, n)
}

// ReadNumbers is [Read] of n pixels whose numbers are at hand, pixel by pixel, 0 to 1 a
// channel: of a pin on a picture that is written in other numbers than its file's.
func ReadNumbers(c *proof.Chain, src []float64, n int) (Value, Numbers, error) {
	if n == 0 {
		return Value{}, Numbers{}, ErrEmpty
	}
	values := make([]proof.Value, n)
	if err := c.Values(values, src); err != nil {
		return Value{}, Numbers{}, err
	}

	var out Value
	channels := len(src) / n
	numbers := Numbers{File: make([]float64, channels), Device: make([]float64, len(values[0].Device))}
	share := 1 / float64(n)
	dark := 0
	for i, v := range values {
		addShare(numbers.File, src[i*channels:(i+1)*channels], share)
		addShare(numbers.Device, v.Device, share)
		addShare(out.Screen[:], v.Screen[:], share)
		out.Reach += v.Reach * share
		if v.Darker {
			dark++
		}
	}
	out.Darker = 2*dark > n
	for _, mean := range []struct {
		to *cie.Lab
		of func(proof.Value) cie.Lab
	}{
		{&out.Original, func(v proof.Value) cie.Lab { return v.Original }},
		{&out.Counted, func(v proof.Value) cie.Lab { return v.Counted }},
		{&out.Relative, func(v proof.Value) cie.Lab { return v.Relative }},
		{&out.Look, func(v proof.Value) cie.Lab { return v.Look }},
	} {
		colours := make([]cie.Lab, n)
		for i, v := range values {
			colours[i] = mean.of(v)
		}
		reading, err := Average(colours)
		if err != nil {
			return Value{}, Numbers{}, err
		}
		*mean.to = reading.Lab
	}
	out.DeltaE00 = cie.DeltaE00(out.Original, out.Counted)
	return out, numbers, nil
}

// addShare adds a share of each number of src to dst.
func addShare(dst, src []float64, share float64) {
	for i, v := range src {
		dst[i] += v * share
	}
}
