package overlay

import (
	"encoding/binary"
	"image/color"
)

// ink is a colour that is mixed into pixels, as factors for two of the four bytes of each
// at a time.
type ink struct{ keep, even, odd uint64 }

// inks are what pixels are drawn with, by their marks.
type inks [anyMarks]ink

// newInk returns an opaque colour mixed in by alpha of 256.
func newInk(c color.NRGBA, alpha int) ink {
	two := func(a, b uint8) uint64 { return (uint64(a) | uint64(b)<<16) * uint64(alpha) * (1 | 1<<32) }
	return ink{keep: uint64(256 - alpha), even: two(c.R, c.B), odd: two(c.G, 255)}
}

// over mixes the ink into two pixels: red, green, blue and an opaque alpha each, the
// first in the lowest bits.
func (k ink) over(p uint64) uint64 {
	const mask = 0x00ff00ff00ff00ff
	return (p&mask*k.keep+k.even)>>8&mask | (p>>8&mask*k.keep+k.odd)&^uint64(mask)
}

// on mixes the ink into one pixel.
func (k ink) on(p []uint8) {
	binary.LittleEndian.PutUint32(p, uint32(k.over(uint64(binary.LittleEndian.Uint32(p)))))
}

// blend draws a row of pixels by their marks, of which there are at least as many.
func blend(p []uint8, marks []uint8, in *inks) {
	for ; len(p) >= 32; p, marks = p[32:], marks[8:] {
		switch m := eight(marks, 0); {
		case m == 0:
		case m == m%256*eachByte:
			k := &in[m%anyMarks]
			for i := 0; i < 32; i += 8 {
				binary.LittleEndian.PutUint64(p[i:], k.over(binary.LittleEndian.Uint64(p[i:])))
			}
		default:
			for i := 0; i < 8; i++ {
				in[m>>(8*i)%anyMarks].on(p[4*i:])
			}
		}
	}
	for ; len(p) > 0; p, marks = p[4:], marks[1:] {
		in[marks[0]%anyMarks].on(p)
	}
}
