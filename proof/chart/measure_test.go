package chart

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/press"
)

// fogra reads a published characterisation set; testdata/fetch.sh brings them.
func fogra(t testing.TB, name string) *Measurements {
	t.Helper()
	data, err := os.ReadFile("../../testdata/cache/measurements/" + name + ".ti3")
	if err != nil {
		t.Fatalf("%v: run testdata/fetch.sh first", err)
	}
	ms, err := Read(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return ms
}

func TestReadPublishedSets(t *testing.T) {
	for name, want := range map[string]int{ // patch counts of IT8.7/3 and IT8.7/4
		"FOGRA28L": 1485, "FOGRA29L": 1485, "FOGRA30L": 1485, "FOGRA39L": 1617, "FOGRA40L": 1617,
		"TR002": 928, "TR003": 1617, "TR005": 1617, "TR006": 1617,
	} {
		ms := fogra(t, name)
		if ms.Device != CMYK || len(ms.Patches) != want {
			t.Errorf("%s: %s, %d patches, want CMYK, %d", name, ms.Device, len(ms.Patches), want)
		}
	}
	// The file's own printed values.
	ms := fogra(t, "FOGRA39L")
	for _, c := range []struct {
		device [4]float64
		want   cie.Lab
	}{
		{[4]float64{0, 0, 0, 0}, cie.Lab{L: 95, A: 0, B: -2}},
		{[4]float64{0, 0, 0, 1}, cie.Lab{L: 16, A: 0, B: 0}},
		{[4]float64{0, 1, 1, 0}, cie.Lab{L: 47, A: 68, B: 48}},
		{[4]float64{1, 1, 1, 1}, cie.Lab{L: 8.71, A: -0.07, B: 2.06}},
	} {
		found := false
		for _, p := range ms.Patches {
			if [4]float64(p.Device) == c.device {
				found = true
				if cie.DeltaE76(p.Lab, c.want) > 0.01 {
					t.Errorf("FOGRA39 %v = %v, want %v", c.device, p.Lab, c.want)
				}
			}
		}
		if !found {
			t.Errorf("FOGRA39 has no patch %v", c.device)
		}
	}
}

// XYZ is read on either scale, and gives what the file's Lab says to the
// rounding of its two decimals.
func TestXYZAgreesWithLabOfTheSameFile(t *testing.T) {
	data, err := os.ReadFile("../../testdata/cache/measurements/FOGRA39L.ti3")
	if err != nil {
		t.Fatal(err)
	}
	byLab := fogra(t, "FOGRA39L")
	byXYZ, err := Read(strings.NewReader(strings.Replace(string(data), "LAB_L LAB_A LAB_B", "SOME_L SOME_A SOME_B", 1)))
	if err != nil {
		t.Fatal(err)
	}
	var sum float64
	for i, p := range byXYZ.Patches {
		sum += cie.DeltaE76(p.Lab, byLab.Patches[i].Lab)
	}
	// 0.005 of Y = 10 is 0.02 in L*; a* and b* magnify it by up to three.
	if mean := sum / float64(len(byXYZ.Patches)); mean > 0.05 {
		t.Errorf("Lab from XYZ is %.3f ΔE76 from the file's Lab in the mean, want at most 0.05", mean)
	}
	unit := "CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n255 255 255 0.8448 0.8762 0.7457\n0 0 0 0.01 0.01 0.01\nEND_DATA\n"
	ms, err := Read(strings.NewReader(unit))
	if err != nil {
		t.Fatal(err)
	}
	if d := cie.DeltaE76(ms.Patches[0].Lab, cie.Lab{L: 95, A: 0, B: -2}); d > 0.05 {
		t.Errorf("paper on a scale to 1 = %v, want 95, 0, -2", ms.Patches[0].Lab)
	}
}

func TestDeviceScaleIsDecidedByEvidenceAndTold(t *testing.T) {
	text := func(white, mid string) string {
		return fmt.Sprintf("CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n%s %s %s 95 0 0\n%s %s %s 50 0 0\nEND_DATA\n", white, white, white, mid, mid, mid)
	}
	for _, c := range []struct {
		white, mid string
		scale      float64
		want       float64
		says       string
	}{
		{"255", "51", 0, 0.2, "0 to 255"},
		{"100", "20", 0, 0.2, "0 to 100"},
		{"100.0004", "20", 0, 0.2, "0 to 100"},
		{"1", "0.2", 0, 0.2, "0 to 1:"},
		{"90", "51", 0, 0.51, "guess"},
		{"90", "51", 255, 0.2, ""},
	} {
		ms, err := ReadWith(strings.NewReader(text(c.white, c.mid)), ReadOptions{DeviceScale: c.scale})
		if err != nil {
			t.Errorf("%s: %v", c.white, err)
			continue
		}
		if got := ms.Patches[1].Device[0]; math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s with white at %s = %g, want %g", c.mid, c.white, got, c.want)
		}
		if notes := strings.Join(ms.Notes, " "); !strings.Contains(notes, c.says) {
			t.Errorf("white at %s: the notes %q do not say %q", c.white, notes, c.says)
		}
	}
	if _, err := ReadWith(strings.NewReader(text("255", "51")), ReadOptions{DeviceScale: 7}); err == nil {
		t.Error("a scale of 7 was taken")
	}
}

