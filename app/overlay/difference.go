package overlay

import "image"

// difference replaces the picture by a pale grey one of it and draws the bands
// of the difference over that.
func difference() Overlay {
	return Overlay{ID: "difference", Name: "Difference", Over: Differences,
		Legend: "How far the sheet is from what it is compared with, in bands of ΔE00",
		Draw: func(dst *image.RGBA, at image.Point, f *Field, limit float64) {
			grey(dst, at, f.W, f.H)
			f.paint(dst, at, f.differenceBands(), limit, 170)
		}}
}
