package rank

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
)

// Numbers of the test pictures are Lab: L*/100, (a*+128)/256, (b*+128)/256.
func numbers(c cie.Lab) []float64 {
	return []float64{c.L / 100, (c.A + 128) / 256, (c.B + 128) / 256}
}

func colour(n []float64) cie.Lab {
	return cie.Lab{L: n[0] * 100, A: n[1]*256 - 128, B: n[2]*256 - 128}
}

func lch(l, c, h float64) cie.Lab { return cie.LCh{L: l, C: c, H: h}.Lab() }

// paper is a simple analytic paper: nothing darker than black, nothing more
// saturated than chroma, relative to its white.
type paper struct {
	name          string
	black, chroma float64
}

func (p paper) clip(c cie.Lab) cie.Lab {
	out := c.LCh()
	out.L, out.C = max(out.L, p.black), min(out.C, p.chroma)
	return out.Lab()
}

// scale is black point compensation in XYZ (ISO 18619).
func (p paper) scale(c cie.Lab) cie.Lab {
	y := cie.Lab{L: p.black}.ToXYZ(cie.D50).Y
	return cie.NewBlackScale(0, y).Apply(c.ToXYZ(cie.D50)).ToLab(cie.D50)
}

// compress is a perceptual intent: lightness and chroma are squeezed, so that a
// chroma of 130 just fits.
func (p paper) compress(c cie.Lab) cie.Lab {
	out := p.scale(c).LCh()
	out.C *= min(1, p.chroma/130)
	return out.Lab()
}

type way struct {
	Candidate
	paper paper
	print func(cie.Lab) cie.Lab
}

// each makes a Convert of what becomes of one colour.
func each(change func(cie.Lab) cie.Lab) Convert {
	return func(ns []float64) ([]cie.Lab, error) {
		var out []cie.Lab
		for i := 0; i < len(ns); i += 3 {
			out = append(out, change(colour(ns[i:i+3])))
		}
		return out, nil
	}
}

func same(c cie.Lab) cie.Lab { return c }

// counted is what the engine counts of a picture.
func (w way) counted(p *Picture) proof.Figures {
	var t proof.Tally
	for i, n := range p.Weights {
		c := colour(p.Numbers[3*i : 3*i+3])
		t.Add(cie.DeltaE00(c, w.print(c)), cie.DeltaE00(c, w.paper.clip(c)), c.L < w.paper.black, n)
	}
	return t.Figures()
}

func ways(papers ...paper) []way {
	var out []way
	for _, p := range papers {
		for _, kind := range []string{"relative colorimetric", "relative colorimetric+", "perceptual"} {
			intent, on := strings.CutSuffix(kind, "+")
			out = append(out, way{
				Candidate{ID: p.name + " " + kind, Paper: p.name, Intent: intent, Compensation: on,
					White: cie.Lab{L: 96}, Black: cie.Lab{L: p.black}},
				p,
				func(c cie.Lab) cie.Lab {
					switch kind {
					case "relative colorimetric":
						return p.clip(c)
					case "relative colorimetric+":
						return p.clip(p.scale(c))
					}
					return p.clip(p.compress(c))
				}})
		}
	}
	return out
}

var (
	matte = paper{"matte", 16, 50}
	pearl = paper{"pearl", 4, 95}
)

// picture makes a picture of w by h pixels from a function of its place.
func picture(w, h int, at func(x, y float64) cie.Lab) *Picture {
	p := &Picture{Channels: 3, W: w, H: h}
	for y := range h {
		for x := range w {
			p.Small = append(p.Small, numbers(at(float64(x)/float64(w-1), float64(y)/float64(h-1)))...)
			p.Weights = append(p.Weights, 1)
		}
	}
	p.Numbers = p.Small
	return p
}

func order(t *testing.T, p *Picture, ws []way) Verdict {
	t.Helper()
	s := subject(t, p)
	var places []Place
	for _, w := range ws {
		f := evaluated(t, s, w.counted(p), w.Candidate, each(w.print))
		places = append(places, Place{Candidate: w.Candidate, Figures: f})
	}
	return Order(places)
}

