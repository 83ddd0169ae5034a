package gamut

import (
	"context"
	"errors"
	"math"
	"os"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

func engine(t *testing.T) *proof.Engine {
	t.Helper()
	e := proof.NewEngine()
	t.Cleanup(e.Close)
	return e
}

func profile(t *testing.T, name string) *proof.Profile {
	t.Helper()
	data, err := os.ReadFile("../../testdata/cache/profiles/" + name)
	if err != nil {
		t.Fatalf("%v (testdata/fetch.sh brings it)", err)
	}
	p, err := proof.NewProfile(name, data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var srgb = proof.SpaceProfile(space.SRGB())

// The primaries of sRGB under D50 are corners of its outline: red 54.29, 80.81,
// 69.89 (B. Lindbloom's companding calculator, from memory; testdata/tables/
// srgb_lab.csv has them too).
func TestSpaceOutlineCorners(t *testing.T) {
	o, err := SpaceOutline(context.Background(), engine(t), srgb)
	if err != nil {
		t.Fatal(err)
	}
	red := cie.Lab{L: 54.29, A: 80.81, B: 69.89}
	if got := o.Chroma(red.L, red.Hue()); math.Abs(got-red.Chroma()) > 1.5 {
		t.Errorf("chroma at red = %.2f, want %.2f ± 1.5 (rays are a degree apart)", got, red.Chroma())
	}
	if o.White.L < 99.99 || math.Abs(o.Black.L) > 0.01 {
		t.Errorf("white %v, black %v", o.White, o.Black)
	}
	// 832,870 cubic Lab units: B. Lindbloom, "RGB Working Space Information"
	// (from memory). The solid seen from its centre is a little larger.
	if o.Volume < 0.98*832870 || o.Volume > 1.04*832870 {
		t.Errorf("volume %.0f, want about 832870", o.Volume)
	}
	if o.AtLightness(100.5) != nil || o.AtLightness(-1) != nil {
		t.Error("an outline above white or below black")
	}
	for _, c := range []struct {
		lab  cie.Lab
		out  bool
		what string
	}{
		{cie.Lab{L: 50}, false, "grey"}, {cie.Lab{L: 101}, false, "white within the slack"}, {cie.Lab{L: 103}, true, "lighter than white"},
		{cie.Lab{L: red.L, A: 0.97 * red.A, B: 0.97 * red.B}, false, "a red a little duller"}, {cie.Lab{L: red.L, A: 1.06 * red.A, B: 1.06 * red.B}, true, "a red more vivid"},
		{cie.Lab{L: 97, A: 40}, true, "a light pink"},
	} {
		if got := o.Beyond(c.lab, 2); got != c.out {
			t.Errorf("%s: beyond %t", c.what, got)
		}
	}
	// The two ways to cut agree where they meet.
	for _, c := range []cie.LCh{{L: 50, H: 40}, {L: 70, H: 140}, {L: 30, H: 290}} {
		flat := o.AtLightness(c.L)[int(c.H)].Chroma()
		best := 0.0
		line := o.AtHue(c.H)
		for i := 0; i+1 < len(line); i++ {
			p, q := line[i], line[i+1]
			if (p.L-c.L)*(q.L-c.L) <= 0 && p.L != q.L {
				best = math.Max(best, p.C+(q.C-p.C)*(c.L-p.L)/(q.L-p.L))
			}
		}
		if math.Abs(flat-best) > 1e-6 {
			t.Errorf("at %v the slices say %.4f and %.4f", c, flat, best)
		}
	}
}

// Solids of coated offset by their characterisation data (FOGRA39L: paper 95, 0,
// -2; M+Y 47, 68, 48; black of 400 % 8.7) are on the outline, absolute.
func TestPaperOutlineOffset(t *testing.T) {
	e, p := engine(t), profile(t, "FOGRA39L_coated.icc")
	abs, err := PaperOutline(context.Background(), e, p, true)
	if err != nil {
		t.Fatal(err)
	}
	if cie.DeltaE76(abs.White, cie.Lab{L: 95, B: -2}) > 1 {
		t.Errorf("white %v, want 95, 0, -2 ± 1", abs.White)
	}
	red := cie.Lab{L: 47, A: 68, B: 48}
	if got := abs.Chroma(red.L, red.Hue()); math.Abs(got-red.Chroma()) > 3 {
		t.Errorf("chroma at red = %.1f, want %.1f ± 3", got, red.Chroma())
	}
	rel, err := PaperOutline(context.Background(), e, p, false)
	if err != nil {
		t.Fatal(err)
	}
	if cie.DeltaE76(rel.White, cie.Lab{L: 100}) > 0.1 {
		t.Errorf("relative white %v, want 100, 0, 0", rel.White)
	}
	if d := cie.DeltaE76(cie.Lab{L: 100}.OnWhite(abs.White), abs.White); d > 1e-9 {
		t.Errorf("white is %v away from the paper's white", d)
	}
	// Little CMS takes the same way, in single precision and by the white of the tag.
	if d := cie.DeltaE76(rel.Black.OnWhite(abs.White), abs.Black); d > 0.1 {
		t.Errorf("the black is %v away from the absolute one", d)
	}
}

func TestOutlineStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := SpaceOutline(ctx, engine(t), srgb); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}
