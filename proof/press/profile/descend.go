package profile

import "math"

// wholeDescent is more steps than a descent needs.
const wholeDescent = 40

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