func table(t *testing.T, v Verdict) {
	t.Helper()
	for _, p := range v.Order {
		t.Logf("%-28s mean %.2f p95 %.2f out %.3f dark %.3f shadows %+v lights %+v smooth %+v failed %q as good %v", p.ID, p.Figures.Mean,
			p.Figures.P95, p.Figures.Out, p.Figures.Darker, p.Figures.Shadows, p.Figures.Highlights, p.Figures.Smoothness, p.Failed, p.AsGood)
	}
	t.Logf("why %q\nagainst %q", v.Why, v.Against)
}

// Everything inside matte's gamut: both papers print it exactly by the relative
// intent without compensation, and are told to be as good as each other.
// Every other way changes what needs no change.
func TestAllInsideMatte(t *testing.T) {
	p := picture(60, 40, func(x, y float64) cie.Lab { return lch(30+60*y, 5+35*x, 360*x) })
	v := order(t, p, ways(pearl, matte))
	// Compensation costs pearl 0.4, which is no reason to leave it out.
	for i, id := range []string{"pearl relative colorimetric+", "pearl relative colorimetric", "matte relative colorimetric"} {
		if v.Order[i].ID != id || !v.Order[i].AsGood {
			t.Errorf("place %d is %q (as good: %v), want %q", i, v.Order[i].ID, v.Order[i].AsGood, id)
			table(t, v)
		}
	}
	if v.Order[3].AsGood {
		t.Errorf("%s counts as as good as an exact print", v.Order[3].ID)
	}
	if f := v.Order[1].Figures; f.Mean > 1e-9 || f.Max > 1e-9 || f.Out != 0 || f.Darker != 0 || f.Smoothness.Lost() != 0 {
		t.Errorf("an exact print has figures %+v", f)
	}
	if !strings.Contains(strings.Join(v.Why, "; "), "matte, relative colorimetric, compensation off is as good") {
		t.Errorf("why: %q", v.Why)
	}
}

// Deep shadows: matte's black swallows them without compensation, squeezes them
// with it; pearl keeps them either way.
func TestDeepShadows(t *testing.T) {
	p := picture(120, 20, func(x, y float64) cie.Lab { return cie.Lab{L: 6 + 30*x, A: 2 * y} })
	v := order(t, p, ways(matte, pearl))
	if v.Order[0].ID != "pearl relative colorimetric" {
		t.Errorf("best is %q", v.Order[0].ID)
		table(t, v)
	}
	on, off := find(v, "matte relative colorimetric+"), find(v, "matte relative colorimetric")
	if on.Figures.Shadows.Share() <= off.Figures.Shadows.Share() {
		t.Errorf("matte keeps %+v with compensation, %+v without", on.Figures.Shadows, off.Figures.Shadows)
	}
	if place(v, on.ID) > place(v, off.ID) {
		t.Error("matte without compensation is before matte with it")
	}
	if got := off.Figures.Darker; math.Abs(got-40.0/120) > 0.01 { // (16 - 6) / 30 of the columns
		t.Errorf("share darker than matte %.3f, want 0.333", got)
	}
	// With matte alone, compensation is advised, and what it costs is said.
	v = order(t, p, ways(matte))
	if v.Order[0].ID != "matte relative colorimetric+" {
		t.Errorf("best on matte is %q", v.Order[0].ID)
		table(t, v)
	}
}

func find(v Verdict, id string) Place { return v.Order[place(v, id)] }

func place(v Verdict, id string) int {
	for i, p := range v.Order {
		if p.ID == id {
			return i
		}
	}
	return -1
}

// Saturated reds that only pearl reaches.
func TestSaturatedReds(t *testing.T) {
	p := picture(20, 40, func(x, y float64) cie.Lab { return lch(30+20*y, 55+35*x, 25+15*y) })
	p.Spots = []Spot{{Name: "shirt", Numbers: numbers(lch(45, 72, 32))}}
	v := order(t, p, ways(matte, pearl))
	best := v.Order[0]
	if best.ID != "pearl relative colorimetric" || best.Figures.Out != 0 {
		t.Errorf("best is %q with %+v", best.ID, best.Figures)
		table(t, v)
	}
	m := find(v, "matte relative colorimetric")
	if m.Figures.Out < 0.9 {
		t.Errorf("matte reaches all but %.2f of the reds", m.Figures.Out)
	}
	if lost := m.Figures.Smoothness.Lost(); lost < 0.2 {
		t.Errorf("clipped to one chroma, matte loses %.2f of the gradients", lost)
	}
	if q := find(v, "matte perceptual"); q.Figures.Smoothness.Lost() > 0.02 {
		t.Errorf("compressed, matte loses %.2f of the gradients", q.Figures.Smoothness.Lost())
	}
	if len(v.Why) < 3 || !strings.HasPrefix(v.Why[0], "pearl, relative colorimetric, compensation off passes 8 of 8 checks") {
		t.Errorf("why: %q", v.Why)
	}
	// Only matte at hand: the reason against it names the reach.
	v = order(t, p, ways(matte))
	if !strings.Contains(strings.Join(v.Against, "; "), "of the picture is out of reach") {
		t.Errorf("against: %q", v.Against)
	}
}

