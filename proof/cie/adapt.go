package cie

// Mat3 is a 3x3 matrix in row order.
type Mat3 [9]float64

// Apply returns m times the column vector v.
func (m Mat3) Apply(v [3]float64) [3]float64 {
	return [3]float64{
		m[0]*v[0] + m[1]*v[1] + m[2]*v[2],
		m[3]*v[0] + m[4]*v[1] + m[5]*v[2],
		m[6]*v[0] + m[7]*v[1] + m[8]*v[2],
	}
}

// Mul returns the matrix product m n: n is applied first.
func (m Mat3) Mul(n Mat3) Mat3 {
	var p Mat3
	for r := 0; r < 3; r++ {
		for c := 0; c < 3; c++ {
			p[3*r+c] = m[3*r]*n[c] + m[3*r+1]*n[3+c] + m[3*r+2]*n[6+c]
		}
	}
	return p
}

// Inverse returns the inverse of m, and false when m is singular.
func (m Mat3) Inverse() (Mat3, bool) {
	a, b, c, d, e, f, g, h, i := m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8]
	det := a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g)
	if det == 0 {
		return Mat3{}, false
	}
	k := 1 / det
	return Mat3{
		(e*i - f*h) * k, (c*h - b*i) * k, (b*f - c*e) * k,
		(f*g - d*i) * k, (a*i - c*g) * k, (c*d - a*f) * k,
		(d*h - e*g) * k, (b*g - a*h) * k, (a*e - b*d) * k,
	}, true
}

// bradford is the cone response matrix of the linear Bradford transform
// (ICC.1:2022, annex E).
var bradford = Mat3{
	0.8951, 0.2664, -0.1614,
	-0.7502, 1.7135, 0.0367,
	0.0389, -0.0685, 1.0296,
}

// Adaptation returns the matrix that takes tristimulus values seen under the
// white from to the corresponding colours under the white to, by the linear
// Bradford transform. It is only to be called with real whites.
//
// Source: ICC.1:2022, annex E (chromatic adaptation tag).
func Adaptation(from, to XYZ) Mat3 {
	inverse, _ := bradford.Inverse()
	f := bradford.Apply([3]float64{from.X, from.Y, from.Z})
	t := bradford.Apply([3]float64{to.X, to.Y, to.Z})
	scale := Mat3{t[0] / f[0], 0, 0, 0, t[1] / f[1], 0, 0, 0, t[2] / f[2]}
	return inverse.Mul(scale.Mul(bradford))
}

// Transform returns m applied to c.
func (c XYZ) Transform(m Mat3) XYZ {
	v := m.Apply([3]float64{c.X, c.Y, c.Z})
	return XYZ{v[0], v[1], v[2]}
}

// BlackScale is the straight-line map of black point compensation: per channel
// out = A in + (1-A) W, which leaves the white W where it is and takes a neutral
// source black of luminance from to one of luminance to.
//
// Source: ISO 18619:2015, 4.3 (with both blacks neutral).
type BlackScale struct{ A float64 }

// NewBlackScale returns the map that takes black luminance from to black
// luminance to, both 0 up to but not including 1.
func NewBlackScale(from, to float64) BlackScale { return BlackScale{(1 - to) / (1 - from)} }

// Apply returns the map of c, white being D50.
func (s BlackScale) Apply(c XYZ) XYZ {
	return XYZ{
		s.A*c.X + (1-s.A)*D50.X,
		s.A*c.Y + (1-s.A)*D50.Y,
		s.A*c.Z + (1-s.A)*D50.Z,
	}
}
