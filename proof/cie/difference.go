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

const pow25to7 = 6103515625.0

// DeltaE00Terms returns the weighted CIEDE2000 components of the step from a to
// b, with kL = kC = 1 and the given kH. kH below 1 makes hue weigh more, as when
// a colour is clipped to a gamut.
//
// Source: Sharma, Wu and Dalal (2005), equations 2 to 22, with hues as directions
// in place of angles, which takes a third of the time.
func DeltaE00Terms(a, b Lab, kH float64) Terms {
	cBar7 := pow7((length(a.A, a.B) + length(b.A, b.B)) / 2)
	g := 0.5 * (1 - math.Sqrt(cBar7/(cBar7+pow25to7))) // (4)
	p, q := newVector((1+g)*a.A, a.B), newVector((1+g)*b.A, b.B)
	deltaH, cos, sin := turn(p, q)
	lBar, cBar := (a.L+b.L)/2, (p.length+q.length)/2 // (12), (13)
	c7 := pow7(cBar)
	rC := 2 * math.Sqrt(c7/(c7+pow25to7)) // (17)
	l50 := (lBar - 50) * (lBar - 50)
	sL := 1 + 0.015*l50/math.Sqrt(20+l50)    // (18)
	sC := 1 + 0.045*cBar                     // (19)
	sH := 1 + 0.015*cBar*hueWeight(cos, sin) // (20)
	return Terms{
		Lightness: (b.L - a.L) / sL,
		Chroma:    (q.length - p.length) / sC,
		Hue:       deltaH / (kH * sH),
		Rotation:  -math.Sin(2*deltaTheta(cos, sin)) * rC, // (21)
	}
}

func pow7(x float64) float64 { x3 := x * x * x; return x3 * x3 * x }

// vector is a colour's a' and b' (5) with its C' (6).
type vector struct{ a, b, length float64 }

func newVector(a, b float64) vector { return vector{a, b, length(a, b)} }

func length(a, b float64) float64 { return math.Sqrt(a*a + b*b) }

// unit returns cosine and sine of the hue.
func (v vector) unit() (cos, sin float64) { return v.a / v.length, v.b / v.length }

// oppositeHues is the sine of the angle up to which hues that are half a turn apart count as
// not beyond it, so that rounding does not decide (pair 10 of the published table).
const oppositeHues = 1e-12

// turn returns the difference of hue (11) and cosine and sine of the mean hue (14).
func turn(p, q vector) (deltaH, cos, sin float64) {
	switch {
	case p.length == 0 && q.length == 0:
		return 0, 1, 0
	case p.length == 0:
		cos, sin = q.unit()
		return 0, cos, sin
	case q.length == 0:
		cos, sin = p.unit()
		return 0, cos, sin
	}
	product, dot, cross := p.length*q.length, p.a*q.a+p.b*q.b, p.a*q.b-p.b*q.a
	c1, s1 := p.unit()
	c2, s2 := q.unit()
	if !(dot < 0) {
		n := length(c1+c2, s1+s2)
		return cross * math.Sqrt2 / math.Sqrt(product+dot), (c1 + c2) / n, (s1 + s2) / n
	}
	// Far apart, so their difference is told more exactly than their sum. The mean lies at
	// right angles to it, within the smaller of the two turns from p to q.
	forth := cross
	if math.Abs(cross) <= oppositeHues*product { // from the smaller angle to the larger
		forth = p.b
		if p.b == 0 {
			forth = p.a
		}
	}
	n := math.Copysign(length(c2-c1, s2-s1), forth)
	return math.Copysign(math.Sqrt(2*(product-dot)), forth), (s2 - s1) / n, (c1 - c2) / n
}

// hueWeight returns T (15) of a mean hue.
func hueWeight(cos, sin float64) float64 {
	const (
		cos6, sin6   = 0.994521895368273, 0.104528463267653
		cos30, sin30 = 0.866025403784439, 0.5
		cos63, sin63 = 0.453990499739547, 0.891006524188368
	)
	cos2, sin2 := 2*cos*cos-1, 2*sin*cos
	cos3, sin3 := cos*(2*cos2-1), sin*(2*cos2+1)
	cos4, sin4 := 2*cos2*cos2-1, 2*sin2*cos2
	return 1 - 0.17*(cos*cos30+sin*sin30) + 0.24*cos2 + 0.32*(cos3*cos6-sin3*sin6) - 0.20*(cos4*cos63+sin4*sin63)
}

// deltaTheta returns the angle (16), in radians, that tells blue mean hues from others.
func deltaTheta(cos, sin float64) float64 {
	const cos125 = -0.573576436351046
	if sin >= 0 && cos > cos125 { // where it is below 1e-15
		return 0
	}
	h := math.Atan2(sin, cos)
	if h < 0 {
		h += 2 * math.Pi
	}
	d := (h*180/math.Pi - 275) / 25
	return 30 * math.Pi / 180 * math.Exp(-d*d)
}
