package space

import (
	"image/color"
	"math"

	"firstsheet/proof/cie"
)

// OnScreen is a colour (CIELAB under D50) on an sRGB screen, for swatches; what such a
// screen can't show is clipped.
func OnScreen(c cie.Lab) color.RGBA {
	v := SRGB().FromLab(c)
	b := func(x float64) uint8 { return uint8(math.Round(255 * min(max(x, 0), 1))) }
	return color.RGBA{b(v[0]), b(v[1]), b(v[2]), 255}
}
