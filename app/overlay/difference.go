package overlay

import "image"

// difference replaces the picture by a pale grey one of it and draws the bands
// of the difference over that.
func difference() Overlay {
	return Overlay{ID: "difference", Name: "Difference", Over: Differences,
		Legend: "How far the sheet is from what it is compared with, in bands of ΔE00",
		Draw: func(dst *image.RGBA, at image.Point, f Field, o Options) {
			for y := range f.H {
				p := dst.Pix[dst.PixOffset(at.X, at.Y+y):]
				for x := range f.W {
					q := p[4*x : 4*x+3]
					// Luma of ITU-R BT.709, squeezed to the middle so that tints stay telling.
					l := (54*int(q[0]) + 183*int(q[1]) + 19*int(q[2])) >> 8
					g := uint8(90 + l*130/255)
					q[0], q[1], q[2] = g, g, g
				}
			}
			v := smooth(f.Diff, nil, f.W, f.H, 3*max(o.Line, 1))
			paint(dst, at, classes(v, o.Limit), f.W, f.H, 170, o.Line)
		}}
}
