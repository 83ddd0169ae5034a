package gamut

import (
	"context"
	"math"
	"testing"

	"firstsheet/proof/cie"
)

func TestCutNear(t *testing.T) {
	for _, c := range []struct {
		cut    Cut
		lab    cie.Lab
		in     bool
		reason string
	}{
		{AtHue(0), cie.Lab{L: 50, A: 60}, true, "on the half plane"},
		{AtHue(0), cie.Lab{L: 50, A: 60, B: 4}, true, "4 beside it"},
		{AtHue(0), cie.Lab{L: 50, A: 60, B: 6}, false, "6 beside it"},
		{AtHue(0), cie.Lab{L: 50, A: -60}, false, "the opposite hue"},
		{AtHue(0), cie.Lab{L: 50, A: -2, B: 1}, true, "a grey"},
		{AtLightness(50), cie.Lab{L: 54, A: 60}, true, "4 above"},
		{AtLightness(50), cie.Lab{L: 44}, false, "6 beneath"},
	} {
		if got := c.cut.Near(c.lab); got != c.in {
			t.Errorf("%s: %t", c.reason, got)
		}
	}
}

// Where a cut shows a colour, worked by hand from the definitions of C* and h.
func TestCutPlace(t *testing.T) {
	for _, c := range []struct {
		cut  Cut
		lab  cie.Lab
		want Place
	}{
		{AtLightness(40), cie.Lab{L: 42, A: -3, B: 7}, Place{-3, 7}},
		{AtHue(90), cie.Lab{L: 42, A: 2, B: 7}, Place{7, 42}},
		{AtHue(45), cie.Lab{L: 10, A: 30, B: 30}, Place{30 * math.Sqrt2, 10}},
		{AtHue(0), cie.Lab{L: 42, A: -2}, Place{0, 42}}, // behind the neutral axis
	} {
		if got := c.cut.Place(c.lab); math.Hypot(got.X-c.want.X, got.Y-c.want.Y) > 1e-9 {
			t.Errorf("%v in %+v stands at %v, want %v", c.lab, c.cut, got, c.want)
		}
	}
}

// sRGB's own corners (IEC 61966-2-1, adapted to D50) lie on its outline: red at L* 54.3,
// C* 106.8, h 40.9; blue at L* 29.6, C* 131.2.
func TestOutlineInCuts(t *testing.T) {
	o, err := SpaceOutline(context.Background(), engine(t), srgb)
	if err != nil {
		t.Fatal(err)
	}
	const near = 2.5 // the grid of directions: 2 % of the chroma
	if got := o.MostChroma(); got > 131.2+near || got < 131.2*0.95 {
		t.Errorf("sRGB reaches C* %.1f, want 131.2, that of blue, or up to 5 %% less", got)
	}
	closest := func(c Cut, want Place) float64 {
		d := math.Inf(1)
		for _, p := range o.In(c) {
			d = math.Min(d, math.Hypot(p.X-want.X, p.Y-want.Y))
		}
		return d
	}
	sin, cos := math.Sincos(40.9 * math.Pi / 180)
	if d := closest(AtLightness(54.3), Place{106.8 * cos, 106.8 * sin}); d > near {
		t.Errorf("at its lightness the outline passes red by %.1f", d)
	}
	if d := closest(AtHue(40.9), Place{106.8, 54.3}); d > near {
		t.Errorf("at its hue the outline passes red by %.1f", d)
	}
	line := o.In(AtHue(40.9))
	if first, last := line[0], line[len(line)-1]; first.Y < 99.9 || last.Y > 0.1 {
		t.Errorf("the outline of a hue runs from %v to %v, want white to black", first, last)
	}
	if o.In(AtLightness(101)) != nil {
		t.Error("sRGB has something above its white")
	}
}

func TestSlice(t *testing.T) {
	o, err := SpaceOutline(context.Background(), engine(t), srgb)
	if err != nil {
		t.Fatal(err)
	}
	cloud := Cloud{Pixels: 100000, Points: []Point{
		{Lab: cie.Lab{L: 50, A: 150}, Weight: 4}, // fewer than one in 20,000: a stray
		{Lab: cie.Lab{L: 50, B: 120}, Weight: 6}, // outside
		{Lab: cie.Lab{L: 54}, Weight: 18},
		{Lab: cie.Lab{L: 70, A: 10}, Weight: 99972},
	}}
	if got := cloud.MostChroma(); got != 120 {
		t.Errorf("the picture reaches C* %g, want 120", got)
	}
	s := AtLightness(50).Slice(cloud.Points)
	if len(s.Points) != 3 || s.Weight != 28 {
		t.Fatalf("%d colours of %g pixels at L* 50, want 3 of 28", len(s.Points), s.Weight)
	}
	if got := s.Beyond(o); math.Abs(got-10.0/28) > 1e-12 {
		t.Errorf("%g of it lies outside sRGB, want 10 of 28", got)
	}
	if got := (Slice{}).Beyond(o); got != 0 {
		t.Errorf("%g of nothing lies outside", got)
	}
}
