package overlay

import (
	"image"
	"image/color"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

func TestBand(t *testing.T) {
	for _, c := range []struct {
		d    float64
		want int
	}{{0, 0}, {0.999, 0}, {1, 1}, {1.99, 1}, {2, 2}, {4, 3}, {7.9, 3}, {8, 4}, {60, 4}} {
		if got := Band(c.d); got != c.want {
			t.Errorf("Band(%g) = %d, want %d", c.d, got, c.want)
		}
	}
}

// viewed is how an eye without one sort of cones sees a linear sRGB colour.
// Matrices: Machado, Oliveira and Fernandes, IEEE TVCG 15(6), 2009, severity 1.0
// (from memory), for protanopia, deuteranopia and tritanopia.
var viewed = map[string][3][3]float64{
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

func TestTheScaleIsSequentialForEveryEye(t *testing.T) {
	s := space.SRGB()
	look := func(c color.NRGBA, m *[3][3]float64) cie.Lab {
		v := [3]float64{s.Decode(float64(c.R) / 255), s.Decode(float64(c.G) / 255), s.Decode(float64(c.B) / 255)}
		if m != nil {
			var w [3]float64
			for i := range w {
				w[i] = min(max(m[i][0]*v[0]+m[i][1]*v[1]+m[i][2]*v[2], 0), 1)
			}
			v = w
		}
		return s.ToLab(s.Encode(v[0]), s.Encode(v[1]), s.Encode(v[2]))
	}
	check := func(name string, m *[3][3]float64) {
		for b := 1; b < 4; b++ {
			near, far := look(Tint(b), m), look(Tint(b+1), m)
			if near.L-far.L < 12 {
				t.Errorf("%s: band %d has L* %.1f, band %d has %.1f: the step is less than 12", name, b, near.L, b+1, far.L)
			}
			if d := cie.DeltaE00(near, far); d < 12 {
				t.Errorf("%s: bands %d and %d differ by %.1f, want 12", name, b, b+1, d)
			}
		}
	}
	check("all cones", nil)
	for name, m := range viewed {
		check(name, &m)
	}
}

// newField returns a field with what sample says of each pixel.
func newField(w, h, line int, sample func(i int) proof.Sample) *Field {
	f := new(Field)
	f.Reset(w, h, line)
	for i := range f.Samples {
		f.Samples[i] = sample(i)
	}
	return f
}

// field is a ramp of reach from left to right, dark in its lower quarter.
func field(w, h, line int) *Field {
	return newField(w, h, line, func(i int) proof.Sample {
		d := proof.StepsOf(float64(i%w) / float64(w) * 12)
		return proof.Sample{DeltaE00: d, Reach: d, Darker: i/w >= h*3/4}
	})
}

func flat(w, h int, v uint8) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range m.Pix {
		m.Pix[i] = v
		if i%4 == 3 {
			m.Pix[i] = 255
		}
	}
	return m
}

func TestOverlays(t *testing.T) {
	ids := map[string]bool{}
	for _, o := range All() {
		if ids[o.ID] || o.ID == "" || o.Name == "" || o.Legend == "" {
			t.Errorf("overlay %q is called twice or says nothing", o.ID)
		}
		ids[o.ID] = true
		for _, line := range []int{1, 2} {
			dst := flat(140, 100, 120)
			o.Draw(dst, image.Pt(10, 10), field(120, 80, line), 2)
			changed := 0
			for y := range 100 {
				for x := range 140 {
					p := dst.RGBAAt(x, y)
					in := x >= 10 && x < 130 && y >= 10 && y < 90
					if p != (color.RGBA{120, 120, 120, 255}) {
						if !in {
							t.Fatalf("%s draws at %d, %d, outside its field", o.ID, x, y)
						}
						changed++
					}
					if p.A != 255 {
						t.Fatalf("%s leaves a hole at %d, %d", o.ID, x, y)
					}
				}
			}
			if changed == 0 {
				t.Errorf("%s draws nothing", o.ID)
			}
		}
		// A field with nothing to tell leaves the picture.
		if o.ID != "difference" && o.ID != "greyed" { // these replace it
			dst := flat(20, 20, 120)
			o.Draw(dst, image.Point{}, newField(20, 20, 1, func(int) proof.Sample { return proof.Sample{} }), 2)
			for i, v := range dst.Pix {
				if i%4 != 3 && v != 120 {
					t.Errorf("%s changes a picture that is all within reach", o.ID)
					break
				}
			}
		}
	}
}

// On any ground one line of the pair stands out.
func TestContoursShowOnAnyPicture(t *testing.T) {
	o, _ := ByID("reach")
	for _, ground := range []uint8{0, 60, 120, 190, 255} {
		dst := flat(120, 80, ground)
		f := field(120, 80, 1)
		for i := range f.Samples {
			f.Samples[i].Darker = false
		}
		o.Draw(dst, image.Point{}, f, 2)
		for _, edge := range []float64{2, 4, 8} {
			x0 := int(edge / 12 * 120)
			var most int
			for x := x0 - 4; x <= x0+4; x++ {
				most = max(most, abs(int(dst.RGBAAt(x, 40).G)-int(ground)))
			}
			if most < 100 {
				t.Errorf("on a ground of %d the contour at %g differs by %d only, want 100", ground, edge, most)
			}
		}
		// Below the limit there is no line at all.
		for x := range 12 {
			if dst.RGBAAt(x, 40).G != ground {
				t.Errorf("on a ground of %d something is drawn below the limit, at %d", ground, x)
				break
			}
		}
	}
}

func TestDarkIsNoBand(t *testing.T) {
	o, _ := ByID("reach")
	dst := flat(120, 80, 20)
	f := field(120, 80, 1)
	for i := range f.Samples {
		f.Samples[i].Darker = true
	}
	o.Draw(dst, image.Point{}, f, 2)
	for i, v := range dst.Pix {
		if i%4 != 3 && v != 20 {
			t.Fatal("what is darker than the paper is drawn as a band too")
		}
	}
}

func abs(v int) int { return max(v, -v) }

// What is switched on is drawn over the sheets it is for, and one that goes with another
// only beside that.
func TestDrawn(t *testing.T) {
	ids := func(list []Overlay) string {
		s := ""
		for _, o := range list {
			s += o.ID + " "
		}
		return s
	}
	for _, c := range []struct {
		set          Set
		proofs, over string
	}{
		{Usual(), "", "difference "},
		{Usual().With("reach", true), "reach darker ", "difference "},
		{Usual().With("reach", true).With("darker", false), "reach ", "difference "},
		{0, "", "difference "},
	} {
		if p, d := ids(c.set.Drawn(Proofs)), ids(c.set.Drawn(Differences)); p != c.proofs || d != c.over {
			t.Errorf("%b: over proofs %q and differences %q, want %q and %q", c.set, p, d, c.proofs, c.over)
		}
	}
	if s := Usual().With("nosuch", true); s != Usual() || s.Has("nosuch") {
		t.Error("an unknown overlay was switched on")
	}
}
