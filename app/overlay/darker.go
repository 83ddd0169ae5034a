package overlay

import (
	"image"
	"image/color"

	"firstsheet/proof"
	"firstsheet/proof/raster"
)

// darker hatches where the picture is darker than the paper's black.
func darker() Overlay {
	return Overlay{ID: "darker", Name: "Darker than this paper", Switch: "Hatch what is too dark", Usual: true, With: reachID,
		Help:   "With the bands on: hatch the shadows that are darker than this paper’s deepest black.",
		Legend: "Hatched: darker than this paper’s black",
		Draw: func(dst *image.RGBA, at image.Point, f *Field, _ float64) {
			light, dark := newInk(color.NRGBA{205, 205, 205, 255}, 190), newInk(color.NRGBA{0, 0, 0, 255}, 190)
			raster.InRows(f.H, func(y0, y1 int) {
				for y := y0; y < y1; y++ {
					hatch(pixels(dst, at, f.W, y), f.Samples[y*f.W:(y+1)*f.W], y, f.line, light, dark)
				}
			})
		}}
}

// hatch draws slanting lines over what is darker in row y.
func hatch(p []uint8, row []proof.Sample, y, line int, light, dark ink) {
	step := 7 * line
	for from := -(y % step); from < len(row); from += step {
		for x := max(from, 0); x < min(from+2*line, len(row)); x++ {
			switch {
			case !row[x].Darker:
			case x < from+line:
				light.on(p[4*x:])
			default:
				dark.on(p[4*x:])
			}
		}
	}
}
