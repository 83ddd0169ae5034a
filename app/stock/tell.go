package stock

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/space"
)

// Line is something known by name, with what the name means in plain words.
type Line struct{ Name, Value, Means string }

func lab(c cie.Lab) string {
	return fmt.Sprintf("L* %s, a* %s, b* %s", Figure(c.L), Figure(c.A), Figure(c.B))
}

// Figure writes a number to one decimal, with a true minus and without "-0.0".
func Figure(v float64) string {
	s := fmt.Sprintf("%.1f", v)
	if s == "-0.0" {
		s = "0.0"
	}
	return strings.Replace(s, "-", "−", 1)
}

// Signed is Figure with a plus before what is above 0.
func Signed(v float64) string {
	s := Figure(v)
	if v > 0 && s != "0.0" {
		s = "+" + s
	}
	return s
}

// Triple writes a colour as L* a* b* in whole numbers.
func Triple(c cie.Lab) string {
	n := func(v float64) string { return strings.TrimSuffix(Figure(math.Round(v)), ".0") }
	return n(c.L) + "  " + n(c.A) + "  " + n(c.B)
}

// OnScreen is a colour on an sRGB screen, for swatches.
func OnScreen(c cie.Lab) color.RGBA {
	v := space.SRGB().FromLab(c)
	b := func(x float64) uint8 { return uint8(math.Round(255 * min(max(x, 0), 1))) }
	return color.RGBA{b(v[0]), b(v[1]), b(v[2]), 255}
}

// FactLines says what a profile is. What the profile leaves open is said as such.
func FactLines(f paper.Facts) []Line {
	out := []Line{
		{"Paper’s white", lab(f.White), "The bare sheet’s colour in CIELAB under D50: L* is its lightness, b* below 0 a bluish tint, often of brightener."},
		{"Paper’s black", lab(f.Black), "The darkest that ink makes on it. Whatever in the picture is darker than its L* falls together."},
	}
	if f.Volume > 0 {
		out = append(out, Line{"Size of its gamut", fmt.Sprintf("%.0f thousand cubic units of CIELAB", f.Volume/1000),
			"How many colours it reaches, the paper’s white taken as white. For comparing papers; more is not always better for a picture."})
	}
	out = append(out, Line{"Numbers", fmt.Sprintf("%s, %d channels", f.Space, f.Channels), "The colour space in which the printer is told what to print."})
	if f.TotalInk > 0 {
		out = append(out, Line{"Total ink", fmt.Sprintf("%.0f %%", f.TotalInk*100),
			"The largest sum of the channels that its own separation uses; 100 % is one ink laid on in full."})
	}
	for _, i := range f.Intents {
		v := "its own table"
		switch {
		case i.Into == "":
			v = "no table; a curve serves"
		case i.StandIn:
			v = "none of its own: the perceptual one stands in"
		case i.SameAs != "":
			v = "the same table as " + i.SameAs
		}
		out = append(out, Line{strings.ToUpper(i.Intent[:1]) + i.Intent[1:], v, intentMeans(i.Intent)})
	}
	out = append(out, Line{"Absolute", "shares the relative table, by the white point", intentMeans("absolute")})
	bits := "16 bits"
	if f.EightBit {
		bits = "8 bits: differences of about 1 ΔE00 drown in their rounding"
	}
	tag := "none; it is not needed"
	if f.GamutTag {
		tag = "there, as information: the reach is found by going there and back"
	}
	out = append(out,
		Line{"Tables", bits, "How finely the tables into the paper’s numbers are written."},
		Line{"Gamut tag", tag, "A table in the profile that says which colours are within reach. Many profiles have none."},
		Line{"Version", f.Version, "Of the ICC standard that the profile is written by."},
		Line{"Description", f.Description, "What the profile calls itself."})
	if f.Copyright != "" {
		out = append(out, Line{"Copyright", f.Copyright, "The licence line in the profile."})
	}
	for _, a := range f.Assumed {
		out = append(out, Line{"Assumed", a, "What the profile leaves open and what stands in for it."})
	}
	return out
}

func intentMeans(intent string) string {
	switch intent {
	case "perceptual":
		return "Perceptual: all colours are drawn together until they fit, so that steps stay apart."
	case "relative":
		return "Relative colorimetric: what fits stays as it is against the paper’s white; what does not goes to the nearest that does."
	case "saturation":
		return "Saturation: kept vivid at the cost of truth; made for diagrams."
	}
	return "Absolute colorimetric: the paper’s white is printed too; for proofing one paper on another."
}

// Conditions are the measuring conditions that a card knows, "" for not noted.
func Conditions() []string { return append([]string{""}, paper.Conditions()...) }

