package photo

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"hash/crc32"
	"io"
)

// byRows tells whether a PNG is read row by row here: colour of 16 bits, of which the
// standard library makes pictures a third larger than the samples, beside them.
func (h *pngHeader) byRows() bool {
	return h.depth == 16 && !h.interlaced && !h.keyed && (h.colourType == pngRGB || h.colourType == pngRGBA)
}

// readPNGRows unpacks such a picture straight into its samples.
//
// Source: PNG (W3C, third edition), 7.2, 9 and 10.
func readPNGRows(ctx context.Context, data []byte, h *pngHeader) (*Picture, error) {
	p := &Picture{W: int(h.w), H: int(h.h), Channels: 3, Depth: 16}
	n := 3
	var alpha []uint16
	if h.colourType == pngRGBA {
		n = 4
		alpha = make([]uint16, p.W*p.H)
	}
	p.Pix16 = make([]uint16, 3*p.W*p.H)
	_, err := guarded("PNG", func() (int, error) {
		z, err := zlib.NewReader(bufio.NewReader(ctxReader{ctx, &pngData{data: data[len(pngSignature):]}}))
		if err != nil {
			return 0, err
		}
		defer z.Close()
		row, above := make([]byte, 1+2*n*p.W), make([]byte, 1+2*n*p.W)
		for y := range p.H {
			if _, err := io.ReadFull(z, row); err != nil {
				return 0, unexpected(err)
			}
			if err := unfilter(row[0], row[1:], above[1:], 2*n); err != nil {
				return 0, err
			}
			for x := range p.W {
				from := row[1+2*n*x:]
				to := p.Pix16[3*(y*p.W+x):]
				to[0], to[1], to[2] = binary.BigEndian.Uint16(from), binary.BigEndian.Uint16(from[2:]), binary.BigEndian.Uint16(from[4:])
				if alpha != nil {
					alpha[y*p.W+x] = binary.BigEndian.Uint16(from[6:])
				}
			}
			row, above = above, row
		}
		// The check sum stands behind the last row.
		if n, err := z.Read(row[:1]); n != 0 || err != io.EOF {
			if err == nil || err == io.EOF {
				return 0, damaged("PNG: more pixels than the header says")
			}
			return 0, unexpected(err)
		}
		return 0, nil
	})
	if err != nil {
		return nil, err
	}
	if alpha != nil {
		if p.Alpha, err = overPaper(ctx, p.Pix16, alpha, p.W, p.H, 3, alphaStraight); err != nil {
			return nil, err
		}
	}
	p.noteAlpha()
	return p, p.check()
}

// unfilter undoes the filter of a row. above is the row before, zeros before the first;
// size is the bytes of a pixel.
func unfilter(filter byte, row, above []byte, size int) error {
	switch filter {
	case 0:
	case 1:
		for i := size; i < len(row); i++ {
			row[i] += row[i-size]
		}
	case 2:
		for i, v := range above {
			row[i] += v
		}
	case 3:
		for i := range row {
			left := 0
			if i >= size {
				left = int(row[i-size])
			}
			row[i] += byte((left + int(above[i])) / 2)
		}
	case 4:
		for i := range row {
			var left, corner byte
			if i >= size {
				left, corner = row[i-size], above[i-size]
			}
			row[i] += paeth(left, above[i], corner)
		}
	default:
		return damaged("PNG: filter %d", filter)
	}
	return nil
}

// pngData is the contents of a PNG's IDAT chunks, one after the other. Each chunk's check
// sum is compared.
type pngData struct {
	data []byte // chunks that come
	body []byte // of this one, what is left
}

func (d *pngData) Read(b []byte) (int, error) {
	for len(d.body) == 0 {
		if len(d.data) < 12 {
			return 0, io.ErrUnexpectedEOF
		}
		n := int(binary.BigEndian.Uint32(d.data)) // within the file, as parsePNGHeader found
		kind, body := d.data[4:8], d.data[8:8+n]
		if string(kind) == "IEND" {
			return 0, io.EOF
		}
		if crc32.ChecksumIEEE(d.data[4:8+n]) != binary.BigEndian.Uint32(d.data[8+n:]) {
			return 0, damaged("PNG: the check sum of chunk %q is wrong", kind)
		}
		d.data = d.data[12+n:]
		if bytes.Equal(kind, []byte("IDAT")) {
			d.body = body
		}
	}
	n := copy(b, d.body)
	d.body = d.body[n:]
	return n, nil
}

// paeth returns the neighbour nearest to left + above - corner (PNG 9.4).
func paeth(left, above, corner byte) byte {
	a, b, c := int(left), int(above), int(corner)
	pa, pb := b-c, a-c
	pc := pa + pb
	pa, pb, pc = max(pa, -pa), max(pb, -pb), max(pc, -pc)
	switch {
	case pa <= pb && pa <= pc:
		return left
	case pb <= pc:
		return above
	}
	return corner
}
