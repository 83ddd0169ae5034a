package pin

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"firstsheet/proof/cie"
)

func lch(l, c, h float64) cie.Lab { return cie.LCh{L: l, C: c, H: h}.Lab() }

func TestPixels(t *testing.T) {
	one := Pin{X: 0.5, Y: 0.5}.Pixels(5, 5)
	if want := []Point{{2, 2}}; !reflect.DeepEqual(one, want) {
		t.Errorf("radius 0 reads %v, want %v", one, want)
	}
	// Radius 1.2 pixels around the middle of pixel 2, 2: the plus sign.
	plus := Pin{X: 0.5, Y: 0.5, Radius: 1.2 / 5}.Pixels(5, 5)
	if want := []Point{{2, 1}, {1, 2}, {2, 2}, {3, 2}, {2, 3}}; !reflect.DeepEqual(plus, want) {
		t.Errorf("radius 1.2 reads %v, want %v", plus, want)
	}
	corner := Pin{X: 1, Y: 1, Radius: 0}.Pixels(7, 3)
	if want := []Point{{6, 2}}; !reflect.DeepEqual(corner, want) {
		t.Errorf("the corner reads %v, want %v", corner, want)
	}
	out := Pin{X: -3, Y: math.NaN(), Radius: math.Inf(1)}.Pixels(30, 20)
	if len(out) != 600 {
		t.Errorf("an endless disc reads %d of 600 pixels", len(out))
	}
	big := Pin{X: 0.5, Y: 0.5, Radius: 0.25}.Pixels(6000, 4000)
	if len(big) < MaxSamples*3/4 || len(big) > MaxSamples*5/4 {
		t.Errorf("a disc of 1500 pixels radius reads %d pixels, want about %d", len(big), MaxSamples)
	}
	var sx, sy float64
	for _, p := range big {
		sx, sy = sx+float64(p.X), sy+float64(p.Y)
	}
	if x, y := sx/float64(len(big)), sy/float64(len(big)); math.Abs(x-3000) > 20 || math.Abs(y-2000) > 20 {
		t.Errorf("its centre of gravity is %.0f, %.0f, want 3000, 2000", x, y)
	}
	// One that is far larger than a thin picture looks for its pixels there alone.
	thin := Pin{X: 0.5, Y: 0.5, Radius: 2}.Pixels(1<<20, 1)
	if len(thin) == 0 || thin[0].X > 64 || thin[len(thin)-1].X < 1<<20-64 {
		t.Errorf("a disc over a thin picture reads %d pixels", len(thin))
	}
	if got := (Pin{}).Pixels(0, 4); got != nil {
		t.Errorf("an empty picture reads %v", got)
	}
}

// Black and white in equal parts reflect half the light: L* of Y 0.5 is 76.07
// (CIE 15), not 50.
func TestAverageIsOfLight(t *testing.T) {
	r, err := Average([]cie.Lab{{}, {L: 100}})
	if err != nil || math.Abs(r.Lab.L-76.0693) > 1e-3 || r.Lab.Chroma() > 1e-6 || r.Count != 2 {
		t.Errorf("black and white average to %+v (%v)", r, err)
	}
	if want := math.Sqrt((76.0693*76.0693 + 23.9307*23.9307) / 2); math.Abs(r.Spread-want) > 1e-3 {
		t.Errorf("spread %.3f, want %.3f", r.Spread, want)
	}
	same, _ := Average([]cie.Lab{{L: 40, A: 20, B: -30}, {L: 40, A: 20, B: -30}})
	if cie.DeltaE76(same.Lab, cie.Lab{L: 40, A: 20, B: -30}) > 1e-9 || same.Spread > 1e-9 {
		t.Errorf("equal colours average to %+v", same)
	}
	if _, err := Average(nil); !errors.Is(err, ErrEmpty) {
		t.Errorf("no colours give %v", err)
	}
}

// scene is a picture of flat fields with known telling places.
func scene() Picture {
	p := Picture{W: 400, H: 300, Lab: make([]cie.Lab, 400*300)}
	r := rand.New(rand.NewPCG(7, 7))
	fill := func(x0, y0, x1, y1 int, c cie.Lab, texture float64) {
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				v := c
				v.L += texture * r.NormFloat64()
				p.Lab[y*p.W+x] = v
			}
		}
	}
	fill(0, 0, 400, 300, cie.Lab{L: 70, A: -2, B: -7}, 0) // pale sky: no hue worth a pin
	fill(20, 20, 120, 120, lch(45, 50, 32), 1)            // shirt
	fill(60, 60, 90, 90, lch(45, 72, 32), 1)              // its most saturated part
	fill(150, 20, 250, 100, lch(45, 35, 120), 2)          // leaves
	fill(280, 20, 330, 60, lch(66, 24, 48), 1)            // light skin
	fill(280, 80, 310, 110, lch(38, 20, 46), 1)           // dark skin
	fill(20, 150, 80, 200, cie.Lab{L: 55, A: 0.3}, 0)     // grey
	fill(100, 150, 200, 200, cie.Lab{L: 12}, 2)           // tar, textured
	fill(100, 210, 200, 260, cie.Lab{L: 3}, 0)            // a hole, flat
	fill(220, 150, 300, 200, cie.Lab{L: 94, B: 2}, 1)     // sail
	fill(220, 220, 300, 270, cie.Lab{L: 100}, 0)          // burnt out
	p.Lab[150*400+350] = lch(60, 120, 330)                // one hot pixel
	for x := 320; x < 399; x++ {                          // a thin cable
		p.Lab[280*400+x] = lch(50, 90, 280)
	}
	return p
}

