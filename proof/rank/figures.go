package rank

import (
	"errors"
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
)

// Candidate is one way to print the picture.
type Candidate struct {
	// ID is the caller's own key.
	ID string `json:"id"`
	// Paper and Intent are in words, as they are to be told.
	Paper        string `json:"paper"`
	Intent       string `json:"intent"`
	Compensation bool   `json:"compensation"`
	// Either says that the way prints the same with compensation and without; it is
	// set by [Order].
	Either bool `json:"either,omitempty"`
	// White and Black are the paper's bare white and deepest black, absolute
	// colorimetric Lab.
	White cie.Lab `json:"white"`
	Black cie.Lab `json:"black"`
}

// Spot is a pin on the picture: its name and the numbers of the pixels it
// reads, interleaved and 0 to 1.
type Spot struct {
	Name    string
	Numbers []float64
}

// Picture is what is looked at of a picture.
type Picture struct {
	// Whole is what [Compute] has the engine count figures over.
	Whole    *proof.Picture
	Channels int
	// Numbers and Weights are the colours of the picture and for how many of its
	// pixels each stands: those of [proof.CountColours].
	Numbers, Weights []float64
	// Small is the picture reduced to W by H pixels, some 400 wide, averaged
	// and not rounded; nil leaves smoothness out.
	Small []float64
	W, H  int
	// Spots are the pins.
	Spots []Spot
}

// Turn is the turn of a pin's hue in degrees, or of skin.
type Turn struct {
	Name string `json:"name"`
	// Degrees is positive counter-clockwise in the a*b* plane.
	Degrees float64 `json:"degrees"`
	// DeltaE00 is the pin's whole difference.
	DeltaE00 float64 `json:"deltaE00"`
	// Coloured is false where either C* is below 8: there is no hue to turn,
	// and Degrees is 0.
	Coloured bool `json:"coloured"`
}

// OutOfReach is the ΔE00 from which a colour counts as out of reach, one of
// [proof.BandEdges].
const OutOfReach = 2.0

// Figures are what is computed of one candidate. Shares are of the picture's
// pixels of alpha above 0, 0 to 1. Out, Darker, Mean, P95 and Max are the engine's.
type Figures struct {
	// Out is the share with a reach of at least 2 ΔE00 that is not darker than
	// the paper; Darker is the share that is.
	Out    float64 `json:"out"`
	Darker float64 `json:"darker"`

	// Mean, P95 and Max are of ΔE00 (ISO/CIE 11664-6) between original and
	// print; P95 is the 95th percentile by nearest rank.
	Mean float64 `json:"mean"`
	P95  float64 `json:"p95"`
	Max  float64 `json:"max"`

	// Pins holds the turn of each pin's mean colour (see package pin).
	Pins []Turn `json:"pins,omitempty"`

	// SkinShare is the share of skin-like colours (see words.SkinLike). SkinTurn
	// is the mean turn of their hue, SkinOff the mean of its size, both over
	// those that keep a C* of 8.
	SkinShare float64 `json:"skinShare"`
	SkinTurn  float64 `json:"skinTurn"`
	SkinOff   float64 `json:"skinOff"`

	Shadows    Separation `json:"shadows"`
	Highlights Separation `json:"highlights"`
	Smoothness Smoothness `json:"smoothness"`

	// Range is the paper's contrast as L* of white minus L* of black; Contrast
	// the ratio of their luminances, 0 for a black without any.
	Range    float64 `json:"range"`
	Contrast float64 `json:"contrast"`
}

// PinOff returns the largest turn of a pin's hue by size, with its name.
func (f Figures) PinOff() (name string, degrees float64) {
	for _, p := range f.Pins {
		if d := math.Abs(p.Degrees); d > degrees {
			name, degrees = p.Name, d
		}
	}
	return name, degrees
}

// ErrEmpty is returned for a picture that has no visible pixel.
var ErrEmpty = errors.New("rank: the picture has no visible pixel")

// count takes over what the engine counts.
func (f *Figures) count(c proof.Figures) {
	f.Out, f.Darker, f.Mean, f.P95, f.Max = c.Outside(OutOfReach), c.Darker, c.Mean, c.P95, c.Max
}

// Range returns a paper's contrast from its absolute white and black: the
// difference of L*, and the ratio of luminances, 0 for a black without any.
func Range(white, black cie.Lab) (lightness, ratio float64) {
	if y := black.ToXYZ(cie.D50).Y; y > 0 {
		ratio = white.ToXYZ(cie.D50).Y / y
	}
	return white.L - black.L, ratio
}