// ConditionMeans says in plain words what a measuring condition is.
//
// Source: ISO 13655:2017, 4.2 to 4.5, from memory.
func ConditionMeans(m string) string {
	switch m {
	case "M0":
		return "M0: the instrument’s own lamp, its ultraviolet not laid down. Brightener in the paper glows somewhat, and each instrument somewhat differently."
	case "M1":
		return "M1: light like daylight, ultraviolet included. Brightener glows as it does under a window or a viewing lamp of D50."
	case "M2":
		return "M2: without ultraviolet. Brightener does not glow, as behind glass that keeps ultraviolet out."
	}
	return "M0, M1 or M2: how much ultraviolet the measuring light had. It decides how blue a brightened paper measures."
}

// BlackInks are the black inks that a card knows, "" for not noted.
func BlackInks() []string { return append([]string{""}, paper.BlackInks()...) }

// CardTrouble says what on a card can't be, as a sentence; "" when all is well.
func CardTrouble(c paper.Card) string {
	err := c.Check()
	if err == nil {
		return ""
	}
	s := strings.TrimPrefix(err.Error(), "paper: ")
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

// HoursOf reads a drying time as people write it; "" is 0.
func HoursOf(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, true
	}
	s = strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(s, "hours"), "h"))
	var v float64
	var rest string
	if n, _ := fmt.Sscanf(strings.Replace(s, ",", ".", 1)+" ", "%g%s", &v, &rest); n != 1 || math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
		return 0, false
	}
	return v, true
}

// InkOf reads a limit of total ink in percent as people write it, as package chart
// takes it: 3 is 300 %. "" is 0, no limit of one's own.
func InkOf(s string) (float64, bool) {
	v, ok := HoursOf(strings.TrimSuffix(strings.TrimSpace(s), "%"))
	if v == 0 {
		return 0, ok
	}
	return v / 100, ok && v >= leastInk && v <= 400
}

// leastInk is one ink in full: with less no full colour can be printed.
const leastInk = 100

// spread is a spread in words.
func spread(s chart.Spread) string {
	return fmt.Sprintf("mean %.2f, 95 of 100 within %.2f, largest %.2f ΔE00 (%d colours)", s.Mean, s.P95, s.Max, s.Count)
}

// ReportLines says how good a new profile is.
func ReportLines(r chart.Report) []Line {
	out := []Line{
		{"Patches", fmt.Sprintf("%d of %d used", r.Fit.Used, r.Fit.Patches), "Those that the others contradict outright are set aside and named below."},
		{"Fit", spread(r.Table), "What the finished profile says of the measured patches against what was measured. Below 1 is less than an eye sees side by side."},
		{"Held out", spread(r.Fit.HeldOut), "Each patch predicted from all others: what a colour that was not measured may be off by, noise of the instrument included."},
		{"There and back", spread(r.RoundTrip), "A colour within reach sent into the paper’s numbers and back: what the profile itself loses."},
		{"Paper’s white", lab(r.White), "Measured, CIELAB under D50."},
		{"Paper’s black", lab(r.Black), "The darkest neutral."},
		{"Size of its gamut", fmt.Sprintf("%.0f thousand cubic units of CIELAB", r.Volume/1000), "How many colours it reaches."},
	}
	if r.TotalInk > 0 {
		out = append(out, Line{"Total ink", fmt.Sprintf("%.0f %%", 100*r.TotalInk), "The largest sum of inks that its separation uses."})
	}
	if r.Fit.Noise > 0 {
		out = append(out, Line{"Noise", fmt.Sprintf("about %.1f ΔE76", r.Fit.Noise), "By how much a repeated reading is estimated to scatter."})
	}
	return out
}

// farOff is the mean ΔE00 from which on a new profile is spoken of as doubtful: ten
// times what a sound reading of a sound printer gives (own choice).
const farOff = 2.0

// ReportSentence is the one sentence of a new profile.
func ReportSentence(r chart.Report) string {
	s := fmt.Sprintf("On average the profile is %.2f ΔE00 from what was measured, and its worst patch %.2f.", r.Table.Mean, r.Table.Max)
	if r.Table.Mean > farOff {
		s += " That is far: the readings may be of another chart or another sheet. Look into it before you print by this profile."
	}
	switch all := len(r.Fit.Suspects); {
	case all == 0:
		return s + " No patch contradicts the others."
	case all == 1:
		return s + " One patch contradicts the others."
	default:
		return s + fmt.Sprintf(" %d patches contradict the others.", all)
	}
}

// DoubtSentence says why measurements were not built from.
func DoubtSentence(e *chart.DoubtError) string {
	if len(e.Orders) > 0 {
		return "The measurements look out of order, so nothing was built: " + strings.Join(e.Orders, " ")
	}
	return fmt.Sprintf("%d of %d patches contradict the others, so nothing was built. Measure them again, leave the ticked ones out, or build all the same.", len(e.Suspects), e.Patches)
}
