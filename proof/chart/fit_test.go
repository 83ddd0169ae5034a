package chart

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/press"
)

// measured prints a target on a model and reads it with noise of mean ΔE76.
func measured(t testing.TB, patches int, forward func([]float64) cie.Lab, noise float64) *Measurements {
	t.Helper()
	r := rand.New(rand.NewPCG(11, uint64(patches)))
	ms := newTarget(t, TargetOptions{Patches: patches}).List()
	for i := range ms.Patches {
		ms.Patches[i].Lab = noisy(forward(ms.Patches[i].Device), noise, r)
		ms.Patches[i].Line = i + 1
	}
	return ms
}

func fit(t testing.TB, ms *Measurements) *Model {
	t.Helper()
	m, err := Fit(context.Background(), ms)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// against returns how far a model is from the truth at 1,000 random colours.
func against(m *Model, truth func([]float64) cie.Lab) Spread {
	return missed(m.Lab, m.Space().Channels(), truth)
}

func missed(model func([]float64) cie.Lab, channels int, truth func([]float64) cie.Lab) Spread {
	r := rand.New(rand.NewPCG(2, 2))
	var d []float64
	for range 1000 {
		x := make([]float64, channels)
		for i := range x {
			x[i] = r.Float64()
		}
		d = append(d, cie.DeltaE00(model(x), truth(x)))
	}
	return NewSpread(d)
}

func stock(t testing.TB, id string) *press.Press {
	t.Helper()
	s, ok := press.StockByID(id)
	if !ok {
		t.Fatalf("no stock %s", id)
	}
	return press.New(s, s.Right)
}

// Models that the fit knows nothing of, from 500 and 800 readings with noise of
// 0.3. The goal is a mean of 0.7; 0.2 was reached.
func TestFitPredictsHeldOutInkModels(t *testing.T) {
	const goal = 0.3
	for name, c := range map[string]struct {
		forward func([]float64) cie.Lab
		patches int
	}{
		"spectral, pearl": {stock(t, "pearl").Forward, 800},
		"tristimulus":     {pearlInk.rgb, 500},
	} {
		forward := c.forward
		ms := measured(t, c.patches, forward, 0.3)
		m := fit(t, ms)
		s := against(m, forward)
		r := m.Report()
		t.Logf("%s: %+v; report %+v", name, s, r.Fit)
		if s.Mean > goal || s.P95 > 3*goal {
			t.Errorf("%s: mean %.3f, p95 %.3f ΔE00 off, want at most %g and %g", name, s.Mean, s.P95, goal, 3*goal)
		}
		if len(r.Suspects) > 0 || len(r.Orders) > 0 {
			t.Errorf("%s: sound readings are suspected: %v %v", name, r.Suspects, r.Orders)
		}
		if math.Abs(r.Noise-0.3) > 0.1 {
			t.Errorf("%s: noise is estimated as %.2f, want 0.3 ± 0.1", name, r.Noise)
		}
		// Predicting noisy readings can't do better than their noise, and says
		// what an unmeasured colour is off by.
		if r.HeldOut.Mean < s.Mean || r.HeldOut.Mean > s.Mean+0.3 {
			t.Errorf("%s: held-out mean %.3f, the true one is %.3f", name, r.HeldOut.Mean, s.Mean)
		}
		white := forward([]float64{1, 1, 1})
		if d := cie.DeltaE00(r.White, white); d > 0.3 {
			t.Errorf("%s: paper %v, want %v ± 0.3 ΔE00", name, r.White, white)
		}
	}
}

// A creased printer is worth more patches than a smooth one, and noisy readings,
// which have to be averaged, more again.
func TestWorthFollowsThePress(t *testing.T) {
	smooth := testInk{n: 1.9, gain: 0.5, blackFrom: 0.99}.rgb
	worth := func(forward func([]float64) cie.Lab, noise float64) int {
		return fit(t, measured(t, 800, forward, noise)).Report().Worth
	}
	creased, easy, noisyOnes := worth(stock(t, "pearl").Forward, 0.15), worth(smooth, 0.15), worth(stock(t, "pearl").Forward, 0.6)
	t.Logf("creased %d, smooth %d, creased and noisy %d", creased, easy, noisyOnes)
	if !(easy <= 300 && creased >= 700 && creased <= 2000 && noisyOnes > creased) {
		t.Errorf("worth printing: creased %d, smooth %d, creased with noise %d", creased, easy, noisyOnes)
	}
	if few := fit(t, measured(t, 150, smooth, 0.15)).Report(); few.Worth != 0 {
		t.Errorf("150 patches are said to tell that %d are worth printing", few.Worth)
	}
}

// A published set, a quarter of it held out: FOGRA39 is smoothed data, so the
// model must predict what it has not seen almost exactly. 0.09 was reached.
func TestFitPredictsHeldOutPartOfFOGRA39(t *testing.T) {
	all := fogra(t, "FOGRA39L")
	r := rand.New(rand.NewPCG(1, 1))
	part := *all
	part.Patches = nil
	var out []Patch
	for i, p := range all.Patches {
		if i > 20 && r.Float64() < 0.45 {
			out = append(out, p)
		} else {
			part.Patches = append(part.Patches, p)
		}
	}
	m := fit(t, &part)
	var d []float64
	for _, p := range out {
		d = append(d, cie.DeltaE00(m.Lab(p.Device), p.Lab))
	}
	s := NewSpread(d)
	t.Logf("%d of %d held out: %+v", len(out), len(all.Patches), s)
	if s.Mean > 0.25 || s.P95 > 0.7 {
		t.Errorf("held out: mean %.3f, p95 %.3f ΔE00, want at most 0.25 and 0.7", s.Mean, s.P95)
	}
	for _, c := range []struct {
		device []float64
		want   cie.Lab
	}{
		{[]float64{0, 0, 0, 0}, cie.Lab{L: 95, A: 0, B: -2}}, // as the set prints them
		{[]float64{0, 1, 1, 0}, cie.Lab{L: 47, A: 68, B: 48}},
	} {
		if e := cie.DeltaE00(m.Lab(c.device), c.want); e > 0.5 {
			t.Errorf("model at %v = %v, want %v ± 0.5 ΔE00", c.device, m.Lab(c.device), c.want)
		}
	}
	if rep := m.Report(); len(rep.Suspects) > 0 || len(rep.Orders) > 0 {
		t.Errorf("a published set is suspected: %v %v", rep.Suspects, rep.Orders)
	}
	// Beside two profiles that others built for the same printing condition, at
	// random inks that nobody measured. 0.48 and 0.16 were reached from all
	// patches; the first profile's tables have 9 nodes only.
	for name, most := range map[string]float64{"FOGRA39L_coated.icc": 0.7, "ISOcoated_v2_300_bas.icc": 0.35} {
		data, err := os.ReadFile("../../testdata/cache/profiles/" + name)
		if err != nil {
			t.Fatalf("%v: run testdata/fetch.sh first", err)
		}
		p, err := NewPrediction(data)
		if err != nil {
			t.Fatal(err)
		}
		s := against(m, func(x []float64) cie.Lab {
			l, err := p.Lab(x)
			if err != nil {
				t.Fatal(err)
			}
			return l
		})
		p.Close()
		t.Logf("%s: %+v", name, s)
		if s.Mean > most {
			t.Errorf("%s: mean %.3f ΔE00 from the model, want at most %g", name, s.Mean, most)
		}
	}
}

func TestUnmeasuredCornersAreTold(t *testing.T) {
	ms := measured(t, 150, pearlInk.rgb, 0.3)
	var kept []Patch
	for _, p := range ms.Patches {
		if p.Device[0] > 0.5 || p.Device[1] < 0.6 || p.Device[2] < 0.6 { // no cyan
			kept = append(kept, p)
		}
	}
	ms.Patches = kept
	if notes := strings.Join(fit(t, ms).Report().Notes, " "); !strings.Contains(notes, "near RGB 0, 255, 255") || strings.Contains(notes, "near RGB 0, 0, 0") {
		t.Errorf("notes %q, want the corner 0, 255, 255 alone", notes)
	}
}

// Greys of the model get lighter with the numbers, noise or not.
func TestFittedGreysAreMonotonic(t *testing.T) {
	m := fit(t, measured(t, 300, pearlInk.rgb, 0.3))
	last := -1.0
	for i := range 65 {
		v := float64(i) / 64
		l := m.Lab([]float64{v, v, v}).L
		if l <= last {
			t.Errorf("L* at grey %d/64 = %.2f, not above the %.2f before", i, l, last)
		}
		last = l
	}
}

func TestFitIsRepeatableAndSafeForGoroutines(t *testing.T) {
	ms := measured(t, 150, pearlInk.rgb, 0.3)
	a, b := fit(t, ms), fit(t, ms)
	x := []float64{0.3, 0.6, 0.1}
	want := a.Lab(x)
	if b.Lab(x) != want {
		t.Errorf("two fits give %v and %v", want, b.Lab(x))
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			if a.Lab(x) != want {
				t.Error("a goroutine saw another colour")
			}
		})
	}
	wg.Wait()
}

