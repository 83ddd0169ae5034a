package overlay

import (
	"encoding/binary"
	"image"
	"image/color"
	"math/bits"

	"firstsheet/proof"
	"firstsheet/proof/raster"
)

// heavy is the width of the line round a band, which stands inside it: the wider the
// farther out.
func heavy(line, band int) int { return line + line*(band-1)/2 }

func heaviest(line int) int { return heavy(line, proof.Bands-1) }

// paint tints the bands from limit on and draws the contours between them: a dark line on
// the far side of an edge and a light one on the near side, so that one of the two shows
// on any picture. alpha is the tints', of 256.
func (f *Field) paint(dst *image.RGBA, at image.Point, b *bands, limit float64, alpha int) {
	c, in := newContours(b, max(Band(limit), 1), f.line), bandInks(alpha)
	raster.InRows(f.H, func(y0, y1 int) {
		marks := make([]uint8, (f.W+7)/8*8)
		for y := y0; y < y1; y++ {
			c.mark(marks, y)
			blend(pixels(dst, at, f.W, y), marks, in)
		}
	})
}

// pixels returns the bytes of w pixels of row y of what is drawn from at on.
func pixels(dst *image.RGBA, at image.Point, w, y int) []uint8 {
	return dst.Pix[dst.PixOffset(at.X, at.Y+y):][:4*w]
}

// Marks: what is drawn on a pixel. The lower bits are the code of its band.
const (
	farSide  = 0x10
	nearSide = 0x20
	anyMarks = 0x40
)

// bandInks returns what marks are drawn with.
func bandInks(alpha int) *inks {
	var in inks
	lineInk := func(grey uint8) ink { return newInk(color.NRGBA{grey, grey, grey, 255}, 210) }
	for mark := range in {
		switch band := bits.Len(uint(mark % farSide)); {
		case mark&farSide != 0:
			in[mark] = lineInk(0)
		case mark&nearSide != 0:
			in[mark] = lineInk(255)
		case band > 0:
			in[mark] = newInk(Tint(band), alpha)
		default:
			in[mark] = newInk(color.NRGBA{}, 0)
		}
	}
	return &in
}

// contours finds the lines between bands, eight pixels at a time: a byte of a word each.
type contours struct {
	bands *bands
	from  uint64 // the bits of the codes that count
	// wide says, for the distances from 1 on, by which bit of their codes pixels belong to
	// bands that have so wide a line; -1 where all have.
	wide []int
}

const eachByte = 0x0101010101010101

func newContours(b *bands, lowest, line int) *contours {
	c := &contours{bands: b, from: eachByte * uint64(farSide-1<<(lowest-1))}
	for d := 1; d <= heaviest(line); d++ {
		least := 0
		for heavy(line, least) < d {
			least++
		}
		if least > 0 {
			least = max(least, lowest)
		}
		c.wide = append(c.wide, least-1)
	}
	return c
}

// mark writes the marks of row y.
func (c *contours) mark(marks []uint8, y int) {
	margin, row := c.bands.margin, c.bands.row(y)
	for x := 0; x < len(marks); x += 8 {
		binary.LittleEndian.PutUint64(marks[x:], eight(row, margin+x)&c.from)
	}
	for i, bit := range c.wide {
		d := i + 1
		up, down := c.bands.row(y-d), c.bands.row(y+d)
		c.across(marks, bit, row[margin-d:], row[margin+d:], up[margin:], down[margin:])
	}
}

// across marks the pixels that have another band at one distance, to the left, right, up
// or down.
func (c *contours) across(marks []uint8, wide int, left, right, up, down []uint8) {
	for x := 0; x < len(marks); x += 8 {
		m := eight(marks, x)
		own := m & (eachByte * (farSide - 1))
		l, r, u, d := eight(left, x), eight(right, x), eight(up, x), eight(down, x)
		within := ^uint64(0)
		if wide >= 0 {
			within = own >> wide & eachByte * 0xff
		}
		far := own &^ (l & r & u & d) & within
		near := (l | r | u | d) & c.from &^ own & within
		binary.LittleEndian.PutUint64(marks[x:], m|ifAny(far)*farSide|ifAny(near)*nearSide)
	}
}

// eight returns eight codes from at on.
func eight(codes []uint8, at int) uint64 { return binary.LittleEndian.Uint64(codes[at:]) }

// ifAny returns 1 in each byte of codes that is not 0.
func ifAny(codes uint64) uint64 { return (codes + eachByte*(farSide-1)) / farSide & eachByte }
