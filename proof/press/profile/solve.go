package profile

import (
	"math"

	"firstsheet/proof/cie"
)

// maxChannels is the largest number of device channels.
const maxChannels = 4

type device [maxChannels]float64

// inverter finds device numbers for colours, by the forward table as it is
// interpolated. It does not change once built.
type inverter struct {
	forward  *table
	totalInk float64 // 0: no limit
	black    func(cie.Lab) float64

	middle  device // prints the grey of lightness inward
	samples []sample
	surface []sample // those with a channel at 0 or 1
}

// sample is a place to start from.
type sample struct {
	at  device
	lab cie.Lab
}

func newInverter(forward *table, totalInk float64, black func(cie.Lab) float64) *inverter {
	v := &inverter{forward: forward, totalInk: totalInk, black: black}
	coarse := table{channels: forward.channels, nodes: 11}
	if forward.channels == 4 {
		coarse.nodes = 6
	}
	n := 1
	for range forward.channels {
		n *= coarse.nodes
	}
	for i := range n {
		var s sample
		coarse.device(i, s.at[:])
		v.keepLimit(&s.at)
		s.lab = forward.at(s.at[:forward.channels])
		v.samples = append(v.samples, s)
		for _, x := range s.at[:forward.channels] {
			if x == 0 || x == 1 {
				v.surface = append(v.surface, s)
				break
			}
		}
	}
	v.middle, _ = v.invert(cie.Lab{L: inward}, nil)
	return v
}

// keepLimit thins cyan, magenta and yellow until the total ink is kept.
func (v *inverter) keepLimit(d *device) {
	if v.forward.channels != 4 || v.totalInk <= 0 {
		return
	}
	colour := d[0] + d[1] + d[2]
	if over := colour + d[3] - v.totalInk; over > 0 && colour > 0 {
		k := max(colour-over, 0) / colour
		d[0], d[1], d[2] = d[0]*k, d[1]*k, d[2]*k
		d[3] = min(d[3], v.totalInk)
	}
}

// nearest returns the sample closest to a goal by a rough form of the distance,
// and to the wished black.
func (v *inverter) nearest(g *goal) device {
	target, c := &g.lab, g.chroma
	sC, sH := 1+0.045*c, hueWeight*(1+0.015*c)
	best, at := math.Inf(1), 0
	for i := range v.samples {
		s := &v.samples[i].lab
		dL := s.L - target.L
		dC := math.Sqrt(s.A*s.A+s.B*s.B) - c
		dA, dB := s.A-target.A, s.B-target.B
		dH2 := dA*dA + dB*dB - dC*dC
		d := dL*dL + dC*dC/(sC*sC) + dH2/(sH*sH)
		if v.forward.channels == 4 {
			k := 10 * (v.samples[i].at[3] - g.wish)
			d += k * k
		}
		if d < best {
			best, at = d, i
		}
	}
	return v.samples[at].at
}

// solve returns the device numbers of least distance to a goal and that
// distance squared, starting from d. With black ink, the wish is tried first: left
// free from the start, black goes astray at the creases of the forward table.
func (v *inverter) solve(g *goal, d device) (device, float64) {
	p := v.reaching(g)
	if v.forward.channels == 4 {
		d[3] = g.wish
		best, off := v.descend(p, true, d, wholeDescent)
		if off < 1e-4 {
			return best, off
		}
		d = best
	}
	return v.descend(p, false, d, wholeDescent)
}

// farOff is the distance from which on the start is looked for with more care.
const farOff = 3

// invert returns the device numbers for target and how far off they are, by the
// weighted distance. near is a solution close by, for smoothness; it may be nil.
func (v *inverter) invert(target cie.Lab, near *device) (device, float64) {
	g := v.goal(target)
	best, off := v.find(&g, near)
	if off > farOff*farOff {
		// Far out the distance has several valleys (black or a lighter blue for a
		// very dark blue, say): look for the deepest.
		least, at := math.Inf(1), 0
		for i := range v.surface {
			if d := v.distance(&g, v.surface[i].lab); d < least {
				least, at = d, i
			}
		}
		if d, o := v.solve(&g, v.surface[at].at); o < off {
			best, off = d, o
		}
	}
	v.keepLimit(&best)
	return best, math.Sqrt(off)
}

// find is invert for colours that are not far off, the distance squared.
func (v *inverter) find(g *goal, near *device) (device, float64) {
	best, off := v.solve(g, v.nearest(g))
	if near != nil && off > 1e-6 {
		if d, o := v.solve(g, *near); o < off {
			best, off = d, o
		}
	}
	return best, off
}

// inward is the lightness of the neutral that colours are approached from.
const inward = 50

// follow returns the device numbers for target where it is inside the gamut, else those
// that the nearest colour leads to as the colour asked for moves from a middle grey out
// to target in a straight line; and how far off they are. near is as in invert.
func (v *inverter) follow(target cie.Lab, near *device) (device, float64) {
	g := v.goal(target)
	if d, off := v.find(&g, near); off <= inside*inside {
		v.keepLimit(&d)
		return d, math.Sqrt(off)
	}
	steps := 1 + int(math.Hypot(target.Chroma(), target.L-inward)/12)
	d := v.middle
	off := 0.0
	for k := 1; k <= steps; k++ {
		t := float64(k) / float64(steps)
		g := v.goal(cie.Lab{L: inward + t*(target.L-inward), A: t * target.A, B: t * target.B})
		d, off = v.solve(&g, d)
	}
	v.keepLimit(&d)
	return d, math.Sqrt(off)
}

// excess is how far beyond 0 and 1 the inverse tables may point, so that a cell
// that the gamut's surface cuts is still interpolated right inside of it; the
// curves behind the table clip it off.
const excess = 0.125

// extend moves the channels of d that are at their end further out, by what a
// straight continuation of the forward table asks for to reach target.
func (v *inverter) extend(target cie.Lab, d device) device {
	n := v.forward.channels
	if n != 3 {
		return d
	}
	here := v.forward.at(d[:n])
	var m cie.Mat3
	for ch := range n {
		h := 1.0 / float64(v.forward.nodes-1)
		if d[ch]+h > 1 {
			h = -h
		}
		moved := d
		moved[ch] += h
		c := v.forward.at(moved[:n])
		m[ch], m[3+ch], m[6+ch] = (c.L-here.L)/h, (c.A-here.A)/h, (c.B-here.B)/h
	}
	inverse, ok := m.Inverse()
	if !ok {
		return d
	}
	move := inverse.Apply([3]float64{target.L - here.L, target.A - here.A, target.B - here.B})
	for ch := range n {
		if d[ch] >= 1 && move[ch] > 0 || d[ch] <= 0 && move[ch] < 0 {
			d[ch] += min(max(move[ch], -excess), excess)
		}
	}
	return d
}
