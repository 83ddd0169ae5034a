package choose

import (
	"context"
	"errors"
	"math"
	"os"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
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
	if d := cie.DeltaE76(ToRelative(abs.White, abs.White), cie.Lab{L: 100}); d > 1e-9 {
		t.Errorf("the white relative to itself is %v away from white", d)
	}
	c := cie.Lab{L: 40, A: 20, B: -13}
	if d := cie.DeltaE76(ToAbsolute(ToRelative(c, abs.White), abs.White), c); d > 1e-9 {
		t.Errorf("relative and back: %v away", d)
	}
}

func TestOutlineStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := SpaceOutline(ctx, engine(t), srgb); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// patches is a picture of w by h of the given colours side by side.
func patches(w, h int, colours ...[3]uint8) raster.Pixels {
	p := raster.New(w, h, 3, false)
	for y := range h {
		for x := range w {
			c := colours[x*len(colours)/w]
			copy(p.P8[(y*w+x)*3:], c[:])
		}
	}
	return p
}

func TestCloud(t *testing.T) {
	e := engine(t)
	pix := patches(30, 10, [3]uint8{200, 30, 40}, [3]uint8{120, 120, 120}, [3]uint8{20, 40, 200})
	alpha := make([]uint8, 300)
	for i := range alpha {
		if i%30 < 20 { // the blue third is not there
			alpha[i] = 1
		}
	}
	c, err := NewCloud(context.Background(), e, srgb, srgb, pix, alpha, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Points) != 2 || c.Pixels != 200 {
		t.Fatalf("%d colours of %g pixels, want 2 of 200", len(c.Points), c.Pixels)
	}
	for _, p := range c.Points {
		want := space.SRGB().ToLab(200.0/255, 30.0/255, 40.0/255)
		if p.Screen.G == 120 {
			want = space.SRGB().ToLab(120.0/255, 120.0/255, 120.0/255)
		} else if p.Screen.R != 200 || p.Screen.B != 40 {
			t.Errorf("painted %v", p.Screen)
		}
		if cie.DeltaE76(p.Lab, want) > 0.01 {
			t.Errorf("%v, want %v", p.Lab, want)
		}
	}
	if _, err := NewCloud(context.Background(), e, srgb, srgb, pix, make([]uint8, 300), nil); !errors.Is(err, ErrNoPixels) {
		t.Errorf("a picture that is not there: %v", err)
	}
	deep := raster.New(2, 1, 3, true)
	copy(deep.P16, []uint16{65535, 65535, 65535, 0, 0, 0})
	if c, err = NewCloud(context.Background(), e, srgb, srgb, deep, nil, nil); err != nil || len(c.Points) != 2 {
		t.Errorf("16 bits: %v, %v", c, err)
	}
}

func TestSlices(t *testing.T) {
	for _, c := range []struct {
		lab    cie.Lab
		hue    float64
		in     bool
		reason string
	}{
		{cie.Lab{L: 50, A: 60}, 0, true, "on the half plane"},
		{cie.Lab{L: 50, A: 60, B: 4}, 0, true, "4 beside it"},
		{cie.Lab{L: 50, A: 60, B: 6}, 0, false, "6 beside it"},
		{cie.Lab{L: 50, A: -60}, 0, false, "the opposite hue"},
		{cie.Lab{L: 50, A: -2, B: 1}, 0, true, "a grey"},
	} {
		if got := NearHue(c.lab, c.hue); got != c.in {
			t.Errorf("%s: %t", c.reason, got)
		}
	}
	if !NearLightness(cie.Lab{L: 54}, 50) || NearLightness(cie.Lab{L: 56}, 50) {
		t.Error("slices by lightness")
	}
}

func TestPaintIsExact(t *testing.T) {
	want := [3]uint8{180, 90, 60}
	lab := space.SRGB().ToLab(180.0/255, 90.0/255, 60.0/255)
	got, err := Paint(engine(t), srgb, []cie.Lab{lab, {L: 50, A: 200, B: 200}})
	if err != nil {
		t.Fatal(err)
	}
	if got[0].R != want[0] || got[0].G != want[1] || got[0].B != want[2] {
		t.Errorf("painted %v, want %v", got[0], want)
	}
	if got[1].A != 255 {
		t.Errorf("a colour no screen has is painted %v", got[1])
	}
}

func TestWays(t *testing.T) {
	a := Stock{ID: "a", Name: "A", Forced: func(i proof.Intent) bool { return i == proof.Perceptual }}
	b := Stock{ID: "b", Name: "B"}
	ways, left := Ways([]Stock{a, b}, proof.Intents(), []bool{true, false})
	// a: perceptual once, relative 2, saturation 2, absolute once; b: perceptual 2.
	if len(ways) != 6+7 {
		t.Errorf("%d ways, want 13: %v", len(ways), ways)
	}
	if len(left) != 2 {
		t.Errorf("left out: %q", left)
	}
	seen := map[string]bool{}
	for _, w := range ways {
		if seen[w.Key()] {
			t.Errorf("%s twice", w.Key())
		}
		seen[w.Key()] = true
	}
}

