package proof

import (
	"bytes"
	"context"
	"testing"

	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// A fine grid shows the same whether it begins as a good one or as none, and of the latter no
// node is sampled that is no corner of a cell that was touched.
func TestAFineGridBeginsWhereItIsTouched(t *testing.T) {
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "FOGRA39L_coated.icc")
	p := rightPlan(srgb, paper, RelativeColorimetric, true, ScreenWhite)
	p.Conversions[0].Clipped = true // by way of a second field
	p.Conversions = append(p.Conversions, Conversion{From: paper, To: paper, Intent: Perceptual})
	src := raster.New(64, 64, 3, true) // a patch of blues
	for i := range src.W * src.H {
		src.P16[3*i], src.P16[3*i+1], src.P16[3*i+2] = uint16(100*(i%64)), uint16(100*(i/64)), 40000
	}
	var shown [2][]uint8
	for i := range shown {
		e := NewEngine()
		defer e.Close()
		if i > 0 {
			if _, err := e.Grid(context.Background(), p, Good); err != nil {
				t.Fatal(err)
			}
		}
		g, err := e.Grid(context.Background(), p, Fine)
		if err != nil {
			t.Fatal(err)
		}
		shown[i] = make([]uint8, 4*src.W*src.H)
		if err := g.Proof(context.Background(), shown[i], src); err != nil {
			t.Fatal(err)
		}
		for _, f := range []*field{g.first, g.then} {
			sampled := 0
			for _, is := range f.sampled {
				if is {
					sampled++
				}
			}
			if all := sampled == f.table.Total; all != (i > 0) || sampled == 0 {
				t.Errorf("after a good grid %t: %d of %d nodes are sampled", i > 0, sampled, f.table.Total)
			}
		}
	}
	if !bytes.Equal(shown[0], shown[1]) {
		t.Error("a fine grid shows other pixels after a good one")
	}
}
