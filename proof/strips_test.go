package proof_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"sync"
	"testing"

	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// A picture that comes in strips, from several goroutines, is proofed and counted as the
// whole one is: by the grid, and by the exact chain where it is small or grey.
func TestStripsAreTheWhole(t *testing.T) {
	s := open(t, "regatta.jpg", assets.RegattaJPEG())
	large := s.Pixels().Rows(0, 700)
	opacities := make([]uint8, large.W*large.H)
	for i := range opacities {
		opacities[i] = 255 * uint8(min(i/1000%3, 1)) // a third is transparent
		if i < 200*large.W {
			opacities[i] = 255 // strips without any
		}
	}
	small := large.Rows(100, 140)
	deep := raster.New(large.W, 300, 3, true)
	for i, v := range large.P8[:len(deep.P16)] {
		deep.P16[i] = uint16(v)*257 + uint16(i%200)
	}
	paper := assets.Papers()[0]
	real := func(name string) *proof.Profile {
		icc, err := os.ReadFile("../testdata/cache/profiles/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return demoPaper(t, name, icc)
	}
	grey, ink := real("sgray.icc"), real("FOGRA39L_coated.icc")
	of := func(px raster.Pixels, channels int) raster.Pixels { // numbers taken for others
		px.Channels = channels
		px.H = px.H * 3 / channels
		px.P8, px.P16 = px.P8[:min(len(px.P8), px.W*px.H*channels)], px.P16[:min(len(px.P16), px.W*px.H*channels)]
		return px
	}
	for what, c := range map[string]struct {
		src    raster.Pixels
		alpha  []uint8
		source *proof.Profile
	}{
		"large": {large, nil, s.Profile}, "in part transparent": {large, opacities, s.Profile}, "16 bits": {deep, nil, s.Profile},
		"small": {small, nil, s.Profile}, "small, in part transparent": {small, opacities[150*large.W:][:small.W*small.H], s.Profile},
		"grey": {of(small, 1), nil, grey}, "grey of 16 bits, in part transparent": {of(deep.Rows(0, 200), 1), opacities[:of(deep.Rows(0, 200), 1).H*large.W], grey},
		"inks": {of(large.Rows(0, 400), 4), opacities[:300*large.W], ink},
	} {
		plan := rightWay(c.source, demoPaper(t, paper.Name, paper.ICC))
		e := proof.NewEngine()
		defer e.Close()
		want := make([]uint8, 4*c.src.W*c.src.H)
		g, err := e.Grid(t.Context(), plan, proof.Fine)
		if err != nil {
			t.Fatal(err)
		}
		if err := g.Proof(t.Context(), want, c.src); err != nil {
			t.Fatal(err)
		}
		figures, err := e.Count(t.Context(), plan, proof.NewPicture(c.src, c.alpha), nil)
		if err != nil {
			t.Fatal(err)
		}
		strips, err := e.Strips(t.Context(), plan, c.src.W, c.src.H, c.src.Deep())
		if err != nil {
			t.Fatal(err)
		}
		got := make([]uint8, len(want))
		var group sync.WaitGroup
		const rows = 97 // no piece begins where a strip does
		for y := 0; y < c.src.H; y += rows {
			group.Go(func() {
				lo, hi := c.src.W*y, c.src.W*min(c.src.H, y+rows)
				var alpha []uint8
				if c.alpha != nil && bytes.Count(c.alpha[lo:hi], []byte{255}) < hi-lo {
					alpha = c.alpha[lo:hi]
				}
				if err := strips.Proof(t.Context(), got[4*lo:4*hi], y, c.src.Rows(y, min(c.src.H, y+rows)), alpha); err != nil {
					t.Error(err)
				}
			})
		}
		group.Wait()
		if !bytes.Equal(got, want) {
			t.Errorf("%s: the proof differs", what)
		}
		if f, err := strips.Figures(t.Context()); err != nil || f != figures {
			t.Errorf("%s: %+v, %v, want %+v", what, f, err, figures)
		}
	}
}

func TestStripsRefuse(t *testing.T) {
	e := proof.NewEngine()
	defer e.Close()
	paper := assets.Papers()[0]
	plan := rightWay(proof.SpaceProfile(space.SRGB()), demoPaper(t, paper.Name, paper.ICC))
	s, err := e.Strips(t.Context(), plan, 1000, 500, false)
	if err != nil {
		t.Fatal(err)
	}
	strip := raster.New(1000, 10, 3, false)
	for what, err := range map[string]error{
		"too far down":  s.Proof(t.Context(), nil, 491, strip, nil),
		"above it":      s.Proof(t.Context(), nil, -1, strip, nil),
		"narrower":      s.Proof(t.Context(), nil, 0, raster.New(999, 10, 3, false), nil),
		"grey":          s.Proof(t.Context(), nil, 0, raster.New(1000, 10, 1, false), nil),
		"no room":       s.Proof(t.Context(), make([]uint8, 39_999), 0, strip, nil),
		"few opacities": s.Proof(t.Context(), nil, 0, strip, make([]uint8, 5)),
	} {
		if !errors.Is(err, proof.ErrPlan) {
			t.Errorf("%s: %v", what, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.Proof(ctx, nil, 0, strip, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}
