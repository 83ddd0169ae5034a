package rank

import (
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

func engine(t *testing.T) *proof.Engine {
	t.Helper()
	e := proof.NewEngine()
	t.Cleanup(e.Close)
	return e
}

func profile(t *testing.T, name string) *proof.Profile {
	t.Helper()
	data, err := os.ReadFile("../../testdata/cache/profiles/" + name)
	if err != nil {
		t.Fatalf("%v (testdata/fetch.sh brings it)", err)
	}
	p, err := proof.NewProfile(name, data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var srgb = proof.SpaceProfile(space.SRGB())

// patches is a picture of w by h of the given colours side by side.
func patches(w, h int, colours ...[3]uint8) raster.Pixels {
	p := raster.New(w, h, 3, false)
	for y := range h {
		for x := range w {
			c := colours[x*len(colours)/w]
			copy(p.P8[(y*w+x)*3:], c[:])
		}
	}
	return p
}

func TestWays(t *testing.T) {
	a := Paper{ID: "a", Name: "A", Forced: func(i proof.Intent) bool { return i == proof.Perceptual }}
	b := Paper{ID: "b", Name: "B"}
	ways, left := Ways([]Paper{a, b}, proof.Intents(), []bool{true, false})
	// a: perceptual once, relative 2, saturation 2, absolute once; b: perceptual 2.
	if len(ways) != 6+7 {
		t.Errorf("%d ways, want 13: %v", len(ways), ways)
	}
	if len(left) != 2 {
		t.Errorf("left out: %q", left)
	}
	seen := map[string]bool{}
	for _, w := range ways {
		if seen[w.Key()] {
			t.Errorf("%s twice", w.Key())
		}
		seen[w.Key()] = true
	}
}

func waysOf(t *testing.T, paper *proof.Profile, intents ...proof.Intent) []Way {
	t.Helper()
	w, _ := Ways([]Paper{{ID: "p", Name: "coated"}}, intents, []bool{true, false})
	return w
}

// On coated offset a picture with deep shadows is known to need compensation
// with the relative intent: the paper's black is at L* 9, and without it all
// that is darker prints as one black.
func TestRankShadows(t *testing.T) {
	e, paper := engine(t), profile(t, "FOGRA39L_coated.icc")
	pix := raster.New(400, 40, 3, false)
	for y := range pix.H {
		for x := range pix.W {
			v := uint8(x * 60 / pix.W)
			for c := range 3 {
				pix.P8[(y*pix.W+x)*3+c] = v
			}
		}
	}
	pic, err := Gather(context.Background(), proof.NewPicture(pix, nil), []pin.Pin{{Name: "dark", X: 0.1, Y: 0.5, Radius: 0.01}})
	if err != nil {
		t.Fatal(err)
	}
	if pic.W != 400 || pic.H != 40 || len(pic.Spots) != 1 || len(pic.Spots[0].Numbers) == 0 {
		t.Fatalf("gathered %d by %d, %d pins", pic.W, pic.H, len(pic.Spots))
	}
	var told []int
	out, err := Compute(context.Background(), e, pic, waysOf(t, paper, proof.RelativeColorimetric), func(w Way) (proof.Plan, error) {
		return proof.Plan{Source: srgb, Paper: paper, Screen: srgb,
			Conversions: []proof.Conversion{{From: srgb, To: paper, Intent: w.Intent, BPC: w.Compensation}}}, nil
	}, func(done int, _ Way) { told = append(told, done) })
	if err != nil {
		t.Fatal(err)
	}
	order := out.Verdict.Order
	if len(order) != 2 || !order[0].Compensation || order[1].Compensation {
		t.Fatalf("order %+v", order)
	}
	// Paper 95, black of the relative table near 9 (FOGRA39L): see testdata.
	if r := order[0].Figures.Range; r < 80 || r > 90 {
		t.Errorf("range %.1f, want 95 - 9 within 5", r)
	}
	on, off := order[0].Figures.Shadows.Share(), order[1].Figures.Shadows.Share()
	if on < off+0.2 {
		t.Errorf("shadow steps kept: %.2f with compensation, %.2f without", on, off)
	}
	if len(told) != 2 || told[1] != 1 {
		t.Errorf("progress %v", told)
	}
	if out.Ways[order[0].ID].Name != "coated" {
		t.Errorf("the first is not found again: %v", out.Ways)
	}
}

// The ranking tells the figures that the desk and the command tell, to the last
// digit: also for a picture of which only a part of the colours is computed.
func TestRankTellsTheFiguresOfTheDesk(t *testing.T) {
	e, paper := engine(t), profile(t, "FOGRA39L_coated.icc")
	pix := raster.New(600, 400, 3, true)
	r := rand.New(rand.NewPCG(5, 6))
	for i := range pix.P16 {
		pix.P16[i] = uint16(r.UintN(65536))
	}
	pic, err := Gather(context.Background(), proof.NewPicture(pix, nil), nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(pic.Weights) >= pix.W*pix.H {
		t.Fatal("all colours are computed: the test says nothing of a part")
	}
	plans := map[bool]proof.Plan{}
	out, err := Compute(context.Background(), e, pic, waysOf(t, paper, proof.RelativeColorimetric), func(w Way) (proof.Plan, error) {
		plans[w.Compensation] = proof.Plan{Source: srgb, Paper: paper, Screen: srgb,
			Conversions: []proof.Conversion{{From: srgb, To: paper, Intent: w.Intent, BPC: w.Compensation}}}
		return plans[w.Compensation], nil
	}, nil)
	if err != nil || len(out.Verdict.Order) != 2 {
		t.Fatal(err)
	}
	for _, p := range out.Verdict.Order {
		f, err := e.Count(context.Background(), plans[p.Compensation], proof.NewPicture(pix, nil), nil)
		if err != nil {
			t.Fatal(err)
		}
		got := [...]float64{p.Figures.Out, p.Figures.Darker, p.Figures.Mean, p.Figures.P95, p.Figures.Max}
		want := [...]float64{f.Outside(OutOfReach), f.Darker, f.Mean, f.P95, f.Max}
		if got != want {
			t.Errorf("%s: ranking tells %v, the desk %v", p.ID, got, want)
		}
	}
}

// A way that can't be printed does not take the others with it.
func TestRankRefuses(t *testing.T) {
	e, paper := engine(t), profile(t, "FOGRA39L_coated.icc")
	pix := patches(20, 20, [3]uint8{200, 30, 40}, [3]uint8{120, 120, 120})
	pic, err := Gather(context.Background(), proof.NewPicture(pix, nil), nil)
	if err != nil {
		t.Fatal(err)
	}
	reason := errors.New("no such setting")
	out, err := Compute(context.Background(), e, pic, waysOf(t, paper, proof.Perceptual, proof.RelativeColorimetric), func(w Way) (proof.Plan, error) {
		if w.Intent == proof.Perceptual {
			return proof.Plan{}, reason
		}
		return proof.Plan{Source: srgb, Paper: paper, Screen: srgb,
			Conversions: []proof.Conversion{{From: srgb, To: paper, Intent: w.Intent, BPC: w.Compensation}}}, nil
	}, nil)
	if err != nil || len(out.Refused) != 2 || len(out.Verdict.Order) != 2 || !errors.Is(out.Refused[0].Err, reason) {
		t.Errorf("%v; refused %v; order of %d", err, out.Refused, len(out.Verdict.Order))
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Compute(ctx, e, pic, waysOf(t, paper, proof.Perceptual), nil, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	if _, err := Gather(context.Background(), proof.NewPicture(pix, make([]uint8, 400)), nil); !errors.Is(err, ErrEmpty) {
		t.Errorf("nothing to see: %v", err)
	}
}

func TestReduceAverages(t *testing.T) {
	pix := patches(1600, 800, [3]uint8{0, 0, 0}, [3]uint8{255, 255, 255})
	out, w, h := reduce(context.Background(), pix, nil)
	if w != 400 || h != 200 || len(out) != 400*200*3 {
		t.Fatalf("%d by %d of %d numbers", w, h, len(out))
	}
	if out[0] != 0 || out[len(out)-1] != 1 {
		t.Errorf("ends %g, %g", out[0], out[len(out)-1])
	}
}
