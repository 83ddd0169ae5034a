package gamut

import (
	"context"
	"errors"
	"fmt"
	"image/color"
	"math"
	"sort"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// Point is one colour of a picture with how many pixels it stands for.
type Point struct {
	Lab    cie.Lab
	Weight float64
	Screen color.RGBA // the colour itself, as bytes of the screen
}

// Cloud is a picture's colours: every pixel at full size, those alike counted
// together. Points are sorted, the rarest first.
type Cloud struct {
	Points []Point
	Pixels float64
}

// ErrNoPixels is returned for a picture that has no visible pixel.
var ErrNoPixels = errors.New("gamut: the picture has no visible pixel")

// Cells of the count. RGB cells are 4 levels of 255 wide, about 2 Lab units: no
// larger than a dot of the plot. A cell answers with the mean of its pixels.
const (
	rgbBits = 6
	inkBits = 4
)

// NewCloud counts a picture's colours. alpha has W*H entries or is nil; pixels of
// alpha 0 are left out. progress may be nil.
func NewCloud(ctx context.Context, e Engine, source, screen *proof.Profile, pix raster.Pixels, alpha []uint8, progress func(float64)) (*Cloud, error) {
	numbers, weights, err := count(ctx, pix, alpha, progress)
	if err != nil {
		return nil, err
	}
	chain, err := e.Chain(proof.Plan{Source: source, Screen: screen})
	if err != nil {
		return nil, err
	}
	defer chain.Close()
	c := &Cloud{Points: make([]Point, len(weights))}
	const batch = 4096
	values := make([]proof.Value, min(batch, len(weights)))
	for from := 0; from < len(weights); from += batch {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		to := min(from+batch, len(weights))
		some := values[:to-from]
		if err := chain.Values(some, numbers[from*pix.Channels:to*pix.Channels]); err != nil {
			return nil, err
		}
		for i, v := range some {
			c.Points[from+i] = Point{v.Original, weights[from+i], raster.RGBA(v.Screen)}
			c.Pixels += weights[from+i]
		}
	}
	sort.SliceStable(c.Points, func(i, j int) bool { return c.Points[i].Weight < c.Points[j].Weight })
	return c, nil
}

func count(ctx context.Context, pix raster.Pixels, alpha []uint8, progress func(float64)) (numbers, weights []float64, err error) {
	var bits uint
	switch pix.Channels {
	case 1:
		bits = 8
	case 3:
		bits = rgbBits
	case 4:
		bits = inkBits
	default:
		return nil, nil, fmt.Errorf("gamut: a picture of %d channels", pix.Channels)
	}
	ch := pix.Channels
	sums := make([]uint64, ch<<(bits*uint(ch))) // whole numbers: they add up exactly
	full := 255.0
	if pix.Deep() {
		full = 65535
	}
	counts := make([]uint32, 1<<(bits*uint(ch)))
	for y := range pix.H {
		if y%64 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, nil, err
			}
			if progress != nil {
				progress(float64(y) / float64(pix.H))
			}
		}
		for x := range pix.W {
			i := y*pix.W + x
			if alpha != nil && alpha[i] == 0 {
				continue
			}
			cell := 0
			if pix.Deep() {
				for _, v := range pix.P16[i*ch : i*ch+ch] {
					cell = cell<<bits | int(v>>(16-bits))
				}
				for c, v := range pix.P16[i*ch : i*ch+ch] {
					sums[cell*ch+c] += uint64(v)
				}
			} else {
				for _, v := range pix.P8[i*ch : i*ch+ch] {
					cell = cell<<bits | int(v>>(8-bits))
				}
				for c, v := range pix.P8[i*ch : i*ch+ch] {
					sums[cell*ch+c] += uint64(v)
				}
			}
			counts[cell]++
		}
	}
	for cell, n := range counts {
		if n == 0 {
			continue
		}
		weights = append(weights, float64(n))
		for c := range ch {
			numbers = append(numbers, float64(sums[cell*ch+c])/full/float64(n))
		}
	}
	if len(weights) == 0 {
		return nil, nil, ErrNoPixels
	}
	return numbers, weights, nil
}

// Paint returns the screen's bytes of Lab colours (D50), the nearest it can show
// by clipping. Colours outside ROMM RGB, which no ink and no screen reaches, are
// clipped to it first.
func Paint(e Engine, screen *proof.Profile, colours []cie.Lab) ([]color.RGBA, error) {
	romm, _ := space.ByID("romm")
	chain, err := e.Chain(proof.Plan{Source: proof.SpaceProfile(romm), Screen: screen})
	if err != nil {
		return nil, err
	}
	defer chain.Close()
	numbers := make([]float64, 0, 3*len(colours))
	for _, c := range colours {
		for _, v := range romm.FromLab(c) {
			numbers = append(numbers, math.Max(0, math.Min(1, v)))
		}
	}
	values := make([]proof.Value, len(colours))
	if err := chain.Values(values, numbers); err != nil {
		return nil, err
	}
	out := make([]color.RGBA, len(colours))
	for i, v := range values {
		out[i] = raster.RGBA(v.Screen)
	}
	return out, nil
}

// HueName returns the plain word for a hue angle of middle lightness.
func HueName(degrees float64) string {
	return words.HueOf(cie.LCh{L: 50, C: 50, H: degrees}.Lab()).String()
}
