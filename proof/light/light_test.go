package light

import (
	"errors"
	"math"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// Published chromaticities: D50, D55, D65 and D75 of CIE 15:2004 (table T.3, from
// memory to four decimals), at the temperatures of today's scale.
func TestDaylightPublished(t *testing.T) {
	for _, c := range []struct{ kelvin, x, y float64 }{
		{5003, 0.3457, 0.3585}, {5503, 0.3324, 0.3474}, {6504, 0.3127, 0.3290}, {7504, 0.2990, 0.3149},
	} {
		x, y, err := Daylight(c.kelvin)
		// The published values are of the tabulated spectra, whose weights are
		// rounded: up to 2e-4 from the locus.
		if err != nil || math.Abs(x-c.x) > 2e-4 || math.Abs(y-c.y) > 2e-4 {
			t.Errorf("Daylight(%g) = %.5f, %.5f (%v), want %.4f, %.4f ± 2e-4", c.kelvin, x, y, err, c.x, c.y)
		}
	}
	// The two branches meet.
	a, _, _ := Daylight(7000)
	b, _, _ := Daylight(7000.001)
	if math.Abs(a-b) > 1e-4 {
		t.Errorf("the branches are %.5f and %.5f at 7000 K", a, b)
	}
}

// CIE standard illuminant A: 2856 K, x 0.4476, y 0.4074 (CIE 15). The others are
// Planck's law integrated with the CIE 1931 observer, as commonly tabulated
// (from memory).
func TestPlanckianPublished(t *testing.T) {
	for _, c := range []struct{ kelvin, x, y float64 }{
		{2856, 0.4476, 0.4074}, {2000, 0.5267, 0.4133}, {4000, 0.3805, 0.3768}, {6500, 0.3135, 0.3237}, {10000, 0.2807, 0.2884},
	} {
		x, y, err := Planckian(c.kelvin)
		// 1e-4 in u, v are at most 5e-4 in x, y.
		if err != nil || math.Abs(x-c.x) > 5e-4 || math.Abs(y-c.y) > 5e-4 {
			t.Errorf("Planckian(%g) = %.5f, %.5f (%v), want %.4f, %.4f ± 5e-4", c.kelvin, x, y, err, c.x, c.y)
		}
	}
}

func TestWhite(t *testing.T) {
	w, err := White(5003)
	if err != nil || math.Abs(w.X-cie.D50.X) > 1e-3 || w.Y != 1 || math.Abs(w.Z-cie.D50.Z) > 1e-3 {
		t.Errorf("White(5003) = %v (%v), want about %v", w, err, cie.D50)
	}
	for _, k := range []float64{0, 1000, 1666, 25001, math.NaN(), math.Inf(1), -5000} {
		var e *RangeError
		if _, err := White(k); !errors.As(err, &e) {
			t.Errorf("White(%g): %v", k, err)
		}
	}
	// Blue grows all the way along each locus.
	last := 0.0
	for k := 1700.0; k <= 25000; k += 100 {
		w, err := White(k)
		if k == daylight {
			last = 0
		}
		if err != nil || w.Z <= last {
			t.Fatalf("at %g K Z is %g after %g (%v)", k, w.Z, last, err)
		}
		last = w.Z
	}
}

// Worked from the formula of CIE 159 by hand: LA 20 % of 500 / pi = 31.83,
// D = 1 - exp(-73.83 / 92) / 3.6 = 0.8755.
func TestAdaptation(t *testing.T) {
	for _, c := range []struct{ lux, want float64 }{{500, 0.8755}, {2000, 0.9558}, {0, 0.8240}, {-3, 0.8240}} {
		if got := Adaptation(c.lux); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("Adaptation(%g) = %.4f, want %.4f", c.lux, got, c.want)
		}
	}
}

