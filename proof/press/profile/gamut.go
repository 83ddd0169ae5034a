package profile

import (
	"math"

	"firstsheet/proof/cie"
)

// The gamut's surface is kept as the largest chroma at each hue and lightness.
const (
	hueSteps   = 240
	lightSteps = 101
)

type gamut struct {
	// chroma is the surface; eased the same with its steps in lightness evened out,
	// which rendering is measured by; cusp the lightness of the most saturated
	// colour of each hue, evened out over neighbouring hues.
	chroma, eased [hueSteps][lightSteps]float64
	cusp          [hueSteps]float64
	// black is the lightness of the darkest neutral.
	black float64
}

// surface samples all faces of the device cube on which at most two channels are
// neither 0 nor 1.
func newGamut(v *inverter) *gamut {
	g := &gamut{}
	t := v.forward
	fine := 257
	if t.channels == 4 {
		fine = 97
	}
	for first := 0; first < t.channels; first++ {
		for second := first + 1; second < t.channels; second++ {
			for ends := 0; ends < 1<<t.channels; ends++ {
				if ends>>first&1 == 1 || ends>>second&1 == 1 {
					continue
				}
				var d device
				for ch := range t.channels {
					d[ch] = float64(ends >> ch & 1)
				}
				for i := range fine {
					for j := range fine {
						p := d
						p[first], p[second] = float64(i)/float64(fine-1), float64(j)/float64(fine-1)
						v.keepLimit(&p)
						g.add(t.at(p[:t.channels]))
					}
				}
			}
		}
	}
	g.fill()
	black, _ := v.invert(cie.Lab{}, nil)
	g.black = max(t.at(black[:t.channels]).L, 0)
	return g
}

func (g *gamut) add(c cie.Lab) {
	l := int(math.Round(c.L))
	if l < 0 || l >= lightSteps {
		return
	}
	h := int(c.Hue()*hueSteps/360) % hueSteps
	g.chroma[h][l] = max(g.chroma[h][l], c.Chroma())
}

// fill closes gaps between samples and evens out the sampling.
func (g *gamut) fill() {
	filled := g.chroma
	for h := range filled {
		for l := 1; l < lightSteps-1; l++ {
			if filled[h][l] == 0 {
				left, right := g.chroma[(h+hueSteps-1)%hueSteps][l], g.chroma[(h+1)%hueSteps][l]
				filled[h][l] = max(min(left, right), min(g.chroma[h][l-1], g.chroma[h][l+1]))
			}
		}
	}
	for h := range filled {
		left, right := &filled[(h+hueSteps-1)%hueSteps], &filled[(h+1)%hueSteps]
		top := 0
		for l := range lightSteps {
			g.chroma[h][l] = (left[l] + 2*filled[h][l] + right[l]) / 4
			if g.chroma[h][l] > g.chroma[h][top] {
				top = l
			}
		}
		g.cusp[h] = float64(top)
	}
	// Twice a running mean: below the blue cusp the surface falls from chroma 80 to
	// 10 within 3 units of L*, which would tear dark blues apart.
	g.eased = g.chroma
	for range 2 {
		for h := range g.eased {
			before := g.eased[h]
			for l := 4; l < lightSteps-4; l++ {
				sum := 0.0
				for k := -3; k <= 3; k++ {
					sum += before[l+k]
				}
				g.eased[h][l] = sum / 7
			}
		}
	}
	const reach = hueSteps / 24
	var even [hueSteps]float64
	for h := range even {
		for k := -reach; k <= reach; k++ {
			even[h] += g.cusp[(h+k+hueSteps)%hueSteps] / (2*reach + 1)
		}
	}
	g.cusp = even
}

// most returns the largest chroma at a hue in degrees and a lightness, eased.
func (g *gamut) most(hue, light float64) float64 {
	if light <= 0 || light >= 100 {
		return 0
	}
	x := hue*hueSteps/360 - 0.5
	if x < 0 {
		x += hueSteps
	}
	h := int(x)
	fh := x - float64(h)
	h %= hueSteps
	next := (h + 1) % hueSteps
	l := int(light)
	fl := light - float64(l)
	low := g.eased[h][l]*(1-fh) + g.eased[next][l]*fh
	high := g.eased[h][l+1]*(1-fh) + g.eased[next][l+1]*fh
	return low*(1-fl) + high*fl
}

// volume returns the size of the gamut in cubic Lab units.
func (g *gamut) volume() float64 {
	sum := 0.0
	for h := range g.chroma {
		for _, c := range g.chroma[h] {
			sum += c * c / 2
		}
	}
	return sum * 2 * math.Pi / hueSteps
}

// style is how a rendering intent other than the colorimetric one bends colours.
type style struct {
	// black is the luminance of the source's black, which lands on the paper's.
	black float64
	// knee is the share of the way to the gamut's surface up to which colours stay.
	knee float64
	// vivid adds chroma to colours well inside.
	vivid float64
}

// slant is how much light colours get darker and dark ones lighter as they are
// pulled inside, as a share of their distance from the cusp's lightness. Dark ones
// more: below its cusp the gamut of ink on paper is hollow.
const (
	slantLight = 0.35
	slantDark  = 0.75
)

// render maps a colour of an unlimited source into the gamut, both relative to
// white. Tone first: the straight-line map in XYZ of black point compensation, so
// the source's black lands on the paper's and the order of tones is kept. Then
// chroma: along a line that leans towards the cusp, colours beyond the knee are
// squeezed smoothly so that none reaches the surface, however far out it was.
// Hue is kept in CIELAB, neutrals stay neutral.
func (g *gamut) render(c cie.Lab, s style) cie.Lab {
	paper := cie.Lab{L: g.black}.ToXYZ(cie.D50).Y
	c = cie.NewBlackScale(s.black, paper).Apply(c.ToXYZ(cie.D50)).ToLab(cie.D50)
	chroma := c.Chroma()
	if chroma < 1e-9 {
		return cie.Lab{L: c.L}
	}
	hue := c.Hue()
	x := math.Mod(hue*hueSteps/360+hueSteps-0.5, hueSteps)
	h := int(x)
	fh := x - float64(h)
	cusp := g.cusp[h]*(1-fh) + g.cusp[(h+1)%hueSteps]*fh
	slant := slantLight
	if c.L < cusp {
		slant = slantDark
	}
	foot := c.L - slant*(c.L-cusp)*(1-math.Exp(-chroma/60))
	// Walk out along the line until it leaves the gamut. The last crossing counts:
	// close to white and black the sampled surface is ragged.
	lean := (c.L - foot) / chroma
	edge := 0.0
	for r := 0.5; r < 200; r += 0.5 {
		if g.most(hue, foot+lean*r) >= r {
			edge = r
		} else if r > edge+6 {
			break
		}
	}
	if edge == 0 {
		return cie.Lab{L: foot}
	}
	edge += 0.25
	t := chroma / edge
	squeezed := t
	if s.vivid > 0 && t < 1 {
		squeezed = t + s.vivid*t*(1-t)
	}
	if squeezed > s.knee {
		squeezed = s.knee + (1-s.knee)*(1-math.Exp(-(squeezed-s.knee)/(1-s.knee)))
	}
	k := squeezed / t
	return cie.Lab{L: foot + k*(c.L-foot), A: k * c.A, B: k * c.B}
}
