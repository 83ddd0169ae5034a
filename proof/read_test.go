package proof

import (
	"context"
	"math/rand/v2"
	"testing"

	"firstsheet/proof/kernel"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// A large picture is counted by a narrowed tally, with the figures of a whole one; also
// where the pixels that are looked at first are like no others.
func TestNarrowedTally(t *testing.T) {
	const w, h = 1024, 1025
	noise := raster.New(w, h, 3, false)
	r := rand.New(rand.NewPCG(41, 42))
	for i := range noise.P8 {
		noise.P8[i] = uint8(r.UintN(256))
	}
	// Where those pixels are tells a picture whose pixels tell their own places.
	places := raster.New(w, h, 3, false)
	for i := range w * h {
		copy(places.P8[3*i:], []uint8{uint8(i >> 16), uint8(i >> 8), uint8(i)})
	}
	misleading := raster.New(w, h, 3, false)
	copy(misleading.P8, noise.P8)
	for row, i := someOf(narrowPixels, places, weights{}), 0; i < row.W; i++ {
		at := int(row.P8[3*i])<<16 | int(row.P8[3*i+1])<<8 | int(row.P8[3*i+2])
		copy(misleading.P8[3*at:], []uint8{128, 128, 128})
	}

	p := rightPlan(SpaceProfile(space.SRGB()), realProfile(t, "FOGRA39L_coated.icc"), RelativeColorimetric, true, ScreenWhite)
	_, g := chainAndGrid(t, p)
	for name, src := range map[string]raster.Pixels{"noise": noise, "misleading": misleading} {
		whole, err := g.count(context.Background(), src, output{})
		if err != nil {
			t.Fatal(err)
		}
		narrowed, err := g.count(context.Background(), src, output{some: someOf(narrowPixels, src, weights{})})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := tallied(narrowed), tallied(whole); got != want {
			t.Errorf("%s: %+v, want %+v", name, got, want)
		}
		if all := narrowed.Binned == kernel.All(); all != (name == "misleading") {
			t.Errorf("%s: %+v is binned", name, narrowed.Binned)
		}
	}
}
