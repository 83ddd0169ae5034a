package paper

import (
	"fmt"
	"strings"

	"firstsheet/proof/words"
)

// MainLines are the figures of a profile that are told wherever it is spoken of: white,
// black, size of the gamut and total ink.
func MainLines(f Facts) []words.Fact {
	out := []words.Fact{
		{Name: "Paper’s white", Value: words.Lab(f.White), Means: "The bare sheet’s colour in CIELAB under D50: L* is its lightness, b* below 0 a bluish tint, often of brightener."},
		{Name: "Paper’s black", Value: words.Lab(f.Black), Means: "The darkest that ink makes on it. Whatever in the picture is darker than its L* falls together."},
	}
	if f.Volume > 0 {
		out = append(out, words.Fact{Name: "Size of its gamut", Value: fmt.Sprintf("%.0f thousand cubic units of CIELAB", f.Volume/1000),
			Means: "How many colours it reaches, the paper’s white taken as white. For comparing papers; more is not always better for a picture."})
	}
	if f.TotalInk > 0 {
		out = append(out, words.Fact{Name: "Total ink", Value: fmt.Sprintf("%.0f %%", f.TotalInk*100),
			Means: "The largest sum of the channels that its own tables ask for; 100 % is one ink laid on in full."})
	}
	return out
}

// FactLines says what a profile is. What the profile leaves open is said as such.
func FactLines(f Facts) []words.Fact {
	out := append(MainLines(f), words.Fact{Name: "Numbers", Value: fmt.Sprintf("%s, %d channels", f.Space, f.Channels), Means: "The colour space in which the printer is told what to print."})
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
		out = append(out, words.Fact{Name: strings.ToUpper(i.Intent[:1]) + i.Intent[1:], Value: v, Means: intentMeans(i.Intent)})
	}
	out = append(out, words.Fact{Name: "Absolute", Value: "shares the relative table, by the white point", Means: intentMeans("absolute")})
	bits := "16 bits"
	if f.EightBit {
		bits = "8 bits: differences of about 1 ΔE00 drown in their rounding"
	}
	tag := "none; it is not needed"
	if f.GamutTag {
		tag = "there, as information: the reach is found by going there and back"
	}
	out = append(out,
		words.Fact{Name: "Tables", Value: bits, Means: "How finely the tables into the paper’s numbers are written."},
		words.Fact{Name: "Gamut tag", Value: tag, Means: "A table in the profile that says which colours are within reach. Many profiles have none."},
		words.Fact{Name: "Version", Value: f.Version, Means: "Of the ICC standard that the profile is written by."},
		words.Fact{Name: "Description", Value: f.Description, Means: "What the profile calls itself."})
	if f.Copyright != "" {
		out = append(out, words.Fact{Name: "Copyright", Value: f.Copyright, Means: "The licence line in the profile."})
	}
	for _, a := range f.Assumed {
		out = append(out, words.Fact{Name: "Assumed", Value: a, Means: "What the profile leaves open and what stands in for it."})
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

// ConditionChoices are the measuring conditions that a card knows, "" for not noted.
func ConditionChoices() []string { return append([]string{""}, Conditions()...) }

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

// BlackInkChoices are the black inks that a card knows, "" for not noted.
func BlackInkChoices() []string { return append([]string{""}, BlackInks()...) }

// CardTrouble says what on a card can't be, as a sentence; "" when all is well.
func CardTrouble(c Card) string {
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
	n := strings.TrimSuffix(strings.TrimSuffix(s, "hours"), "h")
	if n == "" && s != "" { // the unit alone
		return 0, false
	}
	return words.Number(n)
}
