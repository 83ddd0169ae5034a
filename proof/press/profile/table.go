package profile

import "firstsheet/proof/cie"

// table is a grid from 3 or 4 device channels to media-relative Lab, the last
// channel varying fastest.
type table struct {
	channels, nodes int
	values          []cie.Lab
}

// at interpolates as Little CMS does: tetrahedra over the last three channels,
// straight over the first of four. d is clamped to 0 to 1.
func (t *table) at(d []float64) cie.Lab {
	if t.channels == 3 {
		return t.tetrahedral(0, d)
	}
	size := t.nodes * t.nodes * t.nodes
	i, f := cell(d[0], t.nodes)
	low := t.tetrahedral(i*size, d[1:])
	if f == 0 {
		return low
	}
	return mix(low, t.tetrahedral((i+1)*size, d[1:]), f)
}

func (t *table) tetrahedral(offset int, d []float64) cie.Lab {
	n := t.nodes
	i0, x := cell(d[0], n)
	i1, y := cell(d[1], n)
	i2, z := cell(d[2], n)
	base := offset + (i0*n+i1)*n + i2
	sx, sy, sz := n*n, n, 1
	// From corner 000 to 111 in the order of the fractions, largest first.
	a, b, c := sx, sy, sz
	fa, fb, fc := x, y, z
	if fa < fb {
		a, b, fa, fb = b, a, fb, fa
	}
	if fb < fc {
		b, c, fb, fc = c, b, fc, fb
	}
	if fa < fb {
		a, b, fa, fb = b, a, fb, fa
	}
	v := t.values
	p0, p1, p2, p3 := &v[base], &v[base+a], &v[base+a+b], &v[base+a+b+c]
	w0, w1, w2 := 1-fa, fa-fb, fb-fc
	return cie.Lab{
		L: w0*p0.L + w1*p1.L + w2*p2.L + fc*p3.L,
		A: w0*p0.A + w1*p1.A + w2*p2.A + fc*p3.A,
		B: w0*p0.B + w1*p1.B + w2*p2.B + fc*p3.B,
	}
}

// cell returns the lower node of the cell that x, 0 to 1, lies in, and how far
// along it is. The upper end belongs to the last cell.
func cell(x float64, nodes int) (int, float64) {
	t := min(max(x, 0), 1) * float64(nodes-1)
	i := min(int(t), nodes-2)
	return i, t - float64(i)
}

func mix(a, b cie.Lab, f float64) cie.Lab {
	return cie.Lab{L: a.L + f*(b.L-a.L), A: a.A + f*(b.A-a.A), B: a.B + f*(b.B-a.B)}
}

// device returns the device numbers of node i.
func (t *table) device(i int, d []float64) {
	for ch := t.channels - 1; ch >= 0; ch-- {
		d[ch] = float64(i%t.nodes) / float64(t.nodes-1)
		i /= t.nodes
	}
}
