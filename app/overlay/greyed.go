package overlay

import (
	"image"

	"firstsheet/proof/raster"
)

// greyed takes the colour out of the picture under the bands, so that they are read on a
// red shirt as on a grey wall.
func greyed() Overlay {
	return Overlay{ID: "greyed", Name: "Grey picture", Switch: "Bands on a grey picture", With: reachID,
		Help:   "With the bands on: the picture beneath them in grey, so that they are read on any colour.",
		Legend: "The picture in grey",
		Draw:   func(dst *image.RGBA, at image.Point, f *Field, _ float64) { grey(dst, at, f.W, f.H) }}
}

// grey replaces pixels by pale grey ones of their lightness, squeezed to the middle so that
// tints over them stay telling.
func grey(dst *image.RGBA, at image.Point, w, h int) {
	raster.InRows(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			for p := pixels(dst, at, w, y); len(p) >= 4; p = p[4:] {
				l := (54*int(p[0]) + 183*int(p[1]) + 19*int(p[2])) >> 8 // luma of ITU-R BT.709
				g := uint8(90 + l*130/255)
				p[0], p[1], p[2] = g, g, g
			}
		}
	})
}
