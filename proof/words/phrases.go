package words

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// All English of the package is in this file.

var hueWords = [hueCount]string{
	Red: "red", Orange: "orange", Yellow: "yellow", YellowGreen: "yellow-green",
	Green: "green", BlueGreen: "blue-green", Blue: "blue", Violet: "violet",
	Purple: "purple", Magenta: "magenta",
}

const (
	phraseBlack = "black"
	phraseWhite = "white"
	phraseGrey  = "grey"
	phrasePink  = "pink"
	phraseBrown = "brown"
	phraseOlive = "olive"

	phraseSame     = "unchanged to the eye"
	phraseBarely   = "barely changed"
	phraseDuller   = "duller"
	phraseVivid    = "more vivid"
	phraseDarker   = "darker"
	phraseLighter  = "lighter"
	phraseToGrey   = "almost grey"
	phraseNeutral  = "more neutral"
	phraseMostHue  = "most of it in hue"
	phraseMostVivi = "most of it in saturation"
	phraseMostLum  = "most of it in lightness"
)

// grades are put before an adjective, casts before the word of a cast.
var (
	grades = [...]string{Unnamed: "", Little: "a little ", Plain: "", Clear: "clearly ", Much: "much "}
	casts  = [...]string{Unnamed: "", Little: "slightly ", Plain: "", Clear: "clearly ", Much: "strongly "}
)

// castWords are the words for a shift of a neutral, by the angle of the shift
// in the a*b* plane up to which each holds. Own definition, after the hue
// borders; "warm" and "cool" are the photographer's words for the two
// directions of colour temperature.
var castWords = [...]struct {
	upTo float64
	word string
}{
	{15.8, "pinkish"}, {44.4, "reddish"}, {74.8, "warm"}, {102.1, "yellowish"},
	{190, "greenish"}, {250, "cool"}, {290.1, "bluish"}, {345, "purplish"}, {360, "pinkish"},
}

// CastWord returns the word for the way a neutral shifts: warm, greenish,
// bluish and so on, or "more neutral" when the print is the more neutral of
// the two and has not gone over to another cast.
func (c Change) CastWord() string {
	shift := c.Print
	shift.A -= c.Original.A
	shift.B -= c.Original.B
	if c.Print.Chroma() < c.Original.Chroma() &&
		c.Print.A*c.Original.A+c.Print.B*c.Original.B >= 0 {
		return phraseNeutral
	}
	angle := shift.Hue()
	for _, w := range castWords {
		if angle < w.upTo {
			return w.word
		}
	}
	return castWords[0].word
}

// Degrees writes a whole number of degrees.
func Degrees(n int) string {
	if n == 1 {
		return "1 degree"
	}
	return fmt.Sprintf("%d degrees", n)
}

// hueClause tells the turn in degrees: with the hue it starts from, unless short is
// asked for or the colour is skin-like, which no plain hue word fits.
func (c Change) hueClause(short bool) string {
	return Degrees(c.Degrees()) + " " + c.direction(short)
}

// direction tells which way a hue turns: "from red towards orange".
func (c Change) direction(short bool) string {
	towards := c.towardsWord(c.Towards)
	to := "towards " + towards
	if c.steps() >= 2 {
		to = "past " + towards + " to " + c.towardsWord(HueOf(c.Print))
	}
	if short || SkinLike(c.Original) {
		return to
	}
	from := Name(c.Original)
	if from == towards { // a light red is pink, and so is its neighbour
		from = HueOf(c.Original).String()
	}
	return "from " + from + " " + to
}

// towardsWord names a direction: by the hue, save that a light magenta is
// what everybody calls pink.
func (c Change) towardsWord(h Hue) string {
	if h == Magenta && c.Original.L >= value55 {
		return phrasePink
	}
	return h.String()
}

func (c Change) chromaClause() string {
	if c.Terms.Chroma < 0 {
		if c.Print.Chroma() < NamedChroma {
			return grades[c.Chroma] + phraseDuller + " (" + phraseToGrey + ")"
		}
		return grades[c.Chroma] + phraseDuller
	}
	return grades[c.Chroma] + phraseVivid
}

func (c Change) lightnessClause() string {
	if c.Terms.Lightness < 0 {
		return grades[c.Lightness] + phraseDarker
	}
	return grades[c.Lightness] + phraseLighter
}

