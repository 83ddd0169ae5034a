package cie

import "math"

// DeltaE76 returns the CIE 1976 colour difference of a and b, the straight
// distance in CIELAB.
func DeltaE76(a, b Lab) float64 {
	return math.Sqrt((a.L-b.L)*(a.L-b.L) + (a.A-b.A)*(a.A-b.A) + (a.B-b.B)*(a.B-b.B))
}

// Terms are the weighted components of a CIEDE2000 difference from one colour
// to another, kL = kC = kH = 1: each is in ΔE00 units and carries its sign.
type Terms struct {
	// Lightness is positive when the second colour is lighter.
	Lightness float64
	// Chroma is positive when the second colour is more saturated.
	Chroma float64
	// Hue is positive when the second colour is turned counter-clockwise.
	Hue float64
	// Rotation is R_T, the factor of the chroma-hue interaction term.
	Rotation float64
}

// DeltaE00 returns the difference that the terms make together.
func (t Terms) DeltaE00() float64 {
	s := t.Lightness*t.Lightness + t.Chroma*t.Chroma + t.Hue*t.Hue + t.Rotation*t.Chroma*t.Hue
	if s < 0 { // rounding only: the quadratic form is positive for |R_T| < 2
		return 0
	}
	return math.Sqrt(s)
}

// DeltaE00 returns the CIEDE2000 colour difference of a and b, kL = kC = kH = 1.
//
// Both are CIELAB under D50: L* in [0, 100], a* and b* unscaled. The result is
// in ΔE00 units, zero for equal colours and the same for (b, a). It is fitted to
// small differences; beyond about 5 it still ranks pairs but is not a measure of
// how far apart they look. NaN in, NaN out.
//
// Source: ISO/CIE 11664-6:2014, computed as in Sharma, Wu and Dalal (2005),
// doi:10.1002/col.20070, whose test pairs are testdata/tables/ciede2000.csv.
func DeltaE00(a, b Lab) float64 { return DeltaE00Terms(a, b, 1).DeltaE00() }

// oppositeHues is half a turn, with room for the rounding of two arc tangents:
// exactly opposite hues (pair 10 of the published table) count as not beyond it.
const oppositeHues = math.Pi + 1e-12

const pow25to7 = 6103515625.0

// DeltaE00Terms returns the weighted CIEDE2000 components of the step from a to
// b, with kL = kC = 1 and the given kH. kH below 1 makes hue weigh more, as when
// a colour is clipped to a gamut.
//
// Source: Sharma, Wu and Dalal (2005), equations 2 to 22.
func DeltaE00Terms(a, b Lab, kH float64) Terms {
	c1, c2 := a.Chroma(), b.Chroma()
	cBar := (c1 + c2) / 2
	cBar7 := pow7(cBar)
	g := 0.5 * (1 - math.Sqrt(cBar7/(cBar7+pow25to7))) // (4)
	a1, a2 := (1+g)*a.A, (1+g)*b.A                     // (5)
	c1, c2 = math.Hypot(a1, a.B), math.Hypot(a2, b.B)  // (6)
	h1, h2 := hueRadians(a1, a.B), hueRadians(a2, b.B) // (7)

	deltaL := b.L - a.L // (8)
	deltaC := c2 - c1   // (9)
	deltaHue := h2 - h1 // (10)
	hueSum := h1 + h2   // (14)
	hBar := hueSum      // of two hues where one is neutral
	if c1 == 0 || c2 == 0 {
		deltaHue = 0
	} else {
		switch {
		case math.Abs(deltaHue) <= oppositeHues:
			hBar = hueSum / 2
		case hueSum < 2*math.Pi:
			hBar = (hueSum + 2*math.Pi) / 2
		default:
			hBar = (hueSum - 2*math.Pi) / 2
		}
		if deltaHue > oppositeHues {
			deltaHue -= 2 * math.Pi
		} else if deltaHue < -oppositeHues {
			deltaHue += 2 * math.Pi
		}
	}
	deltaH := 2 * math.Sqrt(c1*c2) * math.Sin(deltaHue/2) // (11)

	lBar, cBarPrime := (a.L+b.L)/2, (c1+c2)/2 // (12), (13)
	t := 1 - 0.17*math.Cos(hBar-math.Pi/6) + 0.24*math.Cos(2*hBar) +
		0.32*math.Cos(3*hBar+math.Pi/30) - 0.20*math.Cos(4*hBar-63*math.Pi/180) // (15)
	d := (hBar*180/math.Pi - 275) / 25
	deltaTheta := 30 * math.Pi / 180 * math.Exp(-d*d) // (16)
	c7 := pow7(cBarPrime)
	rC := 2 * math.Sqrt(c7/(c7+pow25to7)) // (17)
	l50 := (lBar - 50) * (lBar - 50)
	sL := 1 + 0.015*l50/math.Sqrt(20+l50) // (18)
	sC := 1 + 0.045*cBarPrime             // (19)
	sH := 1 + 0.015*cBarPrime*t           // (20)
	return Terms{
		Lightness: deltaL / sL,
		Chroma:    deltaC / sC,
		Hue:       deltaH / (kH * sH),
		Rotation:  -math.Sin(2*deltaTheta) * rC, // (21)
	}
}

func pow7(x float64) float64 { x3 := x * x * x; return x3 * x3 * x }

// hueRadians returns the hue angle in [0, 2 pi), 0 for a neutral.
func hueRadians(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 0
	}
	h := math.Atan2(b, a)
	if h < 0 {
		h += 2 * math.Pi
	}
	return h
}
