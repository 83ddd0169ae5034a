package cie

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// Two colours under D65 with their IPT, as the documentation of a public colour
// library has them (from memory).
func TestIPTWorkedExamples(t *testing.T) {
	for _, c := range []struct {
		xyz  XYZ
		want IPT
	}{
		{XYZ{0.20654008, 0.12197225, 0.05136952}, IPT{0.38426191, 0.38487306, 0.18886838}},
		{XYZ{0.14222010, 0.23042768, 0.10495772}, IPT{0.49437481, -0.19251742, 0.18080304}},
	} {
		got := c.xyz.Transform(Adaptation(whiteD65, D50)).IPT()
		// The matrix printed in the paper has four decimals and its white is 1 to 1e-4.
		if math.Abs(got.I-c.want.I) > 5e-4 || math.Abs(got.P-c.want.P) > 1e-3 || math.Abs(got.T-c.want.T) > 1e-3 {
			t.Errorf("%v becomes %.5f, want %.5f", c.xyz, got, c.want)
		}
	}
}

func TestIPTGoesBack(t *testing.T) {
	for l := 0.0; l <= 100; l += 10 {
		for a := -100.0; a <= 100; a += 25 {
			for b := -100.0; b <= 100; b += 25 {
				x := Lab{L: l, A: a, B: b}.ToXYZ(D50)
				back := x.IPT().XYZ()
				if math.Abs(back.X-x.X)+math.Abs(back.Y-x.Y)+math.Abs(back.Z-x.Z) > 1e-12 {
					t.Fatalf("%v comes back as %v", x, back)
				}
			}
		}
		if c := (Lab{L: l}).ToXYZ(D50).IPT(); c.Chroma() > 1e-12 {
			t.Errorf("neutral L* %g becomes %v", l, c)
		}
	}
}

// Colours that people found to be of one hue lie on straighter lines than in
// CIELAB, above all in the blue, where CIELAB's lines run into purple.
func TestIPTHueLinesAreStraight(t *testing.T) {
	f, err := os.Open("../../testdata/tables/hung_berns.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = 5
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	adapt := Adaptation(FromXY(0.3101, 0.3163), D50)
	ipt, lab := map[string][]float64{}, map[string][]float64{}
	for _, row := range rows[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[2+i], 64); err != nil {
				t.Fatal(err)
			}
		}
		x := XYZ{v[0] / 100, v[1] / 100, v[2] / 100}.Transform(adapt)
		ipt[row[0]] = append(ipt[row[0]], x.IPT().Hue())
		lab[row[0]] = append(lab[row[0]], x.ToLab(D50).Hue())
	}
	turn := func(hues []float64) float64 { return math.Abs(HueTurn(hues[3], hues[1])) }
	for name := range ipt {
		t.Logf("%-13s half the chroma turns the hue by %.1f degrees in IPT, %.1f in CIELAB", name, turn(ipt[name]), turn(lab[name]))
		// The spread of the observers is about 6 to 10 degrees (table II).
		if turn(ipt[name]) > 10 {
			t.Errorf("%s: IPT turns by %.1f degrees", name, turn(ipt[name]))
		}
	}
	if i, l := turn(ipt["Blue"]), turn(lab["Blue"]); i > l/2 {
		t.Errorf("blue turns by %.1f degrees in IPT, %.1f in CIELAB, want less than half", i, l)
	}
}
