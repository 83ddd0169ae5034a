package paper

import (
	"context"
	"errors"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/lcms"
)

// volume returns the size of the gamut in cubic units of CIELAB, relative to the
// paper's white; 0 where there is no solid, and for more channels than package
// gamut takes.
func volume(ctx context.Context, q *probe) (float64, error) {
	if q.channels < 3 || q.channels > gamut.MaxChannels {
		return 0, nil
	}
	nodes := 25
	if q.channels > 3 {
		nodes = 17
	}
	if q.channels > 4 {
		nodes = 5 // hundreds of faces
	}
	b, err := gamut.New(ctx, q.channels, nodes, func(_ context.Context, numbers []float64) ([]cie.Lab, error) {
		keepLimit(numbers, q.channels, q.limit)
		return q.looks(numbers)
	})
	if ctx.Err() != nil {
		return 0, ctx.Err()
	}
	if errors.Is(err, proof.ErrNotFinite) {
		return 0, err
	}
	if err != nil {
		return 0, nil // the device has one colour only, or none: there is no solid
	}
	return b.Volume(), nil
}

// looks returns the relative Lab of device colours.
func (q *probe) looks(device []float64) ([]cie.Lab, error) {
	n := len(device) / q.channels
	flat := make([]float64, 3*n)
	if err := q.run(q.relative, flat, device); err != nil {
		return nil, err
	}
	out := make([]cie.Lab, n)
	for i := range out {
		out[i] = cie.Lab{L: flat[3*i], A: flat[3*i+1], B: flat[3*i+2]}
	}
	return out, nil
}

// keepLimit takes colours of several channels back to a limit of total ink: the last
// channel of four, black, stays, and all others give way alike.
func keepLimit(device []float64, channels int, limit float64) {
	if limit <= 0 {
		return
	}
	for ; len(device) >= channels; device = device[channels:] {
		ink := device[:channels]
		if channels == 4 {
			ink = device[:3]
		}
		all, giving := 0.0, 0.0
		for _, v := range device[:channels] {
			all += v
		}
		for _, v := range ink {
			giving += v
		}
		if over := all - limit; over > 0 && giving > 0 {
			k := max(giving-over, 0) / giving
			for i := range ink {
				ink[i] *= k
			}
		}
	}
}

// totalInk finds the most ink that a profile's tables ask for: over a lattice of all of
// CIELAB, finer along the neutral axis, through the table of each intent.
func totalInk(ctx context.Context, q *probe) (float64, error) {
	const lightSteps, sideSteps, neutral = 40, 16, 400
	var lab []float64
	for l := range lightSteps + 1 {
		for a := -sideSteps; a <= sideSteps; a++ {
			for b := -sideSteps; b <= sideSteps; b++ {
				lab = append(lab, 100*float64(l)/lightSteps, 127*float64(a)/sideSteps, 127*float64(b)/sideSteps)
			}
		}
	}
	for l := range neutral + 1 {
		lab = append(lab, 100*float64(l)/neutral, 0, 0)
	}
	most := 0.0
	device := make([]float64, len(lab)/3*q.channels)
	for _, intent := range []proof.Intent{proof.Perceptual, proof.RelativeColorimetric, proof.Saturation} {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		into, err := q.ctx.Float(q.lab, q.profile, lcms.Options{Intent: int(intent)})
		if err != nil {
			return 0, err
		}
		into.Run(device, lab)
		into.Close()
		for i := 0; i < len(device); i += q.channels {
			sum := 0.0
			for _, v := range device[i : i+q.channels] {
				if v > 0 { // NaN is no ink either
					sum += min(v, 1)
				}
			}
			most = max(most, sum)
		}
	}
	return most, nil
}
