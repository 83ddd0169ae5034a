package photo

import (
	"cmp"
	"context"
	"sync"

	"firstsheet/proof/raster"
)

// Reading is a picture file whose rows are read when they are asked for, so that a large
// picture need not lie in memory as a whole.
type Reading struct {
	// Picture is what [Open] returns. Its samples and opacities are nil while they are still to be
	// read, and what its Notes say of them comes with the last row.
	*Picture

	path string
	file *disk // nil where it was read whole
	unread
	orientation int // of what is unread
	turn        turn
	seeThrough  int // pixels among the rows so far
	spare8      raster.Spare[uint8]
	spare16     raster.Spare[uint16] // of rows that were given back
}

// rowReader reads the samples of a picture, from the first row on.
type rowReader interface {
	// next reads the rows that come into px, laid over bare paper, and returns their
	// opacities, nil where all are opaque. Errors are *[Error] without a path, or the context's.
	next(ctx context.Context, px raster.Pixels) (alpha []uint8, err error)
	// Close may be called more than once.
	Close()
}

// Begin opens the picture file at path as [Open] does, but reads the samples later where
// the format lets it, up to [MaxRowPixels]: those of JPEG, PNG that is not interlaced and TIFF
// that has not thousands of tiles side by side, upright ones. Of PNG and TIFF the file itself is read by and by, too. Damage among the samples
// is told by who reads them, and that the file was changed meanwhile. The reading must be closed.
func Begin(ctx context.Context, path string) (*Reading, error) {
	lim := defaultLimits()
	lim.rows = MaxRowPixels
	f, err := openFile(path, MaxRowFileBytes)
	if err != nil {
		return nil, at(path, readKind(err), err)
	}
	r, err := begin(ctx, path, f, lim)
	if err != nil {
		f.Close()
		return nil, err
	}
	r.file = f
	defer giveBack(r.Picture)
	if r.whole {
		if err := r.Whole(ctx); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// Rows returns the rows from y0 up to but not including y1, and their opacities, nil where
// all of them are opaque. Each row can be asked for once until the picture is whole, the rows
// before it before it or at the same time: the call waits for its turn. What comes back is
// only read. Errors are *[Error] or the context's.
func (r *Reading) Rows(ctx context.Context, y0, y1 int) (px raster.Pixels, alpha []uint8, err error) {
	if r.rest == nil {
		if r.Alpha != nil {
			alpha = r.Alpha[y0*r.W : y1*r.W]
		}
		return r.Pixels().Rows(y0, y1), alpha, nil
	}
	if err := r.turn.wait(ctx, y0); err != nil {
		return raster.Pixels{}, nil, err
	}
	px = raster.Pixels{W: r.W, H: y1 - y0, Channels: r.stored}
	if n := px.W * px.H * px.Channels; r.Depth == 16 {
		px.P16 = r.spare16.Get(n)
	} else {
		px.P8 = r.spare8.Get(n)
	}
	if alpha, err = r.read(ctx, px); err == nil && y1 == r.H {
		err = r.end()
	}
	if err != nil {
		return raster.Pixels{}, nil, err
	}
	r.turn.next(y1)
	if r.stored != r.Channels {
		defer r.Done(px)
	}
	return r.meant(px), alpha, nil
}

// Done gives rows back that are not needed any more: others are read into their memory.
func (r *Reading) Done(px raster.Pixels) {
	switch {
	case r.Pix8 != nil || r.Pix16 != nil: // they are the picture's own
	case px.P16 != nil:
		r.spare16.Put(px.P16)
	case px.P8 != nil:
		r.spare8.Put(px.P8)
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
	px := raster.New(r.W, r.H, r.stored, r.Depth == 16)
	var err error
	if r.Alpha, err = r.read(ctx, px); err == nil {
		err = r.end()
	}
	if err != nil {
		return err
	}
	r.Close() // what turns the samples has the memory
	px = r.meant(px)
	r.Pix8, r.Pix16 = px.P8, px.P16
	_, err = r.upright(ctx, r.orientation)
	return at(r.path, Damaged, cmp.Or(err, r.check()))
}

// read reads the rows that come next.
func (r *Reading) read(ctx context.Context, px raster.Pixels) (alpha []uint8, err error) {
	alpha, err = r.rest.next(ctx, px)
	if ctx.Err() != nil { // a decoder that was stopped reports a broken stream
		err = ctx.Err()
	}
	if err != nil {
		return nil, at(r.path, Damaged, err)
	}
	r.seeThrough += seeThrough(alpha)
	return alpha, nil
}

// end tells what is known of the samples once all have been read.
func (r *Reading) end() error {
	r.noteAlpha(r.seeThrough)
	if r.file == nil {
		return nil
	}
	return at(r.path, NotReadable, r.file.unchanged())
}

// meant returns samples with the channels of the picture.
func (r *Reading) meant(px raster.Pixels) raster.Pixels {
	if r.stored == 1 && r.Channels == 3 {
		return px.RGB()
	}
	return px
}

// Opaque reports whether nothing was see-through in what has been read.
func (r *Reading) Opaque() bool { return r.seeThrough == 0 && r.Alpha == nil }

// Close ends the reading. The picture stays, as far as it was read.
func (r *Reading) Close() {
	if r.rest != nil {
		r.rest.Close()
		r.rest = nil
	}
	if r.file != nil {
		r.file.Close()
		r.file = nil
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
