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
// Of a photograph's differences hardly any come again: Huffman codes alone take a third of the
// time of the fastest level that looks for them, and no more bytes. Bands that are mostly
// flat, as of charts and drawings, are looked through.
func writePNG(ctx context.Context, f io.Writer, r Rows, opts WriteOptions) error {
	r = r.unpadded()
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

// flatShare is the share of zeros among the differences of a band from which on it is
// looked through for what comes again.
const flatShare = 0.5

// packPNG filters and compresses a band.
func packPNG(px raster.Pixels) (*pngBand, error) {
	f := newPNGFilter(px)
	rows := make([]byte, 0, px.H*(1+len(f.now)))
	for y := range px.H {
		rows = f.row(rows, px.Rows(y, y+1), y == 0)
	}
	level := flate.HuffmanOnly
	if float64(bytes.Count(rows, []byte{0})) > flatShare*float64(len(rows)) {
		level = flate.BestSpeed
	}
	b := &pngBand{plain: int64(len(rows)), sum: adler32.Checksum(rows)}
	z, err := flate.NewWriter(&b.data, level)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(rows); err != nil {
		return nil, err
	}
	return b, z.Flush()
}

// Filters of PNG 9.2: differences from the pixel to the left, from the one above, and from
// the mean of both. Paeth's would make files smaller by a twentieth, and takes four times as
// long.
const (
	pngSub = iota + 1
	pngUp
	pngAverage
)

// pngFilter turns rows into differences, by the filter whose differences have the smallest
// sum (12.7) among some of the row's pixels.
type pngFilter struct {
	unit       int // bytes a pixel
	above, now []byte
}

func newPNGFilter(px raster.Pixels) *pngFilter {
	unit := px.Channels
	if px.Deep() {
		unit *= 2
	}
	n := px.W * unit
	return &pngFilter{unit: unit, above: make([]byte, n), now: make([]byte, n)}
}

// row appends the filter's number and the row's differences. first says that the row above
// belongs to another band, so that only the left neighbour counts.
func (f *pngFilter) row(dst []byte, px raster.Pixels, first bool) []byte {
	f.above, f.now = f.now, f.above
	if px.P16 != nil {
		for i, v := range px.P16 {
			binary.BigEndian.PutUint16(f.now[2*i:], v)
		}
	} else {
		copy(f.now, px.P8)
	}
	filter := byte(pngSub)
	if !first {
		filter = f.best()
	}
	n := len(dst) + 1
	dst = append(append(dst, filter), f.now...)
	out, above, left := dst[n:][:len(f.now)], f.above[:len(f.now)], f.now[:len(f.now)-f.unit]
	switch filter {
	case pngSub:
		for i, v := range left {
			out[f.unit+i] -= v
		}
	case pngUp:
		for i, v := range above {
			out[i] -= v
		}
	case pngAverage:
		for i, v := range above[:f.unit] {
			out[i] -= v / 2
		}
		out, above := out[f.unit:][:len(left)], above[f.unit:][:len(left)]
		for i, v := range left {
			out[i] -= byte((uint(v) + uint(above[i])) / 2)
		}
	}
	return dst
}

// looked is that each so many pixels one is looked at to find the best filter.
const looked = 7

// best returns the filter whose differences are smallest.
func (f *pngFilter) best() byte {
	var sums [pngAverage + 1]int
	for at := f.unit; at < len(f.now); at += looked * f.unit {
		for i := at; i < at+f.unit; i++ {
			v, left, above := f.now[i], f.now[i-f.unit], f.above[i]
			sums[pngSub] += size8(v - left)
			sums[pngUp] += size8(v - above)
			sums[pngAverage] += size8(v - byte((uint(left)+uint(above))/2))
		}
	}
	best := pngSub
	for k := pngUp; k <= pngAverage; k++ {
		if sums[k] < sums[best] {
			best = k
		}
	}
	return byte(best)
}

func size8(v byte) int {
	if d := int(int8(v)); d < 0 {
		return -d
	} else {
		return d
	}
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
