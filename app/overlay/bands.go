package overlay

import "image"

const reachID = "reach"

// reachBands draws where the picture is out of the paper's reach.
func reachBands() Overlay {
	return Overlay{ID: reachID, Name: "Reach bands", Switch: "Reach bands", Key: "R",
		Help:   "Draw where the picture is out of this paper’s reach, like the height lines of a map.",
		Legend: "Out of the paper’s reach, in bands of ΔE00",
		Draw: func(dst *image.RGBA, at image.Point, f Field, o Options) {
			v := smooth(f.Reach, f.Dark, f.W, f.H, 3*max(o.Line, 1))
			class := classes(v, o.Limit)
			for i, d := range f.Dark {
				if d {
					class[i] = 0 // a share of its own
				}
			}
			paint(dst, at, class, f.W, f.H, 140, o.Line)
		}}
}