func TestNotesTellConditionAndContradiction(t *testing.T) {
	ms, err := Read(strings.NewReader(strings.Replace(small, "ORIGINATOR \"test\"", "MEASUREMENT_SOURCE \"MeasurementCondition=M1 Filter=no\"", 1)))
	if err != nil || ms.Condition != "M1" {
		t.Errorf("condition %q, %v, want M1", ms.Condition, err)
	}
	both := "CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n255 255 255 84.48 87.62 95 95 0 -2\n0 0 0 1 1 1.2 9 0 0\nEND_DATA\n"
	if ms, err = Read(strings.NewReader(both)); err != nil || !strings.Contains(strings.Join(ms.Notes, " "), "disagree") {
		t.Errorf("XYZ for another light beside Lab goes unnoticed: %v %v", ms.Notes, err)
	}
}

// Spectra of the ink model, written in the ways files write them, give the ink
// model's own Lab: exactly at its own bands, to what 20 nm lose otherwise.
func TestSpectraGiveTheObserversLab(t *testing.T) {
	pearl, ok := press.StockByID("pearl")
	if !ok {
		t.Fatal("no stock pearl")
	}
	p := press.New(pearl, pearl.Right)
	for _, c := range []struct {
		name         string
		prefix       string
		step         int
		full         float64
		worst        float64
		first, bands int
	}{
		{"10 nm", "SPEC_", 10, 1, 1e-5, 380, 36},
		{"10 nm percent", "SPECTRAL_NM", 10, 100, 1e-5, 380, 36},
		{"20 nm", "SPECTRAL_NM_", 20, 1, 0.6, 380, 18},
		{"from 400 nm", "nm", 10, 1, 0.3, 400, 31},
	} {
		var b strings.Builder
		fmt.Fprintln(&b, "CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B")
		for i := range c.bands {
			fmt.Fprintf(&b, " %s%d", c.prefix, c.first+i*c.step)
		}
		fmt.Fprintln(&b, "\nEND_DATA_FORMAT\nBEGIN_DATA")
		var want []cie.Lab
		for _, rgb := range [][3]float64{{1, 1, 1}, {1, 0, 0}, {0.2, 0.6, 0.2}, {0, 0, 1}, {0, 0, 0}} {
			r := p.Reflectance(p.Driver.Separate(rgb[0], rgb[1], rgb[2]))
			want = append(want, r.Lab())
			fmt.Fprintf(&b, "%g %g %g", 255*rgb[0], 255*rgb[1], 255*rgb[2])
			for i := range c.bands {
				fmt.Fprintf(&b, " %.8f", c.full*r[(c.first-press.FirstBand+i*c.step)/press.BandStep])
			}
			fmt.Fprintln(&b)
		}
		fmt.Fprintln(&b, "END_DATA")
		ms, err := Read(strings.NewReader(b.String()))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		for i, w := range want {
			if d := cie.DeltaE00(ms.Patches[i].Lab, w); d > c.worst {
				t.Errorf("%s, patch %d: %v, want %v ± %g ΔE00", c.name, i, ms.Patches[i].Lab, w, c.worst)
			}
		}
	}
}

// A grey of 18 % at any spacing has the L* of Y = 0.18, which is arithmetic.
func TestFlatSpectrumAtAnySpacing(t *testing.T) {
	want := 116*math.Cbrt(0.18) - 16
	for _, step := range []float64{1, 3, 5, 10, 20} {
		values := make([]float64, int(400/step)+1)
		for i := range values {
			values[i] = 0.18
		}
		l, err := ownObserver(360, step, values)
		if err != nil || math.Abs(l.L-want) > 1e-6 || l.Chroma() > 1e-6 {
			t.Errorf("flat 18 %% by %g nm = %v, %v, want L* %.3f", step, l, err, want)
		}
	}
	// Triangular averaging keeps a straight slope as it is.
	slope := make([]float64, 401)
	for i := range slope {
		slope[i] = 0.1 + float64(i)/1000
	}
	if got := bandValue(380, 1, slope, 550); math.Abs(got-0.27) > 1e-12 {
		t.Errorf("slope at 550 nm = %g, want 0.27", got)
	}
}

func TestUnevenOrShortSpectraAreRefused(t *testing.T) {
	row := func(names string, n int) string {
		return "CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B " + names + "\nEND_DATA_FORMAT\nBEGIN_DATA\n255 255 255" + strings.Repeat(" 0.9", n) + "\nEND_DATA\n"
	}
	var even, uneven []string
	for nm := 450; nm <= 650; nm += 10 {
		even = append(even, fmt.Sprintf("SPEC_%d", nm))
	}
	uneven = append(append(uneven, even...), "SPEC_655")
	if _, err := Read(strings.NewReader(row(strings.Join(even, " "), len(even)))); err == nil || !strings.Contains(err.Error(), "450 to 650") {
		t.Errorf("a spectrum of 450 to 650 nm: %v", err)
	}
	if _, err := Read(strings.NewReader(row(strings.Join(uneven, " "), len(uneven)))); err == nil || !strings.Contains(err.Error(), "evenly") {
		t.Errorf("an uneven spectrum: %v", err)
	}
}

func TestMeasurementsComeBackFromTheirTable(t *testing.T) {
	in := fogra(t, "TR002")
	var b strings.Builder
	if err := WriteTables(&b, in.Table()); err != nil {
		t.Fatal(err)
	}
	out, err := Read(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range out.Patches {
		q := in.Patches[i]
		for k := range p.Device {
			if math.Abs(p.Device[k]-q.Device[k]) > 1e-6 {
				t.Fatalf("patch %s: device %v, want %v", p.ID, p.Device, q.Device)
			}
		}
		if cie.DeltaE76(p.Lab, q.Lab) > 1e-3 || p.ID != q.ID {
			t.Fatalf("patch %s came back as %s %v, want %v", q.ID, p.ID, p.Lab, q.Lab)
		}
	}
}
