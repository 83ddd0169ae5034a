package photo

import (
	"context"
	"encoding/binary"
)

// readBlock unpacks one block and spreads its samples. plane counts only when
// planes are separate; x0, y0 is the block's corner in the picture.
func readBlock[T sample](ctx context.Context, raw []byte, l *tiffLayout, plane, x0, y0 int, pix, alpha []T) error {
	n := l.samples
	if l.separate {
		n = 1
	}
	rowBytes := (l.bw*n*l.bits + 7) / 8
	// The last strip is short; rows of a tile below the picture are padding.
	rows := min(l.bh, l.h-y0)
	cols := min(l.bw, l.w-x0)
	return unpack(ctx, raw, l, rowBytes, rows, func(r int, row []byte) {
		if l.predictor {
			undoPredictor(row, n, l.bits, l.order)
		}
		out := (y0+r)*l.w + x0
		if n == l.channels && !l.separate && l.bits >= 8 {
			spread(pix[out*n:(out+cols)*n], row, l.order)
			return
		}
		for x := range cols {
			for s := range n {
				v := sampleAt[T](row, x*n+s, l)
				which := s
				if l.separate {
					which = plane
				}
				if which < l.channels {
					pix[(out+x)*l.channels+which] = v
				} else if which == l.alpha {
					alpha[out+x] = v
				}
			}
		}
	})
}

// sampleAt returns sample i of a row, scaled to T unless it is a palette's index.
func sampleAt[T sample](row []byte, i int, l *tiffLayout) T {
	switch l.bits {
	case 16:
		return T(l.order.Uint16(row[2*i:]))
	case 8:
		return T(row[i])
	}
	bit := i * l.bits
	v := row[bit/8] >> (8 - l.bits - bit%8) & (1<<l.bits - 1)
	if l.photometric == tiffPalette {
		return T(v)
	}
	return T(int(v) * 255 / (1<<l.bits - 1))
}

// spread lays out samples of 8 or 16 bits that are all of them the picture's own.
func spread[T sample](to []T, row []byte, order binary.ByteOrder) {
	switch to := any(to).(type) {
	case []uint8:
		copy(to, row)
	case []uint16:
		if order == binary.BigEndian {
			for i := range to {
				to[i] = binary.BigEndian.Uint16(row[2*i:])
			}
			return
		}
		for i := range to {
			to[i] = binary.LittleEndian.Uint16(row[2*i:])
		}
	}
}

// undoPredictor turns differences between neighbouring pixels back into samples
// (TIFF 6.0, section 14). n samples a pixel, 8 or 16 bits.
func undoPredictor(row []byte, n, bits int, order binary.ByteOrder) {
	if bits == 8 {
		for i := n; i < len(row); i++ {
			row[i] += row[i-n]
		}
		return
	}
	if order == binary.BigEndian {
		for i := 2 * n; i+1 < len(row); i += 2 {
			binary.BigEndian.PutUint16(row[i:], binary.BigEndian.Uint16(row[i:])+binary.BigEndian.Uint16(row[i-2*n:]))
		}
		return
	}
	for i := 2 * n; i+1 < len(row); i += 2 {
		binary.LittleEndian.PutUint16(row[i:], binary.LittleEndian.Uint16(row[i:])+binary.LittleEndian.Uint16(row[i-2*n:]))
	}
}
