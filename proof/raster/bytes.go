package raster

import (
	"image/color"
	"math"
)

// RGBA rounds what a screen is told, 0 to 1 and clipped, to an opaque colour of 8 bits.
func RGBA(v [3]float64) color.RGBA {
	b := func(x float64) uint8 { return uint8(math.Round(min(max(x, 0), 1) * 255)) }
	return color.RGBA{b(v[0]), b(v[1]), b(v[2]), 255}
}
