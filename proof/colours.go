package proof

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"

	"firstsheet/proof/raster"
)

// Colours are the colours of a whole picture, each with the number of pixels that
// it stands for: what goes through the exact chain where a whole picture is looked at. They
// do not depend on a plan and do not change, so several plans may be counted over the
// same ones, also at once.
//
// A picture of at most 131072 pixels, and a grey one of any size, has all of its
// colours in it. Of larger ones a part is taken, so that the exact chain gets
// through them in a moment: the colour space is cut into cells, and of each cell
// that holds pixels as many are taken as it has a share in the picture, at least
// one, spread over its pixels in reading order. A colour in it is always one of the
// picture's own. The choice is the same each time and on any number of cores.
type Colours struct {
	Channels int
	// Numbers are interleaved, 0 to 1 a channel.
	Numbers []float64
	// Pixels says for how many pixels each colour stands, whole numbers.
	Pixels []float64
}

// Sizes of the choice. They bound it at fullColours colours plus one a cell: 0.3
// million for noise over the whole space, 145 thousand for a photograph of 16 bits and
// 50 thousand for one of 8, where the chain takes some 2 microseconds a colour.
const (
	fullColours = 1 << 17
	rgbCellBits = 6 // of each channel
	inkCellBits = 4
)

// CountColours takes the colours of src. alpha has W*H entries or is nil; fully
// transparent pixels are left out. It takes some 10 bytes for each of the colours
// above and 3 MB for each core, and leaves one core to the rest of the program. It
// returns the context's error when it was stopped, and a *[PlanError] for pictures
// that have not one, three or four channels or whose numbers and alpha are too few.
func CountColours(ctx context.Context, src raster.Pixels, alpha []uint8) (*Colours, error) {
	if err := fits(src, src.Channels); err != nil {
		return nil, err
	}
	if n := src.W * src.H; alpha != nil && len(alpha) != n {
		return nil, &PlanError{fmt.Sprintf("%d values of alpha come with %d pixels", len(alpha), n)}
	}
	if src.Channels == 1 {
		return countGreys(ctx, src, alpha)
	}
	cells, err := newCells(src.Channels)
	if err != nil {
		return nil, err
	}
	// One core is left to the rest of the program.
	parts := max(1, min(runtime.GOMAXPROCS(0)-1, src.H))
	t := &taking{cells: cells, src: src, alpha: alpha, parts: parts}
	if err := t.count(ctx); err != nil {
		return nil, err
	}
	if err := t.take(ctx); err != nil {
		return nil, err
	}
	return t.colours(), nil
}

// cells cut a colour space into pieces along its channels.
type cells struct {
	channels, bits int
	slot           [1 << 16]uint8 // of a 16-bit number
	byteSlot       [1 << 8]uint32 // of one of 8 bits
}

func newCells(channels int) (*cells, error) {
	c := &cells{channels: channels}
	switch channels {
	case 3:
		c.bits = rgbCellBits
	case 4:
		c.bits = inkCellBits
	default:
		return nil, &PlanError{fmt.Sprintf("colours of pictures of %d channels cannot be counted", channels)}
	}
	// Half of the way with the numbers themselves, half with their 2.4th root: even
	// steps to the eye for numbers with a tone curve, and those without one are not
	// all in the first few cells.
	slots := float64(int(1) << c.bits)
	for v := range c.slot {
		x := float64(v) / 65536
		c.slot[v] = uint8(slots * (x + math.Pow(x, 1/2.4)) / 2)
	}
	for v := range c.byteSlot {
		c.byteSlot[v] = uint32(c.slot[v*257])
	}
	return c, nil
}

// size returns how many cells there are.
func (c *cells) size() int { return 1 << (c.bits * c.channels) }

// row writes the cell of each pixel of a row.
func (c *cells) row(dst []uint32, src raster.Pixels) {
	switch {
	case c.channels == 3 && !src.Deep(): // the usual kind, and the largest
		for i := range dst {
			p := src.P8[3*i : 3*i+3 : 3*i+3]
			dst[i] = c.byteSlot[p[0]]<<(2*rgbCellBits) | c.byteSlot[p[1]]<<rgbCellBits | c.byteSlot[p[2]]
		}
		return
	case c.channels == 3:
		for i := range dst {
			p := src.P16[3*i : 3*i+3 : 3*i+3]
			dst[i] = uint32(c.slot[p[0]])<<(2*rgbCellBits) | uint32(c.slot[p[1]])<<rgbCellBits | uint32(c.slot[p[2]])
		}
		return
	}
	for i := range dst {
		var cell uint32
		for k := range c.channels {
			cell = cell<<c.bits | uint32(c.slot[number(src, i*c.channels+k)])
		}
		dst[i] = cell
	}
}

// number returns an entry of the picture in 16 bits.
func number(src raster.Pixels, at int) uint16 {
	if src.P16 != nil {
		return src.P16[at]
	}
	return uint16(src.P8[at]) * 257
}

// taking is a run over a picture: once to count its cells, once to take colours.
type taking struct {
	*cells
	src   raster.Pixels
	alpha []uint8
	parts int // of the picture, one a core

	counts [][]uint32 // pixels in each cell, for each part of the picture
	pixels []uint32   // pixels in each cell
	all    uint64     // pixels
	taken  []taken
}

// taken is a colour that was taken: its numbers in 16 bits each, and for how many
// pixels it stands.
type taken struct {
	numbers uint64
	pixels  uint32
}

// hidden stands for the cell of a pixel that does not count.
const hidden = math.MaxUint32

// bandRows is how many rows of a picture are counted between two looks at the context.
const bandRows = 32

