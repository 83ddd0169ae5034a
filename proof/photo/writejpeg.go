package photo

import (
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"firstsheet/proof/jpeg"
	"firstsheet/proof/raster"
)

const (
	// jpegICCChunk is the most profile bytes that fit one APP2 segment: 65,535
	// less the length (2), the identifier (12) and the two numbers.
	jpegICCChunk  = 65519
	jpegXMPMarker = "http://ns.adobe.com/xap/1.0/\x00"
	pngXMPKeyword = "XML:com.adobe.xmp"
)

// writeJPEG writes a baseline JPEG, grey or YCbCr of full resolution (4:4:4). Each band is a
// restart interval (T.81, E.1.4), so that bands can be packed at the same time.
func writeJPEG(ctx context.Context, f io.Writer, r Rows, opts WriteOptions) error {
	head, err := jpegHead(r, opts)
	if err != nil {
		return err
	}
	e, err := newJPEGEncoder(quality(opts), r)
	if err != nil {
		return err
	}
	return buffered(ctx, f, func(w io.Writer) error {
		if _, err := w.Write(head); err != nil {
			return err
		}
		err := eachBand(ctx, r, e.height, opts.Progress, e.band, func(part []byte) error {
			_, err := w.Write(part)
			return err
		})
		if err != nil {
			return err
		}
		_, err = w.Write(jpegEnd)
		return err
	})
}

var jpegEnd = []byte{0xFF, 0xD9}

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

// jpegEncoder holds what all bands share.
type jpegEncoder struct {
	shape  jpeg.Shape     // of the picture
	height int            // of a band, in rows
	scale  [2][64]float32 // 1 / step of luma and colour differences
	cos    [8][8]float32
}

// newJPEGEncoder makes bands as high as a restart interval may be.
func newJPEGEncoder(quality int, r Rows) (*jpegEncoder, error) {
	across := (r.W + 7) / 8
	rows := min(r.bandHeight()/8, 65535/across)
	e := &jpegEncoder{height: 8 * rows, shape: jpeg.Shape{W: r.W, H: r.H, Channels: r.Channels, Padded: r.Padded, Quality: quality, Interval: across * rows}}
	steps, err := jpeg.Steps(quality)
	if err != nil {
		return nil, err
	}
	for t := range steps {
		for i, step := range steps[t] {
			e.scale[t][i] = 1 / float32(step)
		}
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
	return e, nil
}

// band encodes a band: of a file of its own the first one keeps what precedes its scan, the
// others are the codes behind a restart mark.
func (e *jpegEncoder) band(y0 int, px raster.Pixels) ([]byte, error) {
	shape := e.shape
	shape.H = px.H
	var file []byte
	var err error
	if px.Deep() {
		file, err = jpeg.EncodeCoefficients(shape, e.coefficients(px))
	} else {
		file, err = jpeg.Encode(shape, px.P8)
	}
	if err != nil {
		return nil, err
	}
	scan := e.ofWhole(file)
	file = file[:len(file)-len(jpegEnd)]
	if y0 == 0 {
		return file[2:], nil
	}
	at := scan - 2
	file[at], file[at+1] = 0xFF, 0xD0+byte((y0/e.height-1)%8)
	return file[at:], nil
}

// ofWhole puts the whole picture's height into a band's frame header and returns where
// its codes begin.
func (e *jpegEncoder) ofWhole(file []byte) (scan int) {
	for pos := 2; ; {
		marker, n := file[pos+1], int(binary.BigEndian.Uint16(file[pos+2:]))
		if marker == 0xC0 {
			binary.BigEndian.PutUint16(file[pos+5:], uint16(e.shape.H))
		}
		pos += 2 + n
		if marker == 0xDA {
			return pos
		}
	}
}

// coefficients transforms and quantises samples of 16 bits, which go in unrounded; missing
// rows and columns repeat the last.
func (e *jpegEncoder) coefficients(px raster.Pixels) []int16 {
	across, down := (px.W+7)/8, (px.H+7)/8
	out := make([]int16, px.Channels*across*down*64)
	var blocks [3][64]float32
	for by := range down {
		for bx := range across {
			load(&blocks, px, 8*bx, 8*by)
			for c := range px.Channels {
				e.transform(&blocks[c])
				at := ((c*down+by)*across + bx) * 64
				quantise(out[at:at+64], &blocks[c], &e.scale[min(c, 1)])
			}
		}
	}
	return out
}

// load fills the blocks of luma and colour differences, around 0 (T.871, 7).
func load(blocks *[3][64]float32, px raster.Pixels, x0, y0 int) {
	for i := range 64 {
		at := (min(y0+i/8, px.H-1)*px.W + min(x0+i%8, px.W-1)) * px.Channels
		if px.Channels == 1 {
			blocks[0][i] = in8(px.P16[at]) - 128
			continue
		}
		r, g, b := in8(px.P16[at]), in8(px.P16[at+1]), in8(px.P16[at+2])
		y := 0.299*r + 0.587*g + 0.114*b
		blocks[0][i], blocks[1][i], blocks[2][i] = y-128, (b-y)/1.772, (r-y)/1.402
	}
}

// in8 returns a sample in steps of 8 bits.
func in8(v uint16) float32 { return float32(v) / 257 }

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

// quantise rounds coefficients to whole steps.
func quantise(out []int16, block, scale *[64]float32) {
	for i, v := range block {
		v *= scale[i]
		if v < 0 {
			v -= 0.5
		} else {
			v += 0.5
		}
		out[i] = int16(v)
	}
}
