package proof

import (
	"context"
	"encoding/binary"
	"runtime"

	"firstsheet/proof/raster"
)

// index has each colour of a picture of three numbers of 8 bits once.
type index struct {
	colours raster.Pixels // one row
	pixels  []uint32      // how many of each count

	finding gate     // guards places
	places  []uint32 // where the colour of each pixel lies; nil until somebody draws by them
}

// mostColours is how many colours are indexed at most: a photograph of 24 megapixels in 8 bits has
// 0.8 million, noise nearly as many as pixels.
const mostColours = 1 << 22

// everyColour is how many colours there are in 8 bits.
const everyColour = 1 << 24

// colourOf returns the numbers of a pixel as one.
func colourOf(numbers []uint8, pixel int) uint32 {
	of := numbers[3*pixel : 3*pixel+3]
	return uint32(of[0])<<16 | uint32(of[1])<<8 | uint32(of[2])
}

// newIndex counts the picture's pixels: one count for each possible colour, 64 MB for a
// moment. It returns nil where there are too many colours.
func (p *Picture) newIndex(ctx context.Context) (*index, error) {
	const there = 1 << 31 // beside the count: fully transparent pixels do not count, but have colours
	counts := make([]uint32, everyColour)
	n, most := 0, min(mostColours, p.pixels.W*p.pixels.H/4)
	for y := range p.pixels.H {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if n > most {
			return nil, nil
		}
		row := p.pixels.Rows(y, y+1).P8
		for x := range p.pixels.W {
			c := &counts[colourOf(row, x)]
			if *c == 0 {
				*c = there
				n++
			}
			if p.alpha == nil || p.alpha[y*p.pixels.W+x] > 0 {
				*c++
			}
		}
	}
	x := &index{colours: raster.New(n, 1, 3, false), pixels: make([]uint32, 0, n), finding: make(gate, 1)}
	colours := x.colours.P8[:0]
	for c, k := range counts {
		if k > 0 {
			colours = append(colours, uint8(c>>16), uint8(c>>8), uint8(c))
			x.pixels = append(x.pixels, k&^there)
		}
	}
	return x, nil
}

// proof writes what the grid does for all pixels of src, whose index it is.
func (x *index) proof(ctx context.Context, g *Grid, dst []uint8, src raster.Pixels) error {
	places, err := x.find(ctx, src)
	if err != nil {
		return err
	}
	colours := make([]uint8, 4*x.colours.W)
	if err := g.Proof(ctx, colours, x.colours); err != nil {
		return err
	}
	shown := make([]uint32, x.colours.W) // by words, which are faster to take than four bytes
	for i := range shown {
		shown[i] = binary.NativeEndian.Uint32(colours[4*i:])
	}
	return inPieces(ctx, len(places), func(lo, hi int) {
		dst := dst[4*lo : 4*hi]
		for i, at := range places[lo:hi] {
			binary.NativeEndian.PutUint32(dst[4*i:4*i+4], shown[at])
		}
	})
}

// find returns where the colour of each pixel lies. It looks for them once.
func (x *index) find(ctx context.Context, src raster.Pixels) ([]uint32, error) {
	if err := x.finding.enter(ctx); err != nil {
		return nil, err
	}
	defer x.finding.leave()
	if x.places != nil {
		return x.places, nil
	}
	at := make([]uint32, everyColour)
	for i := range x.colours.W {
		at[colourOf(x.colours.P8, i)] = uint32(i)
	}
	places := make([]uint32, src.W*src.H)
	err := inPieces(ctx, len(places), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			places[i] = at[colourOf(src.P8, i)]
		}
	})
	if err != nil {
		return nil, err
	}
	x.places = places
	return places, nil
}

// inPieces works on [0, pixels) on all cores, until the context ends, whose error it returns then.
func inPieces(ctx context.Context, pixels int, work func(lo, hi int)) error {
	return inParallel(ctx, pixels, piecePixels, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(lo, hi int) error {
			work(lo, hi)
			return nil
		}
	})
}