func TestFitRefusesWhatCantCarryAModel(t *testing.T) {
	base := measured(t, 120, pearlInk.rgb, 0)
	change := func(f func(*Measurements)) *Measurements {
		ms := *base
		ms.Patches = append([]Patch(nil), base.Patches...)
		f(&ms)
		return &ms
	}
	for name, c := range map[string]struct {
		ms   *Measurements
		says string
	}{
		"few":        {change(func(m *Measurements) { m.Patches = m.Patches[:20] }), "too few"},
		"none":       {&Measurements{}, "too few"},
		"no device":  {change(func(m *Measurements) { m.Patches[3].Device = nil }), "device values"},
		"NaN device": {change(func(m *Measurements) { m.Patches[3].Device = []float64{math.NaN(), 0, 0} }), "outside"},
		"NaN Lab":    {change(func(m *Measurements) { m.Patches[3].Lab.A = math.NaN() }), "not finite"},
		"half range": {change(func(m *Measurements) {
			for i := range m.Patches {
				d := m.Patches[i].Device
				m.Patches[i].Device = []float64{d[0], d[1] / 2, d[2]}
			}
		}), "G goes from 0 to 50"},
		"no paper": {change(func(m *Measurements) {
			for i, p := range m.Patches {
				if p.Device[0]+p.Device[1]+p.Device[2] == 3 {
					m.Patches[i].Device = []float64{1, 1, 0.5}
				}
			}
		}), "bare paper"},
	} {
		_, err := Fit(context.Background(), c.ms)
		var f *FormatError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want a *FormatError with %q", name, err, c.says)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Fit(ctx, base); !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want context.Canceled", err)
	}
}

