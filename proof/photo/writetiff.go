package photo

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"slices"

	"firstsheet/proof/raster"
)

// tiffStripBytes is about what one strip holds before compression. TIFF 6.0
// names 8 KB, for the memories of 1992; larger strips compress better and are
// what current writers make.
const tiffStripBytes = 1 << 18

// writeTIFF writes a little-endian baseline TIFF with one directory: strips
// compressed with the horizontal predictor, the profile in tag 34675. The directory
// comes last, so that strips go out as they are made.
func writeTIFF(ctx context.Context, f *os.File, r Rows, opts WriteOptions) error {
	r = r.unpadded()
	d := tiffWriter{Rows: r, opts: opts}
	rowBytes := r.W * r.Channels * r.Depth / 8
	// Strips divide bands evenly.
	d.perStrip = bandUnit
	for d.perStrip > 1 && d.perStrip*rowBytes > tiffStripBytes {
		d.perStrip /= 2
	}
	pos := int64(8)
	err := buffered(ctx, f, func(w io.Writer) error {
		if _, err := w.Write([]byte{'I', 'I', 42, 0, 0, 0, 0, 0}); err != nil {
			return err
		}
		err := eachBand(ctx, r, r.bandHeight(), opts.Progress,
			func(_ int, px raster.Pixels) (tiffBand, error) { return d.packBand(px) },
			func(b tiffBand) error {
				for _, n := range b.strips {
					d.offsets, d.counts = append(d.offsets, uint32(pos)), append(d.counts, uint32(n))
					pos += int64(n)
				}
				if pos > math.MaxUint32-(2*MaxICCBytes+1<<20) {
					return fmt.Errorf("a TIFF of more than 4 GB")
				}
				return bytesTo(w)(&b.data)
			})
		if err != nil {
			return err
		}
		_, err = w.Write(d.directory(uint32(pos)))
		return err
	})
	if err != nil {
		return err
	}
	// The directory starts on a word boundary.
	_, err = f.WriteAt(binary.LittleEndian.AppendUint32(nil, uint32(pos+pos&1)), 4)
	return err
}

// tiffWriter gathers what the directory is to say.
type tiffWriter struct {
	Rows
	opts            WriteOptions
	perStrip        int // rows
	offsets, counts []uint32
}

// tiffBand is a band's strips after each other.
type tiffBand struct {
	data   bytes.Buffer
	strips []int // bytes each
}

func (d *tiffWriter) packBand(px raster.Pixels) (tiffBand, error) {
	var b tiffBand
	for y := 0; y < px.H; y += d.perStrip {
		before := b.data.Len()
		if err := packStrip(&b.data, px.Rows(y, min(px.H, y+d.perStrip)), d.opts.Packing); err != nil {
			return b, err
		}
		b.strips = append(b.strips, b.data.Len()-before)
	}
	return b, nil
}

// packStrip compresses rows.
func packStrip(out *bytes.Buffer, px raster.Pixels, how Packing) error {
	var z io.WriteCloser
	if how == LZW {
		z = newLZW(out)
	} else {
		// The usual level takes three times as long for a few per cent of a photograph.
		z, _ = zlib.NewWriterLevel(out, zlib.BestSpeed) // the level is a sound one
	}
	row := make([]byte, 0, px.W*px.Channels*2)
	for y := range px.H {
		row = predicted(row[:0], px.Rows(y, y+1))
		if _, err := z.Write(row); err != nil {
			return err
		}
	}
	return z.Close()
}

// predicted appends a row as differences between neighbouring pixels (TIFF 6.0,
// section 14).
func predicted(dst []byte, px raster.Pixels) []byte {
	n := px.Channels
	for i, v := range px.P8 {
		if i >= n {
			v -= px.P8[i-n]
		}
		dst = append(dst, v)
	}
	for i, v := range px.P16 {
		if i >= n {
			v -= px.P16[i-n]
		}
		dst = binary.LittleEndian.AppendUint16(dst, v)
	}
	return dst
}

// directory returns the bytes from pos on: padding to a word boundary, the
// directory, and the values that do not fit it.
func (d *tiffWriter) directory(pos uint32) []byte {
	var fields []exifField
	shorts := func(tag uint16, v ...int) { fields = append(fields, shortField(tag, v...)) }
	longs := func(tag uint16, v ...uint32) { fields = append(fields, longField(tag, v...)) }
	photometric, packing := tiffCMYK, tiffDeflate
	switch d.Channels {
	case 1:
		photometric = tiffBlackIsZero
	case 3:
		photometric = tiffRGB
	}
	if d.opts.Packing == LZW {
		packing = tiffLZW
	}
	longs(tagWidth, uint32(d.W))
	longs(tagLength, uint32(d.H))
	shorts(tagBits, slices.Repeat([]int{d.Depth}, d.Channels)...)
	shorts(tagCompression, packing)
	shorts(tagPhotometric, photometric)
	longs(tagStripOffsets, d.offsets...)
	shorts(tagOrientation, 1)
	shorts(tagSamplesPerPixel, d.Channels)
	longs(tagRowsPerStrip, uint32(d.perStrip))
	longs(tagStripCounts, d.counts...)
	shorts(tagPlanar, 1)
	shorts(tagPredictor, 2)
	if inks(d.Channels) {
		shorts(tagInkSet, 2) // other inks than CMYK's
		shorts(tagNumberOfInks, d.Channels)
	}
	fields = append(fields, resolutionFields(d.opts.PPI)...)
	if d.ICC != nil {
		fields = append(fields, exifField{tagICC, tiffUndefined, len(d.ICC), d.ICC})
	}
	if xmp := d.opts.Carried.XMP; xmp != nil {
		fields = append(fields, exifField{tagXMP, tiffByte, len(xmp), xmp})
	}
	var b []byte
	if pos&1 == 1 {
		b, pos = append(b, 0), pos+1
	}
	dirs := d.opts.Carried.exif
	dirs.main = append(fields, dirs.main...)
	return append(b, dirs.encode(pos)...)
}
