package space

import (
	"image/color"

	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
)

// OnScreen is a colour (CIELAB under D50) on an sRGB screen, for swatches; what such a
// screen can't show is clipped.
func OnScreen(c cie.Lab) color.RGBA { return raster.RGBA(SRGB().FromLab(c)) }
