package overlay

import "image"

// difference replaces the picture by a pale grey one of it and draws the bands
// of the difference over that.
func difference() Overlay {
	return Overlay{ID: "difference", Name: "Difference", Over: Differences,
		Legend: "How far the sheet is from what it is compared with, in bands of ΔE00",
		Draw: func(dst *image.RGBA, at image.Point, f Field, o Options) {
			grey(dst, at, f.W, f.H)
			v := smooth(f.Diff, nil, f.W, f.H, 3*max(o.Line, 1))
			paint(dst, at, classes(v, o.Limit), f.W, f.H, 170, o.Line)
		}}
}
