package photo

import (
	"encoding/binary"
	"slices"
)

// pngLayout is how the samples of a PNG lie in its rows.
type pngLayout struct {
	w, h       int
	bits       int // 1, 2, 4, 8 or 16 a sample
	samples    int // stored for each pixel, its opacity among them; 1 for a palette's index
	channels   int // of what comes out
	interlaced bool
	opacity    bool           // the last sample is one
	opacities  bool           // that or another way to have some
	table      *[256][4]uint8 // of a palette: red, green, blue and opacity
	key        []uint16       // the colour that is transparent, a number for each sample; nil when none
}

func (h *pngHeader) layout() *pngLayout {
	l := &pngLayout{w: int(h.w), h: int(h.h), bits: int(h.depth), interlaced: h.interlaced}
	l.opacity = h.colourType == pngGreyAlpha || h.colourType == pngRGBA
	switch h.colourType {
	case pngGrey, pngGreyAlpha:
		l.samples, l.channels = 1, 1
	case pngPalette:
		l.samples, l.channels = 1, 3
		l.table = h.table()
		l.opacities = slices.ContainsFunc(l.table[:], func(c [4]uint8) bool { return c[3] < 255 })
	default:
		l.samples, l.channels = 3, 3
	}
	if l.opacity {
		l.samples++
	}
	for k := h.keyed; l.table == nil && len(k) >= 2; k = k[2:] {
		// Bits above the sample's own count for nothing (11.3.1.1).
		l.key = append(l.key, binary.BigEndian.Uint16(k)&(1<<l.bits-1)*uint16(l.scale()))
	}
	l.opacities = l.opacities || l.opacity || l.key != nil
	return l
}

// table returns the palette. An index without an entry is black, as all readers have it.
func (h *pngHeader) table() *[256][4]uint8 {
	t := new([256][4]uint8)
	for i := range t {
		t[i][3] = 255
		if 3*i+3 <= len(h.palette) {
			copy(t[i][:3], h.palette[3*i:])
		}
		if i < len(h.keyed) {
			t[i][3] = h.keyed[i]
		}
	}
	return t
}

// scale is what samples of fewer than 8 bits are multiplied by.
func (l *pngLayout) scale() int {
	if l.bits >= 8 {
		return 1
	}
	return 255 / (1<<l.bits - 1)
}

// outDepth is how many bits come out.
func (l *pngLayout) outDepth() int { return max(8, l.bits) }

// rowBytes is how many bytes of a row stand for w pixels.
func (l *pngLayout) rowBytes(w int) int64 { return (int64(w)*int64(l.samples*l.bits) + 7) / 8 }

// pixelBytes is how many bytes a pixel takes while it is read, opacities among them.
func (l *pngLayout) pixelBytes() int {
	n := l.outDepth() / 8
	if l.opacities {
		return n*l.channels + n + 1
	}
	return n * l.channels
}

// memory returns how much reading takes at most beside the file.
func (l *pngLayout) memory(orientation int) int64 {
	pixels := int64(l.w) * int64(l.h)
	samples := int64(l.channels*l.outDepth()/8) * pixels
	return max(int64(l.pixelBytes())*pixels, turnedTimes(orientation)*samples+pixels)
}

// spreadPNG lays out the samples of a row: colours into to, opacities into alpha where there are
// any.
func spreadPNG[T sample](l *pngLayout, to, alpha []T, row []byte) {
	switch {
	case l.table != nil:
		for x := range len(to) / 3 {
			c := &l.table[bitsAt(row, x, l.bits)]
			to[3*x], to[3*x+1], to[3*x+2] = T(c[0]), T(c[1]), T(c[2])
			if alpha != nil {
				alpha[x] = T(c[3])
			}
		}
	case l.bits < 8:
		scale := uint8(l.scale())
		for x := range to {
			to[x] = T(bitsAt(row, x, l.bits) * scale)
		}
	case l.opacity:
		n := l.channels
		for x := range alpha {
			for c := range n {
				to[n*x+c] = bigEndian[T](row, (n+1)*x+c)
			}
			alpha[x] = bigEndian[T](row, (n+1)*x+n)
		}
	default:
		spread(to, row, binary.BigEndian)
	}
	if l.key != nil {
		spreadKey(l, to, alpha)
	}
}

// spreadKey makes transparent what has the one colour, and the rest opaque.
func spreadKey[T sample](l *pngLayout, to, alpha []T) {
	for x := range alpha {
		keyed := true
		for c, k := range l.key {
			keyed = keyed && to[l.channels*x+c] == T(k)
		}
		if alpha[x] = ^T(0); keyed {
			alpha[x] = 0
		}
	}
}

// bigEndian returns sample i of a row of whole bytes.
func bigEndian[T sample](row []byte, i int) T {
	if maxOf[T]() == 255 {
		return T(row[i])
	}
	return T(binary.BigEndian.Uint16(row[2*i:]))
}

// bitsAt returns sample i of a row, of 8 bits or of some that divide them, the first on top.
func bitsAt(row []byte, i, bits int) uint8 {
	bit := i * bits
	return row[bit/8] >> (8 - bits - bit%8) & (1<<bits - 1)
}
