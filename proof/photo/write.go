package photo

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"firstsheet/proof/aside"
)

// Packing is how a TIFF is compressed. Neither way loses anything.
type Packing uint8

// The two compressions that programs for print agree on.
const (
	ZIP Packing = iota // deflate; the smaller files
	LZW                // understood by older programs, too
)

func (p Packing) String() string {
	if p == LZW {
		return "LZW"
	}
	return "ZIP"
}

// WriteOptions says how a picture is written. The zero value is fine.
type WriteOptions struct {
	// PPI is written as the resolution when it is above 0, up to 65535.
	PPI float64
	// Quality is that of JPEG, 1 to 100; 0 means 98.
	Quality int
	// Packing is that of TIFF.
	Packing Packing
	// Carried goes into the file beside the picture; the zero value is nothing.
	Carried Carried
	// Keep names files that must not be overwritten: the originals.
	Keep []string
	// Progress, which may be nil, is told now and then how many rows are written.
	Progress func(rows int)
}

const defaultQuality = 98

// Write saves p at path in the format that the name's ending asks for: .png,
// .jpg, .jpeg, .tif or .tiff. p.ICC is embedded when it is set; Alpha and Notes
// are not written.
//
// PNG and TIFF take 8 and 16 bits, JPEG comes back as 8. Grey and RGB go into
// all three, CMYK and other inks only into TIFF. TIFF is compressed with ZIP or
// LZW. JPEG keeps colour differences at full resolution (4:4:4).
//
// The file is complete or absent: it is written under another name in the same
// folder, brought to the disk and renamed. When anything fails, or ctx ends, a
// file that was there before stays as it was. Errors are *[Error] or ctx's.
func Write(ctx context.Context, path string, p *Picture, opts WriteOptions) error {
	if err := p.check(); err != nil {
		return at(path, Unsupported, err)
	}
	return WriteRows(ctx, path, p.Rows(), opts)
}

// WriteRows is [Write] for a picture that is made while it is written. What
// r.Band fails with comes back as it is.
func WriteRows(ctx context.Context, path string, r Rows, opts WriteOptions) error {
	encode, err := encoderFor(path, r, opts)
	if err != nil {
		return at(path, Unsupported, err)
	}
	var unmade *bandError
	err = Save(ctx, path, opts.Keep, func(f *os.File) error {
		err := encode(ctx, f)
		unmade, _ = errors.AsType[*bandError](err)
		return err
	})
	if unmade != nil {
		return unmade.err
	}
	return err
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

type encoder func(ctx context.Context, f *os.File) error

// encoderFor checks what can be checked before a file is created.
func encoderFor(path string, r Rows, opts WriteOptions) (encoder, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	if opts.PPI < 0 || opts.PPI > 65535 || math.IsNaN(opts.PPI) {
		return nil, fmt.Errorf("%g pixels per inch", opts.PPI)
	}
	if opts.Quality < 0 || opts.Quality > 100 {
		return nil, fmt.Errorf("JPEG quality %d, want 1 to 100", opts.Quality)
	}
	if len(r.ICC) > MaxICCBytes {
		return nil, fmt.Errorf("a profile of %d bytes, at most %d", len(r.ICC), MaxICCBytes)
	}
	switch ext := strings.ToLower(filepath.Ext(path)); ext {
	case ".tif", ".tiff":
		return func(ctx context.Context, f *os.File) error { return writeTIFF(ctx, f, r, opts) }, nil
	case ".png":
		if r.Channels > 3 {
			return nil, errors.New("PNG holds no inks; write a TIFF")
		}
		return func(ctx context.Context, f *os.File) error { return writePNG(ctx, f, r, opts) }, nil
	case ".jpg", ".jpeg":
		if r.Channels > 3 {
			return nil, errors.New("inks are not written as JPEG; write a TIFF")
		}
		if r.W > 65535 || r.H > 65535 {
			return nil, fmt.Errorf("JPEG holds at most 65535 pixels a side, not %d x %d", r.W, r.H)
		}
		if n := (len(r.ICC) + jpegICCChunk - 1) / jpegICCChunk; n > 255 {
			return nil, fmt.Errorf("a profile of %d bytes does not fit a JPEG", len(r.ICC))
		}
		return func(ctx context.Context, f *os.File) error { return writeJPEG(ctx, f, r, opts) }, nil
	default:
		return nil, fmt.Errorf("the name ends in %q; .png, .jpg, .jpeg, .tif and .tiff can be written", ext)
	}
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
