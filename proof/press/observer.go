package press

import (
	"math"

	"firstsheet/proof/cie"
)

// Bands is how many samples a spectrum has: from FirstBand nm on, BandStep nm
// apart, that is 380, 390, ... 730.
const (
	Bands     = 36
	FirstBand = 380
	BandStep  = 10
)

// Spectrum holds a reflectance factor, a transmittance or a density, one value a
// band.
type Spectrum [Bands]float64

// XYZ returns the tristimulus values of a reflectance factor under D50, seen by
// the CIE 1931 2 degree observer, Y of the perfect diffuser being 1.
//
// The perfect diffuser comes out as the D50 of the profile connection space to
// the last digit: what little the tables miss it by (2e-4) is scaled away per
// channel, so that a paper's white is not tinted by it.
func (s Spectrum) XYZ() cie.XYZ {
	c := s.sum()
	return cie.XYZ{
		X: c.X * cie.D50.X / diffuser.X,
		Y: c.Y * cie.D50.Y / diffuser.Y,
		Z: c.Z * cie.D50.Z / diffuser.Z,
	}
}

// Lab returns the absolute CIELAB colour of a reflectance factor under D50.
func (s Spectrum) Lab() cie.Lab { return s.XYZ().ToLab(cie.D50) }

func (s Spectrum) sum() cie.XYZ {
	var c cie.XYZ
	for i, r := range s {
		c.X += r * weights[i].X
		c.Y += r * weights[i].Y
		c.Z += r * weights[i].Z
	}
	return c
}

// weights are the tristimulus weighting factors of the 36 bands; diffuser is
// what they give a reflectance of 1.
var weights, diffuser = tristimulusWeights()

// tristimulusWeights integrates light times observer in steps of 5 nm, the
// reflectance being interpolated between the bands by the cubic through the four
// nearest and the light linearly; what lies beyond 730 nm is added to the last
// band.
//
// A plain sum of 10 nm products misses the D50 white by 0.0009 in Z, because the
// daylight spectrum is jagged.
//
// Source: ASTM E2022 (weights by interpolation), ASTM E308, 7.3.2.2 (truncated
// ranges), both from memory; the result is checked against published weights.
func tristimulusWeights() (w [Bands]cie.XYZ, total cie.XYZ) {
	for i, o := range observer {
		nm := FirstBand + observerStep*i
		light := linearAt(lightD50[:], nm)
		at, part := cubicParts(Bands, nm)
		for k, p := range part {
			c := &w[at+k]
			c.X += p * light * o[0]
			c.Y += p * light * o[1]
			c.Z += p * light * o[2]
		}
	}
	for _, c := range w {
		total.X += c.X
		total.Y += c.Y
		total.Z += c.Z
	}
	for i := range w {
		w[i] = w[i].Scale(1 / total.Y)
	}
	return w, total.Scale(1 / total.Y)
}

// cubicParts returns the first of four neighbouring samples of a table of n, and
// the share that each has in the value at nm, by Lagrange's formula. Beyond the
// table's end the last sample has it all.
func cubicParts(n, nm int) (first int, part [4]float64) {
	t := float64(nm-FirstBand) / BandStep
	if t >= float64(n-1) {
		return n - 4, [4]float64{0, 0, 0, 1}
	}
	first = min(max(int(math.Floor(t))-1, 0), n-4)
	t -= float64(first)
	for k := range part {
		part[k] = 1
		for j := range part {
			if j != k {
				part[k] *= (t - float64(j)) / float64(k-j)
			}
		}
	}
	return first, part
}

// linearAt is how CIE 15 defines the daylight spectra between their 10 nm values.
func linearAt(table []float64, nm int) float64 {
	i, rest := (nm-FirstBand)/BandStep, (nm-FirstBand)%BandStep
	if rest == 0 {
		return table[i]
	}
	f := float64(rest) / BandStep
	return table[i]*(1-f) + table[i+1]*f
}

// observerStep is the distance of the observer's samples in nm.
const observerStep = 5

