package register

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Point is a place in a picture: x to the right, y down.
type Point struct{ X, Y float64 }

// Homography is the map from a flat thing to its picture by a camera without
// distortion: a 3x3 matrix in row order, the last element 1.
type Homography [9]float64

// Identity returns the map that leaves all where it is.
func Identity() Homography { return Homography{1, 0, 0, 0, 1, 0, 0, 0, 1} }

// Apply returns where a point goes. A point on the horizon goes to infinity.
func (h Homography) Apply(p Point) Point {
	w := h[6]*p.X + h[7]*p.Y + h[8]
	return Point{(h[0]*p.X + h[1]*p.Y + h[2]) / w, (h[3]*p.X + h[4]*p.Y + h[5]) / w}
}

// Then returns the map that applies h first and g after it.
func (h Homography) Then(g Homography) Homography {
	var out Homography
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out[3*i+j] += g[3*i+k] * h[3*k+j]
			}
		}
	}
	for i := range out {
		out[i] /= out[8]
	}
	return out
}

// ErrFlat is returned for points that fix no map: fewer than four, or three of four
// on one line.
var ErrFlat = errors.New("register: the points do not span a plane")

// FitHomography returns the map that takes each point of from to its fellow in to:
// exactly for four, by least squares of the linear equations for more. Points are
// moved and scaled first, so that their unit does not matter.
//
// Source: the direct linear transform with normalisation, Hartley and Zisserman,
// Multiple View Geometry (2003), 4.1 and 4.4, from memory.
func FitHomography(from, to []Point) (Homography, error) {
	n := len(from)
	if n < 4 || n != len(to) {
		return Homography{}, ErrFlat
	}
	a, b := normaliser(from), normaliser(to)
	left := mat.NewDense(2*n, 8, nil)
	right := mat.NewVecDense(2*n, nil)
	for i := range from {
		p, q := a.Apply(from[i]), b.Apply(to[i])
		left.SetRow(2*i, []float64{p.X, p.Y, 1, 0, 0, 0, -p.X * q.X, -p.Y * q.X})
		left.SetRow(2*i+1, []float64{0, 0, 0, p.X, p.Y, 1, -p.X * q.Y, -p.Y * q.Y})
		right.SetVec(2*i, q.X)
		right.SetVec(2*i+1, q.Y)
	}
	var x mat.VecDense
	if err := x.SolveVec(left, right); err != nil {
		return Homography{}, ErrFlat
	}
	var h Homography
	copy(h[:], x.RawVector().Data)
	h[8] = 1
	back, err := b.Inverse()
	if err != nil {
		return Homography{}, err
	}
	out := a.Then(h).Then(back)
	for _, v := range out {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Homography{}, ErrFlat
		}
	}
	return out, nil
}

// normaliser moves the points' centre to 0 and scales their mean distance to 1.
func normaliser(points []Point) Homography {
	var cx, cy, far float64
	n := float64(len(points))
	for _, p := range points {
		cx, cy = cx+p.X/n, cy+p.Y/n
	}
	for _, p := range points {
		far += math.Hypot(p.X-cx, p.Y-cy) / n
	}
	if far == 0 {
		far = 1
	}
	return Homography{1 / far, 0, -cx / far, 0, 1 / far, -cy / far, 0, 0, 1}
}

// Inverse returns the map back, or ErrFlat where there is none.
func (h Homography) Inverse() (Homography, error) {
	var inverse mat.Dense
	if err := inverse.Inverse(mat.NewDense(3, 3, append([]float64(nil), h[:]...))); err != nil {
		return Homography{}, ErrFlat
	}
	var out Homography
	copy(out[:], inverse.RawMatrix().Data)
	for i := range out {
		out[i] /= out[8]
	}
	return out, nil
}
