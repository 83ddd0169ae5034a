package photo

import (
	"bufio"
	"context"
	"encoding/binary"
	"hash/crc32"
	"io"

	"firstsheet/proof/raster"
)

// pngRows unpacks the rows of a PNG, one after the other; those of an interlaced one all at
// once.
//
// Source: PNG (W3C, third edition), 7 to 10.
type pngRows struct {
	*pngLayout
	data       *pngData
	filtered   *ahead // nil before the first row
	row, above []byte // unfiltered, but for the first byte, which tells how
	left       int    // rows
}

func newPNGRows(src source, l *pngLayout) *pngRows {
	return &pngRows{pngLayout: l, data: newPNGData(src), left: l.h}
}

func (p *pngRows) next(ctx context.Context, px raster.Pixels) ([]uint8, error) {
	if p.bits == 16 {
		return nextPNG(ctx, p, px, px.P16)
	}
	return nextPNG(ctx, p, px, px.P8)
}

func (p *pngRows) Close() {
	if p.filtered != nil {
		p.filtered.Close()
	}
}

func nextPNG[T sample](ctx context.Context, p *pngRows, px raster.Pixels, to []T) ([]uint8, error) {
	var alpha []T
	if p.opacities {
		alpha = make([]T, px.W*px.H)
	}
	_, err := guarded("PNG", func() (none struct{}, err error) {
		if err := p.begin(ctx); err != nil {
			return none, err
		}
		if p.interlaced {
			err = readPasses(p, to, alpha)
		} else {
			err = readRows(p, to, alpha, px.W, px.H)
		}
		if p.left -= px.H; err == nil && p.left == 0 {
			err = p.end()
		}
		return none, err
	})
	if err != nil || alpha == nil {
		return nil, err
	}
	return overPaper(ctx, to, alpha, px.W, px.H, px.Channels, alphaStraight)
}

// begin gets ready to go on under ctx.
func (p *pngRows) begin(ctx context.Context) (err error) {
	if p.filtered == nil {
		if p.filtered, err = unpackAhead(p.data); err != nil {
			return err
		}
		p.row, p.above = make([]byte, 1+p.rowBytes(p.w)), make([]byte, 1+p.rowBytes(p.w))
	}
	p.filtered.ctx = ctx
	return nil
}

// readRows lays out h rows of w pixels.
func readRows[T sample](p *pngRows, to, alpha []T, w, h int) error {
	n := w * p.channels
	for y := range h {
		row, err := p.readRow(w)
		if err != nil {
			return err
		}
		var opacities []T
		if alpha != nil {
			opacities = alpha[y*w : (y+1)*w]
		}
		spreadPNG(p.pngLayout, to[y*n:(y+1)*n], opacities, row)
	}
	return nil
}

// readPasses puts an interlaced picture together: seven pictures, each of which has some of its
// columns and rows (PNG 8).
func readPasses[T sample](p *pngRows, to, alpha []T) error {
	for _, s := range [7]struct{ x, y, dx, dy int }{{0, 0, 8, 8}, {4, 0, 8, 8}, {0, 4, 4, 8}, {2, 0, 4, 4}, {0, 2, 2, 4}, {1, 0, 2, 2}, {0, 1, 1, 2}} {
		w, h, n := (p.w-s.x+s.dx-1)/s.dx, (p.h-s.y+s.dy-1)/s.dy, p.channels
		if w == 0 {
			continue
		}
		clear(p.above)
		row := make([]T, w*n)
		var opacities []T
		if alpha != nil {
			opacities = make([]T, w)
		}
		for y := range h {
			if err := readRows(p, row, opacities, w, 1); err != nil {
				return err
			}
			at := (s.y+y*s.dy)*p.w + s.x
			for x := range w {
				copy(to[at*n:(at+1)*n], row[x*n:])
				if alpha != nil {
					alpha[at] = opacities[x]
				}
				at += s.dx
			}
		}
	}
	return nil
}

// readRow unpacks a row of w pixels and undoes its filter. What comes back is good until the
// next but one.
func (p *pngRows) readRow(w int) ([]byte, error) {
	n := 1 + p.rowBytes(w)
	row, above := p.row[:n], p.above[:n]
	if _, err := io.ReadFull(p.filtered, row); err != nil {
		return nil, unexpected(err)
	}
	p.row, p.above = p.above, p.row
	return row[1:], unfilter(row[0], row[1:], above[1:], max(1, p.samples*p.bits/8))
}

// end looks at what stands behind the last row: the check sum of the pixels and other chunks.
func (p *pngRows) end() error {
	switch n, err := io.ReadFull(p.filtered, p.row[:1]); {
	case n != 0:
		return damaged("PNG: more pixels than the header says")
	case err != io.EOF:
		return err
	}
	p.filtered.Close() // it reads no more of the data
	return p.data.end()
}

// pngBuffer is how much of a PNG is read from the file at a time.
const pngBuffer = 64 << 10

// pngData is the contents of a PNG's IDAT chunks, one after the other. Each chunk's check sum is
// compared, those of others too.
type pngData struct {
	r    *bufio.Reader
	head [8]byte
	kind string // of the chunk that is being read
	left int    // bytes of it
	sum  uint32
	over bool // the pixels, which stand together
}

func newPNGData(src source) *pngData {
	const at = int64(len(pngSignature))
	return &pngData{r: bufio.NewReaderSize(io.NewSectionReader(src, at, src.Size()-at), pngBuffer)}
}

func (d *pngData) Read(b []byte) (int, error) {
	for !d.over && (d.kind != "IDAT" || d.left == 0) {
		if err := d.advance(); err != nil {
			return 0, err
		}
	}
	if d.over {
		return 0, io.EOF
	}
	n, err := d.r.Read(b[:min(len(b), d.left)])
	d.take(b[:n])
	return n, unexpected(err)
}

// take counts bytes of the chunk as read.
func (d *pngData) take(b []byte) {
	d.sum = crc32.Update(d.sum, crc32.IEEETable, b)
	d.left -= len(b)
}

// advance passes over the rest of a chunk and begins the next one.
func (d *pngData) advance() error {
	pixels := d.kind == "IDAT"
	if d.kind != "" {
		if err := d.finish(); err != nil {
			return err
		}
	}
	if _, err := io.ReadFull(d.r, d.head[:]); err != nil {
		return unexpected(err)
	}
	d.left = int(binary.BigEndian.Uint32(d.head[:])) // within the file, as parsePNGHeader found
	d.kind, d.sum = string(d.head[4:]), crc32.ChecksumIEEE(d.head[4:])
	if d.over && d.kind == "IDAT" {
		return damaged("PNG: other chunks stand among its pixels")
	}
	d.over = d.over || pixels && d.kind != "IDAT"
	return nil
}

// finish passes over the rest of a chunk and compares its sum.
func (d *pngData) finish() error {
	for d.left > 0 {
		b, err := d.r.Peek(min(d.left, pngBuffer))
		if len(b) == 0 {
			return unexpected(err)
		}
		d.take(b)
		if _, err := d.r.Discard(len(b)); err != nil {
			return err
		}
	}
	if _, err := io.ReadFull(d.r, d.head[:4]); err != nil {
		return unexpected(err)
	}
	if binary.BigEndian.Uint32(d.head[:]) != d.sum {
		return damaged("PNG: the check sum of chunk %q is wrong", d.kind)
	}
	return nil
}

// end looks at the chunks behind the pixels.
func (d *pngData) end() error {
	for d.kind != "IEND" {
		if err := d.advance(); err != nil {
			return err
		}
	}
	return d.finish()
}
