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
	// rendered is the surface where rendering happens; eased the same with its steps
	// in lightness evened out; cusp the lightness of the most saturated colour of
	// each hue, evened out over neighbouring hues.
	rendered, eased shell
	cusp            [hueSteps]float64
	// darkest is what is printed for black; black its lightness L*.
	darkest cie.Lab
	black   float64
}

// shell is a surface: the largest chroma by hue and lightness.
type shell [hueSteps][lightSteps]float64

// spot is a colour where rendering happens: in IPT, whose hue lines look straight
// (in CIELAB a blue that loses chroma turns purple), lightness 100 for white and
// chroma stretched to about that of CIELAB; hue in degrees.
type spot struct{ light, chroma, hue float64 }

// iptStretch makes the full red and blue of sRGB about as chromatic as in CIELAB.
const iptStretch = 130

func spotOf(c cie.XYZ) spot {
	i := c.IPT()
	return spot{100 * i.I, iptStretch * i.Chroma(), i.Hue()}
}

func (s spot) xyz() cie.XYZ {
	sin, cos := math.Sincos(s.hue * math.Pi / 180)
	return cie.IPT{I: s.light / 100, P: s.chroma * cos / iptStretch, T: s.chroma * sin / iptStretch}.XYZ()
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
	g.rendered.fill()
	g.ease()
	black, _ := v.invert(cie.Lab{}, nil)
	g.darkest = t.at(black[:t.channels])
	g.black = max(g.darkest.L, 0)
	return g
}

func (g *gamut) add(c cie.Lab) {
	g.rendered.add(spotOf(c.ToXYZ(cie.D50)))
}

func (s *shell) add(c spot) {
	l := int(math.Round(c.light))
	if l < 0 || l >= lightSteps {
		return
	}
	h := int(c.hue*hueSteps/360) % hueSteps
	s[h][l] = max(s[h][l], c.chroma)
}

// fill closes gaps between samples and evens out the sampling.
func (s *shell) fill() {
	filled := *s
	for h := range filled {
		for l := 1; l < lightSteps-1; l++ {
			if filled[h][l] == 0 {
				left, right := s[(h+hueSteps-1)%hueSteps][l], s[(h+1)%hueSteps][l]
				filled[h][l] = max(min(left, right), min(s[h][l-1], s[h][l+1]))
			}
		}
	}
	for h := range filled {
		left, right := &filled[(h+hueSteps-1)%hueSteps], &filled[(h+1)%hueSteps]
		for l := range lightSteps {
			s[h][l] = (left[l] + 2*filled[h][l] + right[l]) / 4
		}
	}
}

// ease evens out the surface's steps in lightness and finds its cusp.
func (g *gamut) ease() {
	for h := range g.rendered {
		top := 0
		for l, c := range g.rendered[h] {
			if c > g.rendered[h][top] {
				top = l
			}
		}
		g.cusp[h] = float64(top)
	}
	// Twice a running mean: below the blue cusp the surface falls from chroma 80 to
	// 10 within 3 units of L*, which would tear dark blues apart.
	g.eased = g.rendered
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

// toned returns the spot after the map of black point compensation, as neutrals
// go through it: lightness by the map, chroma by its slope there. The map itself, in
// XYZ, mixes in a little of the paper's black, which would turn the hue of dark
// colours by up to 15 degrees.
func (s spot) toned(scale cie.BlackScale) spot {
	if s.light <= 0 {
		s.light, s.chroma = 0, 0
	}
	from := cie.IPT{I: s.light / 100}.XYZ()
	to := scale.Apply(from)
	light := 100 * max(to.IPT().I, 0)
	if to.Y > 0 {
		// I goes with Y to a power: its slope is that of Y times I per Y, over again.
		s.chroma *= scale.A * (from.Y / to.Y)
		if s.light > 0 {
			s.chroma *= light / s.light
		}
	}
	s.light = light
	return s
}

// render maps a colour of an unlimited source into the gamut, both relative to
// white. Tone first: the straight-line map in XYZ of black point compensation, so
// the source's black lands on the paper's and the order of tones is kept. Then
// chroma: along a line that leans towards the cusp, colours beyond the knee are
// squeezed smoothly so that none reaches the surface, however far out it was.
// Hue is kept in IPT, neutrals stay neutral.
func (g *gamut) render(c cie.Lab, s style) cie.Lab {
	paper := cie.Lab{L: g.black}.ToXYZ(cie.D50).Y
	from := spotOf(c.ToXYZ(cie.D50)).toned(cie.NewBlackScale(s.black, paper))
	if from.chroma < 1e-9 {
		return spot{light: from.light}.xyz().ToLab(cie.D50)
	}
	x := math.Mod(from.hue*hueSteps/360+hueSteps-0.5, hueSteps)
	h := int(x)
	fh := x - float64(h)
	cusp := g.cusp[h]*(1-fh) + g.cusp[(h+1)%hueSteps]*fh
	slant := slantLight
	if from.light < cusp {
		slant = slantDark
	}
	foot := from.light - slant*(from.light-cusp)*(1-math.Exp(-from.chroma/60))
	// Walk out along the line until it leaves the gamut. The last crossing counts:
	// close to white and black the sampled surface is ragged.
	lean := (from.light - foot) / from.chroma
	edge := 0.0
	for r := 0.5; r < 200; r += 0.5 {
		if g.most(from.hue, foot+lean*r) >= r {
			edge = r
		} else if r > edge+6 {
			break
		}
	}
	if edge == 0 {
		return spot{light: foot}.xyz().ToLab(cie.D50)
	}
	edge += 0.25
	t := from.chroma / edge
	squeezed := t
	if s.vivid > 0 && t < 1 {
		squeezed = t + s.vivid*t*(1-t)
	}
	if squeezed > s.knee {
		squeezed = s.knee + (1-s.knee)*(1-math.Exp(-(squeezed-s.knee)/(1-s.knee)))
	}
	k := squeezed / t
	return spot{foot + k*(from.light-foot), k * from.chroma, from.hue}.xyz().ToLab(cie.D50)
}
