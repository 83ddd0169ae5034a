package proof

import (
	"context"
	"errors"
	"math/rand/v2"
	"testing"

	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// An index changes no figure, and is made where it is worth having.
func TestIndex(t *testing.T) {
	src, ctx := demoPixels(t, 1), context.Background()
	romm, _ := space.ByID("romm")
	p := rightPlan(SpaceProfile(romm), realProfile(t, "FOGRA39L_coated.icc"), Perceptual, true, ScreenWhite)
	e := NewEngine()
	defer e.Close()
	count := func(pic *Picture) Figures {
		f, err := e.Count(ctx, p, pic, nil)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	stopped, stop := context.WithCancel(ctx)
	stop()
	holes := make([]uint8, src.W*src.H)
	for i := range holes {
		holes[i] = uint8(i / 1000 % 3) // a third does not count
	}
	for name, alpha := range map[string][]uint8{"opaque": nil, "with holes": holes} {
		pic := NewPicture(src, alpha)
		want := count(pic)
		if err := pic.Index(stopped); !errors.Is(err, context.Canceled) || pic.index.Load() != nil {
			t.Errorf("%s: stopped, %v", name, err)
		}
		if err := pic.Index(ctx); err != nil || pic.index.Load() == nil {
			t.Fatalf("%s: not indexed, %v", name, err)
		}
		if got := count(pic); got != want {
			t.Errorf("%s: indexed %+v, before %+v", name, got, want)
		}
	}
	r := rand.New(rand.NewPCG(7, 7))
	noise := raster.New(1000, 700, 3, false)
	for i := range noise.P8 {
		noise.P8[i] = uint8(r.UintN(256))
	}
	for name, px := range map[string]raster.Pixels{
		"noise":   noise,
		"16 bits": raster.New(1000, 700, 3, true),
		"grey":    raster.New(1000, 700, 1, false),
		"small":   raster.New(300, 400, 3, false),
	} {
		if pic := NewPicture(px, nil); pic.Index(ctx) != nil || pic.index.Load() != nil {
			t.Errorf("%s is indexed", name)
		}
	}
}
