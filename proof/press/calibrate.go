package press

import (
	"math"

	"firstsheet/proof/cie"
)

// greyLevels is how many steps of the grey ramp are calibrated; between them a
// smooth curve is laid.
const greyLevels = 33

// Driver is a setting with the grey ramp that the printer's maker has calibrated
// for the stock the setting belongs to. It does not change.
type Driver struct {
	Setting
	ramp [greyLevels]greyStep
	// tone are the ramps of cyan, magenta and yellow alone.
	tone [3][greyLevels]float64
}

// NewDriver calibrates setting on its own stock: equal steps of the neutral
// signal give equal steps of L*, from the paper's white to the black of full
// signal, and greys as neutral as the paper's white. The ramps of cyan, magenta and
// yellow are those that make a neutral of even L* without grey and black, so that
// grey component replacement changes nothing that is seen. That is what a printer's
// maker does per media setting (common practice, no source), and all that is
// asked of the response: how colours come out follows from the inks.
func NewDriver(setting Setting) *Driver {
	d := &Driver{Setting: setting}
	home, ok := StockByID(setting.Home)
	if !ok {
		panic("press: setting " + setting.ID + " has no stock " + setting.Home)
	}
	p := newPrimaries(home, setting)
	white := p.White()
	relative := func(s greyStep) cie.Lab {
		return relativeTo(white, p.Reflectance(setting.lay(s, [3]float64{}, 0)).Lab())
	}
	end := solveGrey(greyStep{1, 0.8, 0.7}, func(s greyStep) [3]float64 {
		c := relative(greyStep{1, s.magenta, s.yellow})
		return [3]float64{10 * (s.along - 1), c.A, c.B}
	})
	darkest := relative(end).L
	d.ramp[greyLevels-1] = end
	step := end
	for i := greyLevels - 2; i > 0; i-- {
		want := 100 + (darkest-100)*float64(i)/(greyLevels-1)
		step.along *= float64(i) / float64(i+1)
		step = solveGrey(step, func(s greyStep) [3]float64 {
			c := relative(s)
			return [3]float64{c.L - want, c.A, c.B}
		})
		d.ramp[i] = step
	}
	d.ramp[0] = greyStep{0, d.ramp[1].magenta, d.ramp[1].yellow}

	// The three colour inks alone, without grey and black. Where all are full, what
	// they make is not neutral; the cast sets in towards that end.
	composite := func(v [3]float64) cie.Lab {
		return relativeTo(white, p.Reflectance(setting.lay(greyStep{}, v, 0)).Lab())
	}
	full := composite([3]float64{1, 1, 1})
	amounts := [3]float64{1, 1, 1}
	for i := greyLevels - 1; i >= 0; i-- {
		t := float64(i) / (greyLevels - 1)
		if i > 0 && i < greyLevels-1 {
			want := cie.Lab{L: 100 + (full.L-100)*t, A: full.A * t * t * t * t, B: full.B * t * t * t * t}
			for ch := range amounts {
				amounts[ch] *= t / (t + 1.0/(greyLevels-1))
			}
			amounts = solve3(amounts, [3]float64{1, 1, 1}, func(v [3]float64) [3]float64 {
				c := composite(v)
				return [3]float64{c.L - want.L, c.A - want.A, c.B - want.B}
			})
		}
		for ch := range d.tone {
			d.tone[ch][i] = amounts[ch]
			if i == 0 {
				d.tone[ch][i] = 0
			}
		}
	}
	return d
}

// solveGrey is solve3 for the numbers of a step of the grey ramp.
func solveGrey(at greyStep, residual func(greyStep) [3]float64) greyStep {
	step := func(v [3]float64) greyStep { return greyStep{v[0], v[1], v[2]} }
	return step(solve3([3]float64{at.along, at.magenta, at.yellow}, [3]float64{1, 2, 2},
		func(v [3]float64) [3]float64 { return residual(step(v)) }))
}

// solve3 brings three residuals to zero by damped Newton steps from a start,
// inside 0 to most; what cannot be reached stays a small cast, as on real
// printers.
func solve3(at, most [3]float64, residual func([3]float64) [3]float64) [3]float64 {
	size := func(r [3]float64) float64 { return r[0]*r[0] + r[1]*r[1] + r[2]*r[2] }
	r := residual(at)
	for range 60 {
		const h = 1e-4
		var jacobian cie.Mat3
		for k := range at {
			moved := at
			moved[k] += h
			q := residual(moved)
			for j := range q {
				jacobian[3*j+k] = (q[j] - r[j]) / h
			}
		}
		inverse, ok := jacobian.Inverse()
		if !ok {
			return at
		}
		move := inverse.Apply(r)
		better := false
		for k := 1.0; k > 1e-3; k /= 2 {
			next := at
			for j := range next {
				next[j] = min(max(at[j]-k*move[j], 0), most[j])
			}
			if q := residual(next); size(q) < size(r) {
				at, r, better = next, q, true
				break
			}
		}
		if !better || size(r) < 1e-18 {
			return at
		}
	}
	return at
}

// smooth reads a table of ramp values at t, 0 to 1, by the Catmull-Rom curve
// through the four nearest, the ends continued straight.
func smooth(t float64, read func(level int) float64) float64 {
	t *= greyLevels - 1
	i := min(int(t), greyLevels-2)
	t -= float64(i)
	v1, v2 := read(i), read(i+1)
	v0, v3 := 2*v1-v2, 2*v2-v1
	if i > 0 {
		v0 = read(i - 1)
	}
	if i+2 < greyLevels {
		v3 = read(i + 2)
	}
	return v1 + 0.5*t*(v2-v0+t*(2*v0-5*v1+4*v2-v3+t*(3*(v1-v2)+v3-v0)))
}

// grey returns the step of the grey ramp for a neutral signal, 0 to 1.
func (d *Driver) grey(signal float64) greyStep {
	return greyStep{
		clamp01(smooth(signal, func(i int) float64 { return d.ramp[i].along })),
		math.Max(smooth(signal, func(i int) float64 { return d.ramp[i].magenta }), 0),
		math.Max(smooth(signal, func(i int) float64 { return d.ramp[i].yellow }), 0),
	}
}

// amount returns how much of cyan, magenta or yellow (0, 1, 2) a signal asks for.
func (d *Driver) amount(ch int, signal float64) float64 {
	return clamp01(smooth(signal, func(i int) float64 { return d.tone[ch][i] }))
}

// relativeTo returns an absolute colour as seen beside a white, the media-relative
// colorimetry of ICC.1 (XYZ scaled per channel).
func relativeTo(white, c cie.Lab) cie.Lab {
	w, x := white.ToXYZ(cie.D50), c.ToXYZ(cie.D50)
	return cie.XYZ{X: x.X / w.X * cie.D50.X, Y: x.Y / w.Y, Z: x.Z / w.Z * cie.D50.Z}.ToLab(cie.D50)
}
