package light

import (
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
)

// Greys is what a screen's profile says of its greys: by it a look at the screen is
// turned into figures.
type Greys struct {
	// L is the L* of each byte, the same in red, green and blue, relative to the
	// screen's white.
	L [256]float64
	// Half is the byte of an even grey that is as bright as rows of black and white in
	// turn: of half their luminance.
	Half uint8
}

// MeasureGreys reads the greys of a screen's profile. It fails where the profile can't
// be used as a screen's.
func MeasureGreys(e Engine, screen *proof.Profile) (*Greys, error) {
	chain, err := e.Chain(proof.Plan{Source: screen, Screen: screen})
	if err != nil {
		return nil, err
	}
	defer chain.Close()
	numbers := make([]float64, 0, 3*256)
	for i := range 256 {
		v := float64(i) / 255
		numbers = append(numbers, v, v, v)
	}
	var values [256]proof.Value
	if err := chain.Values(values[:], numbers); err != nil {
		return nil, err
	}
	g := &Greys{}
	for i, v := range values {
		g.L[i] = v.Original.L
	}
	y := (1 + cie.Lab{L: g.L[0]}.ToXYZ(cie.D50).Y) / 2
	c, err := gamut.Paint(e, screen, []cie.Lab{{L: cie.XYZ{X: y, Y: y, Z: y}.ToLab(cie.XYZ{X: 1, Y: 1, Z: 1}).L}})
	if err != nil {
		return nil, err
	}
	g.Half = c[0].G
	return g, nil
}

// DarkSteps returns the greys of a check by eye that stand on black, as bytes, and
// PaleSteps those that stand on white; each next one is easier to tell from it.
func DarkSteps() []uint8 { return []uint8{1, 2, 3, 4, 6, 8, 12, 16} }

// PaleSteps returns the steps from white; see [DarkSteps].
func PaleSteps() []uint8 { return []uint8{254, 253, 252, 251, 249, 247, 243, 239} }
