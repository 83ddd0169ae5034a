package proof

import (
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/kernel"
)

// nodes computes the nodes of source numbers whose originals and reach are known:
// what the screen is told, or the stored numbers after so many conversions where that
// is not 0.
func (c *core) nodes(dst []kernel.Node, numbers, original, reach []float64, stored int) error {
	relative, absolute, err := c.look(numbers, original)
	if err != nil {
		return err
	}
	if stored > 0 {
		numbers, err = c.passSeen(numbers, original, stored)
		for i := range dst {
			dst[i].Numbers = numberWord(numbers, i, c.plan.Conversions[stored-1].To.Channels())
		}
	} else {
		err = c.screenNodes(dst, c.shown(original, relative, absolute))
	}
	if err != nil {
		return err
	}
	counted := c.counted(original, relative, absolute)
	for i := range dst {
		l0 := labAt(original, i)
		dst[i].Figures = kernel.Pack(kernel.DeltaLane(cie.DeltaE00(l0, labAt(counted, i))),
			kernel.DeltaLane(reach[i]), kernel.LightLane(l0.L), 0)
	}
	return nil
}

// nodesFrom computes what the screen is told of stored numbers.
func (c *core) nodesFrom(dst []kernel.Node, numbers []float64, stored int) error {
	device, err := c.pass(numbers, stored, len(c.links))
	if err != nil {
		return err
	}
	relative, absolute, err := c.print(device)
	if err != nil {
		return err
	}
	return c.screenNodes(dst, c.shown(nil, relative, absolute))
}

// numberWord encodes colour i of interleaved numbers, opaque where there are three.
func numberWord(numbers []float64, i, channels int) uint64 {
	v := [4]int16{3: kernel.NumberLane(1)}
	for k := range channels {
		v[k] = kernel.NumberLane(numbers[i*channels+k])
	}
	return kernel.Pack(v[0], v[1], v[2], v[3])
}

// screenNodes encodes what the screen is told for looks.
func (c *core) screenNodes(dst []kernel.Node, look []float64) error {
	screen := make([]float64, len(look))
	if err := c.toScreen(screen, look); err != nil {
		return err
	}
	for i, v := range screen {
		screen[i] = mirrored(v)
	}
	for i := range dst {
		dst[i].Numbers = numberWord(screen, i, 3)
	}
	return nil
}

// mirrored bends a screen's number back to its curve where it is below 0. There Little
// CMS goes on along the straight foot of the curve, far steeper than the curve is above
// 0; a line from such a node to a positive one would cross 0 much too late.
func mirrored(v float64) float64 {
	if v < 0 {
		return -footToCurve(-v)
	}
	return v
}

// footToCurve takes a number on the continued straight foot of the sRGB curve to
// the curve itself. Other screens' curves are near enough: only numbers that are
// clipped in the end pass here.
func footToCurve(v float64) float64 {
	linear := v / 12.92
	if linear <= 0.0031308 {
		return v
	}
	return 1.055*math.Pow(linear, 1/2.4) - 0.055
}
