package press

import (
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// The unknowns of an offset press in the model's terms, in one slice: what is at
// which place.
const (
	fitHumps   = 12
	fitFrom    = 400.0
	fitStep    = 30.0
	atPaper    = 0              // peak, warmth, brightener
	atSurface  = 3              // surface, inner, n
	atInks     = 6              // three inks' humps
	atBlack    = 6 + 3*fitHumps // flat, blue
	atGain     = atBlack + 2    // gain and skew of four inks
	atTrap     = atGain + 8     // six pairs
	fitUnknown = atTrap + 6
)

// fitStart begins with the demo printer's inks, thinner.
func fitStart() []float64 {
	x := make([]float64, fitUnknown)
	copy(x, []float64{0.85, 0.03, 0.03, 0.01, 0.5, 1.8})
	for n, ink := range []dye{ink(Cyan, 0), ink(Magenta, 0), ink(Yellow, 0)} {
		for k := range fitHumps {
			nm := fitFrom + fitStep*float64(k)
			i := min(int(nm-FirstBand)/BandStep, Bands-1)
			x[atInks+n*fitHumps+k] = max(ink.density[i], 0.02) * 0.8
		}
	}
	x[atBlack], x[atBlack+1] = 1.6, 0.1
	for k := range 4 {
		x[atGain+2*k] = 0.05
	}
	for k := range 6 {
		x[atTrap+k] = 0.9
	}
	return x
}

// fitPress returns how a press of these unknowns prints C, M, Y, K.
func fitPress(x []float64) func(device []float64) cie.Lab {
	s := Stock{Peak: x[0], Warmth: x[1], Brightener: x[2], Surface: x[3], Inner: x[4], N: x[5], Sink: 1}
	var layers [Inks]dye
	for n := range 3 {
		for i := range Bands {
			nm := float64(FirstBand + BandStep*i)
			t := (nm - fitFrom) / fitStep
			t = min(max(t, 0), fitHumps-1)
			k := min(int(t), fitHumps-2)
			f := t - float64(k)
			v := func(j int) float64 { return x[atInks+n*fitHumps+min(max(j, 0), fitHumps-1)] }
			layers[n].density[i] = max(v(k)+0.5*f*(v(k+1)-v(k-1)+f*(2*v(k-1)-5*v(k)+4*v(k+1)-v(k+2)+f*(3*(v(k)-v(k+1))+v(k+2)-v(k-1)))), 0)
		}
		layers[n].uv = layers[n].density[0]
	}
	layers[Black].density.flat(x[atBlack])
	layers[Black].density.hump(x[atBlack+1], 380, 110)
	layers[Black].uv = x[atBlack]
	pair := map[[2]int]int{{1, 0}: 0, {2, 0}: 1, {2, 1}: 2, {3, 0}: 3, {3, 1}: 4, {3, 2}: 5}
	p := overprints(s, 1, &layers, func(u, l int) float64 { return x[atTrap+pair[[2]int{u, l}]] })
	return func(d []float64) cie.Lab {
		var a [Inks]float64
		for n, c := range d {
			a[n] = min(max(c+4*c*(1-c)*(x[atGain+2*n]+x[atGain+2*n+1]*(1-2*c)), 0), 1)
		}
		return p.mix(a).Lab()
	}
}

// The model is one of real ink on real paper: fitted to a third of the patches of a
// published characterisation, it predicts the other two thirds. Its spectra are
// then guesses, for the data hold colours only; its structure is what is tested.
func TestModelReproducesPublishedPresses(t *testing.T) {
	for _, name := range []string{"FOGRA39L", "FOGRA29L"} { // coated, uncoated
		var train, held []patch
		for i, p := range readPress(t, name) {
			if i%3 == 0 {
				train = append(train, p)
			} else {
				held = append(held, p)
			}
		}
		start := fitStart()
		x := slices.Clone(start)
		leastSquares(x, func(x []float64) []float64 {
			print := fitPress(x)
			var r []float64
			for _, p := range train {
				q := cie.DeltaE00Terms(p.lab, print(p.device[:]), 1)
				r = append(r, q.Lightness, q.Chroma, q.Hue)
			}
			for n := range 3 { // smooth spectra
				for k := 1; k < fitHumps-1; k++ {
					v := x[atInks+n*fitHumps+k-1:]
					r = append(r, 3*(v[0]-2*v[1]+v[2]))
				}
			}
			for k := range x { // what the data leave open stays where it was
				r = append(r, 0.5*(x[k]-start[k]))
			}
			return r
		}, 25)
		print := fitPress(x)
		var d []float64
		mean := 0.0
		for _, p := range held {
			d = append(d, cie.DeltaE00(p.lab, print(p.device[:])))
			mean += d[len(d)-1] / float64(len(held))
		}
		slices.Sort(d)
		t.Logf("%s: %d patches held out: mean %.2f, p95 %.2f, max %.2f; n %.2f, surface %.3f, inner %.2f, trapping %.2f", name, len(held), mean,
			d[len(d)*95/100], d[len(d)-1], x[5], x[3], x[4], x[atTrap:])
		// What two prints of one press differ by (common practice, no source).
		if mean > 1 || d[len(d)*95/100] > 2.5 {
			t.Errorf("%s: held-out patches are off by %.2f on average, %.2f at the 95th percentile", name, mean, d[len(d)*95/100])
		}
	}
}

// leastSquares takes Levenberg-Marquardt steps from x, which it changes.
func leastSquares(x []float64, residual func([]float64) []float64, steps int) {
	n := len(x)
	size := func(r []float64) (s float64) {
		for _, v := range r {
			s += v * v
		}
		return s
	}
	r := residual(x)
	damp := 1e-2
	for range steps {
		jac := make([][]float64, n)
		for k := range n {
			y := slices.Clone(x)
			const h = 1e-4
			y[k] += h
			q := residual(y)
			for i := range q {
				q[i] = (q[i] - r[i]) / h
			}
			jac[k] = q
		}
		m := make([][]float64, n)
		g := make([]float64, n)
		for i := range n {
			m[i] = make([]float64, n)
			for j := range i + 1 {
				for k := range r {
					m[i][j] += jac[i][k] * jac[j][k]
				}
				m[j][i] = m[i][j]
			}
			for k := range r {
				g[i] += jac[i][k] * r[k]
			}
		}
		better := false
		for damp < 1e8 {
			a := make([][]float64, n)
			for i := range n {
				a[i] = append(slices.Clone(m[i]), g[i])
				a[i][i] += damp * (m[i][i] + 1e-6)
			}
			for i := range n {
				for j := i + 1; j < n; j++ {
					f := a[j][i] / a[i][i]
					for k := i; k <= n; k++ {
						a[j][k] -= f * a[i][k]
					}
				}
			}
			y := slices.Clone(x)
			dx := make([]float64, n)
			for i := n - 1; i >= 0; i-- {
				s := a[i][n]
				for j := i + 1; j < n; j++ {
					s -= a[i][j] * dx[j]
				}
				dx[i] = s / a[i][i]
				y[i] -= dx[i]
			}
			q := residual(y)
			if s := size(q); !math.IsNaN(s) && s < size(r) {
				better = size(r)-s > 1e-5*s
				copy(x, y)
				r = q
				damp = max(damp/5, 1e-9)
				break
			}
			damp *= 4
		}
		if !better {
			return
		}
	}
}

type patch struct {
	device [4]float64
	lab    cie.Lab
}

// readPress reads the CMYK and Lab columns of a characterisation file.
func readPress(t *testing.T, name string) (all []patch) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/cache/measurements/" + name + ".ti3")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		f := strings.Fields(line)
		if len(f) != 11 || f[0] == "SAMPLE_ID" {
			continue
		}
		var v [11]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(f[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		all = append(all, patch{[4]float64{v[1] / 100, v[2] / 100, v[3] / 100, v[4] / 100}, cie.Lab{L: v[8], A: v[9], B: v[10]}})
	}
	return all
}