// each hands over all rows and the cells of their pixels, the parts of the picture at
// the same time. begin is called once a part.
func (t *taking) each(ctx context.Context, begin func(part int) func(row raster.Pixels, cells []uint32)) error {
	return inParallel(ctx, t.parts, 1, t.parts, func() func(lo, hi int) error {
		cells := make([]uint32, t.src.W)
		return func(part, _ int) error {
			use := begin(part)
			for y := part * t.src.H / t.parts; y < (part+1)*t.src.H/t.parts; y++ {
				if y%bandRows == 0 && ctx.Err() != nil {
					return ctx.Err()
				}
				row := t.src.Rows(y, y+1)
				t.row(cells, row)
				if t.alpha != nil {
					for x, a := range t.alpha[y*t.src.W : (y+1)*t.src.W] {
						if a == 0 {
							cells[x] = hidden
						}
					}
				}
				use(row, cells)
			}
			return nil
		}
	})
}

// count counts the pixels of every cell.
func (t *taking) count(ctx context.Context) error {
	t.counts = make([][]uint32, t.parts)
	err := t.each(ctx, func(part int) func(raster.Pixels, []uint32) {
		count := make([]uint32, t.size())
		t.counts[part] = count
		return func(_ raster.Pixels, cells []uint32) {
			for _, cell := range cells {
				if cell != hidden {
					count[cell]++
				}
			}
		}
	})
	if err != nil {
		return err
	}
	t.pixels = make([]uint32, t.size())
	for _, count := range t.counts {
		for cell, n := range count {
			t.pixels[cell] += n
			t.all += uint64(n)
		}
	}
	return nil
}

// share returns how many colours are taken of a cell of so many pixels.
func (t *taking) share(pixels uint32) uint64 {
	if t.all <= fullColours {
		return uint64(pixels)
	}
	return (uint64(pixels)*fullColours + t.all - 1) / t.all
}

// take takes the colours. The pixels of a cell, in reading order, are cut into as
// many runs as colours are taken of it, and one pixel of each run is taken: not the
// middle one, which would meet the same place of a regular pattern every time.
func (t *taking) take(ctx context.Context) error {
	starts := make([]uint64, len(t.pixels)) // of each cell's colours in taken
	var sum uint64
	for cell, n := range t.pixels {
		starts[cell] = sum
		sum += t.share(n)
	}
	t.taken = make([]taken, sum)
	return t.each(ctx, func(part int) func(raster.Pixels, []uint32) {
		places := t.places(part)
		return func(row raster.Pixels, cells []uint32) {
			for x, cell := range cells {
				if cell == hidden {
					continue
				}
				p := &places[cell]
				if p.seen == p.next {
					t.taken[starts[cell]+uint64(p.run)] = taken{numbersOf(row, x), t.runLength(cell, p.run)}
					p.run++
					p.next = t.pick(cell, p.run)
				}
				p.seen++
			}
		}
	})
}

// place is where a part of the picture is among a cell's pixels.
type place struct {
	seen uint32 // pixels of the cell so far
	run  uint32 // the run whose pixel comes next
	next uint32 // which of the cell's pixels that is
}

// places returns where a part of the picture begins in every cell.
func (t *taking) places(part int) []place {
	places := make([]place, len(t.pixels))
	for cell := range places {
		p := &places[cell]
		for _, count := range t.counts[:part] {
			p.seen += count[cell]
		}
		if p.seen < t.pixels[cell] {
			p.run = uint32(uint64(p.seen) * t.share(t.pixels[cell]) / uint64(t.pixels[cell]))
		}
		if p.next = t.pick(uint32(cell), p.run); p.next < p.seen { // taken by the part before
			p.run++
			p.next = t.pick(uint32(cell), p.run)
		}
	}
	return places
}

// runStart returns the first pixel of a cell's run.
func (t *taking) runStart(cell, run uint32) uint32 {
	n := uint64(t.pixels[cell])
	share := t.share(t.pixels[cell])
	return uint32((uint64(run)*n + share - 1) / share)
}

func (t *taking) runLength(cell, run uint32) uint32 {
	return t.runStart(cell, run+1) - t.runStart(cell, run)
}

// pick returns which pixel of a cell is taken for a run, and one past the last
// pixel when there are no more runs.
func (t *taking) pick(cell, run uint32) uint32 {
	n := t.pixels[cell]
	if uint64(run) >= t.share(n) {
		return n
	}
	return t.runStart(cell, run) + scatter(cell, run)%t.runLength(cell, run)
}

// scatter returns a number that looks random and depends on its arguments alone: the
// finaliser of Murmur3 (A. Appleby, public domain), from memory.
func scatter(cell, run uint32) uint32 {
	v := cell*0x9e3779b9 ^ run*0x85ebca6b
	v = (v ^ v>>16) * 0x85ebca6b
	v = (v ^ v>>13) * 0xc2b2ae35
	return v ^ v>>16
}

// numbersOf packs a pixel's numbers, which are no more than four.
func numbersOf(row raster.Pixels, x int) (packed uint64) {
	for k := range row.Channels {
		packed = packed<<16 | uint64(number(row, x*row.Channels+k))
	}
	return packed
}

// colours returns what was taken, equal colours together.
func (t *taking) colours() *Colours {
	slices.SortFunc(t.taken, func(a, b taken) int { return cmp.Compare(a.numbers, b.numbers) })
	c := &Colours{Channels: t.channels}
	for i, v := range t.taken {
		if i > 0 && v.numbers == t.taken[i-1].numbers {
			c.Pixels[len(c.Pixels)-1] += float64(v.pixels)
			continue
		}
		c.Pixels = append(c.Pixels, float64(v.pixels))
		for k := t.channels - 1; k >= 0; k-- {
			c.Numbers = append(c.Numbers, float64(v.numbers>>(16*k)&0xffff)/65535)
		}
	}
	return c
}
