package photo

import (
	"cmp"
	"context"
	"sync"

	"firstsheet/proof/jpeg"
	"firstsheet/proof/raster"
)

// Reading is a picture file whose rows are read when they are asked for, so that a large
// picture need not lie in memory as a whole.
type Reading struct {
	// Picture is what [Open] returns. Its samples are nil while they are still to be read,
	// which is so of JPEGs that are neither grey nor lie on their side.
	*Picture

	path        string
	orientation int           // of samples that are still to be read
	rest        *jpeg.Decoder // nil when all have been read
	size        int64         // bytes that reading them all takes, with the file
	turn        turn
	spare       raster.Spare // of rows that were given back
}

// Begin opens the picture file at path as [Open] does, but reads the samples later where
// the format lets it, up to [MaxRowPixels]. Damage among them is told by who reads them. The
// reading must be closed.
func Begin(ctx context.Context, path string) (*Reading, error) {
	lim := defaultLimits()
	lim.rows = true
	data, err := readFile(ctx, path, lim)
	if err != nil {
		return nil, at(path, readKind(err), err)
	}
	r, err := begin(ctx, path, data, lim)
	if err != nil {
		return nil, err
	}
	defer giveBack(r.Picture)
	if r.Channels == 1 || turned(r.orientation) {
		if err := r.Whole(ctx); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// Rows returns the rows from y0 up to but not including y1, and their opacities, nil where
// all are opaque. Each row can be asked for once until the picture is whole, the rows
// before it before it or at the same time: the call waits for its turn. What comes back is
// only read. Errors are *[Error] or the context's.
func (r *Reading) Rows(ctx context.Context, y0, y1 int) (px raster.Pixels, alpha []uint8, err error) {
	if r.rest == nil {
		if r.Alpha != nil {
			alpha = r.Alpha[y0*r.W : y1*r.W]
		}
		return raster.Pixels{W: r.W, H: r.H, Channels: r.Channels, P8: r.Pix8, P16: r.Pix16}.Rows(y0, y1), alpha, nil
	}
	if err := r.turn.wait(ctx, y0); err != nil {
		return raster.Pixels{}, nil, err
	}
	px = raster.Pixels{W: r.W, H: y1 - y0, Channels: r.Channels}
	px.P8 = r.spare.Get(px.W * px.H * px.Channels)
	if err := r.read(ctx, px.P8); err != nil {
		return raster.Pixels{}, nil, err
	}
	r.turn.next(y1)
	return px, nil, nil
}

// Done gives rows back that are not needed any more: others are read into their memory.
func (r *Reading) Done(px raster.Pixels) {
	if r.Pix8 == nil && px.P8 != nil { // else it is the picture's own
		r.spare.Put(px.P8)
	}
}

// Whole reads all samples into the picture, upright, within the limits of [Open]. Nothing may
// have been read before. When it fails the reading is closed.
func (r *Reading) Whole(ctx context.Context) error {
	if r.rest == nil {
		return nil
	}
	defer r.Close()
	lim := defaultLimits()
	if err := cmp.Or(lim.check(int64(r.W), int64(r.H)), lim.room(r.size, r.W, r.H)); err != nil {
		return at(r.path, TooLarge, err)
	}
	r.Pix8 = make([]uint8, r.W*r.H*r.Channels)
	if err := r.read(ctx, r.Pix8); err != nil {
		return err
	}
	r.Close() // what turns the samples has the memory
	_, err := r.upright(ctx, r.orientation)
	return at(r.path, Damaged, err)
}

// read decodes rows to fill dst. Inks are turned round: all who write four channels, and
// Adobe's segment, store 255 for none.
func (r *Reading) read(ctx context.Context, dst []uint8) error {
	if err := r.rest.Rows(ctx, dst); err != nil {
		return at(r.path, Damaged, jpegFault("JPEG", err))
	}
	if r.Channels == 4 {
		for i, v := range dst {
			dst[i] = ^v
		}
	}
	return nil
}

// Close ends the reading. The picture stays, as far as it was read.
func (r *Reading) Close() {
	if r.rest != nil {
		r.rest.Close()
		r.rest = nil
	}
}

// turn lets those who wait for their row go on in the order of rows.
type turn struct {
	mu      sync.Mutex
	row     int
	waiting map[int]chan struct{}
}

// wait returns when it is row's turn, or with the context's error.
func (t *turn) wait(ctx context.Context, row int) error {
	t.mu.Lock()
	if t.row == row {
		t.mu.Unlock()
		return ctx.Err()
	}
	if t.waiting == nil {
		t.waiting = map[int]chan struct{}{}
	}
	mine := make(chan struct{})
	t.waiting[row] = mine
	t.mu.Unlock()
	select {
	case <-mine:
		return ctx.Err()
	case <-ctx.Done():
		return ctx.Err()
	}
}

// next passes the turn on.
func (t *turn) next(row int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.row = row
	if c := t.waiting[row]; c != nil {
		delete(t.waiting, row)
		close(c)
	}
}