// Wendland's function: 1 at 0, 0 from 1 on, and its second derivative at 0 is
// -30, all from the formula.
func TestPhi(t *testing.T) {
	if phi(0) != 1 || phi(1) != 0 || phi(2) != 0 {
		t.Errorf("phi at 0, 1, 2 = %g, %g, %g", phi(0), phi(1), phi(2))
	}
	const h = 1e-3
	if d2 := 2 * (phi(h) - 1) / (h * h); math.Abs(d2+30) > 0.3 {
		t.Errorf("second derivative at 0 = %.2f, want -30", d2)
	}
}

func TestMonomialsCount(t *testing.T) {
	for _, c := range []struct{ channels, degree, want int }{{3, 1, 4}, {3, 2, 10}, {3, 3, 20}, {4, 3, 35}, {4, 4, 70}} {
		if got := len(monomials(make([]float64, c.channels), c.degree)); got != c.want { // binomial coefficients
			t.Errorf("%d channels, degree %d: %d terms, want %d", c.channels, c.degree, got, c.want)
		}
	}
}

func TestSpreadByNearestRank(t *testing.T) {
	var d []float64
	for i := 100; i > 0; i-- {
		d = append(d, float64(i))
	}
	if s := NewSpread(d); s.Mean < 50.49 || s.Mean > 50.51 || s.P95 != 95 || s.Max != 100 || s.Count != 100 {
		t.Errorf("spread of 1 to 100 = %+v, want mean 50.5, p95 95, max 100", s)
	}
	if s := NewSpread(nil); s != (Spread{}) {
		t.Errorf("spread of nothing = %+v", s)
	}
}

func BenchmarkModelLab(b *testing.B) {
	s, err := solve(patchPoints(measured(b, 1000, pearlInk.rgb, 0.3).Patches), kernel{3, 1e-3, 3}, nil)
	if err != nil {
		b.Fatal(err)
	}
	x := []float64{0.2, 0.3, 0.4}
	for b.Loop() {
		s.at(x)
	}
}

// A corner of the space is predicted from one side only, and the tone curve
// bends most in the dark: the one black patch must not be taken for mis-read.
func TestALoneBlackIsBelieved(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	ms := &Measurements{Device: RGB}
	for i := range 400 {
		d := []float64{r.Float64(), r.Float64(), r.Float64()}
		if i < 8 {
			d = []float64{float64(i & 1), float64(i >> 1 & 1), float64(i >> 2 & 1)}
		}
		ms.Patches = append(ms.Patches, Patch{Device: d, Lab: noisy(pearlInk.rgb(d), 0.1, r)})
	}
	m := fit(t, ms)
	black := pearlInk.rgb([]float64{0, 0, 0})
	if got := m.Lab([]float64{0, 0, 0}); cie.DeltaE76(got, black) > 0.5 {
		t.Errorf("black of the model %v, measured %v", got, black)
	}
	if s := m.Report().Suspects; len(s) > 0 {
		t.Errorf("sound readings are suspected: %v", s)
	}
	_, ease := m.heldOut(ms, patchPoints(ms.Patches))
	if ease[0] < 2*median(ease) {
		t.Errorf("the black corner's prediction counts as unsure as %.2f, the usual is %.2f: want at least twice that", ease[0], median(ease))
	}
}
