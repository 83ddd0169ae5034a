package proof_test

import (
	"bytes"
	"context"
	"errors"
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
		opacities[i] = uint8(min(i/1000%3, 1)) // a third is transparent
	}
	small := large.Rows(100, 140)
	deep := raster.New(large.W, 300, 3, true)
	for i, v := range large.P8[:len(deep.P16)] {
		deep.P16[i] = uint16(v)*257 + uint16(i%200)
	}
	paper := assets.Papers()[0]
	plan := rightWay(s.Profile, demoPaper(t, paper.Name, paper.ICC))
	for what, c := range map[string]struct {
		src   raster.Pixels
		alpha []uint8
	}{
		"large": {large, nil}, "in part transparent": {large, opacities}, "16 bits": {deep, nil},
		"small": {small, nil}, "small, in part transparent": {small, opacities[:small.W*small.H]},
	} {
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
		strips, err := e.Strips(t.Context(), plan, c.src.W, c.src.H, c.src.Deep(), c.alpha != nil)
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
				if c.alpha != nil {
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
	s, err := e.Strips(t.Context(), plan, 1000, 500, false, false)
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
