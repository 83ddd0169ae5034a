package overlay

import (
	"image"
	"image/color"
)

// darker hatches where the picture is darker than the paper's black.
func darker() Overlay {
	return Overlay{ID: "darker", Name: "Darker than this paper", Switch: "Hatch what is too dark", Usual: true, With: reachID,
		Help:   "With the bands on: hatch the shadows that are darker than this paper’s deepest black.",
		Legend: "Hatched: darker than this paper’s black",
		Draw: func(dst *image.RGBA, at image.Point, f Field, o Options) {
			step, line := 7*max(o.Line, 1), max(o.Line, 1)
			light, dark := color.NRGBA{205, 205, 205, 255}, color.NRGBA{0, 0, 0, 255}
			for y := range f.H {
				p := dst.Pix[dst.PixOffset(at.X, at.Y+y):]
				for x := range f.W {
					if !f.Dark[y*f.W+x] {
						continue
					}
					switch m := (x + y) % step; {
					case m < line:
						mix(p[4*x:4*x+3], light, 190)
					case m < 2*line:
						mix(p[4*x:4*x+3], dark, 190)
					}
				}
			}
		}}
}
