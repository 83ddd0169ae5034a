package lesson

import (
	"context"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
)

// readRight reads the pins by the right way and of the original itself.
func (k *maker) readRight(ctx context.Context) error {
	var err error
	if k.right, err = k.read(ctx, k.plan); err != nil {
		return err
	}
	original, err := k.Right.Original().Plan(k.Find)
	if err != nil {
		return err
	}
	bare, err := k.read(ctx, original)
	for i := range bare {
		k.right[i].OnScreen = bare[i].Screen
	}
	return err
}

// read reads all pins through the exact chain of a plan.
func (k *maker) read(ctx context.Context, p proof.Plan) ([]Colour, error) {
	c, err := k.e.Chain(p)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	out := make([]Colour, len(k.Pins))
	for i, q := range k.Pins {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		to := &out[i]
		if to.Value, to.Numbers, err = pin.Read(c, k.Numbers, q); err != nil {
			return nil, err
		}
		to.Seen = to.Relative
		if dim := luminance(p); dim != 1 {
			to.Seen = to.Relative.ToXYZ(cie.D50).Scale(dim).ToLab(cie.D50)
		}
	}
	return out, nil
}

// luminance is the share of its luminance at which a plan's print is seen.
func luminance(p proof.Plan) float64 {
	if p.Dim == 0 {
		return 1
	}
	return p.Dim
}
