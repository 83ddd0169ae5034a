package assets

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/press"
	"firstsheet/proof/press/papers"
	"firstsheet/proof/press/profile"
	"firstsheet/proof/press/profile/evenness"
	"firstsheet/proof/space"
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

// White is bare paper by every table; greys get darker step by step (but for half
// of a 16-bit step of L*), without bumps, and with a cast of at most 0.75 next to
// black, where cells of the table are largest against what they hold.
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
				if c.L > before+8e-4 {
					t.Errorf("%s: grey L* %g prints lighter (%.3f) than the one before (%.3f)", sig, 100-float64(i)/4, c.L, before)
				}
				if c.Chroma() > 0.75 {
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

// realProfile reads a maker's profile.
func realProfile(t *testing.T, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("../testdata/cache/profiles/" + name + ".icc")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// opened returns how a profile prints.
func opened(t *testing.T, data []byte, intent int) evenness.Print {
	t.Helper()
	print, done, err := evenness.OfProfile(data, intent)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(done)
	return print
}

func measure(t *testing.T, name string, data []byte, intent int) evenness.Figures {
	t.Helper()
	f := evenness.Measure(opened(t, data, intent))
	t.Logf("%-22s intent %d: steps in sRGB %.2f p99.9, %.2f max; beside the reach %.2f, %.2f; along lines %.2f, %.2f; L* falls by %.2f (hue %.0f); clipped by %.2f in sRGB, %.2f in ROMM",
		name, intent, f.SRGB.P999, f.SRGB.Max, f.Shell.P999, f.Shell.Max, f.Lines.P999, f.Lines.Max, f.Fall, f.FallHue, f.Clip, f.Wide)
	return f
}

// Neighbours stay neighbours: by both tables the demo papers print more evenly than
// makers' profiles, which are measured in the same run (run with -v). The limits
// are our own, at the better end of what those reach.
func TestDemoPapersDoNotTear(t *testing.T) {
	makers := [2]evenness.Figures{}
	for i := range makers {
		makers[i].SRGB.P999 = math.Inf(1)
	}
	for _, name := range []string{"FOGRA39L_coated", "ISOcoated_v2_300_bas", "cmyk", "default_cmyk"} {
		for intent := range makers {
			if f := measure(t, name, realProfile(t, name), intent); f.SRGB.P999 < makers[intent].SRGB.P999 {
				makers[intent] = f
			}
		}
	}
	for _, p := range Papers() {
		f := measure(t, p.ID, p.ICC, 1)
		check := func(what string, s evenness.Steps, p999, most float64) {
			if s.P999 > p999 || s.Max > most {
				t.Errorf("%s, %s: steps of %.2f at the 99.9th percentile, %.2f at most (%v), want %g and %g", p.ID, what, s.P999, s.Max, s.Worst, p999, most)
			}
		}
		check("relative, in sRGB", f.SRGB, 1.5, 2.5)
		check("relative, beside the reach", f.Shell, 1.5, 2.5)
		if f.SRGB.P999 > makers[1].SRGB.P999 {
			t.Errorf("%s: %.2f, the best of the makers' %.2f", p.ID, f.SRGB.P999, makers[1].SRGB.P999)
		}
		// Makers' profiles: 0.1 to 2.6.
		if f.Fall > 0.3 {
			t.Errorf("%s: L* falls by %.2f on the ramp of hue %.0f", p.ID, f.Fall, f.FallHue)
		}
		f = measure(t, p.ID, p.ICC, 0)
		check("perceptual, in sRGB", f.SRGB, 2, 2.5)
		check("perceptual, beside the reach", f.Shell, 2.2, 2.8)
		if f.Fall > 0.3 {
			t.Errorf("%s, perceptual: L* falls by %.2f on the ramp of hue %.0f", p.ID, f.Fall, f.FallHue)
		}
	}
}

// Blue stays blue: the full and half colours of sRGB turn in IPT (Ebner and Fairchild
// 1998) by the perceptual table by less than observers differ in what they call one hue
// (8 degrees: Hung and Berns 1995, table II, from 5 to 22), and by the relative one by
// no more than the best of the makers' profiles (12 to 34). With clipping along the hues
// of CIELAB it was 15 to 23.
func TestPapersKeepHue(t *testing.T) {
	var asked []cie.Lab
	for hue := 0.0; hue < 360; hue += 15 {
		for _, strength := range []float64{0.5, 0.75, 1} {
			v := [3]float64{}
			for ch := range v {
				d := math.Abs(math.Remainder(hue-120*float64(ch), 360)) / 60
				v[ch] = strength * min(max(2-d, 0), 1)
			}
			asked = append(asked, space.SRGB().ToLab(v[0], v[1], v[2]))
		}
	}
	turn := func(print evenness.Print) (most float64, at cie.Lab) {
		for i, c := range print(asked) {
			from, to := asked[i].ToXYZ(cie.D50).IPT(), c.ToXYZ(cie.D50).IPT()
			if to.Chroma() < 0.05 { // as good as neutral
				continue
			}
			if d := math.Abs(cie.HueTurn(from.Hue(), to.Hue())); d > most {
				most, at = d, asked[i]
			}
		}
		return most, at
	}
	for intent, most := range map[int]float64{0: 8, 1: 12.5} {
		for _, name := range []string{"FOGRA39L_coated", "ISOcoated_v2_300_bas", "cmyk", "default_cmyk"} {
			d, at := turn(opened(t, realProfile(t, name), intent))
			t.Logf("%s, intent %d, turns by at most %.1f degrees (%v)", name, intent, d, at)
		}
		for _, p := range Papers() {
			d, at := turn(opened(t, p.ICC, intent))
			t.Logf("%s, intent %d, turns by at most %.1f degrees (%v)", p.ID, intent, d, at)
			if d > most {
				t.Errorf("%s, intent %d: the table turns %v by %.1f degrees", p.ID, intent, at, d)
			}
		}
	}
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
