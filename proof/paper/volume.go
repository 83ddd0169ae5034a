package paper

import (
	"context"
	"math"
)

// volume returns the size of the gamut in cubic units of CIELAB, relative to the
// paper's white; 0 for fewer than three channels.
//
// The surface of the gamut is taken to be that of a sum of the channels: for each
// pair of channels two faces, on which the others are nothing or all according to
// the side of the face they lead to. For three channels these are the six faces of
// the cube, for four the twelve of a rhombic dodecahedron. The volume inside
// follows from the faces by the divergence theorem. Where real mixtures fold over,
// the folds are subtracted.
func volume(ctx context.Context, q *probe) (float64, error) {
	if q.channels < 3 {
		return 0, nil
	}
	// The solid of each channel alone shows to which side it leads.
	device := make([]float64, q.channels*(q.channels+1))
	for k := range q.channels {
		device[(k+1)*q.channels+k] = 1
	}
	looks := q.looks(device)
	leads := looks[1:]
	for k := range leads {
		for i := range leads[k] {
			leads[k][i] -= looks[0][i]
		}
	}
	var six float64
	for a := range q.channels {
		for b := a + 1; b < q.channels; b++ {
			normal := cross(leads[a], leads[b])
			for _, side := range []float64{1, -1} {
				if err := ctx.Err(); err != nil {
					return 0, err
				}
				corner := make([]float64, q.channels)
				for k := range corner {
					if k != a && k != b && side*dot(normal, leads[k]) > 0 {
						corner[k] = 1
					}
				}
				six += side * q.face(corner, a, b)
			}
		}
	}
	return math.Abs(six) / 6, nil
}

type vector = [3]float64

func cross(a, b vector) vector {
	return vector{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

func dot(a, b vector) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// faceSteps samples a face about as finely as tables in use are.
const faceSteps = 32

// face returns six times the signed volume between a face and the origin of Lab:
// channels a and b run over it, the others are as in corner.
func (q *probe) face(corner []float64, a, b int) float64 {
	const n = faceSteps + 1
	device := make([]float64, 0, n*n*len(corner))
	for i := range n {
		for k := range n {
			corner[a], corner[b] = float64(i)/faceSteps, float64(k)/faceSteps
			device = append(device, corner...)
		}
	}
	at := q.looks(device)
	var sum float64
	for i := range faceSteps {
		for k := range faceSteps {
			p00, p01 := at[i*n+k], at[i*n+k+1]
			p10, p11 := at[(i+1)*n+k], at[(i+1)*n+k+1]
			// Halved both ways, so that no diagonal is preferred.
			sum += (dot(p00, cross(p10, p11)) + dot(p00, cross(p11, p01)) +
				dot(p00, cross(p10, p01)) + dot(p10, cross(p11, p01))) / 2
		}
	}
	return sum
}

// looks returns the relative Lab of device colours.
func (q *probe) looks(device []float64) []vector {
	n := len(device) / q.channels
	flat := make([]float64, 3*n)
	q.relative.Run(flat, device)
	out := make([]vector, n)
	for i := range out {
		out[i] = vector(flat[3*i : 3*i+3])
	}
	return out
}
