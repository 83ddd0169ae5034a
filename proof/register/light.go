package register

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Light is how light falls on a sheet as a photograph shows it: for each of three
// channels the logarithm is a quadratic in x and y. Places are shares of the sheet, 0
// to 1.
type Light [3][6]float64

// LightTerms returns the terms of the quadratic at a place; the first is 1.
func LightTerms(p Point) [6]float64 {
	x, y := p.X-0.5, p.Y-0.5
	return [6]float64{1, x, y, x * x, x * y, y * y}
}

// At returns the channels of bare paper at a place.
func (l Light) At(p Point) [3]float64 {
	t := LightTerms(p)
	var out [3]float64
	for k := range l {
		for i, v := range t {
			out[k] += v * l[k][i]
		}
		out[k] = math.Exp(out[k])
	}
	return out
}

// ErrNoPaper is returned where too few places look like evenly lit bare paper.
var ErrNoPaper = errors.New("register: no bare paper is seen")

// FitLight fits the light to places of bare paper, the three channels of each above 0.
// Places that are off by more than the given share of the light are dirt, shadow or no
// paper and are left out; least of them must remain.
func FitLight(where []Point, colours [][3]float64, off float64, least int) (Light, error) {
	use := make([]bool, len(where))
	for i := range use {
		use[i] = true
	}
	var l Light
	const rounds = 6
	for range rounds {
		var rows []float64
		var values []float64
		for i, p := range where {
			if !use[i] {
				continue
			}
			t := LightTerms(p)
			rows = append(rows, t[:]...)
			for _, v := range colours[i] {
				values = append(values, math.Log(max(v, 1e-3)))
			}
		}
		n := len(rows) / 6
		if n < max(least, 7) {
			return l, ErrNoPaper
		}
		var x mat.Dense
		if err := x.Solve(mat.NewDense(n, 6, rows), mat.NewDense(n, 3, values)); err != nil {
			return l, ErrNoPaper
		}
		for k := range l {
			for i := range l[k] {
				l[k][i] = x.At(i, k)
			}
		}
		for i, p := range where {
			use[i] = true
			for k, w := range l.At(p) {
				use[i] = use[i] && math.Abs(colours[i][k]/w-1) < off
			}
		}
	}
	return l, nil
}
