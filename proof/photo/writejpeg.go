package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"firstsheet/proof/raster"
)

const (
	// jpegICCChunk is the most profile bytes that fit one APP2 segment: 65,535
	// less the length (2), the identifier (12) and the two numbers.
	jpegICCChunk  = 65519
	jpegXMPMarker = "http://ns.adobe.com/xap/1.0/\x00"
	pngXMPKeyword = "XML:com.adobe.xmp"
)

// writeJPEG writes a baseline JPEG, grey or YCbCr of full resolution (4:4:4; the
// standard library halves it). Each row of blocks is a restart interval (T.81,
// E.1.4), so that bands can be packed at the same time.
func writeJPEG(ctx context.Context, f io.Writer, r Rows, opts WriteOptions) error {
	head, err := jpegHead(r, opts)
	if err != nil {
		return err
	}
	e := newJPEGEncoder(quality(opts), r.Channels)
	blockRows := (r.H + 7) / 8
	return buffered(ctx, f, func(w io.Writer) error {
		if _, err := w.Write(append(head, e.tables(r)...)); err != nil {
			return err
		}
		err := eachBand(ctx, r, r.bandHeight(), opts.Progress, func(y0 int, px raster.Pixels) (*bytes.Buffer, error) {
			var out bytes.Buffer
			for y := 0; y < px.H; y += 8 {
				e.blockRow(&out, px.Rows(y, min(px.H, y+8)))
				if n := (y0 + y) / 8; n < blockRows-1 {
					out.Write([]byte{0xFF, 0xD0 + byte(n%8)})
				}
			}
			return &out, nil
		}, bytesTo(w))
		if err != nil {
			return err
		}
		_, err = w.Write([]byte{0xFF, 0xD9})
		return err
	})
}

func quality(opts WriteOptions) int {
	if opts.Quality == 0 {
		return defaultQuality
	}
	return opts.Quality
}

// jpegHead returns the start mark and the segments that tell of the picture.
func jpegHead(r Rows, opts WriteOptions) ([]byte, error) {
	// JFIF 1.02 without a thumbnail (T.871, 10.1); unit 0 means no resolution.
	jfif := []byte{'J', 'F', 'I', 'F', 0, 1, 2, 0, 0, 1, 0, 1, 0, 0}
	if opts.PPI > 0 {
		jfif[7] = 1
		binary.BigEndian.PutUint16(jfif[8:], uint16(max(1, math.Round(opts.PPI))))
		copy(jfif[10:12], jfif[8:10])
	}
	b := append([]byte{0xFF, 0xD8}, jpegSegment(0xE0, jfif)...)
	for _, s := range [][]byte{prefixed(exifMarker, opts.Carried.exifBlock(opts.PPI)), prefixed(jpegXMPMarker, opts.Carried.XMP)} {
		if len(s) > 65533 {
			return nil, errors.New("the data beside the picture do not fit a JPEG")
		}
		if s != nil {
			b = append(b, jpegSegment(0xE1, s)...)
		}
	}
	total := (len(r.ICC) + jpegICCChunk - 1) / jpegICCChunk
	for i := range total {
		part := r.ICC[i*jpegICCChunk : min(len(r.ICC), (i+1)*jpegICCChunk)]
		body := append([]byte(iccMarker), byte(i+1), byte(total))
		b = append(b, jpegSegment(0xE2, append(body, part...))...)
	}
	return b, nil
}

// prefixed returns the marker and the body after each other, nil without a body.
func prefixed(marker string, body []byte) []byte {
	if body == nil {
		return nil
	}
	return append([]byte(marker), body...)
}

func jpegSegment(marker byte, body []byte) []byte {
	b := binary.BigEndian.AppendUint16([]byte{0xFF, marker}, uint16(len(body)+2))
	return append(b, body...)
}

// huffmanSpec is how many codes of each length, 1 to 16, there are, and for what.
type huffmanSpec struct {
	counts [16]byte
	values []byte
}

