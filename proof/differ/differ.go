// Package differ finds the places where two pictures of one size differ most to the eye:
// not the one noisy pixel, but whole pieces.
//
// It is told the difference of every pixel and knows nothing of what is compared.
package differ

import (
	"context"
	"fmt"
	"math"
)

// Share is how much of the picture a place covers: 3 % of the pixels, about a face in a
// group or a shirt on a line. Own choice.
const Share = 0.03

// apart is how far the middles of two places keep from each other, in sides of a place.
const apart = 1.0

// Place is a square of the picture.
type Place struct {
	// X and Y are its middle as fractions of width and height, from the left and the top.
	X, Y float64
	// Side is its side as a fraction of the picture's longer side.
	Side float64
	// DeltaE00 is the mean difference over it.
	DeltaE00 float64
}

// Places returns up to most places, the one that differs most first, which do not lie
// over each other. deltaE00 has w*h entries row by row; alpha, which may be nil, leaves
// out the pixels where it is 0. Places of a mean below least are none. It returns the
// context's error when it was stopped.
func Places(ctx context.Context, deltaE00 []float32, alpha []uint8, w, h, most int, least float64) ([]Place, error) {
	if w <= 0 || h <= 0 || len(deltaE00) != w*h || alpha != nil && len(alpha) != w*h {
		return nil, fmt.Errorf("differ: %d differences and %d alphas of a picture of %d by %d", len(deltaE00), len(alpha), w, h)
	}
	sums := newSums(deltaE00, alpha, w, h)
	side := min(max(int(math.Round(math.Sqrt(Share*float64(w)*float64(h)))), 1), w, h)
	type square struct {
		x, y int
		mean float64
	}
	var found []square
	// In steps of an eighth of a side the best place is missed by a sixteenth at most.
	step := max(side/8, 1)
	for range most {
		best := square{mean: math.Inf(-1)}
		for y := 0; y+side <= h; y += step {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			for x := 0; x+side <= w; x += step {
				mean := sums.mean(x, y, side)
				if mean <= best.mean {
					continue
				}
				free := true
				for _, f := range found {
					far := apart * float64(side)
					free = free && (math.Abs(float64(x-f.x)) >= far || math.Abs(float64(y-f.y)) >= far)
				}
				if free {
					best = square{x, y, mean}
				}
			}
		}
		if !(best.mean >= least) {
			break
		}
		found = append(found, best)
	}
	out := make([]Place, len(found))
	for i, f := range found {
		out[i] = Place{
			X: (float64(f.x) + float64(side)/2) / float64(w), Y: (float64(f.y) + float64(side)/2) / float64(h),
			Side: float64(side) / float64(max(w, h)), DeltaE00: f.mean,
		}
	}
	return out, nil
}

// sums are running sums over all rectangles that begin in the top left corner.
type sums struct {
	w            int
	delta, count []float64
}

func newSums(v []float32, alpha []uint8, w, h int) sums {
	s := sums{w + 1, make([]float64, (w+1)*(h+1)), make([]float64, (w+1)*(h+1))}
	for y := range h {
		var delta, count float64
		for x := range w {
			if i := y*w + x; alpha == nil || alpha[i] != 0 {
				delta += float64(v[i])
				count++
			}
			at, above := (y+1)*s.w+x+1, y*s.w+x+1
			s.delta[at], s.count[at] = s.delta[above]+delta, s.count[above]+count
		}
	}
	return s
}

// mean returns the mean over a square; one of which half and more is see-through counts
// for nothing.
func (s sums) mean(x, y, side int) float64 {
	of := func(v []float64) float64 {
		top, foot := y*s.w, (y+side)*s.w
		return v[foot+x+side] - v[foot+x] - v[top+x+side] + v[top+x]
	}
	count := of(s.count)
	if 2*count <= float64(side*side) {
		return 0
	}
	return of(s.delta) / count
}
