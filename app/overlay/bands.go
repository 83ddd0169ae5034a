package overlay

import "image"

const reachID = "reach"

// reachBands draws where the picture is out of the paper's reach.
func reachBands() Overlay {
	return Overlay{ID: reachID, Name: "Reach bands", Switch: "Reach bands", Key: "R",
		Help:   "Draw where the picture is out of this paper’s reach, like the height lines of a map.",
		Legend: "Out of the paper’s reach, in bands of ΔE00",
		Draw: func(dst *image.RGBA, at image.Point, f *Field, limit float64) {
			f.paint(dst, at, f.reachBands(), limit, 140)
		}}
}
