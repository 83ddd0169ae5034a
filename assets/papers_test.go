package assets

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/press"
	"firstsheet/proof/press/papers"
	"firstsheet/proof/press/profile"
)

func table(t *testing.T, p *icc.Profile, sig icc.Signature) icc.Lut {
	t.Helper()
	b, _ := p.Tag(sig)
	l, err := icc.DecodeLut16(b)
	if err != nil {
		t.Fatalf("%s %s: %v", p.Description(), sig, err)
	}
	return l
}

// decode and encode are the version 2 encoding of CIELAB (ICC.1:2001-04, 6.3.4),
// written out again so that a slip in the builder's own shows.
func decode(v []float64) cie.Lab {
	return cie.Lab{L: v[0] * 65535 / 652.8, A: v[1]*65535/256 - 128, B: v[2]*65535/256 - 128}
}

func encode(c cie.Lab) []float64 {
	return []float64{c.L * 652.8 / 65535, (c.A + 128) * 256 / 65535, (c.B + 128) * 256 / 65535}
}

func absolute(p *icc.Profile, c cie.Lab) cie.Lab {
	w, _ := p.MediaWhite()
	x := c.ToXYZ(cie.D50)
	return cie.XYZ{X: x.X * w.X / cie.D50.X, Y: x.Y * w.Y, Z: x.Z * w.Z / cie.D50.Z}.ToLab(cie.D50)
}

// every calls f with each shipped profile and what it was made from.
func every(t *testing.T, f func(t *testing.T, p *icc.Profile, spec profile.Spec, right bool)) {
	for i, paper := range Papers() {
		stock := press.Stocks()[i]
		run := func(name string, data []byte, setting press.Setting, right bool) {
			t.Run(name, func(t *testing.T) {
				p, err := icc.Parse(data)
				if err != nil {
					t.Fatal(err)
				}
				f(t, p, papers.Spec(stock, setting), right)
			})
		}
		run(paper.ID, paper.ICC, stock.Right, true)
		for k, w := range paper.Wrong {
			run(paper.ID+" as "+w.ID, w.ICC, stock.Wrong[k], false)
		}
	}
}

func TestDemoPapersKeepTheRulesOfICC(t *testing.T) {
	total := 0
	every(t, func(t *testing.T, p *icc.Profile, spec profile.Spec, right bool) {
		for _, f := range p.OutputFaults() {
			t.Error(f)
		}
		if p.Description() != spec.Description || p.Copyright() != papers.Copyright || p.Version() != "2.4" || p.Channels() != 3 {
			t.Errorf("%q, %q, version %s, %d channels", p.Description(), p.Copyright(), p.Version(), p.Channels())
		}
		total += len(p.Data)
	})
	if total > 5e6 {
		t.Errorf("the demo papers take %d bytes, more than 5 MB of everybody's clone", total)
	}
}

// The shipped tables still are what the model computes: a changed model needs
// `go generate ./assets`.
func TestDemoPapersHaveNotDriftedFromTheModel(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	every(t, func(t *testing.T, p *icc.Profile, spec profile.Spec, right bool) {
		l := table(t, p, "A2B1")
		for range 40 {
			at := [3]int{r.IntN(l.Grid), r.IntN(l.Grid), r.IntN(l.Grid)}
			d := make([]float64, 3)
			for ch := range d {
				d[ch] = float64(at[ch]) / float64(l.Grid-1)
			}
			n := 3 * ((at[0]*l.Grid+at[1])*l.Grid + at[2])
			v := make([]float64, 3)
			for ch := range v {
				v[ch] = float64(l.Nodes[n+ch]) / 65535
			}
			// Half a step of 16 bits in L*, a* and b*, and in the white's tag, is below
			// 0.02 even where black makes a step large.
			if d76 := cie.DeltaE76(absolute(p, decode(v)), spec.Forward(d)); d76 > 0.02 {
				t.Fatalf("node %v holds %v, the model says %v", at, absolute(p, decode(v)), spec.Forward(d))
			}
		}
	})
}

