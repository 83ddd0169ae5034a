package cie

import "math"

// IPT is a colour in the space of Ebner and Fairchild, whose lines of equal
// P to T look like one hue: I is the lightness, 0 to 1, P red against green, T
// yellow against blue. Neutral is P = T = 0.
//
// Source: F. Ebner, M. D. Fairchild, "Development and testing of a color space
// (IPT) with improved hue uniformity", IS&T/SID 6th Color Imaging Conference,
// 1998, 8-13.
type IPT struct{ I, P, T float64 }

// Chroma returns the distance from neutral.
func (c IPT) Chroma() float64 { return math.Hypot(c.P, c.T) }

// Hue returns the hue angle in degrees, 0 to below 360; neutral has 0.
func (c IPT) Hue() float64 { return Lab{A: c.P, B: c.T}.Hue() }

// iptPower is the exponent of the cone responses.
const iptPower = 0.43

var (
	whiteD65 = FromXY(0.3127, 0.3290)
	// iptCones are the Hunt-Pointer-Estevez cone responses to D65 tristimulus values,
	// white made 1, 1, 1 to the last digit; iptOpponent is what is made of their
	// powers.
	iptCones = func() Mat3 {
		m := Mat3{0.4002, 0.7075, -0.0807, -0.2280, 1.1500, 0.0612, 0, 0, 0.9184}
		w := m.Apply([3]float64{whiteD65.X, whiteD65.Y, whiteD65.Z})
		for i := range m {
			m[i] /= w[i/3]
		}
		return m.Mul(Adaptation(D50, whiteD65))
	}()
	iptOpponent = Mat3{0.4000, 0.4000, 0.2000, 4.4550, -4.8510, 0.3960, 0.8056, 0.3572, -1.1628}

	iptConesInverse    = mustInvert(iptCones)
	iptOpponentInverse = mustInvert(iptOpponent)
)

func mustInvert(m Mat3) Mat3 {
	inverse, ok := m.Inverse()
	if !ok {
		panic("cie: matrix without an inverse")
	}
	return inverse
}

// IPT returns the colour of D50 tristimulus values, white having Y 1, adapted to
// D65 by the linear Bradford transform. Negative responses keep their sign.
func (c XYZ) IPT() IPT {
	v := iptCones.Apply([3]float64{c.X, c.Y, c.Z})
	for i, x := range v {
		v[i] = math.Copysign(math.Pow(math.Abs(x), iptPower), x)
	}
	v = iptOpponent.Apply(v)
	return IPT{v[0], v[1], v[2]}
}

// XYZ is the inverse of [XYZ.IPT].
func (c IPT) XYZ() XYZ {
	v := iptOpponentInverse.Apply([3]float64{c.I, c.P, c.T})
	for i, x := range v {
		v[i] = math.Copysign(math.Pow(math.Abs(x), 1/iptPower), x)
	}
	v = iptConesInverse.Apply(v)
	return XYZ{v[0], v[1], v[2]}
}
