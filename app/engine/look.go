package engine

import (
	"context"
	"fmt"
	"image/color"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// look is a grid with the sheet that it lies on.
type look struct {
	*proof.Grid
	ground color.RGBA
}

func (l look) Ground() color.RGBA { return l.ground }

// Look implements session.Engine.
func (e *Engine) Look(ctx context.Context, pic *session.Picture, set setup.Setup, q proof.Quality) (session.Look, error) {
	plan, err := e.Plan(pic, set)
	if err != nil {
		return nil, err
	}
	g, err := e.Grid(ctx, plan, q)
	if err != nil {
		return nil, err
	}
	ground, err := e.Ground(plan)
	if err != nil {
		return nil, err
	}
	return look{g, raster.RGBA(ground)}, nil
}

// Glance implements session.Engine.
func (e *Engine) Glance(ctx context.Context, pic *session.Picture, set setup.Setup) (proof.Figures, error) {
	plan, err := e.Plan(pic, set)
	if err != nil {
		return proof.Figures{}, err
	}
	return e.Engine.Glance(ctx, plan, pic.Whole())
}

// Figures implements session.Engine.
func (e *Engine) Figures(ctx context.Context, pic *session.Picture, set setup.Setup, progress func(float64)) (proof.Figures, error) {
	plan, err := e.Plan(pic, set)
	if err != nil {
		return proof.Figures{}, err
	}
	return e.Engine.Count(ctx, plan, pic.Whole(), progress)
}

// Difference implements session.Engine.
func (e *Engine) Difference(ctx context.Context, pic *session.Picture, a, b setup.Setup) (session.Difference, error) {
	var chains [2]*proof.Chain
	channels := 0
	for i, set := range []setup.Setup{a, b} {
		plan, err := e.Plan(pic, set)
		if err != nil {
			return nil, err
		}
		channels = plan.Source.Channels()
		if chains[i], err = e.Chain(plan); err != nil {
			return nil, err
		}
		defer chains[i].Close()
	}
	n := map[int]int{1: 1025, 3: 41, 4: 15}[channels]
	if n == 0 {
		return nil, &proof.PlanError{Reason: fmt.Sprintf("pictures of %d channels cannot be compared", channels)}
	}
	total := 1
	for range channels {
		total *= n
	}
	node := make([]float32, total)
	const piece = 4096
	for lo := 0; lo < total; lo += piece {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		hi := min(lo+piece, total)
		src := make([]float64, 0, (hi-lo)*channels)
		for i := lo; i < hi; i++ {
			rest, at := i, len(src)
			src = src[:at+channels]
			for k := channels - 1; k >= 0; k-- {
				src[at+k] = float64(rest%n) / float64(n-1)
				rest /= n
			}
		}
		var vals [2][]proof.Value
		for k := range vals {
			vals[k] = make([]proof.Value, hi-lo)
			if err := chains[k].Values(vals[k], src); err != nil {
				return nil, err
			}
		}
		for i := lo; i < hi; i++ {
			node[i] = float32(proof.StepsOf(cie.DeltaE00(vals[0][i-lo].Relative, vals[1][i-lo].Relative)))
		}
	}
	return func(dst []proof.Sample, src raster.Pixels) { interpolate(dst, src, node, n) }, nil
}

// interpolate reads a grid of one difference a node, in steps, for every pixel,
// multilinearly. The last channel varies fastest.
func interpolate(dst []proof.Sample, src raster.Pixels, node []float32, n int) {
	ch := src.Channels
	raster.InRows(src.H, func(y0, y1 int) {
		var at [4]int
		var frac [4]float32
		for i := y0 * src.W; i < y1*src.W; i++ {
			for c := range ch {
				var v float32
				if src.Deep() {
					v = float32(src.P16[i*ch+c]) / 65535
				} else {
					v = float32(src.P8[i*ch+c]) / 255
				}
				v *= float32(n - 1)
				at[c] = min(int(v), n-2)
				frac[c] = v - float32(at[c])
			}
			var sum float32
			for corner := range 1 << ch {
				wgt := float32(1)
				idx := 0
				for c := range ch {
					k := at[c]
					if corner>>c&1 == 1 {
						wgt *= frac[c]
						k++
					} else {
						wgt *= 1 - frac[c]
					}
					idx = idx*n + k
				}
				if wgt > 0 {
					sum += wgt * node[idx]
				}
			}
			dst[i].DeltaE00 = proof.Steps(sum + 0.5)
		}
	})
}
