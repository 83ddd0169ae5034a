package space_test

import (
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
	"firstsheet/proof/space"
)

// TestICCReadsBackAsTheSpace opens each written profile with Little CMS and
// compares with the arithmetic of this package. Colorants in the file are rounded
// to 1/65536, which moves the ROMM blue (Y 0.0001) most.
func TestICCReadsBackAsTheSpace(t *testing.T) {
	const roundedColorants = 0.02 // ΔE00
	for _, s := range space.All() {
		file, err := icc.Parse(s.ICC())
		if err != nil {
			t.Fatalf("%s: %v", s.ID, err)
		}
		if file.Description() != s.Name || file.Version() != "4.3" || file.Class != icc.ClassDisplay {
			t.Errorf("%s: reads as %q, version %s, class %s", s.ID, file.Description(), file.Version(), file.Class)
		}
		if id := file.ID(); string(file.Data[84:100]) != string(id[:]) {
			t.Errorf("%s: the profile ID in the header is not that of its bytes", s.ID)
		}
		c, err := lcms.NewContext()
		if err != nil {
			t.Fatal(err)
		}
		from, err := c.Open(file.Data)
		if err != nil {
			t.Fatal(err)
		}
		exact, err := c.RGB(s)
		if err != nil {
			t.Fatal(err)
		}
		lab, err := c.Lab()
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for _, p := range []*lcms.Profile{from, exact} {
			tr, err := c.Float(p, lab, lcms.Options{Intent: 1})
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range [][3]float64{{1, 1, 1}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {.5, .5, .5}, {.02, .02, .02}, {.8, .3, .1}} {
				var got [3]float64
				tr.Run(got[:], v[:])
				worst = max(worst, cie.DeltaE00(cie.Lab{L: got[0], A: got[1], B: got[2]}, s.ToLab(v[0], v[1], v[2])))
			}
			if worst > roundedColorants {
				t.Errorf("%s: ΔE00 %.4f from the arithmetic, want at most %g", s.ID, worst, roundedColorants)
			}
			tr.Close()
			p.Close()
		}
		lab.Close()
		c.Close()
	}
	if n := lcms.Live(); n != 0 {
		t.Errorf("%d handles left open", n)
	}
}
