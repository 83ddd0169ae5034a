package proof

import "firstsheet/proof/cie"

// Device returns the numbers that the printer gets for colours: src are their
// interleaved source numbers as for [Chain.Values], the result has
// Paper.Channels numbers a colour, 0 to 1, clipped and not rounded. It is nil for
// a plan without a paper. It costs a fraction of Values, which also looks at the
// print; print files are made by it. It fails as Values does.
func (c *Chain) Device(src []float64) ([]float64, error) {
	_, end, err := c.begin(src)
	if err != nil {
		return nil, err
	}
	defer end()
	if c.plan.Paper == nil {
		return nil, nil
	}
	return c.separate(src)
}

// Originals returns [Value.Original] of colours and Prints [Value.Relative], each at a
// fraction of what Values costs. src is as for Values, and they fail as it does.
func (c *Chain) Originals(src []float64) ([]cie.Lab, error) {
	n, end, err := c.begin(src)
	if err != nil {
		return nil, err
	}
	defer end()
	original := make([]float64, 3*n)
	if err := c.original(original, src); err != nil {
		return nil, err
	}
	return labs(original), nil
}

// Prints is told of at [Chain.Originals]; [Engine.Prints] runs many plans at once.
func (c *Chain) Prints(src []float64) ([]cie.Lab, error) {
	if c.plan.Paper == nil {
		return c.Originals(src)
	}
	n, end, err := c.begin(src)
	if err != nil {
		return nil, err
	}
	defer end()
	device, err := c.separate(src)
	if err != nil {
		return nil, err
	}
	relative := make([]float64, 3*n)
	if err := c.relative.run(relative, device); err != nil {
		return nil, err
	}
	c.plan.spoil(device, relative, nil)
	return labs(relative), nil
}

func labs(v []float64) []cie.Lab {
	out := make([]cie.Lab, len(v)/3)
	for i := range out {
		out[i] = labAt(v, i)
	}
	return out
}
