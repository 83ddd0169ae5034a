package slip

import (
	"errors"
	"math"
	"os"
	"reflect"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

func realProfile(t *testing.T, name string) *proof.Profile {
	t.Helper()
	data, err := os.ReadFile("../../testdata/cache/profiles/" + name)
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	p, err := proof.NewProfile("", data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func builtin(t *testing.T, id string) *proof.Profile {
	t.Helper()
	s, ok := space.ByID(id)
	if !ok {
		t.Fatalf("no space %q", id)
	}
	return proof.SpaceProfile(s)
}

func rightPlan(source, paper *proof.Profile) proof.Plan {
	return proof.Plan{
		Source: source, Paper: paper, Screen: proof.SpaceProfile(space.SRGB()),
		Conversions: []proof.Conversion{{From: source, To: paper, Intent: proof.RelativeColorimetric, BPC: true, By: "Firstsheet"}},
	}
}

func evaluate(t *testing.T, p proof.Plan, r, g, b float64) proof.Value {
	t.Helper()
	e := proof.NewEngine()
	defer e.Close()
	c, err := e.Chain(p)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	return c.Value([]float64{r / 255, g / 255, b / 255})
}

// A matrix RGB device stands for a printer. Worked link by link with transicc 2.14
// (-c0 -t1): sRGB numbers left unconverted, and converted once and then once more
// as if they were sRGB again. Bytes between the links are rounded there, hence the
// tolerance of the second.
func TestAgainstChainsRunByHand(t *testing.T) {
	srgb, device := proof.SpaceProfile(space.SRGB()), realProfile(t, "a98.icc")
	for _, c := range []struct {
		name         string
		r, g, b      float64
		never, twice cie.Lab
	}{
		{"shirt red", 200, 30, 40, cie.Lab{L: 50.58, A: 73.65, B: 52.74}, cie.Lab{L: 38.71, A: 54.57, B: 31.35}},
		{"light skin", 194, 150, 130, cie.Lab{L: 68.00, A: 20.55, B: 20.35}, cie.Lab{L: 64.38, A: 9.94, B: 14.77}},
		{"leaf green", 70, 148, 73, cie.Lab{L: 53.09, A: -57.45, B: 32.46}, cie.Lab{L: 56.39, A: -26.79, B: 30.68}},
		{"grey 128", 128, 128, 128, cie.Lab{L: 53.99}, cie.Lab{L: 53.19}},
	} {
		right := rightPlan(srgb, device)
		plan, err := Apply(right, []string{"never"}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := evaluate(t, plan, c.r, c.g, c.b).Relative; cie.DeltaE76(got, c.never) > 0.03 {
			t.Errorf("%s never converted: %.2f, want %.2f", c.name, got, c.never)
		}
		plan, err = Apply(right, []string{"twice"}, Options{Second: proof.RelativeColorimetric})
		if err != nil {
			t.Fatal(err)
		}
		const byteSteps = 0.8 // ΔE00, of two roundings to bytes
		if got := evaluate(t, plan, c.r, c.g, c.b).Relative; cie.DeltaE00(got, c.twice) > byteSteps {
			t.Errorf("%s twice: %.2f, want %.2f", c.name, got, c.twice)
		}
	}
}

// Numbers made for an idealised CMYK device and printed on a real one (transicc
// -t0 into the first, -t1 out of the second, two decimals).
func TestAnotherPapersProfile(t *testing.T) {
	srgb, paper, other := proof.SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc"), realProfile(t, "ps_cmyk.icc")
	right := rightPlan(srgb, paper)
	right.Conversions[0].Intent, right.Conversions[0].BPC = proof.Perceptual, false
	plan, err := Apply(right, []string{"otherpaper"}, Options{Other: other})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		r, g, b float64
		want    cie.Lab
	}{
		{200, 30, 40, cie.Lab{L: 41.22, A: 24.67, B: 17.07}},
		{128, 128, 128, cie.Lab{L: 39.98, A: 3.73, B: 2.51}},
	} {
		if got := evaluate(t, plan, c.r, c.g, c.b).Relative; cie.DeltaE76(got, c.want) > 0.02 {
			t.Errorf("%g %g %g: %.2f, want %.2f", c.r, c.g, c.b, got, c.want)
		}
	}
	if r := plan.Route(); r.Stations[2].Fault != proof.WrongPaper {
		t.Errorf("the route does not mark the printer's numbers: %+v", r.Stations[2])
	}
}

// Wrong source spaces by a second, independent library (colorjs.io 0.7.1, bytes
// rounded): its two decimals, read through a paper so idle that it adds nothing.
func TestWrongSourceSpaceChangesWhatIsMeant(t *testing.T) {
	romm, srgb := builtin(t, "romm"), builtin(t, "srgb")
	plan, err := Apply(rightPlan(romm, srgb), []string{"wrongsource"}, Options{Reads: srgb})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		r, g, b float64
		want    cie.Lab
	}{
		{134, 58, 36, cie.Lab{L: 34.89, A: 32.18, B: 29.84}},
		{85, 122, 68, cie.Lab{L: 47.40, A: -21.68, B: 25.16}},
	} {
		if got := evaluate(t, plan, c.r, c.g, c.b).Relative; cie.DeltaE00(got, c.want) > 0.01 {
			t.Errorf("%g %g %g: %.2f, want %.2f", c.r, c.g, c.b, got, c.want)
		}
	}
}

func TestTwoSlipsAreTheSameInEitherOrder(t *testing.T) {
	right := rightPlan(builtin(t, "romm"), realProfile(t, "a98.icc"))
	o := Options{Reads: builtin(t, "srgb"), Other: realProfile(t, "AdobeRGB1998.icc")}
	for _, pair := range [][]string{
		{"twice", "wrongsource"}, {"twice", "otherpaper"}, {"compensation", "twice"}, {"otherpaper", "wrongsource"},
	} {
		one, err := Apply(right, pair, o)
		if err != nil {
			t.Fatal(err)
		}
		two, err := Apply(right, []string{pair[1], pair[0]}, o)
		if err != nil {
			t.Fatal(err)
		}
		if one.Key() != two.Key() {
			t.Errorf("%v depends on the order", pair)
		}
	}
	both, _ := Apply(right, []string{"twice", "otherpaper"}, Options{Other: o.Other})
	if both.Conversions[0].To.ID() != right.Paper.ID() || both.Conversions[1].To.ID() != o.Other.ID() {
		t.Error("of two conversions the second is to use the other paper's profile, the first the right one")
	}
	// The given space is the file's, the second converter still takes its numbers for sRGB.
	both, _ = Apply(right, []string{"twice", "wrongsource"}, Options{Reads: builtin(t, "displayp3")})
	if both.Conversions[0].From.Name() != "Display P3" || both.Conversions[1].From.Name() != "sRGB" {
		t.Errorf("twice with a wrong source reads %s, then %s", both.Conversions[0].From.Name(), both.Conversions[1].From.Name())
	}
}

func TestRefusals(t *testing.T) {
	srgb, rgb, cmyk := builtin(t, "srgb"), realProfile(t, "a98.icc"), realProfile(t, "cmyk.icc")
	for _, c := range []struct {
		name  string
		paper *proof.Profile
		ids   []string
		o     Options
	}{
		{"never on inks", cmyk, []string{"never"}, Options{}},
		{"never with another", rgb, []string{"never", "twice"}, Options{}},
		{"twice on inks without a space", cmyk, []string{"twice"}, Options{}},
		{"twice on inks with an RGB space", cmyk, []string{"twice"}, Options{Reads: srgb}},
		{"no other paper", rgb, []string{"otherpaper"}, Options{}},
		{"another paper of other inks", rgb, []string{"otherpaper"}, Options{Other: cmyk}},
		{"no space to read", rgb, []string{"wrongsource"}, Options{}},
		{"no ink model", rgb, []string{"wrongsetting"}, Options{}},
		{"unknown", rgb, []string{"sideways"}, Options{}},
	} {
		if _, err := Apply(rightPlan(srgb, c.paper), c.ids, c.o); !errors.Is(err, proof.ErrPlan) {
			t.Errorf("%s: error %v, want a plan error", c.name, err)
		}
	}
}

func TestEverySlip(t *testing.T) {
	romm, device := builtin(t, "romm"), realProfile(t, "a98.icc")
	o := Options{Reads: builtin(t, "srgb"), Other: realProfile(t, "WideGamutRGB.icc"), Setting: realProfile(t, "AdobeRGB1998.icc"), SettingName: "plain"}
	seen := map[string]bool{}
	for _, s := range All() {
		if seen[s.ID] || s.Name == "" || s.Recognise == "" || s.Prevent == "" {
			t.Errorf("%q lacks a text or is doubled", s.ID)
		}
		seen[s.ID] = true
		right := rightPlan(romm, device)
		kept := append([]proof.Conversion(nil), right.Conversions...)
		plan, err := Apply(right, []string{s.ID}, o)
		if err != nil {
			t.Errorf("%s: %v", s.ID, err)
			continue
		}
		if !reflect.DeepEqual(right.Conversions, kept) {
			t.Errorf("%s changes the plan it was given", s.ID)
		}
		route := plan.Route()
		if !route.Faulty() {
			t.Errorf("%s leaves the route without a fault", s.ID)
		}
		for _, st := range route.Stations {
			if (st.Fault == proof.NoFault) != (st.Why == "") {
				t.Errorf("%s: station %q has fault %s and reason %q", s.ID, st.Title, st.Fault, st.Why)
			}
		}
	}
	if r := rightPlan(romm, device).Route(); r.Faulty() {
		t.Errorf("the right plan's route is faulty: %+v", r)
	}
}

// E = 315 lx beside a screen of 160 cd/m2, by (E / pi) / Lw.
func TestDim(t *testing.T) {
	for _, c := range []struct{ lux, white, want float64 }{
		{UsualLux, UsualLuminance, UsualDim}, {500, 160, 0.99}, {160, 160, 0.32}, {1, 1000, 0.01},
		{0, 160, UsualDim}, {315, 0, UsualDim}, {math.NaN(), 160, UsualDim}, {315, -1, UsualDim},
	} {
		if got := Dim(c.lux, c.white); got != c.want {
			t.Errorf("Dim(%g, %g) = %g, want %g", c.lux, c.white, got, c.want)
		}
	}
	// Black stays black and white loses luminance by the factor itself.
	p := rightPlan(builtin(t, "srgb"), realProfile(t, "a98.icc"))
	right := evaluate(t, p, 255, 255, 255)
	p, err := Apply(p, []string{"brightscreen"}, Options{Dim: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	v := evaluate(t, p, 255, 255, 255)
	if got := space.SRGB().Decode(v.Screen[1]); math.Abs(got-0.5) > 1e-3 {
		t.Errorf("white has %.4f of its luminance, want 0.5", got)
	}
	if v.DeltaE00 != right.DeltaE00 {
		t.Error("the screen's brightness must not change a figure")
	}
}
