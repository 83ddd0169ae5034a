package photo

import (
	"context"
	"encoding/binary"
	"sync"

	"firstsheet/proof/raster"
)

// tiffRows lays out the rows of a TIFF, one after the other, from tiles or strips that are unpacked
// side by side.
type tiffRows struct {
	*tiffLayout
	src source
	y   int // the row that comes next

	mu   sync.Mutex
	open map[int]*tiffBlock // blocks that have begun and of which rows are left, by their numbers
}

func newTIFFRows(src source, l *tiffLayout) *tiffRows {
	return &tiffRows{tiffLayout: l, src: src, open: map[int]*tiffBlock{}}
}

func (t *tiffRows) next(ctx context.Context, px raster.Pixels) ([]uint8, error) {
	if t.bits == 16 {
		return nextTIFF(ctx, t, px, px.P16)
	}
	return nextTIFF(ctx, t, px, px.P8)
}

func (t *tiffRows) Close() {
	for _, b := range t.open {
		b.close()
	}
	clear(t.open)
}

func nextTIFF[T sample](ctx context.Context, t *tiffRows, px raster.Pixels, to []T) ([]uint8, error) {
	var alpha []T
	if t.alpha >= 0 {
		alpha = make([]T, px.W*px.H)
	}
	y0, y1 := t.y, t.y+px.H
	planes := t.planes()
	first, row := y0/t.bh, len(planes)*t.across // of blocks
	err := parallel(ctx, ((y1-1)/t.bh+1-first)*row, func(i int) error {
		b := t.take(first+i/row, planes[i%row/t.across], i%t.across)
		err := b.read(ctx, t, y1, func(line []byte) {
			at := (b.y-y0)*t.w + b.x0
			var opacities []T
			if alpha != nil {
				opacities = alpha[at : at+b.cols]
			}
			spreadTIFF(t.tiffLayout, to[at*px.Channels:(at+b.cols)*px.Channels], opacities, line, b.plane)
		})
		t.leave(b)
		return err
	})
	t.y = y1
	if err != nil || alpha == nil {
		return nil, err
	}
	return overPaper(ctx, to, alpha, px.W, px.H, px.Channels, t.alphaKind)
}

// take returns a block to go on with.
func (t *tiffRows) take(down, plane, across int) *tiffBlock {
	number := (plane*t.down+down)*t.across + across
	t.mu.Lock()
	defer t.mu.Unlock()
	if b := t.open[number]; b != nil {
		delete(t.open, number)
		return b
	}
	x, y := across*t.bw, down*t.bh
	return &tiffBlock{number: number, plane: plane, x0: x, y0: y, y: y, cols: min(t.bw, t.w-x), end: min(t.h, y+t.bh)}
}

// leave keeps a block until its other rows are wanted.
func (t *tiffRows) leave(b *tiffBlock) {
	if b.rest == nil {
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.open[b.number] = b
}

// spreadTIFF lays out some pixels of a block's row: colours into to, opacities into alpha where
// there are any. plane counts only when planes are separate.
func spreadTIFF[T sample](l *tiffLayout, to, alpha []T, row []byte, plane int) {
	n := l.stored()
	if n == l.channels && !l.separate && l.bits >= 8 && l.palette == nil {
		spread(to, row, l.order)
		if l.photometric == tiffWhiteIsZero {
			invert(to)
		}
		return
	}
	channels := l.outChannels()
	for x := range len(to) / channels {
		for s := range n {
			v, which := sampleAt[T](row, x*n+s, l), s+plane
			switch {
			case which == l.alpha:
				alpha[x] = v
			case which >= l.channels:
			case l.palette != nil:
				for c, v := range l.palette[v] {
					to[3*x+c] = T(v)
				}
			case l.photometric == tiffWhiteIsZero:
				to[x] = ^v
			default:
				to[channels*x+which] = v
			}
		}
	}
}

// invert turns samples round for which white is zero.
func invert[T sample](to []T) {
	for i, v := range to {
		to[i] = ^v
	}
}

// sampleAt returns sample i of a row, scaled to T unless it is a palette's index.
func sampleAt[T sample](row []byte, i int, l *tiffLayout) T {
	if l.bits == 16 {
		return T(l.order.Uint16(row[2*i:]))
	}
	v := bitsAt(row, i, l.bits)
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
		spread16(to, row, order == binary.BigEndian)
	}
}

// spread16 lays out samples of 16 bits, four at a time.
func spread16(to []uint16, row []byte, big bool) {
	const low = 0x00FF00FF00FF00FF // bytes of four samples
	for ; len(to) >= 4; to, row = to[4:], row[8:] {
		v := binary.LittleEndian.Uint64(row)
		if big {
			v = v>>8&low | v&low<<8
		}
		to[0], to[1], to[2], to[3] = uint16(v), uint16(v>>16), uint16(v>>32), uint16(v>>48)
	}
	for i := range to {
		if to[i] = binary.LittleEndian.Uint16(row[2*i:]); big {
			to[i] = to[i]>>8 | to[i]<<8
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
