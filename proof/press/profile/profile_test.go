package profile

import (
	"bytes"
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/press"
	"firstsheet/proof/space"
)

// pearl is a real forward model, small enough a grid to build within a test.
func pearl() Spec {
	s, _ := press.StockByID("pearl")
	return Spec{
		Description: "Test pearl", Copyright: "Public domain", Maker: "M", Model: "P",
		Created: time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC), Channels: 3,
		Forward: press.New(s, s.Right).Forward, ForwardGrid: 9, InverseGrid: 9, Target: "CGATS.17\n",
	}
}

// inks is the same printer driven by four inks.
func inks() Spec {
	s := pearl()
	stock, _ := press.StockByID("pearl")
	p := press.New(stock, stock.Right)
	s.Channels, s.TotalInk, s.ForwardGrid, s.InverseGrid = 4, 2.6, 7, 9
	s.Forward = func(d []float64) cie.Lab {
		var a [press.Inks]float64
		copy(a[:], d)
		return p.Reflectance(a).Lab()
	}
	return s
}

func build(t *testing.T, s Spec) Result {
	t.Helper()
	r, err := Build(context.Background(), s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func lut(t *testing.T, data []byte, sig icc.Signature) icc.Lut {
	t.Helper()
	p, err := icc.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	b, _ := p.Tag(sig)
	l, err := icc.DecodeLut16(b)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestProfilesKeepTheRulesOfICC(t *testing.T) {
	for name, spec := range map[string]Spec{"RGB": pearl(), "CMYK": inks()} {
		r := build(t, spec)
		for version, data := range map[string][]byte{"2.4": r.V2, "4.3": r.V4} {
			p, err := icc.Parse(data)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range p.OutputFaults() {
				t.Errorf("%s %s: %s", name, version, f)
			}
			if p.Version() != version || p.Channels() != spec.Channels || p.Description() != spec.Description || p.Copyright() != spec.Copyright {
				t.Errorf("%s: version %s, %d channels, %q, %q", name, p.Version(), p.Channels(), p.Description(), p.Copyright())
			}
			if w, ok := p.MediaWhite(); !ok || cie.DeltaE76(w.ToLab(cie.D50), r.Report.White) > 1e-9 {
				t.Errorf("%s %s: media white %v, report %v", name, version, w, r.Report.White)
			}
			if !p.Has("targ") {
				t.Errorf("%s %s: no targ tag", name, version)
			}
			if version == "4.3" && bytes.Equal(data[84:100], make([]byte, 16)) {
				t.Errorf("%s: no profile ID", name)
			}
		}
	}
}

// In the version 2 encoding white is FF00h 8000h 8000h (ICC.1:2001-04, 6.3.4), and
// it is bare paper both ways.
func TestWhiteIsPinned(t *testing.T) {
	for name, spec := range map[string]Spec{"RGB": pearl(), "CMYK": inks()} {
		r := build(t, spec)
		bare := make([]float64, spec.Channels)
		if spec.Channels == 3 {
			bare = []float64{1, 1, 1}
		}
		forward := lut(t, r.V2, "A2B1")
		at := 0
		if spec.Channels == 3 {
			at = len(forward.Nodes) - 3
		}
		if w := forward.Nodes[at : at+3]; w[0] != 0xFF00 || w[1] != 0x8000 || w[2] != 0x8000 {
			t.Errorf("%s: white is %04X", name, w)
		}
		for _, sig := range []icc.Signature{"B2A0", "B2A1", "B2A2"} {
			for i, v := range EvaluateLab(lut(t, r.V2, sig), encodingV2.encode(cie.Lab{L: 100})) {
				if v != bare[i] {
					t.Errorf("%s: white by %s sends %g in channel %d, want %g", name, sig, v, i, bare[i])
				}
			}
		}
	}
}

// No ink is no ink and full ink full ink, in 16 bits too.
func TestEndsAreNotRoundedInwards(t *testing.T) {
	b := &builder{spec: pearl()}
	l := b.inverseLut(encodingV2, []device{{1, 0, 0.5}})
	for ch, want := range []float64{1, 0} {
		if got := curveAt(l.Out[ch], float64(l.Nodes[ch])/65535); got != want {
			t.Errorf("channel %d: %g is stored as %g", ch, want, got)
		}
	}
}

func TestSameSpecSameBytes(t *testing.T) {
	a, b := build(t, pearl()), build(t, pearl())
	if !bytes.Equal(a.V2, b.V2) || !bytes.Equal(a.V4, b.V4) {
		t.Error("two builds of one spec differ")
	}
}

func TestBuildStopsAndReports(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	last := 0.0
	s := pearl()
	s.InverseGrid = 17
	_, err := Build(ctx, s, func(done float64, what string) {
		if done < last || done > 1 || what == "" {
			t.Errorf("progress %.3f after %.3f (%q)", done, last, what)
		}
		last = done
		if done > 0.3 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled build gives %v", err)
	}
	if last > 0.6 {
		t.Errorf("the build went on to %.2f after being cancelled at 0.3", last)
	}
}

func TestBadSpecs(t *testing.T) {
	for name, spoil := range map[string]func(*Spec){
		"no model":       func(s *Spec) { s.Forward = nil },
		"no name":        func(s *Spec) { s.Description = "" },
		"two channels":   func(s *Spec) { s.Channels = 2 },
		"even grid":      func(s *Spec) { s.InverseGrid = 16 },
		"huge grid":      func(s *Spec) { s.ForwardGrid = 200 },
		"no ink at all":  func(s *Spec) { s.TotalInk = 0.5 },
		"NaN inside":     func(s *Spec) { f := s.Forward; s.Forward = nanBelow(f) },
		"black as paper": func(s *Spec) { s.Forward = func([]float64) cie.Lab { return cie.Lab{} } },
	} {
		s := pearl()
		spoil(&s)
		var e *SpecError
		if _, err := Build(context.Background(), s, nil); !errors.As(err, &e) {
			t.Errorf("%s: %v, want a *SpecError", name, err)
		}
	}
}

func nanBelow(f func([]float64) cie.Lab) func([]float64) cie.Lab {
	return func(d []float64) cie.Lab {
		if d[0] < 0.5 {
			return cie.Lab{L: math.NaN()}
		}
		return f(d)
	}
}

// newTestInverter makes the inverter of a finer forward grid without building.
func newTestInverter(t *testing.T, s Spec, grid int) *inverter {
	t.Helper()
	if err := s.complete(); err != nil {
		t.Fatal(err)
	}
	f := &table{channels: s.Channels, nodes: grid}
	n := 1
	for range s.Channels {
		n *= grid
	}
	d := make([]float64, s.Channels)
	for i := range n {
		f.device(i, d)
		f.values = append(f.values, s.Forward(d))
	}
	return newInverter(f, s.TotalInk, s.Black)
}

// The nearest colour is not beaten by trying every node of the forward table.
func TestNearestColourIsOfTheLeastDifference(t *testing.T) {
	v := newTestInverter(t, pearl(), 17)
	r := rand.New(rand.NewPCG(5, 6))
	worse := 0
	const tries = 150
	for range tries {
		// Colours up to what a wide RGB space holds.
		c := cie.Lab{L: 5 + 90*r.Float64(), A: 180*r.Float64() - 90, B: 180*r.Float64() - 90}
		d, _ := v.invert(c, nil)
		g := v.goal(c)
		off := v.distance(&g, v.forward.at(d[:3]))
		least := math.Inf(1)
		for _, n := range v.forward.values {
			least = min(least, v.distance(&g, n))
		}
		if off > least+0.1 {
			worse++
			if off > least+4 {
				t.Errorf("%v is clipped %.2f away, a node lies only %.2f away", c, off, least)
			}
		}
	}
	// The distance has valleys far out; the second best of them may be found.
	if worse > tries/20 {
		t.Errorf("%d of %d colours are clipped to a second best", worse, tries)
	}
}

func TestInGamutColoursAreFoundExactly(t *testing.T) {
	for name, spec := range map[string]Spec{"RGB": pearl(), "CMYK": inks()} {
		grid := 17
		if spec.Channels == 4 {
			grid = 7
		}
		v := newTestInverter(t, spec, grid)
		r := rand.New(rand.NewPCG(7, 8))
		missed := 0
		for range 400 {
			var d device
			for ch := range spec.Channels {
				d[ch] = r.Float64()
			}
			v.keepLimit(&d)
			c := v.forward.at(d[:spec.Channels])
			found, _ := v.invert(c, nil)
			if cie.DeltaE00(c, v.forward.at(found[:spec.Channels])) > 0.02 {
				missed++
			}
			sum := found[0] + found[1] + found[2] + found[3]
			if spec.Channels == 4 && sum > spec.TotalInk+1e-9 {
				t.Errorf("total ink %.3f, limit %g", sum, spec.TotalInk)
			}
		}
		if missed > 4 { // 1 %: folds of the table near black
			t.Errorf("%s: %d of 400 colours of the table are not found again", name, missed)
		}
	}
}

// Black ink grows evenly as greys get darker, and tells no two greys apart.
func TestBlackInkRisesSmoothly(t *testing.T) {
	v := newTestInverter(t, inks(), 9)
	before := 0.0
	for l := 94.0; l >= 12; l -= 2 {
		d, off := v.invert(cie.Lab{L: l, B: -2}, nil)
		if off > 0.05 {
			t.Errorf("grey of L* %g is missed by %.2f", l, off)
		}
		if d[3] < before-0.01 || d[3] > before+0.12 {
			t.Errorf("black goes from %.3f to %.3f at L* %g", before, d[3], l)
		}
		before = d[3]
	}
}

// Rendering keeps the order of tones and of chroma along every hue, neutrals
// neutral, white white, and puts the source's black on the paper's.
func TestRenderingKeepsOrder(t *testing.T) {
	g := newGamut(newTestInverter(t, pearl(), 17))
	for name, s := range map[string]style{
		"perceptual": {0, perceptualKnee, 0}, "version 4": {referenceBlack, perceptualKnee, 0}, "saturation": {0, saturationKnee, saturationLift},
	} {
		if w := g.render(cie.Lab{L: 100}, s); cie.DeltaE76(w, cie.Lab{L: 100}) > 1e-9 {
			t.Errorf("%s: white becomes %v", name, w)
		}
		source := cie.XYZ{X: s.black * cie.D50.X, Y: s.black, Z: s.black * cie.D50.Z}.ToLab(cie.D50)
		if b := g.render(source, s); math.Abs(b.L-g.black) > 1e-6 {
			t.Errorf("%s: black becomes L* %.3f, want the paper's %.3f", name, b.L, g.black)
		}
		before := -1.0
		for l := 0.0; l <= 100; l += 0.5 {
			c := g.render(cie.Lab{L: l}, s)
			if c.L < before || c.Chroma() > 1e-9 {
				t.Errorf("%s: grey %g becomes %v after L* %.3f", name, l, c, before)
			}
			before = c.L
		}
		for hue := 0.0; hue < 360; hue += 15 {
			for _, l := range []float64{25, 40, 55, 70, 85} {
				before := 0.0
				for chroma := 2.0; chroma <= 130; chroma += 4 {
					from := spot{l, chroma, hue}.xyz()
					c := spotOf(g.render(from.ToLab(cie.D50), s).ToXYZ(cie.D50))
					// Where the line leans over the cusp its edge moves a little.
					if c.chroma < before-0.75 {
						t.Errorf("%s: hue %g light %g: chroma %.2f after %.2f", name, hue, l, c.chroma, before)
					}
					if c.chroma > 1 && math.Abs(cie.HueTurn(hue, c.hue)) > 0.1 {
						t.Errorf("%s: hue %g becomes %.1f", name, hue, c.hue)
					}
					before = c.chroma
				}
			}
		}
	}
}

// The saturation table is more vivid than the perceptual one, where there is room.
func TestSaturationIsVivid(t *testing.T) {
	g := newGamut(newTestInverter(t, pearl(), 17))
	for hue := 0.0; hue < 360; hue += 30 {
		c := cie.LCh{L: 60, C: 30, H: hue}.Lab()
		p, s := g.render(c, style{0, perceptualKnee, 0}), g.render(c, style{0, saturationKnee, saturationLift})
		if s.Chroma() < p.Chroma()*1.05 {
			t.Errorf("hue %g: chroma %.1f against %.1f", hue, s.Chroma(), p.Chroma())
		}
	}
}

// A table of a straight function is interpolated exactly, by both ways of reading.
func TestInterpolationIsExactForStraightFunctions(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for _, n := range []int{3, 4} {
		f := &table{channels: n, nodes: 5}
		count := 1
		for range n {
			count *= 5
		}
		straight := func(d []float64) cie.Lab {
			c := cie.Lab{L: 10, A: 20, B: 30}
			for i, x := range d {
				c.L += float64(i+1) * x
				c.A -= float64(2*i+1) * x
				c.B += float64(3-i) * x
			}
			return c
		}
		d := make([]float64, n)
		for i := range count {
			f.device(i, d)
			f.values = append(f.values, straight(d))
		}
		for range 100 {
			for i := range d {
				d[i] = r.Float64()
			}
			if e := cie.DeltaE76(f.at(d), straight(d)); e > 1e-12 {
				t.Fatalf("%d channels: %g off", n, e)
			}
		}
	}
}

// CIELAB in 16 bits, by the examples of ICC.1:2010, tables 11 and 12, and
// ICC.1:2001-04, 6.3.4.
func TestEncodings(t *testing.T) {
	for _, c := range []struct {
		e    encoding
		lab  cie.Lab
		want [3]uint16
	}{
		{encodingV2, cie.Lab{L: 100}, [3]uint16{0xFF00, 0x8000, 0x8000}},
		{encodingV2, cie.Lab{L: 0, A: -128, B: 127}, [3]uint16{0, 0, 0xFF00}},
		{encodingV4, cie.Lab{L: 100}, [3]uint16{0xFFFF, 0x8080, 0x8080}},
		{encodingV4, cie.Lab{L: 0, A: -128, B: 127}, [3]uint16{0, 0, 0xFFFF}},
	} {
		for i, v := range c.e.encode(c.lab) {
			if got := share(v); got != c.want[i] {
				t.Errorf("%v: component %d is %04X, want %04X", c.lab, i, got, c.want[i])
			}
		}
		if back := c.e.decode(c.e.encode(c.lab)); cie.DeltaE76(back, c.lab) > 1e-9 {
			t.Errorf("%v comes back as %v", c.lab, back)
		}
	}
	for i := range 9 * 9 * 9 {
		c := nodeLab(9, i)
		for _, e := range []encoding{encodingV2, encodingV4} {
			curves := e.inputCurves()
			for k, v := range e.encode(c) {
				at := curveAt(curves[k], v) * 8
				node := float64([]int{i / 81, i / 9 % 9, i % 9}[k])
				// +128 lies beyond what can be encoded.
				if math.Abs(at-node) > 2e-3 && c.A < 127 && c.B < 127 {
					t.Errorf("node %d: component %d lands on %.4f, want %g", i, k, at, node)
				}
			}
		}
	}
}

// Solving the table as a whole costs little: over the colours of sRGB outside of
// the reach, the mean distance (hue counting double, in IPT) is at most a tenth
// above that of the nearest colour found for each by itself.
func TestWholeTableClipsAlmostAsNear(t *testing.T) {
	s := pearl()
	s.ForwardGrid, s.InverseGrid = 17, 33
	if err := s.complete(); err != nil {
		t.Fatal(err)
	}
	b := &builder{ctx: context.Background(), spec: s}
	if err := b.sample(); err != nil {
		t.Fatal(err)
	}
	nodes, _, err := b.invertAll("", nil)
	if err != nil {
		t.Fatal(err)
	}
	inverse, alone := b.inverseLut(encodingV2, nodes), b.inverse
	rng := rand.New(rand.NewPCG(21, 22))
	var ours, least float64
	const tries = 1000
	for n := 0; n < tries; {
		c := space.SRGB().ToLab(rng.Float64(), rng.Float64(), rng.Float64())
		_, off := alone.invert(c, nil)
		if off < 1 { // inside, or so near that the table's cells decide
			continue
		}
		n++
		g := alone.goal(c)
		ours += alone.distance(&g, b.forward.at(EvaluateLab(inverse, encodingV2.encode(c)))) / tries
		least += off / tries
	}
	t.Logf("mean distance %.3f, each by itself %.3f", ours, least)
	if ours > 1.1*least {
		t.Errorf("colours are clipped by %.3f on average, each by itself by %.3f", ours, least)
	}
}

// A black with a cast lands on the reference medium's neutral black in version 4,
// and the report tells it as the profile prints it.
func TestBlackWithACast(t *testing.T) {
	s := pearl()
	plain := s.Forward
	s.Forward = func(d []float64) cie.Lab {
		c := plain(d)
		k := max(1-c.L/50, 0)
		return cie.Lab{L: c.L + 10*k, A: c.A + 4*k, B: c.B - 6*k}
	}
	r := build(t, s)
	print := run(t, nil, r.V2, 1, []float64{0, 0, 0}, 3)
	black := run(t, r.V2, nil, 3, print, 3)
	if want := (cie.Lab{L: black[0], A: black[1], B: black[2]}); cie.DeltaE76(r.Report.Black, want) > 0.05 {
		t.Errorf("reported black %v, the profile prints %v", r.Report.Black, want)
	}
	if r.Report.Black.Chroma() < 3 {
		t.Errorf("reported black %v has no cast", r.Report.Black)
	}
	// Little CMS takes the medium's black to L* 0 for a version 2 connection space;
	// through another version 4 table it stays.
	if c := run(t, r.V4, nil, 0, print, 3); math.Hypot(c[1], c[2]) > 1 || math.Abs(c[0]) > 1 {
		t.Errorf("version 4, perceptual: black is %.1f, want neutral", c)
	}
}
