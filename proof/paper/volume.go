package paper

import (
	"context"
	"errors"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
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