func TestShift(t *testing.T) {
	shirt := cie.Lab{L: 44, A: 64, B: 42}
	// A fully adapted eye sees no change, whatever the light.
	for _, k := range []float64{2700, 4000, 6500, 20000} {
		if got, err := Shift(shirt, k, 1); err != nil || cie.DeltaE76(got, shirt) > 1e-9 {
			t.Errorf("adapted to %g K: %v (%v)", k, got, err)
		}
	}
	// D50 changes nothing, whatever the eye.
	if got, err := Shift(shirt, 5003, 0); err != nil || cie.DeltaE00(got, shirt) > 0.1 {
		t.Errorf("under D50: %v (%v)", got, err)
	}
	// A white sheet turns yellow under a bulb and blue in the shade, its
	// lightness stays; more adaptation leaves less.
	white := cie.Lab{L: 100}
	bulb, _ := Shift(white, 2856, 0)
	half, _ := Shift(white, 2856, 0.8755)
	shade, _ := Shift(white, 7500, 0.5)
	if math.Abs(bulb.L-100) > 1e-6 || bulb.B < 40 || bulb.A < 5 {
		t.Errorf("white under a bulb: %v", bulb)
	}
	if half.B <= 2 || half.B >= bulb.B/3 {
		t.Errorf("white under a bulb, eye adapted by 0.88: %v", half)
	}
	if shade.B >= -3 {
		t.Errorf("white in the shade: %v", shade)
	}
	// At degree 0 the white is the light's own chromaticity.
	w, _ := White(2856)
	if d := cie.DeltaE76(bulb, w.ToLab(cie.D50)); d > 1e-9 {
		t.Errorf("white under a bulb is %v away from the bulb", d)
	}
	for _, d := range []float64{-0.1, 1.1, math.NaN()} {
		if _, err := Shift(white, 5000, d); err == nil {
			t.Errorf("degree %g is taken", d)
		}
	}
	if _, err := Shift(white, 100, 1); err == nil {
		t.Error("100 K is taken")
	}
}

// 500 lx on paper of 89 % give the 142 cd/m2 of the ICC perceptual reference
// medium (color.org/v4_prmg.xalter).
func TestLuminance(t *testing.T) {
	if got := Luminance(500, 0.89); math.Abs(got-142) > 0.5 {
		t.Errorf("Luminance(500, 0.89) = %.1f, want 142 ± 0.5", got)
	}
	if got := Lux(Luminance(500, 0.89), 0.89); math.Abs(got-500) > 1e-9 {
		t.Errorf("there and back: %g lx", got)
	}
}

func TestConditionsAndCautions(t *testing.T) {
	for _, c := range Conditions() {
		if c.Name == "" || c.Source == "" || c.White == "" || c.Lux == 0 && c.Screen == 0 {
			t.Errorf("incomplete: %+v", c)
		}
	}
	neutral, bluish := cie.Lab{L: 95, B: 1}, cie.Lab{L: 95, B: -5.6}
	if got := Cautions(5000, "Washi", neutral); len(got) != 2 || strings.Contains(got[1], "Washi") {
		t.Errorf("under D50 on a paper of no brightener: %q", got)
	}
	if got := Cautions(2700, "Pearl", bluish); len(got) != 3 || !strings.Contains(got[2], "Pearl’s white is bluish (b* −6)") {
		t.Errorf("under a bulb on a brightened paper: %q", got)
	}
}

// A condition tells what it asks of light or screen; a paper of luminance factor 0.8
// under 500 lx has 0.8 * 500 / pi = 127 cd/m2.
func TestConditionTell(t *testing.T) {
	for _, c := range []struct {
		condition Condition
		white     float64
		want      string
	}{
		{Condition{Lux: 500, Tolerance: 125, White: "D50"}, 0.8, "500 ± 125 lx, D50; Pearl’s white then has 127 cd/m²"},
		{Condition{Lux: 500, White: "D50"}, 0, "500 lx, D50"},
		{Condition{Screen: 80, ScreenTo: 120, White: "D65"}, 0.8, "white of 80 to 120 cd/m², D65"},
		{Condition{Screen: 160, White: "D50"}, 0.8, "white of at least 160 cd/m², D50"},
	} {
		if got := c.condition.Tell("Pearl", c.white); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// Shifts is Shift with the degree of Adaptation, told in words: 500 lx give D
// (CIE 159:2004; the field is a fifth of 500 / pi).
func TestShifts(t *testing.T) {
	shirt, sheet := cie.Lab{L: 44, A: 64, B: 42}, cie.Lab{L: 95, B: -2}
	shifts, degree, err := Shifts([]cie.Lab{shirt, sheet}, 2850, 500)
	if err != nil || len(shifts) != 2 {
		t.Fatalf("%d shifts, %v", len(shifts), err)
	}
	if want := 1 - math.Exp(-(100/math.Pi+42)/92)/3.6; math.Abs(degree-want) > 1e-9 {
		t.Errorf("degree %.4f, want %.4f", degree, want)
	}
	want, _ := Shift(sheet, 2850, degree)
	if shifts[0].Original != shirt || shifts[1].Print != want || shifts[1].DeltaE00 != cie.DeltaE00(sheet, want) {
		t.Errorf("the sheet goes from %v to %v by ΔE00 %.2f, want to %v", shifts[1].Original, shifts[1].Print, shifts[1].DeltaE00, want)
	}
	var out *RangeError
	if _, _, err := Shifts([]cie.Lab{shirt}, 900, 500); !errors.As(err, &out) {
		t.Errorf("a fire of 900 K: %v", err)
	}
}
