package rank

import (
	"context"
	"sync/atomic"

	"firstsheet/proof/cie"
)

// Smoothness tells what becomes of gradients.
//
// Own definition. A gradient is a pair of pixels of the reduced picture, a
// fiftieth of its longer side apart in a row or in a column, that differ by 0.3
// to 3 ΔE00: not flat, and not an edge. It is flattened when its print differs by
// less than a quarter of that, and broken when the print differs by more than
// three times that and by more than 2 ΔE00, as at the border of a clipped
// patch. Next neighbours would not do: those of a sky that fades over the
// whole width differ by 0.05.
type Smoothness struct {
	Pairs     int `json:"pairs"`
	Flattened int `json:"flattened"`
	Broken    int `json:"broken"`
}

// Lost returns the share of gradients that are flattened or broken.
func (s Smoothness) Lost() float64 {
	if s.Pairs == 0 {
		return 0
	}
	return float64(s.Flattened+s.Broken) / float64(s.Pairs)
}

// Limits of smoothness.
const (
	gradientMin = 0.3
	gradientMax = 3
	flattened   = 0.25
	broken      = 3
	brokenFrom  = 2
	baseline    = 50 // the longer side over the distance of a pair
)

// gradient is a pair of pixels of the reduced picture that is one.
type gradient struct {
	a, b   int32
	before float64 // ΔE00 of the originals
}

// gradients finds the pairs of a reduced picture of w by h originals, row by row.
func gradients(ctx context.Context, originals []cie.Lab, w, h int) ([]gradient, error) {
	far := max(1, max(w, h)/baseline)
	rows := make([][]gradient, h)
	err := onAllCores(ctx, h, 8, func(lo, hi int) error {
		for y := lo; y < hi; y++ {
			pair := func(a, b int) {
				if before := cie.DeltaE00(originals[a], originals[b]); before >= gradientMin && before <= gradientMax {
					rows[y] = append(rows[y], gradient{int32(a), int32(b), before})
				}
			}
			for x := range w {
				i := y*w + x
				if x+far < w {
					pair(i, i+far)
				}
				if y+far < h {
					pair(i, i+far*w)
				}
			}
		}
		return nil
	})
	var all []gradient
	for _, r := range rows {
		all = append(all, r...)
	}
	return all, err
}

// smoothness counts what becomes of gradients in print.
func smoothness(ctx context.Context, all []gradient, prints []cie.Lab) (Smoothness, error) {
	var flat, torn atomic.Int64
	err := onAllCores(ctx, len(all), 4096, func(lo, hi int) error {
		f, t := 0, 0
		for _, g := range all[lo:hi] {
			after := cie.DeltaE00(prints[g.a], prints[g.b])
			switch {
			case after < flattened*g.before:
				f++
			case after > broken*g.before && after > brokenFrom:
				t++
			}
		}
		flat.Add(int64(f))
		torn.Add(int64(t))
		return nil
	})
	return Smoothness{Pairs: len(all), Flattened: int(flat.Load()), Broken: int(torn.Load())}, err
}
