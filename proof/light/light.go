// Package light tells how a print looks under another light than the one its
// colours are computed for, and by which light prints are judged.
//
// All it knows of a print is its colour under D50; reflectance spectra are not
// asked for. So a lamp is taken as a change of white alone: what an eye sees of
// it that has not quite adapted. How single inks shift under a lamp with a
// spiky spectrum (metamerism), and what ultraviolet does to a brightened paper,
// is left out and must be said: see [Cautions].
//
// It also reads what a screen's profile says of the screen, and tells what its
// white and the light on a print do to each other.
package light

import (
	"fmt"
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// Range of lights that have a locus here.
const (
	MinKelvin = 1667  // candle light and below is not a light to judge prints by
	MaxKelvin = 25000 // the end of the daylight locus
	daylight  = 4000  // from here daylight, below a black body
)

// RangeError says that a colour temperature has no light here.
type RangeError struct{ Kelvin float64 }

func (e *RangeError) Error() string {
	return fmt.Sprintf("light: %g K is not within %d to %d K", e.Kelvin, MinKelvin, MaxKelvin)
}

// Daylight returns the chromaticity of the CIE daylight of a correlated colour
// temperature from 4000 to 25000 K. D50 and D65 are by name at 5003 and 6504 K
// on today's temperature scale.
//
// Source: CIE 15:2004, 3.1 (equations 3.3 and 3.4).
func Daylight(kelvin float64) (x, y float64, err error) {
	if !(kelvin >= daylight && kelvin <= MaxKelvin) {
		return 0, 0, &RangeError{kelvin}
	}
	t := 1000 / kelvin
	if kelvin <= 7000 {
		x = 0.244063 + t*(0.09911+t*(2.9678-t*4.6070))
	} else {
		x = 0.237040 + t*(0.24748+t*(1.9018-t*2.0064))
	}
	return x, -3*x*x + 2.870*x - 0.275, nil
}

// Planckian returns the chromaticity of a black body from 1667 to 15000 K, to
// 1e-4 in CIE 1960 u, v.
//
// Source: Krystek, "An algorithm to calculate correlated colour temperature",
// Color Research and Application 10 (1985) 38-40; coefficients from memory,
// checked at illuminant A and against other tabulated points.
func Planckian(kelvin float64) (x, y float64, err error) {
	if !(kelvin >= MinKelvin && kelvin <= 15000) {
		return 0, 0, &RangeError{kelvin}
	}
	t := kelvin
	u := (0.860117757 + 1.54118254e-4*t + 1.28641212e-7*t*t) / (1 + 8.42420235e-4*t + 7.08145163e-7*t*t)
	v := (0.317398726 + 4.22806245e-5*t + 4.20481691e-8*t*t) / (1 - 2.89741816e-5*t + 1.61456053e-7*t*t)
	d := 2*u - 8*v + 4
	return 3 * u / d, 2 * v / d, nil
}

// White returns the white of a light: daylight from 4000 K, a black body below.
// The two loci lie side by side, so at 4000 K the white steps by about 0.007 in y
// (daylight is the greener one). Y is 1.
func White(kelvin float64) (cie.XYZ, error) {
	if !(kelvin >= MinKelvin && kelvin <= MaxKelvin) {
		return cie.XYZ{}, &RangeError{kelvin}
	}
	locus := Daylight
	if kelvin < daylight {
		locus = Planckian
	}
	x, y, err := locus(kelvin)
	if err != nil {
		return cie.XYZ{}, err
	}
	return cie.FromXY(x, y), nil
}

// Adaptation returns the degree, 0 to 1, to which an eye in an average surround
// adapts to a light of so many lux on the print. The adapting field is taken as a
// fifth of the luminance of a perfect white.
//
// Source: CIE 159:2004 (CIECAM02), F = 1: D = 1 - exp(-(LA + 42) / 92) / 3.6.
func Adaptation(lux float64) float64 {
	la := 0.2 * max(0, lux) / math.Pi
	return 1 - math.Exp(-(la+42)/92)/3.6
}

// Seen returns the matrix that takes D50 tristimulus values of a print to those
// that an eye adapted to D50 would need to see, for the print to look as it does
// under the light: degree 1 is an eye that has fully adapted to the light, for
// which nothing changes; degree 0 one that has stayed with D50, as when the
// screen fills the view.
//
// It is Bradford adaptation from D50 to the light, of which the eye takes back
// the degree: per cone response D + (1 - D) * light / D50.
func Seen(kelvin, degree float64) (cie.Mat3, error) {
	w, err := White(kelvin)
	if err != nil {
		return cie.Mat3{}, err
	}
	if !(degree >= 0 && degree <= 1) {
		return cie.Mat3{}, fmt.Errorf("light: degree of adaptation %g is not within 0 to 1", degree)
	}
	// The cone responses are linear, so the mix of the diagonals is the mix of
	// the matrices.
	m := cie.Adaptation(cie.D50, w)
	for i := range m {
		m[i] *= 1 - degree
	}
	for i := 0; i < 9; i += 4 {
		m[i] += degree
	}
	return m, nil
}

// Shift returns how a colour of the print looks under the light, in D50 Lab. For
// the same print under D50 it is the colour itself.
func Shift(c cie.Lab, kelvin, degree float64) (cie.Lab, error) {
	m, err := Seen(kelvin, degree)
	if err != nil {
		return cie.Lab{}, err
	}
	return c.ToXYZ(cie.D50).Transform(m).ToLab(cie.D50), nil
}

// Shifts returns how colours of a print (D50 Lab) look under a light of so many kelvin
// and lux, and what that means in words: each from the colour itself to how it is seen.
// degree, 0 to 1, is how far an eye gets used to the light ([Adaptation]).
func Shifts(colours []cie.Lab, kelvin, lux float64) (shifts []words.Change, degree float64, err error) {
	degree = Adaptation(lux)
	for _, c := range colours {
		to, err := Shift(c, kelvin, degree)
		if err != nil {
			return nil, 0, err
		}
		shifts = append(shifts, words.Compare(c, to))
	}
	return shifts, degree, nil
}

// bluish is the b* under which a paper's white is told to be so: an optical brightener
// makes it that.
const bluish = -2

// Cautions returns what a picture of a print under a light leaves out, a sentence each.
// paper is the paper's name and white its white, absolute D50 Lab.
func Cautions(kelvin float64, paper string, white cie.Lab) []string {
	out := []string{
		"Only the light's white is taken into account. Inks whose spectra differ can shift further, most of all under lamps with few lines.",
	}
	if kelvin < daylight {
		out = append(out, "Light of this warmth is for looking at a print, not for judging one.")
	}
	uv := "If the paper has an optical brightener (its maker tells), its colours hold for light with ultraviolet only: under lamps without it, or behind glass that holds it back, white turns yellower than shown here."
	if white.B < bluish {
		uv = fmt.Sprintf("%s’s white is bluish (b* %s), as an optical brightener makes it. If it has one, its colours hold for light with ultraviolet only: under lamps without it, or behind glass that holds it back, "+
			"white and light colours turn yellower than shown here.", paper, words.Whole(white.B))
	}
	return append(out, uv)
}

// Luminance returns the luminance in cd/m2 of a matt surface of the given
// reflectance, 0 to 1, under so many lux: reflectance * lux / pi.
func Luminance(lux, reflectance float64) float64 { return reflectance * lux / math.Pi }

// Lux returns the light on a paper of the given reflectance that makes it as
// bright as a screen's white of so many cd/m2.
func Lux(luminance, reflectance float64) float64 { return luminance * math.Pi / reflectance }

// Condition is a light, or a screen, by which prints are judged.
type Condition struct {
	Name string
	// Lux is the light on the print, 0 where the condition is about a screen;
	// Tolerance is in lux, 0 where none is known.
	Lux       float64
	Tolerance float64
	// Screen is the least luminance of the screen's white in cd/m2, ScreenTo the
	// most; 0 where nothing is asked.
	Screen   float64
	ScreenTo float64
	// White is the light's or the screen's white.
	White string
	// Source tells where the figures are from, and what of them is from memory.
	Source string
}

// Tell says in words what the condition asks, with what a paper of a name has under its
// light; white is the luminance factor of the paper's white, 0 where it is not known.
func (c Condition) Tell(paper string, white float64) string {
	switch {
	case c.Lux > 0:
		s := fmt.Sprintf("%.0f lx, %s", c.Lux, c.White)
		if c.Tolerance > 0 {
			s = fmt.Sprintf("%.0f ± %.0f lx, %s", c.Lux, c.Tolerance, c.White)
		}
		if white > 0 {
			s += fmt.Sprintf("; %s’s white then has %.0f cd/m²", paper, Luminance(c.Lux, white))
		}
		return s
	case c.ScreenTo > 0:
		return fmt.Sprintf("white of %.0f to %.0f cd/m², %s", c.Screen, c.ScreenTo, c.White)
	}
	return fmt.Sprintf("white of at least %.0f cd/m², %s", c.Screen, c.White)
}

// Conditions returns the lights by which prints are judged, strictest first.
func Conditions() []Condition {
	return []Condition{
		{
			Name: "critical comparison (P1)", Lux: 2000, Tolerance: 500, White: "D50",
			Source: "ISO 3664, as restated in public; the tolerance is from memory",
		},
		{
			Name: "practical appraisal (P2)", Lux: 500, Tolerance: 125, White: "D50",
			Source: "ISO 3664, as restated with the ICC perceptual reference medium (color.org); the tolerance is from memory",
		},
		{
			Name: "screen beside a print", Screen: 160, White: "D50",
			Source: "ISO 3664, as restated in Green, Color Management (2010), p. 197",
		},
		{
			Name: "screen alone", Screen: 80, White: "D65",
			Source: "ISO 3664, as restated in Green, Color Management (2010), p. 197",
		},
		{
			Name: "screen for matching prints at home", Screen: 80, ScreenTo: 120, White: "as the light on the print",
			Source: "common practice, no source",
		},
	}
}
