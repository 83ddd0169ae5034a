package trust

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/icc"
	"firstsheet/proof/paper"
	"firstsheet/proof/words"
)

// kindOf tells whether the profile is a paper's at all.
func kindOf(p *proof.Profile) Finding {
	f := Finding{ID: "kind", Name: "what it is", Verdict: Sound, Means: "A paper needs an output profile with tables into the printer’s numbers and back.",
		Figures: map[string]float64{"channels": float64(p.Channels())}}
	space := strings.TrimSpace(string(p.ColorSpace()))
	if err := p.CheckPaper(); err != nil {
		f.Verdict = Unsound
		f.Words = fmt.Sprintf("It is %s for %s and can’t serve as a paper.", p.Class().ClassName(), space)
		if p.Class() == icc.ClassOutput {
			f.Words = "It carries no table into the printer’s numbers or none back, and can’t serve as a paper."
		}
		return f
	}
	version := ""
	if p.File() != nil {
		version = ", ICC version " + p.File().Version()
	}
	f.Words = fmt.Sprintf("An output profile for %s, %d %s%s.", space, p.Channels(), pick(p.Channels() == 1, "channel", "channels"), version)
	return f
}

var (
	spaceWords = map[string]*regexp.Regexp{
		"CMYK": regexp.MustCompile(`(?i)\bcmyk\b`), "RGB": regexp.MustCompile(`(?i)\brgb\b`), "GRAY": regexp.MustCompile(`(?i)\bgr[ae]y(scale)?\b`),
	}
	inkWord = regexp.MustCompile(`\b([1-4]\d\d) ?%`)
)

// inkNamed is how far the ink may be from the percentage in a name: its rounding, and a
// little that tables exceed their limit by.
const inkNamed = 0.06

// nameOf holds the name against what the profile is.
func nameOf(facts paper.Facts, name string) Finding {
	f := Finding{ID: "name", Name: "its name", Verdict: Sound, Words: "Nothing in its name contradicts what it is.",
		Means: "A name that speaks of another colour space or another ink limit is often a file that was renamed or mixed up."}
	name = strings.ReplaceAll(name, "_", " ")
	for space, word := range spaceWords {
		if word.MatchString(name) && space != facts.Space && !spaceIn(name, facts.Space) {
			f.Verdict = Doubtful
			f.Words = fmt.Sprintf("Its name speaks of %s, and it is for %s.", strings.Replace(space, "GRAY", "grey", 1), facts.Space)
		}
	}
	if m := inkWord.FindStringSubmatch(name); m != nil && facts.TotalInk > 0 {
		percent, _ := strconv.ParseFloat(m[1], 64)
		f.Figures = map[string]float64{"named_ink_percent": percent}
		if d := facts.TotalInk - percent/100; d > inkNamed || d < -inkNamed {
			f.Verdict = Doubtful
			f.Words = fmt.Sprintf("Its name says %.0f %%, and its tables ask for up to %.0f %%.", percent, 100*facts.TotalInk)
		}
	}
	return f
}

// spaceIn tells whether a name speaks of a space, too.
func spaceIn(name, space string) bool {
	word := spaceWords[space]
	return word != nil && word.MatchString(name)
}

// rulesOf tells whether the file keeps to the standard.
func rulesOf(p *proof.Profile) Finding {
	f := Finding{ID: "rules", Name: "the file’s form", Verdict: Sound, Words: "The file keeps to the rules of ICC.1 for output profiles.",
		Means: "Required tags, their types and places. Many profiles in use break some rule and work all the same."}
	faults := p.File().OutputFaults()
	f.Figures = map[string]float64{"faults": float64(len(faults))}
	switch n := len(faults); {
	case n == 1 && !p.File().Has("gamt"):
		f.Words = "But for a gamut tag, which nothing here needs, the file keeps to the rules of ICC.1 for output profiles."
	case n > 0:
		f.Verdict = Doubtful
		f.Words = fmt.Sprintf("%s of ICC.1: %s. Most programs read it all the same.", pick(n == 1, "It breaks a rule", fmt.Sprintf("It breaks %d rules", n)), words.List(faults[:min(n, 2)]))
	}
	return f
}

func pick(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}

// tablesOf tells which intents have tables of their own.
func tablesOf(facts paper.Facts) Finding {
	f := Finding{ID: "tables", Name: "tables for each intent", Verdict: Sound, Words: "Each intent has a table of its own, of 16 bits.",
		Means: "Where intents share a table, choosing among them changes nothing; tables of 8 bits hide differences of about 1 ΔE00."}
	if facts.Curve() {
		f.Words = "One curve serves all intents: choosing among them changes nothing."
		return f
	}
	var said []string
	own := 0
	for _, i := range facts.Intents {
		switch {
		case i.Into == "":
			said = append(said, i.Intent+" has none")
		case i.StandIn:
			said = append(said, i.Intent+" has none, the perceptual one stands in")
		case i.SameAs != "":
			said = append(said, i.Intent+" shares that of "+i.SameAs)
		default:
			own++
		}
	}
	if facts.EightBit {
		said = append(said, "they are of 8 bits")
	}
	f.Figures = map[string]float64{"own_tables": float64(own)}
	if len(said) > 0 {
		f.Verdict = Doubtful
		f.Words = fmt.Sprintf("%s of 3 intents %s a table of its own: %s.", pick(own == 0, "None", fmt.Sprint(own)), pick(own < 2, "has", "have"), words.List(said))
	}
	return f
}
