package press

import "math"

// Ink numbers, the order of every ink amount slice.
const (
	Cyan = iota
	Magenta
	Yellow
	Black // photo or matte, as the setting has it
	LightCyan
	LightMagenta
	Grey
	Red
	Inks
)

// InkNames are the inks in the order of their numbers.
func InkNames() [Inks]string {
	return [Inks]string{"cyan", "magenta", "yellow", "black", "light cyan", "light magenta", "grey", "red"}
}

// BlackInk is which of the two black inks is loaded. They share a channel.
type BlackInk uint8

const (
	// PhotoBlack lies in the coating and keeps its gloss.
	PhotoBlack BlackInk = iota
	// MatteBlack has more pigment, stays on top of rough stock and rubs off gloss.
	MatteBlack
)

func (b BlackInk) String() string {
	if b == MatteBlack {
		return "matte black"
	}
	return "photo black"
}

// dye is the optical density of a full layer of one ink, seen by light that goes
// down to the paper and back up, and the same at the wavelengths that excite a
// brightener (300 to 400 nm).
type dye struct {
	density Spectrum
	uv      float64
}

// hump is a bell-shaped absorption band; an edge is one that takes all light on
// one side of a wavelength.
func (s *Spectrum) hump(density, centre, width float64) {
	for i := range s {
		d := (float64(FirstBand+BandStep*i) - centre) / width
		s[i] += density * math.Exp(-d*d/2)
	}
}

// edge absorbs below nm; soft is its width.
func (s *Spectrum) edge(density, nm, soft float64) {
	for i := range s {
		s[i] += density / (1 + math.Exp((float64(FirstBand+BandStep*i)-nm)/soft))
	}
}

func (s *Spectrum) flat(density float64) {
	for i := range s {
		s[i] += density
	}
}

// scaled returns a layer of k times the pigment.
func (d dye) scaled(k float64) dye {
	for i := range d.density {
		d.density[i] *= k
	}
	d.uv *= k
	return d
}

// lightStrength is the pigment of the light inks as a share of their full
// counterparts.
const lightStrength = 0.30

// ink returns the density of a full layer of each ink.
//
// The absorption bands are invented, but placed where the pigment families that
// such inks use have them: copper phthalocyanine at 620 and 690 nm with a broad
// shoulder towards the green, quinacridone at 534 and 567 nm with a foot in the
// blue, a monoazo yellow below 500 nm, a red below 590 nm and carbon with a little
// more density in the blue (common knowledge of the trade, no measured ink). How
// much the cyan takes of the green and the magenta of the blue is after what the
// model finds when it is fitted to published offset presses (fit_test.go); without
// it cyan was a green blue (hue 209) and blue dark and violet.
func ink(n int, black BlackInk) dye {
	var s Spectrum
	switch n {
	case Cyan:
		s.hump(0.98, 622, 34)
		s.hump(0.52, 577, 24)
		s.hump(0.85, 690, 40)
		s.hump(0.05, 530, 25)
		s.hump(0.25, 385, 40)
		s.flat(0.03)
		return dye{s, 0.5}
	case Magenta:
		s.hump(1.10, 534, 22)
		s.hump(1.00, 567, 16)
		s.hump(0.55, 500, 24)
		s.hump(0.12, 440, 40)
		s.hump(0.25, 385, 40)
		s.flat(0.02)
		return dye{s, 0.45}
	case Yellow:
		s.edge(1.70, 491, 9)
		s.flat(0.012)
		return dye{s, 1.6}
	case Black:
		if black == MatteBlack {
			s.flat(2.53)
			s.hump(0.18, 380, 110)
		} else {
			s.flat(2.26)
			s.hump(0.20, 380, 110)
		}
		return dye{s, 2.4}
	case LightCyan:
		return ink(Cyan, black).scaled(lightStrength)
	case LightMagenta:
		return ink(Magenta, black).scaled(lightStrength)
	case Grey:
		s.flat(0.52)
		s.hump(0.06, 380, 110)
		return dye{s, 0.6}
	case Red:
		s.edge(1.55, 588, 9)
		s.hump(-0.30, 430, 30)
		s.flat(0.02)
		return dye{s, 1.3}
	}
	panic("press: no such ink")
}
