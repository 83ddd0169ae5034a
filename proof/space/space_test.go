package space

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"firstsheet/proof/cie"
)

// TestSRGBAgainstReferenceLibraries compares with the values two general
// reference libraries print for 24 colours; four decimals are printed.
func TestSRGBAgainstReferenceLibraries(t *testing.T) {
	f, err := os.Open("../../testdata/tables/srgb_lab.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 25 {
		t.Fatalf("%d rows, want a header and 24 colours", len(rows))
	}
	for _, row := range rows[1:] {
		v := make([]float64, len(row))
		for i, s := range row {
			if v[i], err = strconv.ParseFloat(s, 64); err != nil {
				t.Fatal(err)
			}
		}
		got := SRGB().ToLab(v[0]/255, v[1]/255, v[2]/255)
		if d := cie.DeltaE76(got, cie.Lab{L: v[3], A: v[4], B: v[5]}); d > 2e-4 {
			t.Errorf("sRGB %v = %.4f, Little CMS %v: %.5f apart, want at most 2e-4", v[:3], got, v[3:6], d)
		}
		// colorjs.io rounds D50 to 0.9643, 1, 0.8251, which moves saturated colours.
		if d := cie.DeltaE00(got, cie.Lab{L: v[6], A: v[7], B: v[8]}); d > 0.004 {
			t.Errorf("sRGB %v is ΔE00 %.4f from colorjs.io, want at most 0.004", v[:3], d)
		}
	}
}

// The matrices were computed from the published primaries independently and
// agree with those printed by reference libraries to six decimals.
func TestMatrices(t *testing.T) {
	for _, c := range []struct {
		id   string
		want cie.Mat3
	}{
		{"srgb", cie.Mat3{0.436041, 0.385113, 0.143046, 0.222485, 0.716905, 0.060610, 0.013920, 0.097067, 0.713913}},
		{"adobe1998", cie.Mat3{0.609741, 0.205273, 0.149187, 0.311113, 0.625675, 0.063212, 0.019465, 0.060875, 0.744560}},
	} {
		s, _ := ByID(c.id)
		got := s.ToXYZ()
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-6 {
				t.Errorf("%s matrix[%d] = %.6f, want %.6f", c.id, i, got[i], c.want[i])
			}
		}
	}
}

// The same red shirt, encoded in three spaces and rounded to bytes, is the same
// colour: bytes as printed by colorjs.io 0.7.1 for sRGB 200 30 40.
func TestShirtRedInThreeSpaces(t *testing.T) {
	want := cie.Lab{L: 44.10, A: 63.91, B: 41.73}
	for _, c := range []struct {
		id      string
		r, g, b float64
	}{{"srgb", 200, 30, 40}, {"adobe1998", 171, 35, 44}, {"romm", 134, 58, 36}} {
		s, _ := ByID(c.id)
		back := s.FromLab(want)
		for i, v := range []float64{c.r, c.g, c.b} {
			if math.Abs(back[i]*255-v) > 0.6 {
				t.Errorf("%s channel %d = %.2f, want %g ± rounding", c.id, i, back[i]*255, v)
			}
		}
	}
}

func TestEverySpace(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range All() {
		if seen[s.ID] || s.ID == "" || s.Name == "" {
			t.Errorf("ID %q is empty or doubled", s.ID)
		}
		seen[s.ID] = true
		if d := cie.DeltaE76(s.ToLab(1, 1, 1), cie.Lab{L: 100}); d > 1e-9 {
			t.Errorf("%s white is %g away from L* 100", s.ID, d)
		}
		for v := -0.25; v <= 1.25; v += 1.0 / 512 {
			// The published constants join the two parts of a curve to about 1e-7.
			if got := s.Encode(s.Decode(v)); math.Abs(got-v) > 1e-6 {
				t.Errorf("%s: %g comes back as %g", s.ID, v, got)
			}
		}
		if g := s.ToLab(0.5, 0.5, 0.5); math.Hypot(g.A, g.B) > 1e-9 {
			t.Errorf("%s: equal channels give %v, want a neutral", s.ID, g)
		}
	}
}
