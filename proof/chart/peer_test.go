package chart

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"firstsheet/proof/cie"
)

// radialBasis is what the fit is held against: a smoothing polyharmonic spline over
// device values in Lab, with a linear polynomial, as general numerical libraries have
// it. It knows nothing of printers.
//
// Source: Wahba, Spline Models for Observational Data (1990), 2.4; the equations of
// its coefficients are from memory.
type radialBasis struct {
	basis   func(r float64) float64
	centres [][]float64
	coeff   *mat.Dense
}

// The basis functions that such libraries offer without a length to be chosen.
var bases = map[string]func(r float64) float64{
	"linear": func(r float64) float64 { return -r },
	"thin plate": func(r float64) float64 {
		if r == 0 {
			return 0
		}
		return r * r * math.Log(r)
	},
	"cubic": func(r float64) float64 { return r * r * r },
}

func newRadialBasis(ms *Measurements, basis func(float64) float64, smoothing float64) (*radialBasis, error) {
	n := len(ms.Patches)
	s := &radialBasis{basis: basis, coeff: mat.NewDense(n+4, 3, nil)}
	m, y := mat.NewDense(n+4, n+4, nil), mat.NewDense(n+4, 3, nil)
	for i, p := range ms.Patches {
		s.centres = append(s.centres, p.Device)
		for j := range i {
			v := basis(math.Sqrt(square(p.Device, ms.Patches[j].Device)))
			m.Set(i, j, v)
			m.Set(j, i, v)
		}
		m.Set(i, i, smoothing)
		for k, v := range []float64{1, p.Device[0], p.Device[1], p.Device[2]} {
			m.Set(i, n+k, v)
			m.Set(n+k, i, v)
		}
		y.SetRow(i, []float64{p.Lab.L, p.Lab.A, p.Lab.B})
	}
	return s, s.coeff.Solve(m, y)
}

func (s *radialBasis) at(x []float64) cie.Lab {
	var v [3]float64
	add := func(row int, weight float64) {
		for k := range v {
			v[k] += weight * s.coeff.At(row, k)
		}
	}
	for i, c := range s.centres {
		add(i, s.basis(math.Sqrt(square(c, x))))
	}
	for k, w := range []float64{1, x[0], x[1], x[2]} {
		add(len(s.centres)+k, w)
	}
	return cie.Lab{L: v[0], A: v[1], B: v[2]}
}

// bestPeer returns the basis and smoothing that come nearest to the truth. Nobody who
// measures a printer knows that; it is the peer's advantage.
func bestPeer(t *testing.T, ms *Measurements, truth func([]float64) cie.Lab) (basis func(float64) float64, smoothing float64) {
	least, name := math.Inf(1), ""
	for n, b := range bases {
		for _, s := range []float64{1e-5, 1e-4, 1e-3, 1e-2, 1e-1} {
			p, err := newRadialBasis(ms, b, s)
			if err != nil {
				continue
			}
			if mean := missed(p.at, 3, truth).Mean; mean < least {
				least, name, basis, smoothing = mean, n, b, s
			}
		}
	}
	t.Logf("the peer does best with the %s basis and a smoothing of %g: %.3f", name, smoothing, least)
	return basis, smoothing
}

// Drivers crease where signals change places. From 800 readings with noise of 0.15, over
// several seeds: 0.15 to 0.16 was reached on the creased models, 0.07 and 0.08 on the
// others; before the kernel knew of creases 0.22, 0.20, 0.10 and 0.08. The peer is at
// 0.20 to 0.22, 0.10 and 0.08: level where nothing creases.
func TestFitFollowsCreases(t *testing.T) {
	for _, c := range []struct {
		name    string
		forward func([]float64) cie.Lab
		most    float64 // mean ΔE00
		ahead   float64 // at most that share of the peer's
	}{
		{"spectral, pearl", stock(t, "pearl").Forward, 0.17, 0.8},
		{"spectral, cotton", stock(t, "cotton").Forward, 0.165, 0.8},
		{"tristimulus", pearlInk.rgb, 0.085, 0.8},
		{"tristimulus, smooth", testInk{n: 1.9, gain: 0.5, blackFrom: 0.99}.rgb, 0.095, 1.08},
	} {
		var basis func(float64) float64
		var smoothing float64
		for seed := range uint64(3) {
			r := rand.New(rand.NewPCG(seed, 5))
			ms := newTarget(t, TargetOptions{Patches: 800}).List()
			for i := range ms.Patches {
				ms.Patches[i].Lab = noisy(c.forward(ms.Patches[i].Device), 0.15, r)
				ms.Patches[i].Line = i + 1
			}
			if seed == 0 {
				basis, smoothing = bestPeer(t, ms, c.forward)
			}
			p, err := newRadialBasis(ms, basis, smoothing)
			if err != nil {
				t.Fatal(err)
			}
			m := fit(t, ms)
			ours, peer := against(m, c.forward), missed(p.at, 3, c.forward)
			t.Logf("%s, seed %d: %.3f mean, %.3f p95; the peer %.3f, %.3f; %d patches are worth printing", c.name, seed, ours.Mean, ours.P95, peer.Mean, peer.P95, m.Report().Worth)
			if ours.Mean > c.most {
				t.Errorf("%s, seed %d: off by %.3f ΔE00 on average, want at most %g", c.name, seed, ours.Mean, c.most)
			}
			if ours.Mean > c.ahead*peer.Mean {
				t.Errorf("%s, seed %d: off by %.3f ΔE00 on average, the peer by %.3f", c.name, seed, ours.Mean, peer.Mean)
			}
		}
	}
}
