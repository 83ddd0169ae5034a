package photo

import (
	"bytes"
	"cmp"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"slices"
)

// tiffStripBytes is about what one strip holds before compression. TIFF 6.0
// names 8 KB, for the memories of 1992; larger strips compress better and are
// what current writers make.
const tiffStripBytes = 1 << 18

// writeTIFF writes a little-endian baseline TIFF with one directory: strips
// compressed with ZIP and the horizontal predictor, the profile in tag 34675.
// The directory comes last, so that strips go out as they are made.
func writeTIFF(ctx context.Context, f *os.File, p *Picture, opts WriteOptions) error {
	rowBytes := p.W * p.Channels * p.Depth / 8
	rows := max(1, tiffStripBytes/rowBytes)
	strips := (p.H + rows - 1) / rows
	offsets, counts := make([]uint32, strips), make([]uint32, strips)
	pos := int64(8)
	err := buffered(ctx, f, func(w io.Writer) error {
		if _, err := w.Write([]byte{'I', 'I', 42, 0, 0, 0, 0, 0}); err != nil {
			return err
		}
		group := 4 * runtime.GOMAXPROCS(0)
		packed := make([]bytes.Buffer, group)
		for from := 0; from < strips; from += group {
			to := min(strips, from+group)
			err := parallel(ctx, to-from, func(i int) error {
				y := (from + i) * rows
				packed[i].Reset()
				return p.packStrip(&packed[i], y, min(p.H, y+rows))
			})
			if err != nil {
				return err
			}
			for i := from; i < to; i++ {
				b := packed[i-from].Bytes()
				offsets[i], counts[i] = uint32(pos), uint32(len(b))
				pos += int64(len(b))
				if pos > math.MaxUint32-(MaxICCBytes+1<<20) {
					return fmt.Errorf("a TIFF of more than 4 GB")
				}
				if _, err := w.Write(b); err != nil {
					return err
				}
			}
		}
		b := p.tiffDirectory(uint32(pos), offsets, counts, rows, opts)
		_, err := w.Write(b)
		return err
	})
	if err != nil {
		return err
	}
	// The directory starts on a word boundary.
	_, err = f.WriteAt(binary.LittleEndian.AppendUint32(nil, uint32(pos+pos&1)), 4)
	return err
}

// packStrip compresses rows y0 to y1.
func (p *Picture) packStrip(out *bytes.Buffer, y0, y1 int) error {
	n := p.W * p.Channels
	z := zlib.NewWriter(out)
	row := make([]byte, n*p.Depth/8)
	for y := y0; y < y1; y++ {
		if p.Depth == 8 {
			src := p.Pix8[y*n : (y+1)*n]
			for i, v := range src {
				if i >= p.Channels {
					v -= src[i-p.Channels]
				}
				row[i] = v
			}
		} else {
			src := p.Pix16[y*n : (y+1)*n]
			for i, v := range src {
				if i >= p.Channels {
					v -= src[i-p.Channels]
				}
				binary.LittleEndian.PutUint16(row[2*i:], v)
			}
		}
		if _, err := z.Write(row); err != nil {
			return err
		}
	}
	return z.Close()
}

// tiffDirectory returns the bytes from pos on: padding to a word boundary, the
// directory, and the values that do not fit it.
func (p *Picture) tiffDirectory(pos uint32, offsets, counts []uint32, rows int, opts WriteOptions) []byte {
	type field struct {
		tag, typ uint16
		count    int
		value    []byte
	}
	var fields []field
	le := binary.LittleEndian
	shorts := func(tag uint16, v ...int) {
		var b []byte
		for _, x := range v {
			b = le.AppendUint16(b, uint16(x))
		}
		fields = append(fields, field{tag, tiffShort, len(v), b})
	}
	longs := func(tag uint16, v ...uint32) {
		var b []byte
		for _, x := range v {
			b = le.AppendUint32(b, x)
		}
		fields = append(fields, field{tag, tiffLong, len(v), b})
	}
	const tiffRational = 5
	rational := func(tag uint16, v float64) {
		// Thousandths: 240, 300, 360 and 720 are exact, 299.999 stays so.
		b := le.AppendUint32(le.AppendUint32(nil, uint32(math.Round(v*1000))), 1000)
		fields = append(fields, field{tag, tiffRational, 1, b})
	}
	bits := slices.Repeat([]int{p.Depth}, p.Channels)
	photometric := map[int]int{1: tiffBlackIsZero, 3: tiffRGB, 4: tiffCMYK}[p.Channels]
	longs(tagWidth, uint32(p.W))
	longs(tagLength, uint32(p.H))
	shorts(tagBits, bits...)
	shorts(tagCompression, tiffDeflate)
	shorts(tagPhotometric, photometric)
	longs(tagStripOffsets, offsets...)
	shorts(tagOrientation, 1)
	shorts(tagSamplesPerPixel, p.Channels)
	longs(tagRowsPerStrip, uint32(rows))
	longs(tagStripCounts, counts...)
	shorts(tagPlanar, 1)
	shorts(tagPredictor, 2)
	// Resolution is required in baseline TIFF; unit 1 means that none is known.
	ppi, unit := opts.PPI, 2
	if ppi <= 0 {
		ppi, unit = 1, 1
	}
	rational(tagXResolution, ppi)
	rational(tagYResolution, ppi)
	shorts(tagResolutionUnit, unit)
	if p.ICC != nil {
		fields = append(fields, field{tagICC, tiffUndefined, len(p.ICC), p.ICC})
	}
	slices.SortFunc(fields, func(a, b field) int { return cmp.Compare(a.tag, b.tag) })

	var b []byte
	if pos&1 == 1 {
		b, pos = append(b, 0), pos+1
	}
	values := uint32(2 + 12*len(fields) + 4) // from the directory's start
	var tail []byte
	b = le.AppendUint16(b, uint16(len(fields)))
	for _, f := range fields {
		b = le.AppendUint32(le.AppendUint16(le.AppendUint16(b, f.tag), f.typ), uint32(f.count))
		if len(f.value) <= 4 {
			b = append(b, f.value...)
			b = append(b, make([]byte, 4-len(f.value))...)
			continue
		}
		b = le.AppendUint32(b, pos+values+uint32(len(tail)))
		tail = append(tail, f.value...)
		if len(tail)&1 == 1 {
			tail = append(tail, 0)
		}
	}
	b = le.AppendUint32(b, 0) // no further directory
	return append(b, tail...)
}
