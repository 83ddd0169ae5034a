package press

import "math"

// Setting is a media setting of the driver: how RGB numbers become ink. It
// decides how much ink is laid down, which black is used and how the light inks
// take part.
type Setting struct {
	// ID is short and lower case; Name is what the driver's list shows.
	ID, Name string
	// Load is the volume of the drops, 1 being a full layer at full coverage.
	Load float64
	// Black is the black ink it uses.
	Black BlackInk
	// Limit is the largest sum of coverages that the driver lays down.
	Limit float64
	// Home is the ID of the stock that the setting was made and calibrated for.
	Home string
	// BlackStart is the share of the neutral ramp where black begins, BlackMost its
	// coverage at the ramp's end.
	BlackStart, BlackMost float64
	// Replace is how much of the neutral part black and grey take over from
	// cyan, magenta and yellow at full signal.
	Replace float64
	// GreyMost is the largest coverage of the grey ink.
	GreyMost float64
	// Light is the largest coverage of the light inks; 0 leaves them out.
	Light float64
	// RedMost is how much of a red the red ink takes over.
	RedMost float64
	// Composite is how much cyan takes part in the neutral ramp.
	Composite float64
}

func pearlSetting() Setting {
	return Setting{
		ID: "pearl", Home: "pearl", Name: "Coated pearl", Load: 1, Black: PhotoBlack, Limit: 2.7,
		BlackStart: 0.25, BlackMost: 1, Replace: 0.55, GreyMost: 0.55,
		Light: 0.75, RedMost: 0.55, Composite: 0.78,
	}
}

func glossSetting() Setting {
	return Setting{
		ID: "gloss", Home: "gloss", Name: "Coated gloss", Load: 1.03, Black: PhotoBlack, Limit: 2.9,
		BlackStart: 0.28, BlackMost: 1, Replace: 0.5, GreyMost: 0.5,
		Light: 0.8, RedMost: 0.6, Composite: 0.78,
	}
}

func matteSetting() Setting {
	return Setting{
		ID: "matte", Home: "cotton", Name: "Art matte heavy", Load: 0.92, Black: MatteBlack, Limit: 2.2,
		BlackStart: 0.30, BlackMost: 1, Replace: 0.7, GreyMost: 0.45,
		Light: 0.65, RedMost: 0.5, Composite: 0.78,
	}
}

func thinMatteSetting() Setting {
	return Setting{
		ID: "thin", Home: "washi", Name: "Art matte thin", Load: 0.80, Black: MatteBlack, Limit: 1.9,
		BlackStart: 0.32, BlackMost: 1, Replace: 0.75, GreyMost: 0.45,
		Light: 0.6, RedMost: 0.45, Composite: 0.78,
	}
}

// Separate returns the nominal ink coverages, 0 to 1, that the driver makes of
// RGB numbers r, g, b, 0 to 1, 1 being no ink.
//
// It does what drivers do: takes the neutral part out of the three signals, lays
// it down along its calibrated grey ramp, adds what is left of each colour,
// exchanges part of a red for red ink, splits cyan and magenta in light and full
// inks, and keeps to a total. None of its curves follows an RGB standard.
func (d *Driver) Separate(r, g, b float64) [Inks]float64 {
	c, m, y := 1-clamp01(r), 1-clamp01(g), 1-clamp01(b)
	neutral := min(c, m, y)
	var rest [3]float64
	for ch, signal := range [3]float64{c, m, y} {
		rest[ch] = over(d.amount(ch, signal), (1-above(signal, neutral))*d.amount(ch, neutral))
	}
	return d.lay(d.grey(neutral), rest, above(max(c, m, y), neutral))
}

// above returns how far a signal stands out from the neutral part: 0 where it is
// part of it, 1 where there is none.
func above(signal, neutral float64) float64 {
	if signal <= 0 {
		return 0
	}
	return 1 - neutral/signal
}

// greyStep is one step of the grey ramp: how far along the ramp of black, grey
// and cyan, and how much magenta and yellow against the cyan.
type greyStep struct{ along, magenta, yellow float64 }

// lay returns the coverages of a step of the grey ramp with colour on top. strong
// is 0 for a neutral and 1 for a pure colour: the stronger the colour, the sooner
// black takes the place of the ink that would only dull it.
func (s *Setting) lay(step greyStep, rest [3]float64, strong float64) [Inks]float64 {
	var a [Inks]float64
	a[Black] = s.BlackMost * (strong*step.along + (1-strong)*ramp(step.along, s.BlackStart))
	a[Grey] = (1 - strong) * s.GreyMost * bump(step.along, 0.42, 1.5)
	keep := s.Composite * step.along * (1 - s.Replace*step.along) * (1 - strong)
	if red := min(rest[1], rest[2]); red > 0 && s.RedMost > 0 {
		a[Red] = s.RedMost * red * red
		rest[1] -= 0.55 * a[Red]
		rest[2] -= 0.45 * a[Red]
	}
	colour := [3]float64{keep, keep * step.magenta, keep * step.yellow}
	for i, c := range colour {
		colour[i] = c + rest[i]*max(1-c, 0)
	}

	a[Cyan], a[LightCyan] = s.split(colour[0])
	a[Magenta], a[LightMagenta] = s.split(colour[1])
	a[Yellow] = clamp01(colour[2])
	s.limit(&a)
	return a
}

// over returns how much of the area that the neutral part leaves free is to be
// covered for the colour part, such that both together cover what the full amount
// would: black and grey take over the neutral part without thinning a solid
// colour. Plain subtraction was tried: it let paper shine through dark blues, so
// that a blue got lighter first as it was darkened.
func over(full, neutral float64) float64 {
	// Below 1, or the quotient would have no value at black.
	const most = 0.9
	return max(1-(1-most*full)/(1-most*neutral), 0) / most
}

// split divides the wished amount of an ink in full and light ink, so that the
// pigment stays the same: light ink first, full ink growing under it, the light
// one going back where the full one covers.
func (s *Setting) split(q float64) (full, light float64) {
	q = clamp01(q)
	if s.Light == 0 {
		return q, 0
	}
	// Where light ink peaks, such that near white there is no full ink at all.
	peak := lightStrength * s.Light * math.E
	light = s.Light * bump(q, peak, 1) * (1 - 0.85*q*q*q)
	return clamp01(q - lightStrength*light + lightStrength*s.Light*bump(1, peak, 1)*0.15*q*q*q), light
}

// limit keeps the sum of all coverages to the setting's total by thinning the
// colour inks; it sets in smoothly at four fifths of the total.
func (s *Setting) limit(a *[Inks]float64) {
	total := 0.0
	for _, v := range a {
		total += v
	}
	knee := 0.8 * s.Limit
	if total <= knee {
		return
	}
	// The excess over the knee is squeezed so that it stays below a fifth.
	room := s.Limit - knee
	allowed := knee + room*(1-math.Exp(-(total-knee)/room))
	fixed := a[Black] + a[Red]
	k := (allowed - fixed) / (total - fixed)
	for n := range a {
		if n != Black && n != Red {
			a[n] *= k
		}
	}
}

// ramp rises smoothly from 0 at start to 1 at 1.
func ramp(x, start float64) float64 {
	if x <= start {
		return 0
	}
	t := (x - start) / (1 - start)
	return t * t * (1.6 - 0.6*t)
}

// bump is 0 at 0, 1 at its peak and falls slowly beyond.
func bump(x, peak, order float64) float64 {
	if x <= 0 {
		return 0
	}
	t := x / peak
	return math.Pow(t*math.Exp(1-t), order)
}

func clamp01(x float64) float64 { return min(max(x, 0), 1) }
