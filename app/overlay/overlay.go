// Package overlay draws over a finished sheet: the reach bands, the pattern
// where a picture is darker than the paper's black, the map of differences.
//
// It works on the buffer that goes to the screen and on figures that the engine
// gave for each of its pixels. It knows no toolkit and no colour management:
// its few colours are meant for the eye beside the picture, not as data.
package overlay

import (
	"image"
	"image/color"
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// Over says what kind of sheet an overlay is drawn over.
type Over uint8

const (
	// Proofs show the picture on a paper.
	Proofs Over = iota
	// Differences show how far a sheet lies from what it is compared with.
	Differences
)

// Overlay is one way to draw over a sheet.
type Overlay struct {
	ID, Name string
	// Over is the kind of sheet that it is drawn over.
	Over Over
	// Switch is what its switch is called, "" where it has none and is always drawn; Help
	// says what the switch does, Key is its key or "". Usual is whether it is on at first.
	Switch, Help, Key string
	Usual             bool
	// With is the ID of an overlay without which this one is not drawn, "" for none.
	With string
	// Legend says in one line what is drawn.
	Legend string
	// Draw changes the f.W by f.H pixels of dst from at on. limit is the ΔE00 from which a
	// colour counts: one of proof.BandEdges.
	Draw func(dst *image.RGBA, at image.Point, f *Field, limit float64)
}

// Band returns the number of the reach band that a difference lies in: 0 below the
// first edge of proof.BandEdges, 4 from the last one on.
func Band(deltaE00 float64) int {
	n := 0
	for _, e := range proof.BandEdges() {
		if deltaE00 >= e {
			n++
		}
	}
	return n
}

// scale are the bands' tints as CIELAB LCh: one hue, the blue-green that skin, foliage and
// red cloth are not, told apart by lightness alone, which every eye sees, and by lines that
// grow heavier from band to band.
var scale = [4]cie.LCh{{L: 93, C: 16, H: 205}, {L: 74, C: 30, H: 208}, {L: 53, C: 34, H: 214}, {L: 30, C: 28, H: 224}}

// Tint returns the colour of a band from 1 to 4.
func Tint(band int) color.NRGBA {
	v := space.SRGB().FromLab(scale[band-1].Lab())
	b := func(x float64) uint8 { return uint8(math.Round(math.Min(math.Max(x, 0), 1) * 255)) }
	return color.NRGBA{b(v[0]), b(v[1]), b(v[2]), 255}
}