// barely tells a difference of 1 and more of which no component reaches 1.
func (c Change) barely() string {
	most := phraseMostLum
	l, s, h := abs(c.Terms.Lightness), abs(c.Terms.Chroma), abs(c.Terms.Hue)
	switch {
	case h >= l && h >= s:
		most = phraseMostHue
	case s >= l:
		most = phraseMostVivi
	}
	return phraseBarely + ", " + most
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

// adjectives returns the clauses other than the hue's.
func (c Change) adjectives() []string {
	var parts []string
	if c.Chroma != Unnamed {
		parts = append(parts, c.chromaClause())
	}
	if c.Lightness != Unnamed {
		parts = append(parts, c.lightnessClause())
	}
	return parts
}

// Sentence returns the change in words, for a table: "turns 14 degrees from red
// towards orange, duller, a little darker", "turns slightly warm", "unchanged to
// the eye".
func (c Change) Sentence() string {
	switch {
	case c.Same():
		return phraseSame
	case !c.Named():
		if c.Original.Chroma() < NamedChroma || c.Print.Chroma() < NamedChroma {
			return phraseBarely
		}
		return c.barely()
	}
	var parts []string
	if c.Hue != Unnamed {
		parts = append(parts, "turns "+c.hueClause(false))
	}
	if c.Cast != Unnamed {
		parts = append(parts, "turns "+casts[c.Cast]+c.CastWord())
	}
	return strings.Join(append(parts, c.adjectives()...), ", ")
}

// Plainly returns the change without a figure, for a room to hear, so that it follows
// whatever it is told of: "clearly turned from red towards orange, much duller and a
// little darker", "unchanged to the eye".
func (c Change) Plainly() string {
	switch {
	case c.Same():
		return phraseSame
	case !c.Named():
		return phraseBarely
	}
	var parts []string
	if c.Hue != Unnamed {
		parts = append(parts, casts[c.Hue]+"turned "+c.direction(false))
	}
	if c.Cast != Unnamed {
		parts = append(parts, casts[c.Cast]+c.CastWord())
	}
	return List(append(parts, c.adjectives()...))
}

// OnSheet returns the change as one sentence about a pin on a paper: "On pearl
// this shirt prints 3 degrees towards orange and a little duller". A pin's name
// that starts with a small letter is spoken of as "this ..."; any other is
// taken for a proper name. An empty name is "this colour".
func (c Change) OnSheet(paper, pin string) string {
	print := " prints "
	if many(pin) {
		print = " print "
	}
	return "On " + paper + " " + This(pin) + print + c.predicate()
}

// Beside returns the change as a clause about one of two prints: "sheet 2 prints 3 degrees
// towards orange and a little duller, compared with sheet 1".
func (c Change) Beside(what, other string) string {
	return what + " prints " + c.predicate() + ", compared with " + other
}

// predicate returns what a print does, to follow "prints".
func (c Change) predicate() string {
	switch {
	case c.Same():
		return phraseSame
	case !c.Named():
		return phraseBarely
	}
	var parts []string
	if c.Hue != Unnamed {
		parts = append(parts, c.hueClause(true))
	}
	if c.Cast != Unnamed {
		parts = append(parts, casts[c.Cast]+c.CastWord())
	}
	return List(append(parts, c.adjectives()...))
}

// This is a pin's name as a sentence begins to speak of it: "this shirt", "these reeds", a
// proper name as it is, and "this colour" where it has none.
func This(pin string) string {
	if many(pin) {
		return called("these ", pin)
	}
	return called("this ", pin)
}

// many tells whether a pin's name is a plural, by its ending: "reeds", not "glass", "iris",
// "canvas" or "hibiscus". A proper name is one thing.
func many(pin string) bool {
	if r, _ := utf8.DecodeRuneInString(pin); !unicode.IsLower(r) || !strings.HasSuffix(pin, "s") {
		return false
	}
	for _, one := range []string{"ss", "is", "as", "us"} {
		if strings.HasSuffix(pin, one) {
			return false
		}
	}
	return true
}

// The is a pin's name in a sentence: "the shirt", a proper name as it is, and "this
// colour" where it has none.
func The(pin string) string { return called("the ", pin) }

// called puts an article before a pin's name, unless that is a proper name. "skin-like", as
// pins are named that are proposed, is the one such name that is no noun.
func called(article, pin string) string {
	if pin == "" {
		return "this colour"
	}
	if rest, is := strings.CutPrefix(pin, "skin-like"); is {
		pin = "skin-like colour" + rest
	}
	if r, _ := utf8.DecodeRuneInString(pin); unicode.IsLower(r) {
		return article + pin
	}
	return pin
}

// List joins words with commas and a last "and".
func List(parts []string) string {
	switch len(parts) {
	case 0:
		return ""
	case 1:
		return parts[0]
	}
	return strings.Join(parts[:len(parts)-1], ", ") + " and " + parts[len(parts)-1]
}

// Misread tells the reason of a slip by which numbers of one space were taken
// for numbers of another: "the driver took Display P3 numbers for sRGB numbers".
// by is who converts.
func Misread(by, truly, taken string) string {
	return by + " took " + truly + " numbers for " + taken + " numbers"
}

// Twice tells the reason of a double conversion: the first converter made the
// paper's numbers, the second took them for numbers of another space and made
// the paper's numbers of them again.
func Twice(first, second, paper, taken string) string {
	return fmt.Sprintf("%s converted to the numbers of %s, then %s took those for %s numbers and converted again",
		first, paper, second, taken)
}

// Never tells the reason of a conversion that nobody made: the file's numbers
// went to the printer as they are.
func Never(source, paper string) string {
	return fmt.Sprintf("nobody converted: %s numbers were sent as if they were the numbers of %s", source, paper)
}

// OtherPaper tells the reason of a print on one paper by another's profile.
func OtherPaper(profile, printed string) string {
	return fmt.Sprintf("the numbers were made for %s and printed on %s", profile, printed)
}

// Because joins what a slip does to a pin and its reason: "This shirt turns 14
// degrees from red towards orange, because the driver took ...". With a change
// below 1 ΔE00 it says that this colour does not show the slip.
func (c Change) Because(pin, reason string) string {
	if c.Same() {
		return c.Of(pin) + ": " + reason
	}
	return c.Of(pin) + ", because " + reason
}

// Of tells what a slip does to a pin: "This shirt turns 14 degrees from red towards
// orange", or with a change below 1 ΔE00 that it does not show it.
func (c Change) Of(pin string) string {
	s, told := Capital(This(pin)), c.Sentence()
	turn, turns := strings.CutPrefix(told, "turns ")
	switch {
	case c.Same() && many(pin):
		return s + " do not show it"
	case c.Same():
		return s + " does not show it"
	case turns && many(pin):
		told = "turn " + turn
	case many(pin):
		told = "are " + told
	case !turns:
		told = "is " + told
	}
	return s + " " + told
}
