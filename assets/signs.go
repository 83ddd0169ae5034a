package assets

import _ "embed"

//go:embed signs/regular.ttf
var signs []byte

//go:embed signs/bold.ttf
var boldSigns []byte

// Signs returns a font of the signs that the toolkit's own text fonts lack, such as the
// minus and arrows, drawn by signs/signs.py, and of the spaces that may follow them. It has no letters.
func Signs(bold bool) []byte {
	if bold {
		return boldSigns
	}
	return signs
}
