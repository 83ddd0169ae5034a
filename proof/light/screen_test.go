package light

import (
	"context"
	"math"
	"os"
	"strings"
	"testing"
	"time"

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

// D50, D65 and illuminant A by their published chromaticities (CIE 15) have
// correlated colour temperatures of 5003, 6504 and 2856 K.
func TestKelvinPublished(t *testing.T) {
	for _, c := range []struct{ x, y, kelvin, within float64 }{
		{0.34567, 0.35850, 5003, 15}, {0.3127, 0.3290, 6504, 20}, {0.4476, 0.4074, 2856, 10},
	} {
		k, off := Kelvin(cie.FromXY(c.x, c.y))
		if math.Abs(k-c.kelvin) > c.within || off > 2e-3 {
			t.Errorf("Kelvin(%g, %g) = %.0f, %.4f off, want %.0f ± %.0f", c.x, c.y, k, off, c.kelvin, c.within)
		}
	}
	if k, _ := Kelvin(cie.FromXY(0.3, 0.6)); k != 0 {
		t.Errorf("a green has a colour temperature of %.0f K", k)
	}
}

func TestInspectScreen(t *testing.T) {
	ctx, e := context.Background(), engine(t)
	// A version 4 file whose white is D50 by its adaptation matrix: the matrix
	// must give D65 back.
	for name, p := range map[string]*proof.Profile{"built-in": srgb, "file": profile(t, "sRGB.icc"), "version 2": profile(t, "srgb_v2.icc")} {
		s, err := InspectScreen(ctx, e, p)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if math.Abs(s.Kelvin-6504) > 40 {
			t.Errorf("%s: white %.0f K, want 6504 ± 40", name, s.Kelvin)
		}
		if s.Black > 0.5 || math.Abs(s.Volume/s.SRGB-1) > 0.02 {
			t.Errorf("%s: black %.2f, volume %.2f times sRGB", name, s.Black, s.Volume/s.SRGB)
		}
		// The version 2 file carries a header without a date.
		if (name == "built-in") != (s.Version == "") || (name == "file") == s.Made.IsZero() {
			t.Errorf("%s: version %q made %v", name, s.Version, s.Made)
		}
	}
	wide, _ := space.ByID("rec2020")
	if s, err := InspectScreen(ctx, e, proof.SpaceProfile(wide)); err != nil || s.Volume < 1.8*s.SRGB {
		t.Errorf("Rec. 2020 is %.2f times sRGB (%v)", s.Volume/s.SRGB, err)
	}
}

func TestMade(t *testing.T) {
	data := make([]byte, 128)
	date := func(v ...uint16) {
		for i, x := range v {
			data[24+2*i], data[25+2*i] = byte(x>>8), byte(x)
		}
	}
	date(2024, 2, 29, 23, 59, 58)
	if got, want := made(data), time.Date(2024, 2, 29, 23, 59, 58, 0, time.UTC); !got.Equal(want) {
		t.Errorf("made %v, want %v", got, want)
	}
	date(2023, 2, 29, 0, 0, 0)
	if !made(data).IsZero() {
		t.Error("the 29th of February 2023 is taken")
	}
	date(0, 0, 0, 0, 0, 0)
	if !made(data).IsZero() || !made(data[:30]).IsZero() {
		t.Error("no date is taken for one")
	}
	now := time.Date(2025, 6, 1, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		days int
		want string
	}{{0, "today"}, {1, "yesterday"}, {40, "40 days ago"}, {92, "3 months ago"}, {800, "2 years ago"}, {-3, "in the future by this computer’s clock"}} {
		if got := Age(now.AddDate(0, 0, -c.days), now); got != c.want {
			t.Errorf("%d days: %q, want %q", c.days, got, c.want)
		}
	}
}

// 315 lx beside 160 cd/m2: k = 315 / pi / 160 = 0.627, worked by hand.
func TestBright(t *testing.T) {
	if k := Factor(315, 160); math.Abs(k-0.6267) > 5e-5 {
		t.Errorf("Factor(315, 160) = %.5f, want 0.6267 ± 5e-5", k)
	}
	if s := Bright(315, 160, "Pearl", 0.89); !strings.Contains(s, "0.63 times") || !strings.Contains(s, "100 cd/m²") || !strings.Contains(s, "503 lx") {
		t.Error(s)
	}
	if s := Bright(500, 160, "Pearl", 0.89); !strings.Contains(s, "they match") {
		t.Error(s)
	}
	if s := Bright(2000, 160, "Pearl", 0.89); strings.Contains(s, "too dark") {
		t.Error(s)
	}
}