// What another way does better is told even when the first is rightly first.
func TestAgainst(t *testing.T) {
	first := Place{Candidate: Candidate{ID: "a", Paper: "matte", Intent: "perceptual"},
		Figures: Figures{Mean: 2, P95: 3, Shadows: Separation{10, 8}, Range: 80}}
	other := Place{Candidate: Candidate{ID: "b", Paper: "pearl", Intent: "perceptual"},
		Figures: Figures{Mean: 3, P95: 3.5, Shadows: Separation{10, 10}, Range: 92}}
	v := Order([]Place{other, first})
	if v.Order[0].ID != "a" || len(v.Order[0].Failed) != 0 {
		t.Fatalf("first is %+v", v.Order[0])
	}
	want := []string{
		"pearl, perceptual, compensation off keeps more shadow separation: 100 % against 80 %",
		"pearl, perceptual, compensation off has more contrast: 92 L* from black to white against 80",
	}
	if strings.Join(v.Against, "|") != strings.Join(want, "|") {
		t.Errorf("against %q, want %q", v.Against, want)
	}
	if len(v.Rule) != len(Checks())+4 {
		t.Errorf("rule has %d lines", len(v.Rule))
	}
	if _, err := json.Marshal(v); err != nil {
		t.Error(err)
	}
	if v := Order(nil); len(v.Order) != 0 || len(v.Rule) == 0 {
		t.Errorf("no candidates give %+v", v)
	}
}

// Fewer failed checks win over a smaller mean, and each check can fail.
func TestChecks(t *testing.T) {
	good := Figures{Mean: 1, P95: 2, SkinShare: 0.2, Shadows: Separation{10, 10}}
	bad := []func(*Figures){
		func(f *Figures) { f.SkinOff = 4.1 },
		func(f *Figures) { f.Pins = []Turn{{Name: "leaf", Degrees: -6.1, Coloured: true}} },
		func(f *Figures) { f.Shadows.Kept = 4 }, // fails the next as well
		func(f *Figures) { f.Shadows.Kept = 7 },
		func(f *Figures) { f.Highlights = Separation{10, 7} },
		func(f *Figures) { f.Smoothness = Smoothness{1000, 15, 6} },
		func(f *Figures) { f.Out = 0.051 },
		func(f *Figures) { f.P95 = 4.1 },
	}
	if len(bad) != len(Checks()) {
		t.Fatalf("%d checks", len(Checks()))
	}
	for i, spoil := range bad {
		f := good
		f.Mean = 0.2
		spoil(&f)
		v := Order([]Place{{Candidate: Candidate{ID: "spoilt"}, Figures: f}, {Candidate: Candidate{ID: "good"}, Figures: good}})
		if v.Order[0].ID != "good" || len(v.Order[1].Failed) < 1 || len(v.Order[1].Failed) > 2 || len(v.Order[0].Failed) != 0 {
			t.Errorf("check %d (%s): first %q, failed %q", i, Checks()[i].Tell, v.Order[0].ID, v.Order[1].Failed)
		}
	}
	few := good
	few.SkinShare, few.SkinOff = 0.009, 30
	if v := Order([]Place{{Figures: few}}); len(v.Order[0].Failed) != 0 {
		t.Errorf("0.9 %% skin-like colours fail %q", v.Order[0].Failed)
	}
}

