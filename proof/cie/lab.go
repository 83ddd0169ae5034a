package cie

import (
	"fmt"
	"math"
)

// XYZ holds tristimulus values, scaled so that Y of the reference white is 1.
type XYZ struct{ X, Y, Z float64 }

// D50 is the white of the ICC profile connection space, the rounding that
// profiles carry in their header (ICC.1:2022, 7.2.16).
var D50 = XYZ{0.9642, 1.0, 0.8249}

// D65 is the white of sRGB, Adobe RGB (1998), Display P3 and Rec. 2020, from
// its published chromaticity 0.3127, 0.3290 (IEC 61966-2-1).
var D65 = FromXY(0.3127, 0.3290)

// FromXY returns the tristimulus values of the chromaticity x, y with Y = 1.
// y must not be zero.
func FromXY(x, y float64) XYZ { return XYZ{x / y, 1, (1 - x - y) / y} }

// Scale returns c with all three values multiplied by k.
func (c XYZ) Scale(k float64) XYZ { return XYZ{c.X * k, c.Y * k, c.Z * k} }

// Lab is a CIELAB colour. In this project its white is always D50.
type Lab struct{ L, A, B float64 }

// String gives L*, a*, b* with one decimal, as they are shown to a person.
func (c Lab) String() string { return fmt.Sprintf("%.1f, %.1f, %.1f", c.L, c.A, c.B) }

// Chroma returns C*ab, the distance from the neutral axis.
func (c Lab) Chroma() float64 { return math.Hypot(c.A, c.B) }

// Hue returns h_ab in degrees, from 0 up to but not including 360. A neutral
// colour has hue 0.
func (c Lab) Hue() float64 {
	if c.A == 0 && c.B == 0 {
		return 0
	}
	h := math.Atan2(c.B, c.A) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	if h >= 360 { // a tiny negative angle rounds up to 360
		h = 0
	}
	return h
}

// LCh is CIELAB in cylindrical form: lightness, chroma, hue in degrees.
type LCh struct{ L, C, H float64 }

// LCh returns c in cylindrical form.
func (c Lab) LCh() LCh { return LCh{c.L, c.Chroma(), c.Hue()} }

// Lab returns c in rectangular form.
func (c LCh) Lab() Lab {
	s, k := math.Sincos(c.H * math.Pi / 180)
	return Lab{c.L, c.C * k, c.C * s}
}

// HueTurn returns the angle from hue a to hue b in degrees, in (-180, 180].
// Positive is counter-clockwise: from red (+a*) towards yellow (+b*).
func HueTurn(a, b float64) float64 {
	d := math.Mod(b-a, 360)
	switch {
	case d > 180:
		d -= 360
	case d <= -180:
		d += 360
	}
	return d
}

// The two constants of the CIELAB function as exact fractions (CIE 15:2004,
// appendix D): the cube root holds above epsilon, the straight line below.
const (
	epsilon = 216.0 / 24389.0
	kappa   = 24389.0 / 27.0
)

func labF(t float64) float64 {
	if t > epsilon {
		return math.Cbrt(t)
	}
	return (kappa*t + 16) / 116
}

func labFInverse(f float64) float64 {
	if t := f * f * f; t > epsilon {
		return t
	}
	return (116*f - 16) / kappa
}

// ToLab returns the CIELAB colour of c under the given white. Negative values
// follow the straight part of the curve, so L* may be below 0.
//
// Source: CIE 15:2004, 8.2.1.
func (c XYZ) ToLab(white XYZ) Lab {
	fx, fy, fz := labF(c.X/white.X), labF(c.Y/white.Y), labF(c.Z/white.Z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// ToXYZ returns the tristimulus values of c under the given white: the inverse
// of [XYZ.ToLab].
func (c Lab) ToXYZ(white XYZ) XYZ {
	fy := (c.L + 16) / 116
	return XYZ{
		white.X * labFInverse(fy+c.A/500),
		white.Y * labFInverse(fy),
		white.Z * labFInverse(fy-c.B/200),
	}
}

// OnWhite returns the absolute colour of a print from that relative to its paper's
// white, which is absolute itself; all D50.
//
// Source: ICC.1:2022, 6.3.2, the media-relative colorimetric transform: XYZ scaled per
// channel.
func (c Lab) OnWhite(white Lab) Lab {
	v, w := c.ToXYZ(D50), white.ToXYZ(D50)
	return XYZ{v.X * w.X / D50.X, v.Y * w.Y / D50.Y, v.Z * w.Z / D50.Z}.ToLab(D50)
}

// BesideWhite is the inverse of [Lab.OnWhite]: an absolute colour as seen beside a
// paper's white.
func (c Lab) BesideWhite(white Lab) Lab {
	v, w := c.ToXYZ(D50), white.ToXYZ(D50)
	return XYZ{v.X / w.X * D50.X, v.Y / w.Y * D50.Y, v.Z / w.Z * D50.Z}.ToLab(D50)
}
