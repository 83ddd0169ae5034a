package photo

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"runtime"

	"firstsheet/proof/raster"
)

// Rows is a picture that is made while it is written, so that a large print file
// never lies in memory as a whole.
type Rows struct {
	W, H     int
	Channels int // 1 grey, 3 RGB, 4 CMYK (0 = no ink), 5 to 15 other inks
	Depth    int // 8 or 16
	ICC      []byte
	// Band returns the rows from y0 up to but not including y1, W*Channels samples
	// each, of Depth bits. Every row is asked for once, in no fixed order and from
	// several goroutines. What is returned is only read.
	Band func(ctx context.Context, y0, y1 int) (raster.Pixels, error)
}

// Rows returns the picture's rows, sharing memory.
func (p *Picture) Rows() Rows {
	all := raster.Pixels{W: p.W, H: p.H, Channels: p.Channels, P8: p.Pix8, P16: p.Pix16}
	return Rows{W: p.W, H: p.H, Channels: p.Channels, Depth: p.Depth, ICC: p.ICC,
		Band: func(_ context.Context, y0, y1 int) (raster.Pixels, error) { return all.Rows(y0, y1), nil }}
}

// check reports what cannot be.
func (r Rows) check() error {
	switch {
	case r.W <= 0 || r.H <= 0:
		return fmt.Errorf("%d x %d pixels", r.W, r.H)
	case r.Channels != 1 && r.Channels != 3 && r.Channels != 4 && !inks(r.Channels):
		return fmt.Errorf("%d channels", r.Channels)
	case r.Depth != 8 && r.Depth != 16:
		return fmt.Errorf("%d bits a sample", r.Depth)
	}
	return nil
}

// inks reports whether so many channels are inks other than CMYK's four. ICC.1
// knows colour spaces of up to 15 (7.2.6).
func inks(channels int) bool { return channels >= 5 && channels <= 15 }

const (
	// bandBytes is about what one band holds before it is packed: enough that what
	// neighbouring bands compute twice is little, and that a dozen bands under way
	// do not matter.
	bandBytes = 4 << 20
	// bandUnit divides every band but the last: two rows of JPEG's blocks.
	bandUnit = 16
)

// bandHeight returns how many rows a band has.
func (r Rows) bandHeight() int {
	rows := bandBytes / (r.W * r.Channels * r.Depth / 8)
	return max(bandUnit, rows/bandUnit*bandUnit)
}

// eachBand asks for all bands, packs some at a time in parallel, and hands what
// comes out to put, in order. progress, which may be nil, is told the rows done.
func eachBand[T any](ctx context.Context, r Rows, rows int, progress func(rows int), pack func(y0 int, px raster.Pixels) (T, error), put func(T) error) error {
	count := (r.H + rows - 1) / rows
	group := 2 * runtime.GOMAXPROCS(0)
	packed := make([]T, group)
	for from := 0; from < count; from += group {
		to := min(count, from+group)
		err := parallel(ctx, to-from, func(i int) error {
			y0 := (from + i) * rows
			y1 := min(r.H, y0+rows)
			px, err := r.Band(ctx, y0, y1)
			if err != nil {
				return &bandError{err}
			}
			if px.W != r.W || px.H != y1-y0 || px.Channels != r.Channels || px.Deep() != (r.Depth == 16) {
				return fmt.Errorf("a band of %d x %d pixels of %d channels, want %d x %d of %d", px.W, px.H, px.Channels, r.W, y1-y0, r.Channels)
			}
			packed[i], err = pack(y0, px)
			return err
		})
		if err != nil {
			return err
		}
		for i := from; i < to; i++ {
			if err := put(packed[i-from]); err != nil {
				return err
			}
		}
		if progress != nil {
			progress(min(r.H, to*rows))
		}
	}
	return nil
}

// bandError is a failure to make a picture, not to write it.
type bandError struct{ err error }

func (e *bandError) Error() string { return e.err.Error() }
func (e *bandError) Unwrap() error { return e.err }

// bytesTo returns what writes packed bands out.
func bytesTo(w io.Writer) func(*bytes.Buffer) error {
	return func(b *bytes.Buffer) error {
		_, err := w.Write(b.Bytes())
		return err
	}
}
