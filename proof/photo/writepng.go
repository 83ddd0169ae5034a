package photo

import (
	"bytes"
	"compress/flate"
	"compress/zlib"
	"context"
	"encoding/binary"
	"hash/adler32"
	"hash/crc32"
	"io"
	"math"

	"firstsheet/proof/raster"
)

// pngBand is a band of rows, filtered and compressed.
type pngBand struct {
	data  bytes.Buffer // deflate blocks that end on a byte
	plain int64        // bytes before compression
	sum   uint32       // their Adler-32
}

// writePNG writes a PNG without interlacing. Bands are compressed at the same time
// into one zlib stream (RFC 1950): each ends on a byte, and refers to nothing
// before it.
//
// The fastest level takes a quarter of the time of the usual one on a photograph,
// for an eighth more bytes.
func writePNG(ctx context.Context, f io.Writer, r Rows, opts WriteOptions) error {
	head, err := pngHead(r, opts)
	if err != nil {
		return err
	}
	return buffered(ctx, f, func(w io.Writer) error {
		if _, err := w.Write(head); err != nil {
			return err
		}
		sum := uint32(1)
		err := eachBand(ctx, r, r.bandHeight(), opts.Progress,
			func(_ int, px raster.Pixels) (*pngBand, error) { return packPNG(px) },
			func(b *pngBand) error {
				sum = adlerJoin(sum, b.sum, b.plain)
				_, err := w.Write(pngChunk("IDAT", b.data.Bytes()))
				return err
			})
		if err != nil {
			return err
		}
		// An empty last block, then the checksum of all that was compressed.
		end := binary.BigEndian.AppendUint32([]byte{1, 0, 0, 0xFF, 0xFF}, sum)
		if _, err := w.Write(pngChunk("IDAT", end)); err != nil {
			return err
		}
		_, err = w.Write(pngChunk("IEND", nil))
		return err
	})
}

// pngHead returns the signature and the chunks before the pixels.
func pngHead(r Rows, opts WriteOptions) ([]byte, error) {
	colour := byte(pngRGB)
	if r.Channels == 1 {
		colour = pngGrey
	}
	size := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(r.W)), uint32(r.H))
	b := append([]byte(pngSignature), pngChunk("IHDR", append(size, byte(r.Depth), colour, 0, 0, 0))...)
	if r.ICC != nil {
		z, err := deflated(r.ICC)
		if err != nil {
			return nil, err
		}
		// Any name of 1 to 79 letters, a zero, method 0 (PNG 11.3.2.3).
		b = append(b, pngChunk("iCCP", append([]byte("icc\x00\x00"), z...))...)
	}
	if opts.PPI > 0 {
		// PNG counts pixels a metre (11.3.4.3).
		perMetre := binary.BigEndian.AppendUint32(nil, uint32(math.Round(opts.PPI/0.0254)))
		b = append(b, pngChunk("pHYs", append(append(perMetre, perMetre...), 1))...)
	}
	if exif := opts.Carried.exifBlock(opts.PPI); exif != nil {
		b = append(b, pngChunk("eXIf", exif)...)
	}
	if xmp := opts.Carried.XMP; xmp != nil {
		// Keyword, not compressed, no language, no translated keyword (11.3.3.4).
		b = append(b, pngChunk("iTXt", append([]byte(pngXMPKeyword+"\x00\x00\x00\x00\x00"), xmp...))...)
	}
	// The zlib header: deflate, window of 32 KB, fastest level.
	return append(b, pngChunk("IDAT", []byte{0x78, 0x01})...), nil
}

func deflated(data []byte) ([]byte, error) {
	var z bytes.Buffer
	w := zlib.NewWriter(&z)
	if _, err := w.Write(data); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return z.Bytes(), nil
}

// packPNG filters and compresses a band.
func packPNG(px raster.Pixels) (*pngBand, error) {
	b := &pngBand{}
	z, err := flate.NewWriter(&b.data, flate.BestSpeed)
	if err != nil {
		return nil, err
	}
	sum := adler32.New()
	f := newPNGFilter(px)
	for y := range px.H {
		row := f.row(px.Rows(y, y+1), y == 0)
		b.plain += int64(len(row))
		sum.Write(row)
		if _, err := z.Write(row); err != nil {
			return nil, err
		}
	}
	b.sum = sum.Sum32()
	return b, z.Flush()
}

// pngFilter turns rows into differences (PNG 9.2), by the filter whose differences
// have the smallest sum (12.7).
type pngFilter struct {
	unit         int // bytes a pixel
	above, now   []byte
	sub, up, pae []byte
}

func newPNGFilter(px raster.Pixels) *pngFilter {
	unit := px.Channels
	if px.Deep() {
		unit *= 2
	}
	n := px.W * unit
	f := &pngFilter{unit: unit, above: make([]byte, n), now: make([]byte, n),
		sub: make([]byte, n+1), up: make([]byte, n+1), pae: make([]byte, n+1)}
	f.sub[0], f.up[0], f.pae[0] = 1, 2, 4
	return f
}

// row returns the filter's number and the row's differences. first says that the
// row above belongs to another band, so that only the left neighbour counts.
func (f *pngFilter) row(px raster.Pixels, first bool) []byte {
	f.above, f.now = f.now, f.above
	if px.P16 != nil {
		for i, v := range px.P16 {
			binary.BigEndian.PutUint16(f.now[2*i:], v)
		}
	} else {
		copy(f.now, px.P8)
	}
	sub, up, pae := f.sub[1:], f.up[1:], f.pae[1:]
	var sumSub, sumUp, sumPae int
	for i, v := range f.now {
		var left, corner byte
		if i >= f.unit {
			left, corner = f.now[i-f.unit], f.above[i-f.unit]
		}
		sub[i] = v - left
		up[i] = v - f.above[i]
		pae[i] = v - paeth(left, f.above[i], corner)
		sumSub += size8(sub[i])
		sumUp += size8(up[i])
		sumPae += size8(pae[i])
	}
	switch {
	case first || sumSub <= sumUp && sumSub <= sumPae:
		return f.sub
	case sumUp <= sumPae:
		return f.up
	}
	return f.pae
}

func size8(v byte) int {
	if d := int(int8(v)); d < 0 {
		return -d
	} else {
		return d
	}
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

// adlerJoin returns the Adler-32 of two pieces of data after each other from
// theirs; n is the second one's length (RFC 1950, 2.2: two sums modulo 65521).
func adlerJoin(first, second uint32, n int64) uint32 {
	const mod = 65521
	a1, b1 := uint64(first&0xFFFF), uint64(first>>16)
	a2, b2 := uint64(second&0xFFFF), uint64(second>>16)
	rest := uint64(n % mod)
	a := (a1 + a2 + mod - 1) % mod
	b := (b1 + b2 + rest*(a1+mod-1)) % mod
	return uint32(b<<16 | a)
}

func pngChunk(kind string, body []byte) []byte {
	b := make([]byte, 0, len(body)+12)
	b = binary.BigEndian.AppendUint32(b, uint32(len(body)))
	b = append(append(b, kind...), body...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}