// huffmanCode is a code and its length, by value.
type huffmanCode [256]struct {
	code uint32
	n    uint
}

func (s huffmanSpec) codes() (h huffmanCode) {
	code, k := uint32(0), 0
	for length, count := range s.counts {
		for range count {
			h[s.values[k]].code, h[s.values[k]].n = code, uint(length+1)
			code++
			k++
		}
		code <<= 1
	}
	return h
}

// jpegEncoder holds what all blocks share.
type jpegEncoder struct {
	channels int
	steps    [2][64]byte    // quantisation of luma and chroma
	scale    [2][64]float32 // 1 / (step * the transform's own factor)
	codes    [4]huffmanCode
	cos      [8][8]float32
}

// newJPEGEncoder scales the tables: a quality of 50 takes them as they are, 100
// makes every step 1 (the scale that is in general use; T.81 names none).
func newJPEGEncoder(quality, channels int) *jpegEncoder {
	percent := 200 - 2*quality
	if quality < 50 {
		percent = 5000 / quality
	}
	e := &jpegEncoder{channels: channels}
	for t, base := range [2][64]int{jpegLuma, jpegChroma} {
		for i, v := range base {
			step := min(max((v*percent+50)/100, 1), 255)
			e.steps[t][i], e.scale[t][i] = byte(step), 1/float32(step)
		}
	}
	for i, s := range jpegCodes {
		e.codes[i] = s.codes()
	}
	// T.81, A.3.3, as one matrix.
	for u := range 8 {
		for x := range 8 {
			v := math.Cos(float64(2*x+1)*float64(u)*math.Pi/16) / 2
			if u == 0 {
				v /= math.Sqrt2
			}
			e.cos[u][x] = float32(v)
		}
	}
	return e
}

// tables returns the segments from the quantisation to the scan's header.
func (e *jpegEncoder) tables(r Rows) []byte {
	var b []byte
	kinds := min(e.channels, 2)
	for t := range kinds {
		body := []byte{byte(t)}
		for _, at := range jpegZigzag {
			body = append(body, e.steps[t][at])
		}
		b = append(b, jpegSegment(0xDB, body)...)
	}
	frame := []byte{8, byte(r.H >> 8), byte(r.H), byte(r.W >> 8), byte(r.W), byte(e.channels)}
	scan := []byte{byte(e.channels)}
	for c := range e.channels {
		t := byte(min(c, 1))
		frame = append(frame, byte(c+1), 0x11, t)
		scan = append(scan, byte(c+1), t<<4|t)
	}
	b = append(b, jpegSegment(0xC0, frame)...)
	for i, s := range jpegCodes[:2*kinds] {
		body := append([]byte{byte(i%2<<4 | i/2)}, s.counts[:]...)
		b = append(b, jpegSegment(0xC4, append(body, s.values...))...)
	}
	across := (r.W + 7) / 8
	b = append(b, jpegSegment(0xDD, []byte{byte(across >> 8), byte(across)})...)
	return append(b, jpegSegment(0xDA, append(scan, 0, 63, 0))...)
}

// blockRow encodes up to eight rows as one restart interval; missing rows and
// columns repeat the last.
func (e *jpegEncoder) blockRow(out *bytes.Buffer, px raster.Pixels) {
	w := jpegBits{out: out}
	var before [3]int
	var blocks [3][64]float32
	for x := 0; x < px.W; x += 8 {
		e.load(&blocks, px, x)
		for c := range e.channels {
			e.transform(&blocks[c])
			before[c] = e.put(&w, &blocks[c], c, before[c])
		}
	}
	w.flush()
}

