package proof

import "firstsheet/proof/icc"

// Bare returns the numbers that leave the profile's paper without ink, or its screen
// white: all of red, green and blue, or of grey, and none of an ink.
func (p *Profile) Bare() []float64 {
	out := make([]float64, p.Channels())
	if s := p.ColorSpace(); s == icc.SpaceRGB || s == icc.SpaceGray {
		for i := range out {
			out[i] = 1
		}
	}
	return out
}
