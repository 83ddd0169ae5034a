package profile

import (
	"math"
	"math/rand/v2"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
)

// run sends colours from one profile to another through Little CMS; nil is the
// connection space itself.
func run(t *testing.T, from, to []byte, intent int, src []float64, channels int) []float64 {
	t.Helper()
	ctx, err := lcms.NewContext()
	if err != nil {
		t.Fatal(err)
	}
	defer ctx.Close()
	open := func(data []byte) *lcms.Profile {
		var p *lcms.Profile
		if data == nil {
			p, err = ctx.Lab()
		} else {
			p, err = ctx.Open(data)
		}
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	a, b := open(from), open(to)
	defer a.Close()
	defer b.Close()
	x, err := ctx.Float(a, b, lcms.Options{Intent: intent})
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	in, _ := x.Channels()
	dst := make([]float64, len(src)/in*channels)
	x.Run(dst, src)
	return dst
}

// Little CMS reads the tables of both versions as we wrote them: the same colours
// as our own reading of the stored numbers, and both versions alike.
func TestLittleCMSReadsTheTables(t *testing.T) {
	for name, spec := range map[string]Spec{"RGB": pearl(), "CMYK": inks()} {
		r := build(t, spec)
		n := spec.Channels
		rng := rand.New(rand.NewPCG(15, 16))
		var device, colours []float64
		for range 200 {
			d := make([]float64, n)
			for ch := range d {
				d[ch] = rng.Float64()
			}
			device = append(device, d...)
			colours = append(colours, 5+90*rng.Float64(), 100*rng.Float64()-50, 100*rng.Float64()-50)
		}
		forward, inverse := lut(t, r.V2, "A2B1"), lut(t, r.V2, "B2A1")
		two, four := run(t, r.V2, nil, 1, device, 3), run(t, r.V4, nil, 1, device, 3)
		back2, back4 := run(t, nil, r.V2, 1, colours, n), run(t, nil, r.V4, 1, colours, n)
		absolute := run(t, r.V2, nil, 3, device, 3)
		for i := range 200 {
			own := encodingV2.decode(Evaluate(forward, device[n*i:n*i+n]))
			a, b := cie.Lab{L: two[3*i], A: two[3*i+1], B: two[3*i+2]}, cie.Lab{L: four[3*i], A: four[3*i+1], B: four[3*i+2]}
			// 16-bit steps of a* are 1/256.
			if cie.DeltaE76(own, a) > 0.01 || cie.DeltaE76(a, b) > 0.02 {
				t.Fatalf("%s %.3f: our reading %v, version 2 %v, version 4 %v", name, device[n*i:n*i+n], own, a, b)
			}
			w := r.Report.White.ToXYZ(cie.D50)
			x := a.ToXYZ(cie.D50)
			want := cie.XYZ{X: x.X * w.X / cie.D50.X, Y: x.Y * w.Y, Z: x.Z * w.Z / cie.D50.Z}.ToLab(cie.D50)
			if c := (cie.Lab{L: absolute[3*i], A: absolute[3*i+1], B: absolute[3*i+2]}); cie.DeltaE76(c, want) > 0.01 {
				t.Errorf("%s %.3f: absolute %v, want %v", name, device[n*i:n*i+n], c, want)
			}
			for ch, v := range EvaluateLab(inverse, encodingV2.encode(cie.Lab{L: colours[3*i], A: colours[3*i+1], B: colours[3*i+2]})) {
				if math.Abs(v-back2[n*i+ch]) > 3e-4 || math.Abs(v-back4[n*i+ch]) > 3e-4 {
					t.Fatalf("%s Lab %.1f: channel %d is %.5f by our reading, %.5f by version 2, %.5f by version 4", name, colours[3*i:3*i+3], ch, v, back2[n*i+ch], back4[n*i+ch])
				}
			}
		}
	}
}

// Version 2: the perceptual tables put L* 0 on the paper's black themselves.
// Version 4: they put the reference medium's black (L* 3.14, ICC.1:2010, 6.3.3.2)
// there; Little CMS knows and scales a source of black L* 0 to it, so that in the
// end both do the same.
func TestPerceptualBlackLandsOnThePapers(t *testing.T) {
	r := build(t, pearl())
	for name, data := range map[string][]byte{"version 2": r.V2, "version 4": r.V4} {
		for _, intent := range []int{0, 2} {
			for ch, v := range run(t, nil, data, intent, []float64{0, 0, 0}, 3) {
				// The black lies between two nodes of this coarse grid.
				if v > 0.03 {
					t.Errorf("%s, intent %d: black sends %.4f in channel %d", name, intent, v, ch)
				}
			}
		}
	}
	if c := run(t, r.V4, nil, 0, []float64{0, 0, 0}, 3); math.Abs(c[0]) > 0.3 {
		t.Errorf("version 4: the paper's black is L* %.2f by the perceptual table, want 0", c[0])
	}
}

// The black that Little CMS detects by a round trip is the one we report; with the
// perceptual table of version 2 it finds none, because that table already maps it.
func TestDetectedBlack(t *testing.T) {
	r := build(t, pearl())
	ctx, err := lcms.NewContext()
	if err != nil {
		t.Fatal(err)
	}
	defer ctx.Close()
	p, err := ctx.Open(r.V2)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	black, err := p.Black(1)
	if err != nil {
		t.Fatal(err)
	}
	w := r.Report.White.ToXYZ(cie.D50).Y
	if got, want := black.ToLab(cie.D50).L, (cie.XYZ{Y: r.Report.Black.ToXYZ(cie.D50).Y / w}).ToLab(cie.D50).L; math.Abs(got-want) > 1 {
		t.Errorf("detected black L* %.2f, reported %.2f", got, want)
	}
}