// The accuracy that is promised: forward table against model at 1,000 random
// colours, round trip inside the gamut.
func TestDemoPapersAreAccurate(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	every(t, func(t *testing.T, p *icc.Profile, spec profile.Spec, right bool) {
		forward, inverse := table(t, p, "A2B1"), table(t, p, "B2A1")
		var fit, back []float64
		for range 1000 {
			d := []float64{r.Float64(), r.Float64(), r.Float64()}
			c := decode(profile.Evaluate(forward, d))
			fit = append(fit, cie.DeltaE00(absolute(p, c), spec.Forward(d)))
			again := decode(profile.Evaluate(forward, profile.EvaluateLab(inverse, encode(c))))
			back = append(back, cie.DeltaE00(c, again))
		}
		check := func(what string, v []float64, mean, p95, most float64) {
			slices.Sort(v)
			sum := 0.0
			for _, x := range v {
				sum += x
			}
			if sum/1000 > mean || v[949] > p95 || v[999] > most {
				t.Errorf("%s: mean %.3f, p95 %.3f, max %.3f; want at most %g, %g, %g", what, sum/1000, v[949], v[999], mean, p95, most)
			}
		}
		if right {
			check("forward table", fit, 0.3, 0.6, 1.5)
			check("round trip", back, 0.3, 1, 3)
		} else {
			// A coarser grid, and ink that runs over has a crease.
			check("forward table", fit, 0.3, 0.6, 3)
		}
	})
}

// White is bare paper by every table; greys get darker step by step, without
// bumps and without more cast than a quarter of a unit.
func TestDemoPapersTreatGreysWell(t *testing.T) {
	every(t, func(t *testing.T, p *icc.Profile, spec profile.Spec, right bool) {
		if !right {
			return
		}
		forward := table(t, p, "A2B1")
		for _, sig := range []icc.Signature{"B2A0", "B2A1", "B2A2"} {
			l := table(t, p, sig)
			for ch, v := range profile.EvaluateLab(l, encode(cie.Lab{L: 100})) {
				if v != 1 {
					t.Errorf("%s: white sends %g in channel %d", sig, v, ch)
				}
			}
			if w := decode(profile.Evaluate(forward, profile.EvaluateLab(l, encode(cie.Lab{L: 100})))); cie.DeltaE76(w, cie.Lab{L: 100}) > 1e-9 {
				t.Errorf("%s: white comes back as %v", sig, w)
			}
			before, step := 101.0, 0.0
			for i := 0; i <= 400; i++ {
				c := decode(profile.Evaluate(forward, profile.EvaluateLab(l, encode(cie.Lab{L: 100 - float64(i)/4}))))
				if c.L > before+1e-6 {
					t.Errorf("%s: grey L* %g prints lighter (%.3f) than the one before (%.3f)", sig, 100-float64(i)/4, c.L, before)
				}
				if c.Chroma() > 0.6 {
					t.Errorf("%s: grey L* %g prints as %v", sig, 100-float64(i)/4, c)
				}
				// Below the paper's black the relative table stops at once; that is no bump.
				if now := before - c.L; i > 1 && c.L > 25 && math.Abs(now-step) > 0.12 {
					t.Errorf("%s: at L* %g a step of %.3f follows one of %.3f", sig, c.L, now, step)
				} else {
					step = now
				}
				before = c.L
			}
		}
	})
}

func TestDemoPapersAreDescribed(t *testing.T) {
	ids := map[string]bool{}
	for _, p := range Papers() {
		c := p.Card
		if ids[p.ID] || p.Name == "" || c.Mill == "" || c.Printer == "" || c.Finish == "" || c.Notes == "" || c.Setting == "" ||
			c.Condition != "M1" || c.DryHours < 1 || (c.Black != "photo black" && c.Black != "matte black") {
			t.Errorf("%s: %+v", p.ID, c)
		}
		ids[p.ID] = true
		if (c.Finish == "matte") != (c.Black == "matte black") {
			t.Errorf("%s: %s with %s", p.ID, c.Finish, c.Black)
		}
		for _, w := range p.Wrong {
			if w.ID == "" || w.Name == "" || w.Black == "" || w.Name == c.Setting {
				t.Errorf("%s: wrong setting %q %q %q", p.ID, w.ID, w.Name, w.Black)
			}
		}
	}
}
