package proof

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"firstsheet/assets"
	"firstsheet/proof/kernel"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// Where a plan bends most, difference and reach are off by 0.014 and 0.020 in the mean. Were
// all nodes of a patch of eight steps sampled, that would be 0.007 and 0.011; were all that lie
// between those of four the middles of these, 0.023 and 0.035.
func TestWhereAPlanBendsMost(t *testing.T) {
	romm, _ := space.ByID("romm")
	a := assets.Papers()[1]
	paper, err := NewProfile(a.Name, a.ICC)
	if err != nil {
		t.Fatal(err)
	}
	c, g := chainAndGrid(t, rightPlan(SpaceProfile(romm), paper, RelativeColorimetric, true, ScreenWhite))
	demo := demoColours(t, 200000)
	if err := g.Samples(context.Background(), make([]Sample, demo.W), demo); err != nil {
		t.Fatal(err)
	}
	l := g.first.table.Lattice
	r := rand.New(rand.NewPCG(51, 52))
	src := raster.Pixels{H: 1, Channels: 3}
	for cell, entry := range g.first.table.Cells {
		if entry&kernel.Wanted != 0 || entry%kernel.Shifts != finest {
			continue
		}
		for range 200 {
			for k := range 3 {
				lo, hi := kernel.NodeValue(cell/l.Stride(k)%l.N, l.N), kernel.NodeValue(cell/l.Stride(k)%l.N+1, l.N)
				src.P16 = append(src.P16, uint16(math.Round(65535*(lo+(hi-lo)*(0.01+0.98*r.Float64())))))
			}
			src.W++
		}
	}
	samples, numbers := make([]Sample, src.W), make([]float64, 0, 3*src.W)
	if err := g.Samples(context.Background(), samples, src); err != nil {
		t.Fatal(err)
	}
	for _, v := range src.P16 {
		numbers = append(numbers, float64(v)/65535)
	}
	values := make([]Value, src.W)
	if err := c.Values(values, numbers); err != nil {
		t.Fatal(err)
	}
	var delta, reach float64
	for i, s := range samples {
		delta += math.Abs(s.DeltaE00.Float()-values[i].DeltaE00) / float64(src.W)
		reach += math.Abs(s.Reach.Float()-values[i].Reach) / float64(src.W)
	}
	if src.W < 5000 || delta > 0.018 || reach > 0.027 {
		t.Errorf("of %d colours ΔE00 is off by %.4f in the mean, reach by %.4f, want at most 0.018 and 0.027", src.W, delta, reach)
	}
}
