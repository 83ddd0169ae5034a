package proof

import (
	"bytes"
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

// An indexed picture is drawn as the grid draws it, pixel by pixel, what is transparent too.
func TestPictureProof(t *testing.T) {
	src, ctx := demoPixels(t, 1), context.Background()
	holes := make([]uint8, src.W*src.H)
	for i := range holes {
		holes[i] = uint8(i / src.W % 1000 / 250) // 250 rows of each 1000: some of their colours lie nowhere else
	}
	noise := raster.New(1000, 700, 3, false)
	r := rand.New(rand.NewPCG(8, 8))
	for i := range noise.P8 {
		noise.P8[i] = uint8(r.UintN(256))
	}
	romm, _ := space.ByID("romm")
	e := NewEngine()
	defer e.Close()
	p := rightPlan(SpaceProfile(romm), realProfile(t, "FOGRA39L_coated.icc"), Perceptual, true, ScreenWhite)
	for _, c := range []struct {
		name    string
		pic     *Picture
		indexed bool
	}{
		{"opaque", NewPicture(src, nil), true},
		{"with holes", NewPicture(src, holes), true},
		{"of too many colours", NewPicture(noise, nil), false},
	} {
		px := c.pic.Pixels()
		got, want := make([]uint8, 4*px.W*px.H), make([]uint8, 4*px.W*px.H)
		for _, q := range []Quality{Good, Fine} {
			g, err := e.Grid(ctx, p, q)
			if err == nil {
				err = g.Proof(ctx, want, px)
			}
			if err == nil {
				err = c.pic.Index(ctx)
			}
			if err != nil {
				t.Fatal(err)
			}
			stopped, stop := context.WithCancel(ctx)
			stop()
			if err := c.pic.Proof(stopped, g, got); !errors.Is(err, context.Canceled) {
				t.Errorf("%s, stopped: %v", c.name, err)
			}
			var refused *PlanError
			if err := c.pic.Proof(ctx, g, got[1:]); !errors.As(err, &refused) {
				t.Errorf("%s, too little room: %v", c.name, err)
			}
			if err := c.pic.Proof(ctx, g, got); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("%s, quality %d: not what the grid draws", c.name, q)
			}
			clear(got)
		}
		if x := c.pic.index.Load(); c.indexed != (x != nil && x.places != nil) {
			t.Errorf("%s: drawn by an index: %t", c.name, !c.indexed)
		}
	}
}