// load fills the blocks of luma and colour differences, around 0 (T.871, 7).
func (e *jpegEncoder) load(blocks *[3][64]float32, px raster.Pixels, x0 int) {
	for i := range 64 {
		at := (min(i/8, px.H-1)*px.W + min(x0+i%8, px.W-1)) * px.Channels
		if px.Channels == 1 {
			blocks[0][i] = byteAt(px, at) - 128
			continue
		}
		r, g, b := byteAt(px, at), byteAt(px, at+1), byteAt(px, at+2)
		y := 0.299*r + 0.587*g + 0.114*b
		blocks[0][i], blocks[1][i], blocks[2][i] = y-128, (b-y)/1.772, (r-y)/1.402
	}
}

// byteAt returns a sample in steps of 8 bits; of 16 bits unrounded.
func byteAt(px raster.Pixels, i int) float32 {
	if px.P8 != nil {
		return float32(px.P8[i])
	}
	return float32(px.P16[i]) / 257
}

// transform is the two-dimensional cosine transform: rows, then columns.
func (e *jpegEncoder) transform(block *[64]float32) {
	var half [64]float32
	e.rows(&half, block)
	e.rows(block, &half)
}

// rows transforms each row of a block into a column of another.
func (e *jpegEncoder) rows(out, block *[64]float32) {
	for y := range 8 {
		in := block[8*y : 8*y+8 : 8*y+8]
		// Even outputs see sums of mirrored pairs, odd ones differences.
		s0, s1, s2, s3 := in[0]+in[7], in[1]+in[6], in[2]+in[5], in[3]+in[4]
		d0, d1, d2, d3 := in[0]-in[7], in[1]-in[6], in[2]-in[5], in[3]-in[4]
		for u := 0; u < 8; u += 2 {
			k, m := &e.cos[u], &e.cos[u+1]
			out[8*u+y] = k[0]*s0 + k[1]*s1 + k[2]*s2 + k[3]*s3
			out[8*u+8+y] = m[0]*d0 + m[1]*d1 + m[2]*d2 + m[3]*d3
		}
	}
}

// put quantises and writes a block (T.81, F.1.2) and returns its DC value.
func (e *jpegEncoder) put(w *jpegBits, block *[64]float32, c, before int) int {
	t := min(c, 1)
	var q [64]int
	for k, at := range jpegZigzag {
		v := block[at] * e.scale[t][at]
		if v < 0 {
			v -= 0.5
		} else {
			v += 0.5
		}
		q[k] = int(v)
	}
	dc, ac := &e.codes[2*t], &e.codes[2*t+1]
	w.value(dc, 0, q[0]-before)
	run := 0
	for _, v := range q[1:] {
		if v == 0 {
			run++
			continue
		}
		for ; run > 15; run -= 16 {
			w.bits(ac[0xF0].code, ac[0xF0].n)
		}
		w.value(ac, run, v)
		run = 0
	}
	if run > 0 {
		w.bits(ac[0].code, ac[0].n)
	}
	return q[0]
}

// jpegBits writes codes of any length, and a zero behind every byte of ones.
type jpegBits struct {
	out  *bytes.Buffer
	acc  uint64
	have uint
}

func (w *jpegBits) bits(v uint32, n uint) {
	w.acc = w.acc<<n | uint64(v)
	for w.have += n; w.have >= 8; w.have -= 8 {
		b := byte(w.acc >> (w.have - 8))
		w.out.WriteByte(b)
		if b == 0xFF {
			w.out.WriteByte(0)
		}
	}
}

// value writes a run of zeros and a number: the code of both, then its bits, of a
// negative one those of the number less 1.
func (w *jpegBits) value(h *huffmanCode, run, v int) {
	size, low := uint(0), v
	for a := max(v, -v); a > 0; a >>= 1 {
		size++
	}
	if v < 0 {
		low--
	}
	k := h[run<<4|int(size)]
	w.bits(k.code, k.n)
	if size > 0 {
		w.bits(uint32(low)&(1<<size-1), size)
	}
}

// flush fills the last byte with ones.
func (w *jpegBits) flush() {
	if w.have > 0 {
		w.bits(1<<(8-w.have)-1, 8-w.have)
	}
}
