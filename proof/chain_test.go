package proof

import (
	"context"
	"errors"
	"math"
	"os"
	"sync"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// realProfile reads one of the profiles that testdata/fetch.sh gets.
func realProfile(t testing.TB, name string) *Profile {
	t.Helper()
	data, err := os.ReadFile("../testdata/cache/profiles/" + name)
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	p, err := NewProfile("", data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func rightPlan(source, paper *Profile, intent Intent, bpc bool, white White) Plan {
	return Plan{
		Source: source, Paper: paper, White: white, CountWhite: white == PaperWhite, Screen: SpaceProfile(space.SRGB()),
		Conversions: []Conversion{{From: source, To: paper, Intent: intent, BPC: bpc, By: "Firstsheet"}},
	}
}

func evaluate(t *testing.T, p Plan, src ...float64) Value {
	t.Helper()
	e := NewEngine()
	defer e.Close()
	c, err := e.Chain(p)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	return c.Value(src)
}

func rgb8(r, g, b float64) []float64 { return []float64{r / 255, g / 255, b / 255} }

// The figures below were printed by Little CMS 2.14's own utility (transicc -c0),
// run link by link with Ghostscript's default_cmyk.icc, four decimals.
func TestShirtRedOnRealCMYK(t *testing.T) {
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	const printed = 6e-5
	for _, c := range []struct {
		name   string
		intent Intent
		bpc    bool
		white  White
		device []float64
		look   cie.Lab
	}{
		{"relative", RelativeColorimetric, false, ScreenWhite,
			[]float64{.143465, 1, 1, .061753}, cie.Lab{L: 46.4445, A: 57.9453, B: 34.3398}},
		{"relative, paper's white", RelativeColorimetric, false, PaperWhite,
			[]float64{.143465, 1, 1, .061753}, cie.Lab{L: 40.3780, A: 52.1500, B: 32.3404}},
	} {
		v := evaluate(t, rightPlan(srgb, paper, c.intent, c.bpc, c.white), rgb8(200, 30, 40)...)
		for i, d := range v.Device {
			if math.Abs(d-c.device[i]) > 1e-6 {
				t.Errorf("%s: ink %d = %.6f, want %.6f", c.name, i, d, c.device[i])
			}
		}
		if d := cie.DeltaE76(v.Look, c.look); d > printed*2 {
			t.Errorf("%s: look %.4f, want %.4f", c.name, v.Look, c.look)
		}
	}
}

// Black point compensation forwards (worked by transicc, two decimals): the print
// keeps shadows apart that are one black without it.
func TestCompensationKeepsShadows(t *testing.T) {
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	for _, c := range []struct {
		grey         float64
		without, own cie.Lab
	}{
		{0, cie.Lab{L: 16.50, A: 0.13, B: -0.25}, cie.Lab{L: 17.18, A: 0.28, B: 0.24}},
		{16, cie.Lab{L: 16.70, A: 0.14, B: -0.11}, cie.Lab{L: 19.32, A: 0.33, B: 0.36}},
		{32, cie.Lab{L: 16.86, A: 0.22, B: 0.04}, cie.Lab{L: 22.35, A: 0.46, B: 0.50}},
		{128, cie.Lab{L: 53.78, A: 0.51, B: 0.40}, cie.Lab{L: 55.58, A: 0.46, B: 0.33}},
		{255, cie.Lab{L: 100}, cie.Lab{L: 100}},
	} {
		for _, bpc := range []bool{false, true} {
			want := c.without
			if bpc {
				want = c.own
			}
			v := evaluate(t, rightPlan(srgb, paper, RelativeColorimetric, bpc, ScreenWhite), rgb8(c.grey, c.grey, c.grey)...)
			if d := cie.DeltaE76(v.Relative, want); d > 0.01 {
				t.Errorf("grey %g, compensation %t: %.2f, want %.2f", c.grey, bpc, v.Relative, want)
			}
		}
	}
}

// Round trips of nine sRGB colours (transicc -c0, two decimals).
func TestReachOnRealCMYK(t *testing.T) {
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	for _, c := range []struct{ r, g, b, reach float64 }{
		{200, 30, 40, 3.51}, {255, 0, 0, 7.82}, {0, 255, 0, 16.57}, {0, 0, 255, 16.73}, {0, 255, 255, 13.93},
		{115, 82, 68, 0.29}, {194, 150, 130, 0.40}, {128, 128, 128, 0.86}, {70, 148, 73, 1.07},
	} {
		for _, intent := range Intents() { // the reach does not depend on how the picture is separated
			v := evaluate(t, rightPlan(srgb, paper, intent, true, PaperWhite), rgb8(c.r, c.g, c.b)...)
			if math.Abs(v.Reach-c.reach) > 0.006 {
				t.Errorf("reach of %v, %s = %.3f, want %.2f", c, intent, v.Reach, c.reach)
			}
		}
	}
}

// What the paper prints of Lab 0, 0, 0 is L* 16.50 relative to its white (transicc
// -t1, two decimals): what is darker than that is darker than the paper, also where
// the paper's white is shown or counted, though the absolute black is darker yet.
func TestDarkerThanThePaper(t *testing.T) {
	srgb, paper := space.SRGB(), realProfile(t, "default_cmyk.icc")
	for _, white := range []White{ScreenWhite, PaperWhite} {
		p := rightPlan(SpaceProfile(srgb), paper, RelativeColorimetric, true, white)
		for _, k := range []struct {
			lightness float64
			darker    bool
		}{{0, true}, {15, true}, {16.48, true}, {16.52, false}, {50, false}} {
			src := srgb.FromLab(cie.Lab{L: k.lightness})
			v := evaluate(t, p, src[:]...)
			if v.Darker != k.darker {
				t.Errorf("white %d: L* %.3f is darker: %t, want %t", white, v.Original.L, v.Darker, k.darker)
			}
		}
		e := NewEngine()
		c, err := e.Chain(p)
		if err != nil {
			t.Fatal(err)
		}
		// By transicc -t3 of the numbers that -t1 prints Lab 0, 0, 0 with.
		if black, want := c.PaperBlack(), (cie.Lab{L: 13.3437, A: 0.0488, B: 0.8039}); cie.DeltaE00(black, want) > 0.02 {
			t.Errorf("the absolute black is %v, want %v", black, want)
		}
		c.Close()
		e.Close()
	}
}

// Paper white on an sRGB screen, adapted (transicc -t3): 224.595 222.732 215.793.
func TestPaperWhiteOnScreen(t *testing.T) {
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	v := evaluate(t, rightPlan(srgb, paper, RelativeColorimetric, false, PaperWhite), 1, 1, 1)
	for i, want := range []float64{224.595, 222.732, 215.793} {
		if math.Abs(v.Screen[i]*255-want) > 0.01 {
			t.Errorf("channel %d = %.3f, want %.3f", i, v.Screen[i]*255, want)
		}
	}
	if want := 7.579; math.Abs(v.DeltaE00-want) > 0.002 { // ΔE00 of the paper's white itself
		t.Errorf("ΔE00 = %.3f, want %.3f", v.DeltaE00, want)
	}
}

func TestRefusals(t *testing.T) {
	srgb, cmyk := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	never := rightPlan(srgb, cmyk, RelativeColorimetric, true, ScreenWhite)
	never.Conversions = nil
	if err := never.Check(); !errors.Is(err, ErrPlan) {
		t.Errorf("three numbers sent to four inks: %v, want a plan error", err)
	}
	var pe *ProfileError
	if err := srgb.CheckPaper(); !errors.As(err, &pe) || pe.Kind != WrongClass {
		t.Errorf("a display space as a paper: %v, want WrongClass", err)
	}
	if err := cmyk.CheckScreen(); !errors.As(err, &pe) || pe.Kind != WrongClass {
		t.Errorf("a paper as the screen: %v, want WrongClass", err)
	}
	if _, err := NewProfile("short.icc", []byte("no profile")); !errors.As(err, &pe) || pe.Kind != Damaged {
		t.Errorf("ten bytes: %v, want Damaged", err)
	}
}

// Many at once, more plans than are kept: a chain that the engine drops lives on for
// whoever uses it, and work that ends after the engine was closed leaves nothing.
func TestNothingStaysOpenWhenManyWork(t *testing.T) {
	before := lcms.Live()
	e := NewEngine()
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	want := evaluate(t, rightPlan(srgb, paper, RelativeColorimetric, true, ScreenWhite), 0.5, 0.2, 0.1).Look
	var group sync.WaitGroup
	for k := range 4 {
		group.Go(func() {
			for i := range 2 * keptChains {
				p := rightPlan(srgb, paper, RelativeColorimetric, true, ScreenWhite)
				p.Dim = 0.5 + float64((i*(k+1))%(2*keptChains))/100
				c, err := e.Chain(p)
				if err != nil {
					t.Error(err)
					return
				}
				if i == keptChains && k == 0 {
					e.Close()
				}
				if got := c.Value([]float64{0.5, 0.2, 0.1}).Look; got != want {
					t.Errorf("look %v, want %v", got, want)
				}
				c.Close()
			}
		})
	}
	group.Wait()
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}

func TestNothingStaysOpen(t *testing.T) {
	before := lcms.Live()
	e := NewEngine()
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	for i := 0; i < 2*keptChains; i++ {
		p := rightPlan(srgb, paper, RelativeColorimetric, true, ScreenWhite)
		p.Dim = 0.5 + float64(i)/100
		c, err := e.Chain(p)
		if err != nil {
			t.Fatal(err)
		}
		c.Value([]float64{0.5, 0.2, 0.1})
		c.Close()
	}
	e.Close()
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}

// Counting the paper's white changes what differences are told for and nothing that
// is shown.
func TestCountedWhiteChangesOnlyTheDifference(t *testing.T) {
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	p := rightPlan(srgb, paper, RelativeColorimetric, false, ScreenWhite)
	plain := evaluate(t, p, 1, 1, 1)
	p.CountWhite = true
	counted := evaluate(t, p, 1, 1, 1)
	if counted.Look != plain.Look || counted.Screen != plain.Screen || plain.Counted != plain.Relative {
		t.Errorf("shown as %v and %v; counted %v for %v", plain.Look, counted.Look, plain.Counted, plain.Relative)
	}
	// The paper's white by its tag: 88.73, -0.25, 3.65.
	if d := cie.DeltaE76(counted.Counted, cie.Lab{L: 88.7306, A: -0.2536, B: 3.6461}); d > 0.001 {
		t.Errorf("counted %.4f, want the paper's white", counted.Counted)
	}
	// The paper's white itself, as in TestPaperWhiteOnScreen; nothing without it.
	e := NewEngine()
	defer e.Close()
	one := raster.Pixels{W: 1, H: 1, Channels: 3, P8: []uint8{255, 255, 255}}
	for _, k := range []struct {
		count bool
		want  float64
		value Value
	}{{false, 0, plain}, {true, 7.579, counted}} {
		p.CountWhite = k.count
		f, err := e.Count(context.Background(), p, NewPicture(one, nil), nil)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(k.value.DeltaE00-k.want) > 0.002 || math.Abs(f.Mean-k.want) > 0.002 {
			t.Errorf("counted %t: ΔE00 %.3f, in figures %.3f, want %.3f", k.count, k.value.DeltaE00, f.Mean, k.want)
		}
	}
}

// A fault is told once, whether its reason names it or not.
func TestTroubleIsToldOnce(t *testing.T) {
	for _, c := range []struct {
		s    Station
		want string
	}{
		{Station{Why: "nothing"}, ""},
		{Station{Fault: LeftOut, Why: "black point compensation is left out"}, "black point compensation is left out"},
		{Station{Fault: Extra, Why: "Pearl's numbers taken for sRGB"}, "one too many: Pearl's numbers taken for sRGB"},
		{Station{Fault: Missing}, "missing"},
	} {
		if got := c.s.Trouble(); got != c.want {
			t.Errorf("%+v is told as %q, want %q", c.s, got, c.want)
		}
	}
}
