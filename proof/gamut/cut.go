package gamut

import (
	"math"

	"firstsheet/proof/cie"
)

// Slab is the half thickness of a cut in Lab units: colours no farther from the plane
// are shown in it.
const Slab = 5

// Cut is a plane through CIELAB: that of a lightness, or the half plane of a hue, which
// starts at the neutral axis.
type Cut struct {
	byHue    bool
	at       float64 // L*, or the hue in degrees
	sin, cos float64 // of the hue
}

// AtLightness returns the a*b* plane of a lightness.
func AtLightness(lightness float64) Cut { return Cut{at: lightness} }

// AtHue returns the half plane of a hue in degrees.
func AtHue(hue float64) Cut {
	sin, cos := math.Sincos(hue * math.Pi / 180)
	return Cut{byHue: true, at: hue, sin: sin, cos: cos}
}

// Near reports whether a colour is shown in the cut.
func (c Cut) Near(lab cie.Lab) bool {
	if !c.byHue {
		return math.Abs(lab.L-c.at) <= Slab
	}
	along, off := lab.A*c.cos+lab.B*c.sin, lab.B*c.cos-lab.A*c.sin
	return along >= -Slab && math.Abs(off) <= Slab
}

// Place is where in its plane a cut shows something: a* and b*, or C* and L*.
type Place struct{ X, Y float64 }

// Place returns the foot of a colour on the plane. On a half plane what lies behind the
// neutral axis stands on it.
func (c Cut) Place(lab cie.Lab) Place {
	if !c.byHue {
		return Place{lab.A, lab.B}
	}
	return Place{math.Max(0, lab.A*c.cos+lab.B*c.sin), lab.L}
}

// In returns where an outline runs in a cut's plane: round the neutral axis, one point a
// degree of hue and the last to be joined to the first, or from white over the most
// saturated colour to black. It is nil where the device has nothing of a lightness.
func (o *Outline) In(c Cut) []Place {
	var out []Place
	if c.byHue {
		for _, p := range o.AtHue(c.at) {
			out = append(out, Place{p.C, p.L})
		}
		return out
	}
	for _, p := range o.AtLightness(c.at) {
		out = append(out, c.Place(p))
	}
	return out
}

// Slice is what of a picture lies in a cut. Weight is how many pixels those colours
// stand for.
type Slice struct {
	Points []Point
	Weight float64
}

// Slice returns the colours of a cloud that a cut shows.
func (c Cut) Slice(points []Point) Slice {
	var s Slice
	for _, p := range points {
		if c.Near(p.Lab) {
			s.Points = append(s.Points, p)
			s.Weight += p.Weight
		}
	}
	return s
}

// grace is half the side of the square that a colour is shown as, in Lab units: what
// touches an outline is not outside it.
const grace = 1

// Beyond returns the share of a slice's pixels, 0 to 1, that lie outside an outline; 0
// of an empty slice.
func (s Slice) Beyond(o *Outline) float64 {
	if s.Weight == 0 {
		return 0
	}
	var out float64
	for _, p := range s.Points {
		if o.Beyond(p.Lab, grace) {
			out += p.Weight
		}
	}
	return out / s.Weight
}

// stray is how many pixels of a picture one of a colour stands for at most, for the
// colour to count in how far the picture reaches: a handful of stray pixels must not
// make a diagram of everything else small.
const stray = 20000

// MostChroma returns the largest chroma of a picture's colours, strays left out.
func (c *Cloud) MostChroma() float64 {
	var most float64
	for _, p := range c.Points {
		if p.Weight >= c.Pixels/stray {
			most = math.Max(most, p.Lab.Chroma())
		}
	}
	return most
}
