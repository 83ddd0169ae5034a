package cause

import (
	"math"
	"slices"
	"strings"
	"testing"

	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
)

func TestATableIsRead(t *testing.T) {
	spots, err := ReadTable(strings.NewReader("\ufeffL, a, b, pin, c1, c2, c3, more\n# a remark\n50, 1, -2, shirt, 255, 0, 51, x\n"), 3)
	if err != nil {
		t.Fatal(err)
	}
	want := Spot{Name: "shirt", Numbers: []float64{1, 0, 0.2}, Lab: cie.Lab{L: 50, A: 1, B: -2}}
	if len(spots) != 1 || spots[0].Name != want.Name || spots[0].Lab != want.Lab || !slices.Equal(spots[0].Numbers, want.Numbers) {
		t.Errorf("read %+v", spots)
	}
}

func TestTablesThatAreRefused(t *testing.T) {
	const head = "pin,c1,c2,c3,L,a,b\n"
	for says, text := range map[string]string{
		"empty":                 "",
		"no column L":           "pin,c1,c2,c3,a,b\n",
		"line 3":                head + "a,1,2,3,50,0,0\nb,1,2,3,fifty,0,0\n",
		`"NaN" is no number`:    head + "a,1,2,3,NaN,0,0\n",
		`"-Inf" is no number`:   head + "a,1,2,3,50,-Inf,0\n",
		"256 is not between":    head + "a,1,2,256,50,0,0\n",
		"wrong number of field": head + "a,1,2\n",
		"more than 5000 pins":   head + strings.Repeat("a,1,2,3,50,0,0\n", 5001),
	} {
		if _, err := ReadTable(strings.NewReader(text), 3); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
	}
}

// Media-relative colorimetry scales XYZ by the paper's white (ICC.1, 6.3.2): paper is
// 100, 0, 0, and a reading of a fifth of its light in each of X, Y, Z has L* 51.84 (by
// the definition of L*, 116 * 0.2^(1/3) - 16).
func TestMeasuredPatchesAreRelativeToTheirPaper(t *testing.T) {
	white := cie.Lab{L: 94, A: 1, B: -4}
	fifth := white.ToXYZ(cie.D50).Scale(0.2).ToLab(cie.D50)
	near := func(got, want cie.Lab) bool { return cie.DeltaE76(got, want) < 0.01 } // of rounding alone
	for name, c := range map[string]struct {
		device [][]float64
		kind   chart.Device
	}{
		"RGB with a bare patch":  {[][]float64{{1, 1, 1}, {0.5, 0.5, 0.5}}, chart.RGB},
		"CMYK with a bare patch": {[][]float64{{0, 0, 0, 0}, {0.2, 0.2, 0.2, 0.2}}, chart.CMYK},
		"no bare patch":          {[][]float64{{0.9, 1, 1}, {0.5, 0.5, 0.5}}, chart.RGB},
	} {
		ms := &chart.Measurements{Device: c.kind, Patches: []chart.Patch{{ID: "1", Device: c.device[0], Lab: white}, {ID: "2", Device: c.device[1], Lab: fifth}}}
		given := white
		if name != "no bare patch" {
			given = cie.Lab{L: 20, A: 30}
		}
		spots := FromChart(ms, given)
		if !near(spots[0].Lab, cie.Lab{L: 100}) || !near(spots[1].Lab, cie.Lab{L: 116*math.Cbrt(0.2) - 16}) {
			t.Errorf("%s: %v, %v", name, spots[0].Lab, spots[1].Lab)
		}
	}
}
