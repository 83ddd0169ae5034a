package session

import (
	"context"
	"math"
	"slices"

	"firstsheet/app/overlay"
	"firstsheet/proof"
	"firstsheet/proof/raster"
)

// reading is what a look gives for a sheet, bare of overlays. It is kept from frame to
// frame: under another threshold nothing is read again, and where something is, memory is
// used again.
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

// take reads what is not there yet; apart, where it is not nil, tells the differences.
func (r *reading) take(ctx context.Context, key readingKey, look Look, apart Difference, src raster.Pixels) error {
	if r.of.covers(key) {
		return nil
	}
	r.of = readingKey{} // until it is through
	n := src.W * src.H
	r.pixels = slices.Grow(r.pixels[:0], 4*n)[:4*n]
	if !key.told {
		if err := look.Proof(ctx, r.pixels, src); err != nil {
			return err
		}
	} else {
		r.field.Reset(src.W, src.H, key.line)
		if err := look.ProofAndSamples(ctx, r.pixels, r.field.Samples, src); err != nil {
			return err
		}
		if apart != nil {
			apart(r.field.Samples, src)
		}
	}
	r.of = key
	return nil
}