// observer holds the CIE 1931 2 degree colour matching functions, 380 to 780 nm.
// Every 5 nm: between 10 nm values the blue function is too uneven for a smooth
// curve, and the white would miss Z by 0.001.
//
// Source: CIE 15:2004, table T.4.
var observer = [81][3]float64{
	{0.001368, 0.000039, 0.00645}, {0.002236, 0.000064, 0.01055}, {0.004243, 0.00012, 0.02005},
	{0.00765, 0.000217, 0.03621}, {0.01431, 0.000396, 0.06785}, {0.02319, 0.00064, 0.1102},
	{0.04351, 0.00121, 0.2074}, {0.07763, 0.00218, 0.3713}, {0.13438, 0.004, 0.6456},
	{0.21477, 0.0073, 1.03905}, {0.2839, 0.0116, 1.3856}, {0.3285, 0.01684, 1.62296},
	{0.34828, 0.023, 1.74706}, {0.34806, 0.0298, 1.7826}, {0.3362, 0.038, 1.77211},
	{0.3187, 0.048, 1.7441}, {0.2908, 0.06, 1.6692}, {0.2511, 0.0739, 1.5281},
	{0.19536, 0.09098, 1.28764}, {0.1421, 0.1126, 1.0419}, {0.09564, 0.13902, 0.81295},
	{0.05801, 0.1693, 0.6162}, {0.03201, 0.20802, 0.46518}, {0.0147, 0.2586, 0.3533},
	{0.0049, 0.323, 0.272}, {0.0024, 0.4073, 0.2123}, {0.0093, 0.503, 0.1582},
	{0.0291, 0.6082, 0.1117}, {0.06327, 0.71, 0.07825}, {0.1096, 0.7932, 0.05725},
	{0.1655, 0.862, 0.04216}, {0.22575, 0.91485, 0.02984}, {0.2904, 0.954, 0.0203},
	{0.3597, 0.9803, 0.0134}, {0.43345, 0.99495, 0.00875}, {0.51205, 1, 0.00575},
	{0.5945, 0.995, 0.0039}, {0.6784, 0.9786, 0.00275}, {0.7621, 0.952, 0.0021},
	{0.8425, 0.9154, 0.0018}, {0.9163, 0.87, 0.00165}, {0.9786, 0.8163, 0.0014},
	{1.0263, 0.757, 0.0011}, {1.0567, 0.6949, 0.001}, {1.0622, 0.631, 0.0008},
	{1.0456, 0.5668, 0.0006}, {1.0026, 0.503, 0.00034}, {0.9384, 0.4412, 0.00024},
	{0.85445, 0.381, 0.00019}, {0.7514, 0.321, 0.0001}, {0.6424, 0.265, 0.00005},
	{0.5419, 0.217, 0.00003}, {0.4479, 0.175, 0.00002}, {0.3608, 0.1382, 0.00001},
	{0.2835, 0.107, 0}, {0.2187, 0.0816, 0}, {0.1649, 0.061, 0},
	{0.1212, 0.04458, 0}, {0.0874, 0.032, 0}, {0.0636, 0.0232, 0},
	{0.04677, 0.017, 0}, {0.0329, 0.01192, 0}, {0.0227, 0.00821, 0},
	{0.01584, 0.005723, 0}, {0.011359, 0.004102, 0}, {0.008111, 0.002929, 0},
	{0.00579, 0.002091, 0}, {0.004109, 0.001484, 0}, {0.002899, 0.001047, 0},
	{0.002049, 0.00074, 0}, {0.00144, 0.00052, 0}, {0.001, 0.000361, 0},
	{0.00069, 0.000249, 0}, {0.000476, 0.000172, 0}, {0.000332, 0.00012, 0},
	{0.000235, 0.000085, 0}, {0.000166, 0.00006, 0}, {0.000117, 0.000042, 0},
	{0.000083, 0.00003, 0}, {0.000059, 0.000021, 0}, {0.000042, 0.000015, 0},
}

// lightD50 is the relative spectral power of CIE illuminant D50, 380 to 780 nm by
// 10 nm, 100 at 560 nm.
//
// Source: CIE 15:2004, table T.1 (from memory). Older printings differ in the
// second decimal, because c2 of Planck's law was rounded otherwise.
var lightD50 = [41]float64{
	24.49, 29.87, 49.31, 56.51, 60.03, 57.82, 74.82, 87.25, 90.61, 91.37,
	95.11, 91.96, 95.72, 96.61, 97.13, 102.10, 100.75, 102.32, 100.00, 97.74,
	98.92, 93.50, 97.69, 99.27, 99.04, 95.72, 98.86, 95.67, 98.19, 103.00,
	99.13, 87.38, 91.60, 92.89, 76.85, 86.51, 92.58, 78.23, 57.69, 82.92,
	78.27,
}
