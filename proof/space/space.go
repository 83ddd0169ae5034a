// Package space holds the RGB encodings that Firstsheet knows without a
// profile: each is its published primaries, white and transfer curve, nothing
// else. They serve as assumed spaces of untagged pictures, as the space that
// numbers are wrongly taken for, and as the screen when nothing better is known.
//
// Viewing conditions, black levels and gamut mapping that the standards also
// describe are deliberately left out: an ICC matrix profile does not carry them.
package space

import (
	"math"

	"firstsheet/proof/cie"
)

// Curve is the decoding half of a transfer curve in the form of an ICC
// parametric curve of type 3 (ICC.1:2022, 10.18): encoded V to linear Y, both 0
// to 1,
//
//	Y = (A V + B)^G   V >= D
//	Y = C V           V <  D
type Curve struct{ G, A, B, C, D float64 }

// Decode returns the linear light of the encoded value v. Below 0 the curve is
// continued point-symmetrically.
func (c Curve) Decode(v float64) float64 {
	switch {
	case v < 0:
		return -c.Decode(-v)
	case v >= c.D:
		return math.Pow(c.A*v+c.B, c.G)
	default:
		return c.C * v
	}
}

// Encode returns the encoded value of the linear light y: the inverse of
// [Curve.Decode].
func (c Curve) Encode(y float64) float64 {
	if y < 0 {
		return -c.Encode(-y)
	}
	if c.D > 0 && y < c.C*c.D {
		return y / c.C
	}
	return (math.Pow(y, 1/c.G) - c.B) / c.A
}

// Power is a pure power curve.
func Power(g float64) Curve { return Curve{G: g, A: 1} }

// sRGBCurve is the curve of IEC 61966-2-1, which Display P3 shares.
var sRGBCurve = Curve{G: 2.4, A: 1 / 1.055, B: 0.055 / 1.055, C: 1 / 12.92, D: 0.04045}

// rec2020Curve decodes the camera curve of ITU-R BT.2020 (table 4, the constants
// at full precision): E' = 4.5 E below beta, alpha E^0.45 - (alpha-1) above.
var rec2020Curve = Curve{
	G: 1 / 0.45,
	A: 1 / 1.09929682680944,
	B: 0.09929682680944 / 1.09929682680944,
	C: 1 / 4.5,
	D: 4.5 * 0.018053968510807,
}

var (
	whiteD65 = [2]float64{0.3127, 0.3290}
	// whiteD50 is the chromaticity of the profile connection space's white, so
	// that a D50 encoding needs no adaptation at all.
	whiteD50 = [2]float64{
		cie.D50.X / (cie.D50.X + cie.D50.Y + cie.D50.Z),
		cie.D50.Y / (cie.D50.X + cie.D50.Y + cie.D50.Z),
	}
)

// Space is an RGB encoding: chromaticities x, y of its primaries and white, and
// the curve that all three channels share. It is comparable.
type Space struct {
	// ID names the space on a command line and in files.
	ID string
	// Name is what a person reads.
	Name                    string
	Red, Green, Blue, White [2]float64
	Curve                   Curve
}

// All returns the built-in spaces, the most usual first.
func All() []Space {
	return []Space{
		{ // IEC 61966-2-1
			ID: "srgb", Name: "sRGB",
			Red: [2]float64{0.64, 0.33}, Green: [2]float64{0.30, 0.60}, Blue: [2]float64{0.15, 0.06},
			White: whiteD65, Curve: sRGBCurve,
		},
		{ // opRGB, IEC 61966-2-5; primaries and exponent as in Adobe RGB (1998), May 2005, 4.3
			ID: "adobe1998", Name: "opRGB (IEC 61966-2-5)",
			Red: [2]float64{0.64, 0.33}, Green: [2]float64{0.21, 0.71}, Blue: [2]float64{0.15, 0.06},
			White: whiteD65, Curve: Power(563.0 / 256.0),
		},
		{ // primaries of SMPTE RP 431-2 with D65 and the sRGB curve
			ID: "displayp3", Name: "Display P3",
			Red: [2]float64{0.680, 0.320}, Green: [2]float64{0.265, 0.690}, Blue: [2]float64{0.150, 0.060},
			White: whiteD65, Curve: sRGBCurve,
		},
		{ // ISO 22028-2:2013
			ID: "romm", Name: "ROMM RGB",
			Red: [2]float64{0.7347, 0.2653}, Green: [2]float64{0.1596, 0.8404}, Blue: [2]float64{0.0366, 0.0001},
			White: whiteD50, Curve: Curve{G: 1.8, A: 1, C: 1.0 / 16, D: 16.0 / 512},
		},
		{ // ITU-R BT.2020-2
			ID: "rec2020", Name: "Rec. 2020",
			Red: [2]float64{0.708, 0.292}, Green: [2]float64{0.170, 0.797}, Blue: [2]float64{0.131, 0.046},
			White: whiteD65, Curve: rec2020Curve,
		},
	}
}

// ByID returns the built-in space with that ID, and whether there is one.
func ByID(id string) (Space, bool) {
	for _, s := range All() {
		if s.ID == id {
			return s, true
		}
	}
	return Space{}, false
}

// SRGB returns the encoding of IEC 61966-2-1.
func SRGB() Space { return All()[0] }

// ToXYZ returns the matrix from linear RGB, 0 to 1, to tristimulus values under
// D50, adapted from the space's white by the linear Bradford transform.
//
// Source: SMPTE RP 177-1993, 3.3 (normalised primary matrix); ICC.1:2022, annex E.
func (s Space) ToXYZ() cie.Mat3 {
	r, g, b := cie.FromXY(s.Red[0], s.Red[1]), cie.FromXY(s.Green[0], s.Green[1]), cie.FromXY(s.Blue[0], s.Blue[1])
	white := cie.FromXY(s.White[0], s.White[1])
	primaries := cie.Mat3{r.X, g.X, b.X, r.Y, g.Y, b.Y, r.Z, g.Z, b.Z}
	inverse, _ := primaries.Inverse()
	w := inverse.Apply([3]float64{white.X, white.Y, white.Z})
	scaled := primaries.Mul(cie.Mat3{w[0], 0, 0, 0, w[1], 0, 0, 0, w[2]})
	return cie.Adaptation(white, cie.D50).Mul(scaled)
}

// Decode returns the linear light of one encoded channel value, 0 to 1.
func (s Space) Decode(v float64) float64 { return s.Curve.Decode(v) }

// Encode returns the encoded channel value of linear light y.
func (s Space) Encode(y float64) float64 { return s.Curve.Encode(y) }

// ToLab returns the D50 CIELAB colour of encoded r, g, b, 0 to 1 each, unclamped.
func (s Space) ToLab(r, g, b float64) cie.Lab {
	v := s.ToXYZ().Apply([3]float64{s.Decode(r), s.Decode(g), s.Decode(b)})
	return cie.XYZ{X: v[0], Y: v[1], Z: v[2]}.ToLab(cie.D50)
}

// FromLab returns the encoded r, g, b of a D50 CIELAB colour, unclamped: outside
// 0 to 1 the space cannot hold the colour.
func (s Space) FromLab(c cie.Lab) [3]float64 {
	inverse, _ := s.ToXYZ().Inverse()
	x := c.ToXYZ(cie.D50)
	v := inverse.Apply([3]float64{x.X, x.Y, x.Z})
	return [3]float64{s.Encode(v[0]), s.Encode(v[1]), s.Encode(v[2])}
}
