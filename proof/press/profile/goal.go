package profile

import (
	"math"

	"firstsheet/proof/cie"
)

// hueWeight is kH of the distance that clipping minimises: a change of hue counts
// twice as much as the same change of chroma.
const hueWeight = 0.5

// goal is a colour to be printed.
type goal struct {
	lab    cie.Lab
	chroma float64
	// p and t are its direction from neutral in IPT.
	p, t float64
	wish float64 // for black ink, where the colour leaves a choice
}

func (v *inverter) goal(c cie.Lab) goal {
	g := goal{lab: c, chroma: c.Chroma()}
	i := c.ToXYZ(cie.D50).IPT()
	if length := i.Chroma(); length > 0 {
		g.p, g.t = i.P/length, i.T/length
	}
	if v.forward.channels == 4 {
		g.wish = v.black(c)
	}
	return g
}

// hue returns the weighted difference in hue of c, positive counter-clockwise: that of
// CIEDE2000, but with the angle between the hues taken in IPT, where lines of one hue
// are straight (Hung and Berns's observers: see cie's tests), and without the rotation
// in the blue, which makes up for CIELAB's. A blue that loses chroma along a line of
// CIELAB turns purple: the blues of sRGB by up to 15 to 23 degrees on the demo papers,
// against 7 to 12 so, as with the best of the makers' profiles at hand (12 to 34). The
// mean ΔE00 of what is clipped rises by 2 % at most.
func (g *goal) hue(c cie.Lab) float64 {
	i := c.ToXYZ(cie.D50).IPT()
	length := i.Chroma()
	if length == 0 {
		return 0
	}
	sine, cosine := (g.p*i.T-g.t*i.P)/length, (g.p*i.P+g.t*i.T)/length
	half := math.Copysign(math.Sqrt(max(1-cosine, 0)/2), sine)
	chroma := c.Chroma()
	return 2 * math.Sqrt(g.chroma*chroma) * half / (hueWeight * (1 + 0.015*(g.chroma+chroma)/2))
}

// firm is how much the wish for black weighs, in the distance's unit for all of the
// black: it only decides where the colour leaves a choice.
const firm = 0.05

// ownResiduals is how many parts the distance of one colour has; maxResiduals leaves
// room for a tie to each of its six neighbours in a table and for the orders of
// lightness that it takes part in.
const (
	ownResiduals = 5
	tieResiduals = ownResiduals + 6
	maxResiduals = tieResiduals + maxOrders
)

// nearNeutral is the chroma below which a target gets the smooth form of the
// distance.
const nearNeutral = 8

// residuals are the parts of the distance between a goal and c, the colour of d: the
// first three are lightness and chroma of CIEDE2000 and the hue, and the distance is
// the root of their squares' sum. Close to neutral they are an approximation of it.
func (v *inverter) residuals(g *goal, d *device, c cie.Lab) (r [maxResiduals]float64) {
	t := cie.DeltaE00Terms(g.lab, c, hueWeight)
	r[0] = t.Lightness
	if g.chroma < nearNeutral {
		// Chroma and hue of a colour that may lie on the other side of neutral are
		// cones and steps, which no descent can follow. The same difference along
		// and across the target's hue is smooth; the factors are those of CIEDE2000
		// at low chroma, where a* is stretched by 1.5. Exactly at neutral, hue has no
		// say and both directions count alike.
		across := 1.0
		u, w := 1.0, 0.0
		if g.chroma > 0 {
			u, w = 1.5*g.lab.A, g.lab.B
			h := math.Hypot(u, w)
			u, w = u/h, w/h
			across = 1 + (1/hueWeight-1)*min(g.chroma/2, 1)
		}
		dA, dB := 1.5*(c.A-g.lab.A), c.B-g.lab.B
		mean := (g.chroma + c.Chroma()) / 2
		r[1] = (dA*u + dB*w) / (1 + 0.045*mean)
		r[2] = across * (dB*u - dA*w) / (1 + 0.015*mean)
	} else {
		r[1], r[2] = t.Chroma, g.hue(c)
	}
	if v.forward.channels == 4 {
		r[3] = firm * (d[3] - g.wish)
		if over := d[0] + d[1] + d[2] + d[3] - v.totalInk; v.totalInk > 0 && over > 0 {
			r[4] = 100 * over
		}
	}
	return r
}

// reaching is the problem of printing a goal.
func (v *inverter) reaching(g *goal) problem {
	return problem{ownResiduals, func(d *device) [maxResiduals]float64 {
		return v.residuals(g, d, v.forward.at(d[:v.forward.channels]))
	}}
}

// distance returns how far c is from a goal, black ink left out.
func (v *inverter) distance(g *goal, c cie.Lab) float64 {
	r := v.residuals(g, &device{}, c)
	return math.Sqrt(r[0]*r[0] + r[1]*r[1] + r[2]*r[2])
}
