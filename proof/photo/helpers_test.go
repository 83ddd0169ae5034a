package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

// cached returns a file of testdata/cache; a missing one fails the test.
func cached(t testing.TB, name string) string {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "cache", name)
	if _, err := os.Stat(path); err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	return path
}

func read(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func open(t testing.TB, path string) *Picture {
	t.Helper()
	p, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func openBytes(t testing.TB, data []byte) *Picture {
	t.Helper()
	p, err := OpenReader(t.Context(), "memory", bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// wantKind fails unless err is an *Error of that kind that names the path.
func wantKind(t *testing.T, err error, kind Kind, path string) {
	t.Helper()
	e, ok := errors.AsType[*Error](err)
	switch {
	case !ok:
		t.Errorf("error %v is %T, want *Error", err, err)
	case e.Kind != kind || e.Path != path || e.Err == nil:
		t.Errorf("error %v, kind %v, path %q; want kind %v, path %q", err, e.Kind, e.Path, kind, path)
	}
}

// samples returns the picture's samples as 16-bit numbers of unchanged value.
func (p *Picture) samples() []uint16 {
	if p.Depth == 16 {
		return p.Pix16
	}
	out := make([]uint16, len(p.Pix8))
	for i, v := range p.Pix8 {
		out[i] = uint16(v)
	}
	return out
}

// noise returns n samples of the given bits that are the same in each run.
func noise(n, bits int, seed uint64) []uint16 {
	r := rand.New(rand.NewPCG(seed, 1))
	out := make([]uint16, n)
	for i := range out {
		out[i] = uint16(r.Uint32() & (1<<bits - 1))
	}
	// The ends of the range are met for certain.
	out[0], out[n-1] = 0, 1<<bits-1
	return out
}

func equalSamples(t *testing.T, what string, got, want []uint16) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d samples, want %d", what, len(got), len(want))
		return
	}
	bad := 0
	for i := range got {
		if got[i] != want[i] {
			if bad++; bad == 1 {
				t.Errorf("%s: sample %d = %d, want %d", what, i, got[i], want[i])
			}
		}
	}
	if bad > 1 {
		t.Errorf("%s: %d of %d samples differ", what, bad, len(got))
	}
}

// fakeICC is a profile header of the given colour space and nothing that a
// colour engine could use; size is at least 132.
func fakeICC(colour string, size int) []byte {
	b := make([]byte, size)
	for i := range b {
		b[i] = byte(i * 7)
	}
	binary.BigEndian.PutUint32(b, uint32(size))
	copy(b[16:], colour)
	copy(b[36:], "acsp")
	return b
}

// pngFile builds a PNG by hand, PNG chapters 5, 7 and 9: rows without filter,
// chunks put between header and pixels.
func pngFile(w, h, depth int, colourType byte, samples []uint16, chunks ...[]byte) []byte {
	var rows [][]uint16
	for n := len(samples) / h; len(samples) > 0; samples = samples[n:] {
		rows = append(rows, samples[:n])
	}
	return pngOf(w, h, depth, colourType, 0, rows, chunks...)
}

// pngOf is pngFile for rows of any length.
func pngOf(w, h, depth int, colourType, interlaced byte, rows [][]uint16, chunks ...[]byte) []byte {
	header := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(w)), uint32(h))
	header = append(header, byte(depth), colourType, 0, 0, interlaced)
	out := append([]byte(pngSignature), pngChunk("IHDR", header)...)
	for _, c := range chunks {
		out = append(out, c...)
	}
	var raw []byte
	for _, row := range rows {
		raw = append(append(raw, 0), packRow(row, depth, binary.BigEndian)...)
	}
	var z bytes.Buffer
	zw := zlib.NewWriter(&z)
	zw.Write(raw)
	zw.Close()
	out = append(out, pngChunk("IDAT", z.Bytes())...)
	return append(out, pngChunk("IEND", nil)...)
}

func packRow(samples []uint16, bits int, order binary.ByteOrder) []byte {
	row := make([]byte, (len(samples)*bits+7)/8)
	for i, v := range samples {
		switch bits {
		case 16:
			order.PutUint16(row[2*i:], v)
		case 8:
			row[i] = byte(v)
		default:
			row[i*bits/8] |= byte(v) << (8 - bits - i*bits%8)
		}
	}
	return row
}

// iCCP is a PNG chunk with a profile.
func iCCP(icc []byte) []byte {
	var z bytes.Buffer
	z.WriteString("any name\x00\x00")
	zw := zlib.NewWriter(&z)
	zw.Write(icc)
	zw.Close()
	return pngChunk("iCCP", z.Bytes())
}

