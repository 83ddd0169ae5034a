package overlay

import "image"

// greyed takes the colour out of the picture under the bands, so that they are read on a
// red shirt as on a grey wall.
func greyed() Overlay {
	return Overlay{ID: "greyed", Name: "Grey picture", Switch: "Bands on a grey picture", With: reachID,
		Help:   "With the bands on: the picture beneath them in grey, so that they are read on any colour.",
		Legend: "The picture in grey",
		Draw:   func(dst *image.RGBA, at image.Point, f Field, _ Options) { grey(dst, at, f.W, f.H) }}
}