func ways(t *testing.T, paper *proof.Profile, intents ...proof.Intent) []Way {
	t.Helper()
	w, _ := Ways([]Stock{{ID: "p", Name: "coated"}}, intents, []bool{true, false})
	return w
}

// On coated offset a picture with deep shadows is known to need compensation
// with the relative intent: the paper's black is at L* 9, and without it all
// that is darker prints as one black.
func TestRankShadows(t *testing.T) {
	e, paper := engine(t), profile(t, "FOGRA39L_coated.icc")
	pix := raster.New(400, 40, 3, false)
	for y := range pix.H {
		for x := range pix.W {
			v := uint8(x * 60 / pix.W)
			for c := range 3 {
				pix.P8[(y*pix.W+x)*3+c] = v
			}
		}
	}
	pic, err := Gather(context.Background(), pix, nil, []pin.Pin{{Name: "dark", X: 0.1, Y: 0.5, Radius: 0.01}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if pic.W != 400 || pic.H != 40 || len(pic.Spots) != 1 || len(pic.Spots[0].Numbers) == 0 {
		t.Fatalf("gathered %d by %d, %d pins", pic.W, pic.H, len(pic.Spots))
	}
	var told []int
	out, err := Rank(context.Background(), e, pic, ways(t, paper, proof.RelativeColorimetric), func(w Way) (proof.Plan, error) {
		return proof.Plan{Source: srgb, Paper: paper, Screen: srgb,
			Conversions: []proof.Conversion{{From: srgb, To: paper, Intent: w.Intent, BPC: w.Compensation}}}, nil
	}, func(done int, _ Way) { told = append(told, done) })
	if err != nil {
		t.Fatal(err)
	}
	order := out.Verdict.Order
	if len(order) != 2 || !order[0].Compensation || order[1].Compensation {
		t.Fatalf("order %+v", order)
	}
	// Paper 95, black of the relative table near 9 (FOGRA39L): see testdata.
	if r := order[0].Figures.Range; r < 80 || r > 90 {
		t.Errorf("range %.1f, want 95 - 9 within 5", r)
	}
	on, off := order[0].Figures.Shadows.Share(), order[1].Figures.Shadows.Share()
	if on < off+0.2 {
		t.Errorf("shadow steps kept: %.2f with compensation, %.2f without", on, off)
	}
	if len(told) != 2 || told[1] != 1 {
		t.Errorf("progress %v", told)
	}
	if out.Ways[order[0].ID].Name != "coated" {
		t.Errorf("the first is not found again: %v", out.Ways)
	}
}

// A way that can't be printed does not take the others with it.
func TestRankRefuses(t *testing.T) {
	e, paper := engine(t), profile(t, "FOGRA39L_coated.icc")
	pix := patches(20, 20, [3]uint8{200, 30, 40}, [3]uint8{120, 120, 120})
	pic, err := Gather(context.Background(), pix, nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	reason := errors.New("no such setting")
	out, err := Rank(context.Background(), e, pic, ways(t, paper, proof.Perceptual, proof.RelativeColorimetric), func(w Way) (proof.Plan, error) {
		if w.Intent == proof.Perceptual {
			return proof.Plan{}, reason
		}
		return proof.Plan{Source: srgb, Paper: paper, Screen: srgb,
			Conversions: []proof.Conversion{{From: srgb, To: paper, Intent: w.Intent, BPC: w.Compensation}}}, nil
	}, nil)
	if err != nil || len(out.Refused) != 2 || len(out.Verdict.Order) != 2 || !errors.Is(out.Refused[0].Err, reason) {
		t.Errorf("%v; refused %v; order of %d", err, out.Refused, len(out.Verdict.Order))
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Rank(ctx, e, pic, ways(t, paper, proof.Perceptual), nil, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	if _, err := Gather(context.Background(), pix, make([]uint8, 400), nil, nil); !errors.Is(err, ErrNoPixels) {
		t.Errorf("nothing to see: %v", err)
	}
}

func TestReduceAverages(t *testing.T) {
	pix := patches(1600, 800, [3]uint8{0, 0, 0}, [3]uint8{255, 255, 255})
	out, w, h := reduce(context.Background(), pix, nil)
	if w != 400 || h != 200 || len(out) != 400*200*3 {
		t.Fatalf("%d by %d of %d numbers", w, h, len(out))
	}
	if out[0] != 0 || out[len(out)-1] != 1 {
		t.Errorf("ends %g, %g", out[0], out[len(out)-1])
	}
}
