package words

import (
	"math"

	"firstsheet/proof/cie"
)

// Grade says how strong a named component is.
type Grade uint8

// The grades and the weighted CIEDE2000 terms they start at: 1, 2, 4 and 8, the
// borders of the reach bands. Own definition; 1 is the unit the formula is made
// to have as about one just noticeable difference.
const (
	Unnamed Grade = iota // term below 1
	Little               // 1 up to 2: "a little duller"
	Plain                // 2 up to 4: "duller"
	Clear                // 4 up to 8: "clearly duller"
	Much                 // 8 and more: "much duller"
)

// GradeOf returns the grade of a weighted term, of either sign.
func GradeOf(term float64) Grade {
	switch term = math.Abs(term); {
	case term < 1 || math.IsNaN(term):
		return Unnamed
	case term < 2:
		return Little
	case term < 4:
		return Plain
	case term < 8:
		return Clear
	}
	return Much
}

// Change is how a print differs from its original, ready to be put into words.
type Change struct {
	Original, Print cie.Lab

	// Terms are the signed CIEDE2000 components from Original to Print.
	Terms cie.Terms
	// DeltaE00 is the whole difference.
	DeltaE00 float64

	// Turn is the turn of the CIELAB hue angle in degrees, in (-180, 180],
	// positive counter-clockwise. It is 0 when either chroma is below
	// [NamedChroma].
	Turn float64
	// Hue is the grade of the hue component; Unnamed when either C* is below
	// [NamedChroma], whatever the term.
	Hue Grade
	// Towards is the neighbouring hue that the colour turns to, when Hue is
	// named.
	Towards Hue

	// Chroma and Lightness are the grades of the other two components.
	// Chroma is Unnamed where Cast speaks in its place.
	Chroma, Lightness Grade

	// Cast is the grade of the shift in the a*b* plane when the original, or
	// both colours, have no hue worth naming: the chroma and hue terms with their
	// interaction, taken together. Its word is from [Change.CastWord].
	Cast Grade
}

// Compare works out how print differs from original. Both are CIELAB under D50:
// usually the original's colour and the relative look of the print.
func Compare(original, print cie.Lab) Change {
	t := cie.DeltaE00Terms(original, print, 1)
	c := Change{
		Original: original, Print: print, Terms: t, DeltaE00: t.DeltaE00(),
		Lightness: GradeOf(t.Lightness),
	}
	from, to := original.Chroma(), print.Chroma()
	switch {
	case from >= NamedChroma && to >= NamedChroma:
		c.Turn = cie.HueTurn(original.Hue(), print.Hue())
		c.Hue = GradeOf(t.Hue)
		c.Chroma = GradeOf(t.Chroma)
		if c.Hue != Unnamed {
			c.Towards = neighbour(original, c.Turn)
		}
	case from >= NamedChroma:
		// A colour that fades to grey: its hue is gone, so only the loss of
		// chroma is told.
		c.Chroma = GradeOf(t.Chroma)
	default:
		// Lightness left out, the rest of the formula is the shift in a*b*.
		t.Lightness = 0
		c.Cast = GradeOf(t.DeltaE00())
	}
	return c
}

// neighbour returns the next sector in the direction of the turn.
func neighbour(c cie.Lab, turn float64) Hue { return HueOf(c).Next(turn) }

// Same tells whether the difference stays below 1 ΔE00, which side by side is
// about the least that is seen.
func (c Change) Same() bool { return c.DeltaE00 < 1 }

// Named tells whether any component has a word of its own. A difference of more
// than 1 may have none, when it is spread over three components.
func (c Change) Named() bool {
	return c.Hue != Unnamed || c.Chroma != Unnamed || c.Lightness != Unnamed || c.Cast != Unnamed
}

// Degrees returns the size of the turn rounded to whole degrees, at least 1
// when the hue is named.
func (c Change) Degrees() int {
	if c.Hue == Unnamed {
		return 0
	}
	return max(1, int(math.Round(math.Abs(c.Turn))))
}

// steps counts the borders between sectors that the turn crosses.
func (c Change) steps() int {
	n, h, end := 0, HueOf(c.Original), HueOf(c.Print)
	for ; h != end; n++ {
		h = h.Next(c.Turn)
	}
	if n > int(hueCount)/2 {
		// Some borders move with lightness and chroma, so the print may be
		// named as if it had turned the other way: no border counts as crossed.
		return 0
	}
	return n
}
