package photo

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"firstsheet/proof/aside"
)

// WriteOptions says how a picture is written. The zero value is fine.
type WriteOptions struct {
	// PPI is written as the resolution when it is above 0, up to 65535.
	PPI float64
	// Quality is that of JPEG, 1 to 100; 0 means 95.
	Quality int
	// Keep names files that must not be overwritten: the originals.
	Keep []string
}

const (
	defaultQuality = 95

	// jpegICCChunk is the most profile bytes that fit one APP2 segment: 65,535
	// less the length (2), the identifier (12) and the two numbers.
	jpegICCChunk = 65519
)

// Write saves p at path in the format that the name's ending asks for: .png,
// .jpg, .jpeg, .tif or .tiff. p.ICC is embedded when it is set; Alpha and Notes
// are not written.
//
// PNG and TIFF take 8 and 16 bits, JPEG is rounded to 8. Grey and RGB go into
// all three, CMYK only into TIFF. TIFF is compressed with ZIP. JPEG halves the
// resolution of colour differences, as the standard library's encoder does.
//
// The file is complete or absent: it is written under another name in the same
// folder, brought to the disk and renamed. When anything fails, or ctx ends, a
// file that was there before stays as it was. Errors are *[Error] or ctx's.
func Write(ctx context.Context, path string, p *Picture, opts WriteOptions) error {
	encode, err := encoderFor(path, p, opts)
	if err != nil {
		return at(path, Unsupported, err)
	}
	return Save(ctx, path, opts.Keep, func(f *os.File) error { return encode(ctx, f) })
}

// Save writes any file in the same careful way: complete or absent, and never over
// one of those in keep. fill writes the content. Errors are *[Error] or ctx's.
func Save(ctx context.Context, path string, keep []string, fill func(*os.File) error) error {
	for _, k := range keep {
		if aside.Same(path, k) {
			return at(path, NotWritable, errors.New("this is the original; choose another name"))
		}
	}
	err := aside.Write(path, func(f *os.File) error {
		if err := fill(f); err != nil {
			return err
		}
		return ctx.Err()
	})
	if err != nil {
		return at(path, writeKind(err), err)
	}
	return nil
}

// encoderFor checks what can be checked before a file is created.
func encoderFor(path string, p *Picture, opts WriteOptions) (func(context.Context, *os.File) error, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	if opts.PPI < 0 || opts.PPI > 65535 || math.IsNaN(opts.PPI) {
		return nil, fmt.Errorf("%g pixels per inch", opts.PPI)
	}
	if opts.Quality < 0 || opts.Quality > 100 {
		return nil, fmt.Errorf("JPEG quality %d, want 1 to 100", opts.Quality)
	}
	if len(p.ICC) > MaxICCBytes {
		return nil, fmt.Errorf("a profile of %d bytes, at most %d", len(p.ICC), MaxICCBytes)
	}
	switch ext := strings.ToLower(filepath.Ext(path)); ext {
	case ".tif", ".tiff":
		return func(ctx context.Context, f *os.File) error { return writeTIFF(ctx, f, p, opts) }, nil
	case ".png":
		if p.Channels == 4 {
			return nil, errors.New("PNG holds no CMYK; write a TIFF")
		}
		return func(ctx context.Context, f *os.File) error { return writePNG(ctx, f, p, opts) }, nil
	case ".jpg", ".jpeg":
		if p.Channels == 4 {
			return nil, errors.New("CMYK is not written as JPEG; write a TIFF")
		}
		if p.W > 65535 || p.H > 65535 {
			return nil, fmt.Errorf("JPEG holds at most 65535 pixels a side, not %d x %d", p.W, p.H)
		}
		if n := (len(p.ICC) + jpegICCChunk - 1) / jpegICCChunk; n > 255 {
			return nil, fmt.Errorf("a profile of %d bytes does not fit a JPEG", len(p.ICC))
		}
		return func(ctx context.Context, f *os.File) error { return writeJPEG(ctx, f, p, opts) }, nil
	default:
		return nil, fmt.Errorf("the name ends in %q; .png, .jpg, .jpeg, .tif and .tiff can be written", ext)
	}
}

// insert is a writer that puts more bytes in after the first n.
type insert struct {
	w    io.Writer
	n    int
	more []byte
}

func (i *insert) Write(p []byte) (int, error) {
	if i.n < 0 {
		return i.w.Write(p)
	}
	head := min(i.n, len(p))
	n, err := i.w.Write(p[:head])
	i.n -= n
	if err != nil || i.n > 0 {
		return n, err
	}
	i.n = -1
	if _, err := i.w.Write(i.more); err != nil {
		return n, err
	}
	m, err := i.w.Write(p[head:])
	return n + m, err
}

// ctxWriter fails once its context has ended.
type ctxWriter struct {
	ctx context.Context
	w   io.Writer
}

func (c ctxWriter) Write(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.w.Write(p)
}

// buffered runs encode on a buffer before f.
func buffered(ctx context.Context, f io.Writer, encode func(w io.Writer) error) error {
	b := bufio.NewWriterSize(ctxWriter{ctx, f}, 1<<18)
	if err := encode(b); err != nil {
		return err
	}
	return b.Flush()
}