// flatJPEG builds a baseline JPEG by hand, T.81 annexes B and F: one block of
// 8 x 8 pixels a value, bw blocks a row, as many components as planes, in one
// scan. The quantiser of the mean is 8, so that a block has exactly its value.
// segments go before the frame header.
func flatJPEG(bw int, planes [][]byte, segments ...[]byte) []byte {
	n := len(planes)
	bh := len(planes[0]) / bw
	out := []byte{0xFF, 0xD8}
	for _, s := range segments {
		out = append(out, s...)
	}
	table := make([]byte, 65)
	for i := range table[1:] {
		table[1+i] = 1
	}
	table[1] = 8
	out = append(out, jpegSegment(0xDB, table)...)
	frame := []byte{8, byte(8 * bh >> 8), byte(8 * bh), byte(8 * bw >> 8), byte(8 * bw), byte(n)}
	scan := []byte{byte(n)}
	for c := range n {
		frame = append(frame, byte(c+1), 0x11, 0)
		scan = append(scan, byte(c+1), 0x00)
	}
	out = append(out, jpegSegment(0xC0, frame)...)
	// Mean: the sizes 0 to 8 as nine codes of four bits. Others: only "end of
	// block", one bit.
	dc := append([]byte{0x00, 0, 0, 0, 9, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}, 0, 1, 2, 3, 4, 5, 6, 7, 8)
	ac := append([]byte{0x10, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}, 0)
	out = append(out, jpegSegment(0xC4, append(dc, ac...))...)
	out = append(out, jpegSegment(0xDA, append(scan, 0, 63, 0))...)
	var acc uint64
	bits := 0
	put := func(v uint64, n int) {
		acc, bits = acc<<n|v, bits+n
		for bits >= 8 {
			b := byte(acc >> (bits - 8))
			bits -= 8
			if out = append(out, b); b == 0xFF {
				out = append(out, 0)
			}
		}
	}
	last := make([]int, n)
	for i := range planes[0] {
		for c := range n {
			v := int(planes[c][i]) - 128
			d := v - last[c]
			last[c] = v
			size := 0
			for m := max(d, -d); m > 0; m >>= 1 {
				size++
			}
			put(uint64(size), 4)
			if d < 0 {
				d += 1<<size - 1
			}
			put(uint64(d), size)
			put(0, 1)
		}
	}
	put(0x7F, 7)
	return append(out, 0xFF, 0xD9)
}

// adobe is the segment that says how components are to be understood: 0 as they
// are, 1 YCbCr, 2 YCCK.
func adobe(transform byte) []byte {
	return jpegSegment(0xEE, append([]byte("Adobe\x00\x64\x00\x00\x00\x00"), transform))
}

// iccSegments splits a profile into APP2 segments of at most size bytes.
func iccSegments(icc []byte, size int) [][]byte {
	var out [][]byte
	total := (len(icc) + size - 1) / size
	for i := range total {
		body := append([]byte(iccMarker), byte(i+1), byte(total))
		out = append(out, jpegSegment(0xE2, append(body, icc[i*size:min(len(icc), (i+1)*size)]...)))
	}
	return out
}

// exifBlock is an Exif structure with an orientation and, when interop is set, a
// colour space mark and an interoperability index.
func exifBlock(order binary.ByteOrder, orientation, colour uint16, interop string) []byte {
	mark := "II"
	if order == binary.BigEndian {
		mark = "MM"
	}
	b := []byte(mark)
	put16 := func(v uint16) { b = append(b, 0, 0); order.PutUint16(b[len(b)-2:], v) }
	put32 := func(v uint32) { b = append(b, 0, 0, 0, 0); order.PutUint32(b[len(b)-4:], v) }
	short := func(tag, v uint16) { put16(tag); put16(tiffShort); put32(1); put16(v); put16(0) }
	long := func(tag uint16, v uint32) { put16(tag); put16(tiffLong); put32(1); put32(v) }
	put16(42)
	put32(8)
	// At 8: two entries, 30 bytes with count and next.
	put16(2)
	short(tagOrientation, orientation)
	long(tagExifDir, 38)
	put32(0)
	// At 38.
	put16(2)
	short(tagColorSpace, colour)
	long(tagInteropDir, 68)
	put32(0)
	// At 68.
	put16(1)
	put16(tagInteropIndex)
	put16(2) // ASCII
	put32(4)
	b = append(b, (interop + "\x00\x00\x00\x00")[:4]...)
	put32(0)
	return b
}

// webpFile wraps chunks into a RIFF container.
func webpFile(chunks ...[]byte) []byte {
	body := []byte("WEBP")
	for _, c := range chunks {
		body = append(body, c...)
	}
	return append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
}

func webpChunk(kind string, body []byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte(kind), uint32(len(body)))
	b = append(b, body...)
	if len(body)&1 == 1 {
		b = append(b, 0)
	}
	return b
}
