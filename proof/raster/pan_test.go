package raster_test

import (
	"context"
	"image"
	"math/rand/v2"
	"slices"
	"testing"

	"firstsheet/proof/raster"
)

// Moved pixels are the very ones that are sampled anew, at every scale and depth.
func TestPan(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	deep := raster.New(301, 203, 4, true)
	for i := range deep.P16 {
		deep.P16[i] = uint16(r.UintN(1 << 16))
	}
	for name, levels := range map[string][]raster.Pixels{"8 bits": raster.Levels(ramp(700, 500)), "16 bits": raster.Levels(deep)} {
		for _, scale := range []float64{0.21, 0.5, 0.83, 1, 1.7, 6} {
			var moved raster.Pixels
			var view raster.View
			x, y := 150.0, 100.0
			for range 40 {
				x, y = x+r.NormFloat64()*12/scale, y+r.NormFloat64()*12/scale
				to := inCell(97, 83, scale, x, y, levels[0].W, levels[0].H)
				want := raster.Sample(context.Background(), levels, to)
				if by, ok := view.Shift(to); ok {
					raster.Pan(context.Background(), moved, levels, to, by)
				} else {
					moved = raster.Sample(context.Background(), levels, to)
				}
				if !slices.Equal(moved.P8, want.P8) || !slices.Equal(moved.P16, want.P16) {
					t.Fatalf("%s at %g: moved from %v to %v it is not what is there", name, scale, view, to)
				}
				view = to
			}
		}
	}
}

func TestShift(t *testing.T) {
	v := raster.View{Visible: image.Rect(10, 20, 110, 90), Scale: 1, X0: -50, Y0: -60}
	at := func(x, y int) raster.View { w := v; w.X0, w.Y0 = v.X0+x, v.Y0+y; return w }
	larger, wider := at(1, 1), at(1, 1)
	larger.Scale, wider.Visible.Max.X = 2, 111
	for _, c := range []struct {
		name string
		to   raster.View
		ok   bool
	}{{"nothing", v, true}, {"a little", at(-3, 69), true}, {"just out of view", at(100, 0), false}, {"and below", at(0, -70), false},
		{"far", at(-500, 3), false}, {"another scale", larger, false}, {"another place", wider, false}} {
		if by, ok := v.Shift(c.to); ok != c.ok || by != image.Pt(c.to.X0-v.X0, c.to.Y0-v.Y0) {
			t.Errorf("%s: moved by %v, %t, want %t", c.name, by, ok, c.ok)
		}
	}
}

func TestExposed(t *testing.T) {
	for _, by := range []image.Point{{}, {X: 3}, {X: -3}, {Y: 4}, {X: 3, Y: -4}, {X: -39, Y: 29}} {
		seen := make([]int, 40*30)
		for _, p := range raster.Exposed(40, 30, by) {
			for y := p.Min.Y; y < p.Max.Y; y++ {
				for x := p.Min.X; x < p.Max.X; x++ {
					seen[y*40+x]++
				}
			}
		}
		for i, n := range seen {
			x, y, want := i%40-by.X, i/40-by.Y, 1
			if x >= 0 && y >= 0 && x < 40 && y < 30 {
				want = 0
			}
			if n != want {
				t.Fatalf("moved by %v, pixel %d, %d is told %d times, want %d", by, i%40, i/40, n, want)
			}
		}
	}
}
