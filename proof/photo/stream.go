package photo

import (
	"bytes"
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"runtime"
	"sync"

	"firstsheet/proof/raster"
)

// Rows is a picture that is made while it is written, so that a large print file
// never lies in memory as a whole.
type Rows struct {
	W, H     int
	Channels int // 1 grey, 3 RGB, 4 CMYK (0 = no ink), 5 to 15 other inks
	Depth    int // 8 or 16
	ICC      []byte
	// Padded says that the bands have four numbers a pixel, of which the last counts for nothing:
	// 8 bits of RGB, as windows and the engine's proofs have them.
	Padded bool
	// Band returns the rows from y0 up to but not including y1, W*Channels samples
	// each, 4*W when padded, of Depth bits. Every row is asked for once, from several goroutines,
	// which begin with the bands in order. What is returned is only read.
	Band func(ctx context.Context, y0, y1 int) (raster.Pixels, error)
	// Done, which may be nil, gets each band back when it has been packed.
	Done func(raster.Pixels)
}

// Rows returns the picture's rows, sharing memory.
func (p *Picture) Rows() Rows {
	all := p.Pixels()
	return Rows{W: p.W, H: p.H, Channels: p.Channels, Depth: p.Depth, ICC: p.ICC,
		Band: func(_ context.Context, y0, y1 int) (raster.Pixels, error) { return all.Rows(y0, y1), nil }}
}

// Painted returns the rows of a picture of red, green, blue and an opacity that counts for
// nothing, sharing memory.
func Painted(img *image.RGBA, icc []byte) Rows {
	all := raster.Pixels{W: img.Rect.Dx(), H: img.Rect.Dy(), Channels: 4, P8: img.Pix}
	return Rows{W: all.W, H: all.H, Channels: 3, Depth: 8, ICC: icc, Padded: true,
		Band: func(_ context.Context, y0, y1 int) (raster.Pixels, error) { return all.Rows(y0, y1), nil }}
}

// Make asks for all bands as a file does, and does nothing with them. What Band fails with
// comes back as it is.
func (r Rows) Make(ctx context.Context) error {
	type nothing struct{}
	err := eachBand(ctx, r, r.bandHeight(), nil,
		func(int, raster.Pixels) (nothing, error) { return nothing{}, nil }, func(nothing) error { return nil })
	if unmade, ok := errors.AsType[*bandError](err); ok {
		return unmade.err
	}
	return err
}

// unpadded returns the rows without the number that counts for nothing.
func (r Rows) unpadded() Rows {
	if !r.Padded {
		return r
	}
	spare := raster.NewSpare[uint8]()
	q := r
	q.Padded, q.Done = false, func(px raster.Pixels) { spare.Put(px.P8) }
	q.Band = func(ctx context.Context, y0, y1 int) (raster.Pixels, error) {
		px, err := r.Band(ctx, y0, y1)
		if err == nil {
			err = r.fits(px, y1-y0)
		}
		if err != nil {
			return px, err
		}
		if r.Done != nil {
			defer r.Done(px)
		}
		// Whole words: of each the fourth byte is overwritten by the next pixel.
		n := px.W * px.H
		out := spare.Get(3*n + 1)
		for i := range n {
			binary.LittleEndian.PutUint32(out[3*i:], binary.LittleEndian.Uint32(px.P8[4*i:]))
		}
		return raster.Pixels{W: px.W, H: px.H, Channels: 3, P8: out[:3*n]}, nil
	}
	return q
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
	case r.Padded && (r.Channels != 3 || r.Depth != 8):
		return fmt.Errorf("padded pixels of %d channels and %d bits", r.Channels, r.Depth)
	}
	return nil
}

// fits reports why a band of so many rows is none of the picture's.
func (r Rows) fits(px raster.Pixels, rows int) error {
	channels := r.Channels
	if r.Padded {
		channels = 4
	}
	if px.W != r.W || px.H != rows || px.Channels != channels || px.Deep() != (r.Depth == 16) {
		return fmt.Errorf("a band of %d x %d pixels of %d channels, want %d x %d of %d", px.W, px.H, px.Channels, r.W, rows, channels)
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

// eachBand asks for all bands and packs them, as many at a time as there are processors, and
// hands what comes out to put, in order. progress, which may be nil, is told the rows
// done. A panic in between is raised in the caller's goroutine.
func eachBand[T any](ctx context.Context, r Rows, rows int, progress func(rows int), pack func(y0 int, px raster.Pixels) (T, error), put func(T) error) error {
	type packed struct {
		value    T
		err      error
		panicked any
	}
	inner, stop := context.WithCancel(ctx)
	workers := runtime.GOMAXPROCS(0)
	// Those under way, in order, and as many that wait for one before them.
	queue := make(chan chan packed, 2*workers)
	var group sync.WaitGroup
	group.Go(func() {
		defer close(queue)
		free := make(chan struct{}, workers)
		for y0 := 0; y0 < r.H && ctx.Err() == nil; y0 += rows {
			free <- struct{}{} // taken in order: who waits for a band before is not in its way
			out := make(chan packed, 1)
			select {
			case queue <- out:
			case <-inner.Done():
				return
			}
			group.Go(func() {
				var p packed
				defer func() {
					p.panicked = recover()
					out <- p
					<-free
				}()
				var px raster.Pixels
				if px, p.err = r.band(inner, y0, min(r.H, y0+rows)); p.err == nil {
					p.value, p.err = pack(y0, px)
					if r.Done != nil {
						r.Done(px)
					}
				}
			})
		}
	})
	defer group.Wait()
	defer stop()
	done := 0
	for out := range queue {
		p := <-out
		if p.panicked != nil {
			panic(p.panicked)
		}
		if err := cmp.Or(ctx.Err(), p.err); err != nil {
			return err
		}
		if err := put(p.value); err != nil {
			return err
		}
		if done = min(r.H, done+rows); progress != nil {
			progress(done)
		}
	}
	return ctx.Err()
}

// band asks for a band.
func (r Rows) band(ctx context.Context, y0, y1 int) (raster.Pixels, error) {
	px, err := r.Band(ctx, y0, y1)
	if err != nil {
		return px, &bandError{err}
	}
	return px, r.fits(px, y1-y0)
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
