package proof

// Device returns the numbers that the printer gets for colours: src are their
// interleaved source numbers as for [Chain.Values], the result has
// Paper.Channels numbers a colour, 0 to 1, clipped and not rounded. It is nil for
// a plan without a paper. It costs a fraction of Values, which also looks at the
// print; print files are made by it.
func (c *Chain) Device(src []float64) []float64 {
	if c.plan.Paper == nil {
		return nil
	}
	return c.separate(src)
}
