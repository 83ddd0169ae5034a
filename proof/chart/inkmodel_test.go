package chart

import (
	"math"
	"math/rand/v2"

	"firstsheet/proof/cie"
)

// testInk is a small ink-on-paper model that the fit knows nothing of: a
// driver's separation with black generation that sets in with a bend, dot gain,
// and a Yule-Nielsen Neugebauer print of four inks whose primaries are products
// of transmittances, in XYZ.
type testInk struct{ n, gain, blackFrom float64 }

var paperXYZ = [3]float64{0.86, 0.893, 0.76}

// Transmittances of the four solids in X, Y, Z: round numbers near coated
// inkjet (C 55,-37,-50; M 48,74,-3; Y 89,-5,93), not measured from any ink.
var inkTransmittance = [4][3]float64{
	{0.185, 0.262, 0.70}, {0.37, 0.187, 0.20}, {0.82, 0.85, 0.085}, {0.012, 0.012, 0.012},
}

func (m testInk) separate(rgb []float64) [4]float64 {
	var ink [4]float64
	least := 1.0
	for i := range 3 {
		ink[i] = math.Pow(1-rgb[i], 1.15)
		least = math.Min(least, ink[i])
	}
	if over := (least - m.blackFrom) / (1 - m.blackFrom); over > 0 {
		ink[3] = over * over
	}
	for i := range 3 {
		ink[i] -= 0.45 * ink[3] * least
	}
	return ink
}

func (m testInk) print(ink [4]float64) cie.Lab {
	var a [4]float64
	for i, v := range ink {
		v = math.Min(math.Max(v, 0), 1)
		a[i] = v + m.gain*4*v*(1-v)/4*(1+0.3*float64(i%2))
	}
	var out [3]float64
	for prim := range 16 {
		w := 1.0
		t := paperXYZ
		for i := range 4 {
			if prim>>i&1 == 1 {
				w *= a[i]
				for j := range t {
					t[j] *= inkTransmittance[i][j]
				}
			} else {
				w *= 1 - a[i]
			}
		}
		for j := range t {
			out[j] += w * math.Pow(t[j]+0.004, 1/m.n)
		}
	}
	for j := range out {
		out[j] = math.Pow(out[j], m.n)
	}
	return cie.XYZ{X: out[0], Y: out[1], Z: out[2]}.ToLab(cie.D50)
}

func (m testInk) rgb(d []float64) cie.Lab { return m.print(m.separate(d)) }

var pearlInk = testInk{n: 1.9, gain: 0.5, blackFrom: 0.45}

// noisy adds measuring noise whose mean ΔE76 is about sigma.
func noisy(l cie.Lab, sigma float64, r *rand.Rand) cie.Lab {
	s := sigma / 1.6 // mean length of a normal 3-vector is 1.6 times its spread
	return cie.Lab{L: l.L + s*r.NormFloat64(), A: l.A + s*r.NormFloat64(), B: l.B + s*r.NormFloat64()}
}