func writePNG(ctx context.Context, f io.Writer, p *Picture, opts WriteOptions) error {
	img, err := p.forEncoder(ctx)
	if err != nil {
		return err
	}
	var more []byte
	if p.ICC != nil {
		var z bytes.Buffer
		z.WriteString("icc\x00\x00") // any name of 1 to 79 letters, then method 0
		w := zlib.NewWriter(&z)
		if _, err := w.Write(p.ICC); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
		more = append(more, pngChunk("iCCP", z.Bytes())...)
	}
	if opts.PPI > 0 {
		// PNG counts pixels a metre (11.3.4.3).
		perMetre := binary.BigEndian.AppendUint32(nil, uint32(math.Round(opts.PPI/0.0254)))
		more = append(more, pngChunk("pHYs", append(append(perMetre, perMetre...), 1))...)
	}
	return buffered(ctx, f, func(w io.Writer) error {
		// On a photograph the fastest level takes a quarter of the time of the
		// usual one (24 megapixels: 2.4 s against 9) for an eighth more bytes. The
		// chunks go behind the signature (8) and the header chunk (25).
		e := png.Encoder{CompressionLevel: png.BestSpeed}
		return e.Encode(&insert{w: w, n: 33, more: more}, img)
	})
}

func pngChunk(kind string, body []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	b = append(append(b, kind...), body...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

func writeJPEG(ctx context.Context, f io.Writer, p *Picture, opts WriteOptions) error {
	p, err := p.reduced(ctx)
	if err != nil {
		return err
	}
	img, err := p.forEncoder(ctx)
	if err != nil {
		return err
	}
	quality := opts.Quality
	if quality == 0 {
		quality = defaultQuality
	}
	// JFIF 1.02 without a thumbnail (T.871, 10.1); unit 0 means no resolution.
	jfif := []byte{'J', 'F', 'I', 'F', 0, 1, 2, 0, 0, 1, 0, 1, 0, 0}
	if opts.PPI > 0 {
		jfif[7] = 1
		binary.BigEndian.PutUint16(jfif[8:], uint16(max(1, math.Round(opts.PPI))))
		copy(jfif[10:12], jfif[8:10])
	}
	more := jpegSegment(0xE0, jfif)
	total := (len(p.ICC) + jpegICCChunk - 1) / jpegICCChunk
	for i := range total {
		part := p.ICC[i*jpegICCChunk : min(len(p.ICC), (i+1)*jpegICCChunk)]
		body := append([]byte(iccMarker), byte(i+1), byte(total))
		more = append(more, jpegSegment(0xE2, append(body, part...))...)
	}
	return buffered(ctx, f, func(w io.Writer) error {
		return jpeg.Encode(&insert{w: w, n: 2, more: more}, img, &jpeg.Options{Quality: quality})
	})
}

func jpegSegment(marker byte, body []byte) []byte {
	b := binary.BigEndian.AppendUint16([]byte{0xFF, marker}, uint16(len(body)+2))
	return append(b, body...)
}

// reduced returns the picture with 8 bits, rounded.
func (p *Picture) reduced(ctx context.Context) (*Picture, error) {
	if p.Depth == 8 {
		return p, nil
	}
	q := *p
	q.Depth, q.Pix16 = 8, nil
	q.Pix8 = make([]uint8, len(p.Pix16))
	n := p.W * p.Channels
	err := bands(ctx, p.H, func(y0, y1 int) {
		for i := y0 * n; i < y1*n; i++ {
			q.Pix8[i] = uint8((uint32(p.Pix16[i]) + 128) / 257)
		}
	})
	if err != nil {
		return nil, err
	}
	return &q, nil
}

// forEncoder returns the samples as a type that the standard encoders know.
func (p *Picture) forEncoder(ctx context.Context) (image.Image, error) {
	switch {
	case p.Channels == 1 && p.Depth == 8:
		return &image.Gray{Pix: p.Pix8, Stride: p.W, Rect: p.Bounds()}, nil
	case p.Channels == 1:
		m := image.NewGray16(p.Bounds())
		err := bands(ctx, p.H, func(y0, y1 int) {
			for i := y0 * p.W; i < y1*p.W; i++ {
				binary.BigEndian.PutUint16(m.Pix[2*i:], p.Pix16[i])
			}
		})
		return m, err
	case p.Depth == 8:
		m := image.NewRGBA(p.Bounds())
		err := bands(ctx, p.H, func(y0, y1 int) {
			for i := y0 * p.W; i < y1*p.W; i++ {
				copy(m.Pix[4*i:4*i+3], p.Pix8[3*i:])
				m.Pix[4*i+3] = 255
			}
		})
		return m, err
	}
	m := image.NewRGBA64(p.Bounds())
	err := bands(ctx, p.H, func(y0, y1 int) {
		for i := y0 * p.W; i < y1*p.W; i++ {
			for c := range 3 {
				binary.BigEndian.PutUint16(m.Pix[8*i+2*c:], p.Pix16[3*i+c])
			}
			m.Pix[8*i+6], m.Pix[8*i+7] = 255, 255
		}
	})
	return m, err
}
