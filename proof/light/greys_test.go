package light

import (
	"math"
	"testing"

	"firstsheet/proof/cie"
)

// The greys of sRGB by its own definition (IEC 61966-2-1): half the luminance of white
// is byte 255 * (1.055 * 0.5^(1/2.4) - 0.055) = 187.5; byte 8 is linear, 8 / 255 / 12.92
// of white.
func TestGreys(t *testing.T) {
	g, err := MeasureGreys(engine(t), srgb)
	if err != nil {
		t.Fatal(err)
	}
	if g.Half != 188 {
		t.Errorf("half of sRGB is byte %d, want 188", g.Half)
	}
	const exact = 0.01 // of L*: the chain's 16 bits
	luminance := func(b int) float64 {
		v := float64(b) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	for b, l := range g.L {
		y := luminance(b)
		want := cie.XYZ{X: y, Y: y, Z: y}.ToLab(cie.XYZ{X: 1, Y: 1, Z: 1}).L
		if math.Abs(l-want) > exact {
			t.Errorf("byte %d is L* %.3f, want %.3f ± %g", b, l, want, exact)
		}
	}
}

// Every step is farther from its ground than the one before.
func TestSteps(t *testing.T) {
	dark, pale := DarkSteps(), PaleSteps()
	for i := range dark {
		if i > 0 && (dark[i] <= dark[i-1] || pale[i] >= pale[i-1]) {
			t.Errorf("step %d: %d and %d", i+1, dark[i], pale[i])
		}
		if int(dark[i])+int(pale[i]) != 255 {
			t.Errorf("step %d is %d from black and %d from white", i+1, dark[i], 255-pale[i])
		}
	}
}
