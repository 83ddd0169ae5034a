package chart

import (
	"fmt"
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/press"
)

// ownObserver is the Spectral of this project: the spectrum is brought to the
// ink model's bands and integrated there.
func ownObserver(start, step float64, values []float64) (cie.Lab, error) {
	if len(values) < 2 || !(step > 0) {
		return cie.Lab{}, fmt.Errorf("%d values in steps of %g nm are no spectrum", len(values), step)
	}
	var s press.Spectrum
	for i := range s {
		s[i] = bandValue(start, step, values, press.FirstBand+press.BandStep*float64(i))
	}
	return s.Lab(), nil
}

// bandValue returns the reflectance at nm as a 10 nm instrument would give it:
// finer spectra are averaged under a triangle of 10 nm half width, coarser ones
// interpolated by the cubic through the four nearest values. Beyond the ends the
// last value is held (ASTM E308, 7.2.3, from memory).
func bandValue(start, step float64, values []float64, nm float64) float64 {
	at := func(i int) float64 { return values[min(max(i, 0), len(values)-1)] }
	if step < press.BandStep-0.01 {
		var sum, weight float64
		lo := int(math.Ceil((nm - press.BandStep - start) / step))
		for i := lo; start+step*float64(i) < nm+press.BandStep; i++ {
			if w := 1 - math.Abs(start+step*float64(i)-nm)/press.BandStep; w > 0 {
				sum += w * at(i)
				weight += w
			}
		}
		return sum / weight
	}
	pos := (nm - start) / step
	i := int(math.Floor(pos))
	f := pos - float64(i)
	if f < 1e-6 {
		return at(i)
	}
	// Lagrange's cubic through i-1 .. i+2.
	return -f*(f-1)*(f-2)/6*at(i-1) + (f+1)*(f-1)*(f-2)/2*at(i) -
		(f+1)*f*(f-2)/2*at(i+1) + (f+1)*f*(f-1)/6*at(i+2)
}
