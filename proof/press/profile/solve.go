package profile

import (
	"math"

	"firstsheet/proof/cie"
)

// maxChannels is the largest number of device channels.
const maxChannels = 4

// hueWeight is kH of the distance that clipping minimises: a change of hue counts
// twice as much as the same change of chroma.
const hueWeight = 0.5

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

// nearest returns the sample closest to target by a rough form of the distance,
// and to the wished black.
func (v *inverter) nearest(target cie.Lab, wish float64) device {
	c := target.Chroma()
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
			k := 10 * (v.samples[i].at[3] - wish)
			d += k * k
		}
		if d < best {
			best, at = d, i
		}
	}
	return v.samples[at].at
}

// ownResiduals is how many parts the distance of one colour has; maxResiduals leaves
// room for a tie to each of its six neighbours in a table and for the order of
// lightness.
const (
	ownResiduals = 5
	maxResiduals = ownResiduals + 6 + 2
)

// nearNeutral is the chroma below which a target gets the smooth form of the
// distance.
const nearNeutral = 8

// residuals are the parts of the distance between target and c, the colour of d,
// such that the sum of squares of the first three is the squared CIEDE2000
// difference: chroma and hue are turned so that the rotation term vanishes. Close
// to neutral they are an approximation of it.
func (v *inverter) residuals(target cie.Lab, wish float64, d *device, c cie.Lab) (r [maxResiduals]float64) {
	t := cie.DeltaE00Terms(target, c, hueWeight)
	r[0] = t.Lightness
	if chroma := target.Chroma(); chroma < nearNeutral {
		// Chroma and hue of a colour that may lie on the other side of neutral are
		// cones and steps, which no descent can follow. The same difference along
		// and across the target's hue is smooth; the factors are those of CIEDE2000
		// at low chroma, where a* is stretched by 1.5. Exactly at neutral, hue has no
		// say and both directions count alike.
		across := 1.0
		u, w := 1.0, 0.0
		if chroma > 0 {
			u, w = 1.5*target.A, target.B
			h := math.Hypot(u, w)
			u, w = u/h, w/h
			across = 1 + (1/hueWeight-1)*min(chroma/2, 1)
		}
		dA, dB := 1.5*(c.A-target.A), c.B-target.B
		mean := (chroma + c.Chroma()) / 2
		r[1] = (dA*u + dB*w) / (1 + 0.045*mean)
		r[2] = across * (dB*u - dA*w) / (1 + 0.015*mean)
	} else {
		half := t.Rotation / 2
		r[1] = t.Chroma + half*t.Hue
		r[2] = math.Sqrt(1-half*half) * t.Hue
	}
	if v.forward.channels == 4 {
		r[3] = firm * (d[3] - wish)
		if over := d[0] + d[1] + d[2] + d[3] - v.totalInk; v.totalInk > 0 && over > 0 {
			r[4] = 100 * over
		}
	}
	return r
}

// problem gives the residuals of device numbers; their sum of squares is to be least.
type problem struct {
	count     int
	residuals func(*device) [maxResiduals]float64
}

func (p *problem) size(r *[maxResiduals]float64) (sum float64) {
	for _, x := range r[:p.count] {
		sum += x * x
	}
	return sum
}

// distance is the problem of printing target.
func (v *inverter) distance(target cie.Lab, wish float64) problem {
	return problem{ownResiduals, func(d *device) [maxResiduals]float64 {
		return v.residuals(target, wish, d, v.forward.at(d[:v.forward.channels]))
	}}
}

// firm is how much the wish for black weighs, in the distance's unit for all of the
// black: it only decides where the colour leaves a choice.
const firm = 0.05

// solve returns the device numbers of least distance to target and that
// distance squared, starting from d. With black ink, the wish is tried first: left
// free from the start, black goes astray at the creases of the forward table.
func (v *inverter) solve(target cie.Lab, wish float64, d device) (device, float64) {
	p := v.distance(target, wish)
	if v.forward.channels == 4 {
		d[3] = wish
		best, off := v.descend(p, true, d, wholeDescent)
		if off < 1e-4 {
			return best, off
		}
		d = best
	}
	return v.descend(p, false, d, wholeDescent)
}

// wholeDescent is more steps than a descent needs.
const wholeDescent = 40

