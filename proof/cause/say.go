package cause

import (
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// Word is something that a person says of a print beside its proof.
type Word uint8

// The words. All but NoShadows and Right may be said of one place or of the whole
// picture.
const (
	Right     Word = iota // as it should be
	Darker                // too dark
	Lighter               // too light
	Duller                // too dull
	Vivider               // too vivid
	Turned                // another hue: that of Saying.Hue rather than its own
	NoShadows             // no detail in the shadows
)

// Saying is one word said.
type Saying struct {
	Word Word
	// Place is the index of the spot that it is said of, or [Whole].
	Place int
	// Hue is what a colour has turned to, with Turned: 'orange rather than red'; of a
	// grey it is the cast.
	Hue words.Hue
}

// Whole is the place of what is said of the whole picture.
const Whole = -1

// Words are what a person says of the print by eye, against the right proof. The
// observed colours of the places are passed over. Several places spread over the
// picture speak for the whole.
type Words struct {
	Places []Spot
	Said   []Saying
}

// How a word is chosen; own definition, no source. A component of CIEDE2000 of
// wordStarts is named by half of all people; it takes about wordWidth more until
// nearly all name it. One word in 25 is chosen whatever the print looks like.
const (
	wordStarts = 1.0
	wordWidth  = 1.5
	wordLapse  = 0.04
)

// Shadows are places below shadowL on the right print.
const shadowL = 35.0

func (w Words) check() error {
	if len(w.Said) == 0 {
		return evidenceError("nothing is said of the print")
	}
	if len(w.Places) == 0 {
		return evidenceError("words need places of the picture that they are about: set pins")
	}
	for _, s := range w.Said {
		if s.Place != Whole && (s.Place < 0 || s.Place >= len(w.Places)) {
			return evidenceError("a word is about place %d, and there are %d places", s.Place, len(w.Places))
		}
		if s.Word > NoShadows {
			return evidenceError("there is no word number %d", s.Word)
		}
	}
	return nil
}

func (w Words) observed([]cie.Lab) []cie.Lab { return nil }
func (w Words) spots() []Spot                { return w.Places }
func (w Words) seen() bool                   { return true }
func (w Words) spread() float64              { return 0 }

func (w Words) logLikelihood(_ *hypothesis, right, predicted []cie.Lab) float64 {
	var sum float64
	for _, s := range w.Said {
		var strength float64
		switch {
		case s.Word == NoShadows:
			strength = blocked(right, predicted)
		case s.Place == Whole:
			for i := range right {
				strength += s.strength(right[i], predicted[i])
			}
			strength /= float64(len(right))
		default:
			strength = s.strength(right[s.Place], predicted[s.Place])
		}
		p := 0.5 * math.Erfc(-(strength-wordStarts)/(wordWidth*math.Sqrt2))
		sum += math.Log(wordLapse + (1-2*wordLapse)*p)
	}
	return sum
}

// strength is how far the step from the right colour to the predicted one goes the
// way of the word, in CIEDE2000 units.
func (s Saying) strength(right, predicted cie.Lab) float64 {
	t := cie.DeltaE00Terms(right, predicted, 1)
	switch s.Word {
	case Right:
		// Nearly all say so of an unchanged colour, half where the change is 2.
		return 3*wordStarts - t.DeltaE00()
	case Darker:
		return -t.Lightness
	case Lighter:
		return t.Lightness
	case Duller:
		return -t.Chroma
	case Vivider:
		return t.Chroma
	}
	centre := hueCentre(s.Hue)
	if right.Chroma() >= words.NamedChroma && predicted.Chroma() >= words.NamedChroma {
		if cie.HueTurn(right.Hue(), centre) < 0 {
			return -t.Hue
		}
		return t.Hue
	}
	// Near grey: the part of the shift that goes towards the hue.
	shift := cie.Lab{A: predicted.A - right.A, B: predicted.B - right.B}
	along := math.Cos(cie.HueTurn(shift.Hue(), centre) * math.Pi / 180)
	return along * math.Hypot(t.Chroma, t.Hue)
}

// hueCentre returns the angle in the middle of a named hue's sector.
func hueCentre(h words.Hue) float64 {
	var x, y float64
	for angle := 0.0; angle < 360; angle++ {
		c := cie.LCh{L: 50, C: 50, H: angle}.Lab()
		if words.HueOf(c) == h {
			x, y = x+c.A, y+c.B
		}
	}
	return cie.Lab{A: x, B: y}.Hue()
}

// blocked is how much of the shadows' range of lightness is lost, as a strength:
// each third that is lost counts one.
func blocked(right, predicted []cie.Lab) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	from, to := 0, 0
	for i, c := range right {
		if c.L > shadowL {
			continue
		}
		if c.L < least {
			least, from = c.L, i
		}
		if c.L > most {
			most, to = c.L, i
		}
	}
	const visible = 1.0 // a range of less than this has no detail to lose
	if !(most-least > visible) {
		return wordStarts // the places cannot tell
	}
	kept := (predicted[to].L - predicted[from].L) / (most - least)
	return 3 * (1 - kept)
}
