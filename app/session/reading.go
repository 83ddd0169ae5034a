package session

import (
	"context"
	"image"
	"math"
	"slices"

	"firstsheet/app/overlay"
	"firstsheet/proof"
	"firstsheet/proof/raster"
)

// reading is what a look gives for a sheet, bare of overlays. It is kept from frame to
// frame: under another threshold nothing is read again, and while panning what comes into
// view.
type reading struct {
	of     readingKey
	pixels []uint8 // four bytes each
	field  overlay.Field
}

// readingKey is everything that a reading depends on.
type readingKey struct {
	at      Placing
	picture int
	look    *lookWork
	quality proof.Quality
	apart   *apartWork
	told    bool // the field too
	line    int  // width of its contours
}

// reading is what is to be read for sheet n.
func (k frameKey) reading(n int, pl Placing) readingKey {
	return readingKey{at: pl, picture: k.set[n].picture, look: k.look[n], quality: k.quality[n], apart: k.apart[n],
		told: len(k.drawn(n)) > 0, line: k.line()}
}

// line is the width of drawn lines in device pixels.
func (k frameKey) line() int { return max(int(math.Round(k.cell.Scale)), 1) }

// drawn lists what is drawn over sheet n: nothing while the difference that it shows
// is still being found.
func (k frameKey) drawn(n int) []overlay.Overlay {
	switch {
	case k.show[n] == ShowDifference && (k.apart[n] != nil || !k.against[n]):
		return k.over.Drawn(overlay.Differences)
	case k.set[n].Paper != "":
		return k.over.Drawn(overlay.Proofs)
	}
	return nil
}

// covers tells whether what was read for k serves for other: more may have been told.
func (k readingKey) covers(other readingKey) bool {
	other.told = other.told || k.told
	return k == other
}

// shift tells by how many pixels the picture has moved, and is ok where nothing else
// differs for what other asks for.
func (k readingKey) shift(other readingKey) (by image.Point, ok bool) {
	by, ok = k.at.View().Shift(other.at.View())
	k.at = other.at
	return by, ok && k.covers(other)
}

// reader is what a sheet is read by; apart, where it is not nil, tells the differences.
type reader struct {
	look  Look
	apart Difference
}

// read writes four bytes a pixel and, where samples is not nil, what is told of each.
func (r reader) read(ctx context.Context, pixels []uint8, samples []proof.Sample, src raster.Pixels) error {
	if samples == nil {
		return r.look.Proof(ctx, pixels, src)
	}
	if err := r.look.ProofAndSamples(ctx, pixels, samples, src); err != nil {
		return err
	}
	if r.apart != nil {
		r.apart(samples, src)
	}
	return nil
}

// take reads what is not there yet: where the picture has only moved, what came into view.
func (r *reading) take(ctx context.Context, key readingKey, with reader, src raster.Pixels) error {
	if r.of.covers(key) {
		return nil
	}
	by, near := r.of.shift(key)
	r.of = readingKey{} // until it is through
	r.pixels = slices.Grow(r.pixels[:0], 4*src.W*src.H)[:4*src.W*src.H]
	var samples []proof.Sample
	if key.told {
		r.field.Reset(src.W, src.H, key.line)
		samples = r.field.Samples
	}
	var err error
	if near {
		err = with.pan(ctx, by, r.pixels, samples, src)
	} else {
		err = with.read(ctx, r.pixels, samples, src)
	}
	if err == nil {
		r.of = key
	}
	return err
}

// pan moves what was read of a picture by by, and reads what comes into view.
func (r reader) pan(ctx context.Context, by image.Point, pixels []uint8, samples []proof.Sample, src raster.Pixels) error {
	raster.Move(pixels, 4*src.W, 4*by.X, by.Y)
	raster.Move(samples, src.W, by.X, by.Y)
	for _, at := range raster.Exposed(src.W, src.H, by) {
		part, fresh, told := src.Part(at), make([]uint8, 4*at.Dx()*at.Dy()), []proof.Sample(nil)
		if samples != nil {
			told = make([]proof.Sample, at.Dx()*at.Dy())
		}
		if err := r.read(ctx, fresh, told, part); err != nil {
			return err
		}
		raster.Paste(pixels, 4*src.W, 4*at.Min.X, at.Min.Y, fresh, 4*part.W)
		raster.Paste(samples, src.W, at.Min.X, at.Min.Y, told, part.W)
	}
	return nil
}
