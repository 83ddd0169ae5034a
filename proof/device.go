package proof

// Device returns the numbers that the printer gets for colours: src are their
// interleaved source numbers as for [Chain.Values], the result has
// Paper.Channels numbers a colour, 0 to 1, clipped and not rounded. It is nil for
// a plan without a paper. It costs a fraction of Values, which also looks at the
// print; print files are made by it. It fails as Values does.
func (c *Chain) Device(src []float64) ([]float64, error) {
	end, err := c.begin()
	if err != nil {
		return nil, err
	}
	defer end()
	if _, err := c.colours(src); err != nil || c.plan.Paper == nil {
		return nil, err
	}
	return c.separate(src)
}