// descend takes Levenberg-Marquardt steps inside the cube, channels that press
// against its side held there, and black too if it is to be kept.
func (v *inverter) descend(p problem, keepBlack bool, d device, steps int) (device, float64) {
	n := v.forward.channels
	r := p.residuals(&d)
	now := p.size(&r)
	damp := 1e-3
	for range steps {
		if now < 1e-10 {
			break
		}
		var jacobian [maxChannels][maxResiduals]float64
		var gradient [maxChannels]float64
		var held [maxChannels]bool
		for ch := range n {
			h := 1e-3
			if d[ch]+h > 1 {
				h = -h
			}
			moved := d
			moved[ch] += h
			q := p.residuals(&moved)
			for k := range p.count {
				jacobian[ch][k] = (q[k] - r[k]) / h
				gradient[ch] += jacobian[ch][k] * r[k]
			}
			held[ch] = d[ch] <= 0 && gradient[ch] > 0 || d[ch] >= 1 && gradient[ch] < 0 ||
				keepBlack && ch == 3
		}
		better := false
		for damp < 1e7 {
			move, ok := normalEquations(n, p.count, &jacobian, &gradient, &held, damp)
			if !ok {
				damp *= 10
				continue
			}
			next := d
			for ch := range n {
				next[ch] = min(max(d[ch]-move[ch], 0), 1)
			}
			q := p.residuals(&next)
			if s := p.size(&q); s < now {
				better = now-s > 1e-9*now
				d, r, now = next, q, s
				damp = max(damp/10, 1e-9)
				break
			}
			damp *= 10
		}
		if !better {
			break
		}
	}
	return d, now
}

// normalEquations solves (J'J + damp) x = gradient for the channels not held.
func normalEquations(n, count int, jacobian *[maxChannels][maxResiduals]float64, gradient *[maxChannels]float64, held *[maxChannels]bool, damp float64) (x device, ok bool) {
	var m [maxChannels][maxChannels + 1]float64
	for i := range n {
		if held[i] {
			m[i][i] = 1
			continue
		}
		for j := range n {
			if held[j] {
				continue
			}
			for k := range count {
				m[i][j] += jacobian[i][k] * jacobian[j][k]
			}
		}
		m[i][i] += damp * (1 + m[i][i])
		m[i][n] = gradient[i]
	}
	for i := range n {
		p := i
		for j := i + 1; j < n; j++ {
			if math.Abs(m[j][i]) > math.Abs(m[p][i]) {
				p = j
			}
		}
		if math.Abs(m[p][i]) < 1e-14 {
			return x, false
		}
		m[i], m[p] = m[p], m[i]
		for j := i + 1; j < n; j++ {
			f := m[j][i] / m[i][i]
			for k := i; k <= n; k++ {
				m[j][k] -= f * m[i][k]
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		s := m[i][n]
		for j := i + 1; j < n; j++ {
			s -= m[i][j] * x[j]
		}
		x[i] = s / m[i][i]
	}
	return x, true
}

// farOff is the distance from which on the start is looked for with more care.
const farOff = 3

// invert returns the device numbers for target and how far off they are, by the
// weighted distance. near is a solution close by, for smoothness; it may be nil.
func (v *inverter) invert(target cie.Lab, near *device) (device, float64) {
	wish := 0.0
	if v.forward.channels == 4 {
		wish = v.black(target)
	}
	best, off := v.solve(target, wish, v.nearest(target, wish))
	if near != nil && off > 1e-6 {
		if d, o := v.solve(target, wish, *near); o < off {
			best, off = d, o
		}
	}
	if off > farOff*farOff {
		// Far out the distance has several valleys (black or a lighter blue for a
		// very dark blue, say): look for the deepest.
		least, at := math.Inf(1), 0
		for i := range v.surface {
			if d := cie.DeltaE00Terms(target, v.surface[i].lab, hueWeight).DeltaE00(); d < least {
				least, at = d, i
			}
		}
		if d, o := v.solve(target, wish, v.surface[at].at); o < off {
			best, off = d, o
		}
	}
	v.keepLimit(&best)
	return best, math.Sqrt(off)
}

// inward is the lightness of the neutral that colours are approached from.
const inward = 50

// follow returns the device numbers that the nearest colour leads to as the colour
// asked for moves from a middle grey out to target in a straight line, and how far
// off they are.
func (v *inverter) follow(target cie.Lab) (device, float64) {
	steps := 1 + int(math.Hypot(target.Chroma(), target.L-inward)/12)
	d := v.middle
	off := 0.0
	for k := 1; k <= steps; k++ {
		t := float64(k) / float64(steps)
		c := cie.Lab{L: inward + t*(target.L-inward), A: t * target.A, B: t * target.B}
		wish := 0.0
		if v.forward.channels == 4 {
			wish = v.black(c)
		}
		d, off = v.solve(c, wish, d)
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