// Of two that fail equally many, the one that keeps the shadows open is first,
// though its mean is larger; from 80 % on the mean decides.
func TestSeparationBeforeMean(t *testing.T) {
	place := func(id string, kept int, mean float64) Place {
		return Place{Candidate: Candidate{ID: id}, Figures: Figures{Mean: mean, P95: 2, Shadows: Separation{10, kept}}}
	}
	for _, c := range []struct {
		a, b Place
		want string
	}{
		{place("closed", 5, 1), place("open", 7, 2), "open"},
		{place("closer", 8, 1), place("wider", 10, 2), "closer"},
		{place("closer", 6, 1), place("farther", 6, 2), "closer"},
	} {
		for _, order := range [][]Place{{c.a, c.b}, {c.b, c.a}} {
			v := Order(order)
			if v.Order[0].ID != c.want || v.Order[1].AsGood {
				t.Errorf("%s before %s (as good: %v), want %s first", v.Order[0].ID, v.Order[1].ID, v.Order[1].AsGood, c.want)
			}
		}
	}
}

// Ramps with a known count. At L* 10 one ΔE00 is 1.60 L* (the weight S_L of
// CIEDE2000), so tones 4 apart are steps and tones 1 apart are not.
func TestSeparationCounts(t *testing.T) {
	for _, c := range []struct {
		name            string
		original, print []float64
		want            Separation
	}{
		{"exact", []float64{0, 4, 8, 12, 16, 19}, []float64{0, 4, 8, 12, 16, 19}, Separation{5, 5}},
		{"clipped at 10", []float64{0, 4, 8, 12, 16, 19}, []float64{10, 10, 10, 12, 16, 19}, Separation{5, 3}},
		{"swallowed", []float64{0, 4, 8, 12, 16, 19}, []float64{19, 19, 19, 19, 19, 19}, Separation{5, 0}},
		{"fine", []float64{0, 1, 2, 3}, []float64{0, 1, 2, 3}, Separation{1, 1}},
		{"fine, halved", []float64{0, 1, 2, 3}, []float64{0, 0.5, 1, 1.5}, Separation{1, 0}},
		{"stretched counts no more than there were", []float64{0, 1, 2, 3}, []float64{0, 4, 8, 12}, Separation{1, 1}},
		{"upside down", []float64{0, 4, 8}, []float64{8, 4, 0}, Separation{2, 0}},
		{"above 20 counts nothing", []float64{21, 25, 30}, []float64{21, 25, 30}, Separation{}},
	} {
		if got, _ := separation(c.original, c.print, nil); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	// A continuous ramp from 0 to 20 holds the integral of 1 / S_L = 12.5 units;
	// counted in whole steps over classes of 0.25 that is 11 or 12.
	var ramp, halved []float64
	for l := 0.0; l <= 20; l += 0.01 {
		ramp, halved = append(ramp, l), append(halved, 10+l/2)
	}
	if got, _ := separation(ramp, halved, nil); got.Steps < 11 || got.Steps > 12 || got.Kept < 5 || got.Kept > 6 {
		t.Errorf("the full ramp has %+v, want 11 to 12 steps, half of them kept", got)
	}
	// A tone of 1 in 200,000 pixels is noise, not a step.
	if got, _ := separation([]float64{5, 15}, []float64{5, 15}, []float64{200000, 1}); got.Steps != 0 {
		t.Errorf("a speck counts as %+v", got)
	}
	if _, got := separation([]float64{81, 85, 90, 95, 100}, []float64{81, 85, 90, 90, 90}, nil); got != (Separation{4, 2}) {
		t.Errorf("highlights clipped at 90: %+v, want 2 of 4", got)
	}
}

// separation counts the steps of greys; weights are 1 each where nil.
func separation(originals, prints, weights []float64) (shadows, highlights Separation) {
	var o, p []cie.Lab
	for i := range originals {
		o, p = append(o, cie.Lab{L: originals[i]}), append(p, cie.Lab{L: prints[i]})
	}
	all := 0.0
	if weights == nil {
		weights = slices.Repeat([]float64{1}, len(o))
	}
	for _, w := range weights {
		all += w
	}
	return NewTones(o, weights, all).Separation(p)
}

func TestSmoothness(t *testing.T) {
	// One row: steps of 1 L* at mid grey are 1 ΔE00 each. Two of five pairs
	// are flattened, one is broken, the pair of 20 L* is an edge.
	originals := []float64{50, 51, 52, 53, 54, 55, 75}
	prints := []float64{50, 50, 50.1, 53.4, 54, 55, 55}
	p := &Picture{Channels: 3, Weights: []float64{1}, Numbers: numbers(cie.Lab{L: 50})}
	printed := map[float64]float64{}
	for i, l := range originals {
		p.Small = append(p.Small, numbers(cie.Lab{L: l})...)
		printed[l] = prints[i]
	}
	print := each(func(c cie.Lab) cie.Lab { return cie.Lab{L: printed[math.Round(c.L)]} })
	for _, size := range [][2]int{{len(originals), 1}, {1, len(originals)}} { // a row, a column
		p.W, p.H = size[0], size[1]
		if f := evaluated(t, subject(t, p), proof.Figures{}, Candidate{}, print); f.Smoothness != (Smoothness{Pairs: 5, Flattened: 2, Broken: 1}) {
			t.Errorf("%d by %d: %+v, want 5 pairs, 2 flattened, 1 broken", p.W, p.H, f.Smoothness)
		}
	}
}

// subject is a picture whose originals are its numbers.
func subject(t *testing.T, p *Picture) *Subject {
	t.Helper()
	s, err := NewSubject(context.Background(), p, each(same))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// evaluated are the figures of one way to print it.
func evaluated(t *testing.T, s *Subject, counted proof.Figures, c Candidate, print Convert) Figures {
	t.Helper()
	printed, err := s.Print(context.Background(), print)
	if err != nil {
		t.Fatal(err)
	}
	f, err := s.Figures(context.Background(), c, counted, printed)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// What the engine counts is taken over, and the paper's contrast is told.
func TestFiguresOfTheEngine(t *testing.T) {
	p := &Picture{Channels: 3, Weights: []float64{1}, Numbers: numbers(cie.Lab{L: 50})}
	c := Candidate{White: cie.Lab{L: 100}, Black: cie.Lab{L: 9.2635}} // Y 0.0103
	f := evaluated(t, subject(t, p), proof.Figures{Reach: [proof.Bands]float64{0.8, 0.1, 0.03, 0.02, 0.01}, Darker: 0.04, Mean: 1.5, P95: 3, Max: 7}, c, each(same))
	if math.Abs(f.Out-0.06) > 1e-12 || f.Darker != 0.04 || f.Mean != 1.5 || f.P95 != 3 || f.Max != 7 {
		t.Errorf("out %g darker %g mean %g p95 %g max %g", f.Out, f.Darker, f.Mean, f.P95, f.Max)
	}
	if math.Abs(f.Range-90.7365) > 1e-9 || math.Abs(f.Contrast-1/0.010306) > 0.5 {
		t.Errorf("range %g contrast %g", f.Range, f.Contrast)
	}
	if _, ratio := Range(cie.Lab{L: 96}, cie.Lab{}); ratio != 0 {
		t.Errorf("a black without light has contrast %g", ratio)
	}
}

func TestSkinAndPins(t *testing.T) {
	pairs := []struct {
		original, print cie.Lab
		weight          float64
	}{
		{lch(65, 25, 50), lch(65, 25, 56), 10},
		{lch(40, 20, 46), lch(40, 20, 44), 10},
		{lch(40, 12, 46), lch(40, 5, 100), 10}, // faded: no hue left
		{lch(50, 60, 30), lch(50, 60, 80), 70}, // no skin
		{lch(45, 70, 30), lch(45, 60, 26), 0},
		{lch(10, 2, 30), lch(10, 2, 200), 0},
	}
	p := &Picture{Channels: 3, Spots: []Spot{{Name: "shirt", Numbers: numbers(pairs[4].original)}, {Name: "tar", Numbers: numbers(pairs[5].original)}}}
	for _, k := range pairs {
		p.Numbers, p.Weights = append(p.Numbers, numbers(k.original)...), append(p.Weights, k.weight)
	}
	f := evaluated(t, subject(t, p), proof.Figures{}, Candidate{}, each(func(c cie.Lab) cie.Lab {
		for _, k := range pairs {
			if cie.DeltaE76(k.original, c) < 1e-6 {
				return k.print
			}
		}
		t.Fatalf("%+v is asked for", c)
		return c
	}))
	if math.Abs(f.SkinShare-0.3) > 1e-12 || math.Abs(f.SkinTurn-2) > 1e-9 || math.Abs(f.SkinOff-4) > 1e-9 {
		t.Errorf("skin %g, turn %g, off %g; want 0.3, 2, 4", f.SkinShare, f.SkinTurn, f.SkinOff)
	}
	if name, off := f.PinOff(); name != "shirt" || math.Abs(off-4) > 1e-9 || f.Pins[1].Coloured || f.Pins[1].Degrees != 0 {
		t.Errorf("pins %+v", f.Pins)
	}
}

func TestSubjectFailures(t *testing.T) {
	ctx := context.Background()
	p := picture(20, 20, func(x, y float64) cie.Lab { return cie.Lab{L: 100 * x} })
	stopped, stop := context.WithCancel(ctx)
	stop()
	boom := errors.New("boom")
	fails := func([]float64) ([]cie.Lab, error) { return nil, boom }
	nothing := func([]float64) ([]cie.Lab, error) { return nil, nil }
	s := subject(t, p)
	for name, ask := range map[string]func(ctx context.Context, by Convert) error{
		"originals": func(ctx context.Context, by Convert) error { _, err := NewSubject(ctx, p, by); return err },
		"prints":    func(ctx context.Context, by Convert) error { _, err := s.Print(ctx, by); return err },
	} {
		if err := ask(stopped, each(same)); !errors.Is(err, context.Canceled) {
			t.Errorf("%s, stopped: %v", name, err)
		}
		if err := ask(ctx, fails); !errors.Is(err, boom) {
			t.Errorf("%s that fail: %v", name, err)
		}
		if ask(ctx, nothing) == nil {
			t.Errorf("%s of nothing are believed", name)
		}
	}
	if _, err := NewSubject(ctx, &Picture{Channels: 3}, each(same)); !errors.Is(err, ErrEmpty) {
		t.Errorf("empty picture: %v", err)
	}
	p.W = 19
	if _, err := NewSubject(ctx, p, each(same)); err == nil {
		t.Error("a reduced picture of the wrong size is taken")
	}
}

// Of ways that fail equally many checks the one that keeps gradients comes first,
// however near a clipped one is on average; compensation is not given up for a few
// tenths; and two ways that print the same are one.
func TestGradationAndCompensationBeforeMean(t *testing.T) {
	way := func(id, intent string, on bool, mean float64, flat int) Place {
		return Place{Candidate: Candidate{ID: id, Paper: "P", Intent: intent, Compensation: on},
			Figures: Figures{Mean: mean, P95: 2, Smoothness: Smoothness{Pairs: 1000, Flattened: flat}}}
	}
	first := func(places ...Place) (string, Verdict) {
		v := Order(places)
		return v.Order[0].ID, v
	}
	clipped, kept := way("clipped", "relative colorimetric", false, 1.0, 134), way("kept", "perceptual", true, 2.5, 70)
	if got, v := first(clipped, kept); got != "kept" || !strings.Contains(v.Reason, "gradients") {
		t.Errorf("%s is first: %s", got, v.Reason)
	}
	on, off := way("on", "relative colorimetric", true, 1.4, 0), way("off", "relative colorimetric", false, 1.0, 0)
	if got, v := first(off, on); got != "on" {
		t.Errorf("%s is first for a gain of 0.4: %s", got, v.Reason)
	}
	on.Figures.Mean = 1.6
	if got, v := first(on, off); got != "off" {
		t.Errorf("%s is first for a gain of 0.6: %s", got, v.Reason)
	}
	same := way("twin", "perceptual", false, 2.5, 70)
	if _, v := first(same, kept); len(v.Order) != 1 || v.Order[0].ID != "kept" || !v.Order[0].Either || !strings.Contains(v.Order[0].Name(), "alike") {
		t.Errorf("two ways that print the same: %+v", v.Order)
	}
	for _, places := range [][]Place{{clipped, kept}, {on, off}, {kept}, {kept, way("x", "saturation", true, 2.5, 70)}} {
		_, v := first(places...)
		if strings.Contains(v.Reason, ". ") || !strings.HasSuffix(v.Reason, ".") {
			t.Errorf("not one sentence: %q", v.Reason)
		}
	}
}