func in(s Suggestion, x0, y0, x1, y1 float64) bool {
	x, y := s.X*400, s.Y*300
	return x >= x0 && x < x1 && y >= y0 && y < y1
}

func TestSuggest(t *testing.T) {
	got, err := Suggest(context.Background(), scene(), nil)
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		name           string
		kind           Kind
		x0, y0, x1, y1 float64
	}{
		{"red", Saturated, 60, 60, 90, 90},
		{"yellow-green", Saturated, 150, 20, 250, 100},
		{"skin-like", Skin, 280, 20, 330, 60},
		{"skin-like 2", Skin, 280, 80, 310, 110},
		{"neutral", Neutral, 0, 0, 400, 300},
		{"shadow", Shadow, 100, 150, 200, 200},
		{"highlight", Highlight, 220, 150, 300, 200},
	}
	if len(got) != len(want) {
		t.Fatalf("%d suggestions, want %d: %+v", len(got), len(want), got)
	}
	for i, w := range want {
		s := got[i]
		if s.Name != w.name || s.Kind != w.kind || !in(s, w.x0, w.y0, w.x1, w.y1) {
			t.Errorf("suggestion %d is %q (kind %d) at %.0f, %.0f; want %q within %v", i, s.Name, s.Kind, s.X*400, s.Y*300, w.name, w)
		}
	}
	if c := got[0].Reading.Lab; math.Abs(c.Chroma()-72) > 1 {
		t.Errorf("the shirt reads %v, want C* 72", c.LCh())
	}
	if c := got[4].Reading.Lab; c.Chroma() > 0.5 {
		t.Errorf("the neutral reads %v", c.LCh())
	}
	for i, a := range got {
		for _, b := range got[:i] {
			if d := math.Hypot((a.X-b.X)*400, (a.Y-b.Y)*300); d < 0.06*400 {
				t.Errorf("%s and %s are %.0f pixels apart", a.Name, b.Name, d)
			}
		}
	}
	again, _ := Suggest(context.Background(), scene(), nil)
	if !reflect.DeepEqual(got, again) {
		t.Error("the same picture gives other suggestions")
	}
}

// Skin that is too narrow for a pin, and skin that is all edges, is not proposed.
func TestSuggestNoSliverOfSkin(t *testing.T) {
	p := Picture{W: 200, H: 100, Lab: make([]cie.Lab, 200*100)}
	r := rand.New(rand.NewPCG(5, 5))
	for i := range p.Lab {
		x, y := i%200, i/200
		p.Lab[i] = cie.Lab{L: 60, A: -6, B: 3}
		switch {
		case y >= 20 && y < 23:
			p.Lab[i] = lch(66, 24, 48)
		case y >= 50 && x < 100:
			p.Lab[i] = lch(60+12*r.NormFloat64(), 24, 48)
		}
	}
	got, err := Suggest(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range got {
		if s.Kind == Skin {
			t.Errorf("skin at %.0f, %.0f", s.X*200, s.Y*100)
		}
	}
}

// A pin that is there already keeps its place to itself: the next best part of
// the shirt is proposed.
func TestSuggestKeepsAway(t *testing.T) {
	got, err := Suggest(context.Background(), scene(), []Pin{{Name: "shirt", X: 75.0 / 400, Y: 75.0 / 300}})
	if err != nil {
		t.Fatal(err)
	}
	if len(got) == 0 || got[0].Name != "red" || in(got[0], 60, 60, 90, 90) || !in(got[0], 20, 20, 120, 120) {
		t.Errorf("first suggestion %+v, want elsewhere on the shirt", got[0])
	}
	// Nor does a proposal bear its name.
	got, err = Suggest(context.Background(), scene(), []Pin{{Name: "red", X: 75.0 / 400, Y: 75.0 / 300}, {Name: "red 2", X: 0.9, Y: 0.9}})
	if err != nil || len(got) == 0 || got[0].Name != "red 3" {
		t.Errorf("beside ‘red’ and ‘red 2’ the first suggestion is %+v (%v)", got, err)
	}
}

func TestSuggestNothing(t *testing.T) {
	flat := Picture{W: 50, H: 40, Lab: make([]cie.Lab, 2000)}
	got, err := Suggest(context.Background(), flat, nil)
	if err != nil || len(got) != 0 {
		t.Errorf("a black frame gives %v, %v", got, err)
	}
	if got, err := Suggest(context.Background(), Picture{W: 1, H: 1, Lab: []cie.Lab{lch(50, 60, 30)}}, nil); err != nil || len(got) != 0 {
		t.Errorf("one pixel gives %v, %v", got, err)
	}
	if _, err := Suggest(context.Background(), Picture{W: 3, H: 3}, nil); err == nil {
		t.Error("a picture without colours gives no error")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Suggest(ctx, scene(), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func BenchmarkSuggest(b *testing.B) {
	p := scene()
	for b.Loop() {
		if _, err := Suggest(context.Background(), p, nil); err != nil {
			b.Fatal(err)
		}
	}
}
