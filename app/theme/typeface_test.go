package theme

import (
	"math/rand/v2"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
)

var styles = []fyne.TextStyle{{}, {Bold: true}}

// A typeface says of every text of the window, and of letters of the fonts thrown together,
// what the toolkit says of it, to the bit.
func TestATypefaceMeasuresAsTheToolkitDraws(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(Neutral{})
	lines := windowLines(t)
	for _, st := range styles {
		face := Neutral{}.Font(st).(*Typeface)
		ours := 0
		for l := range lines {
			if sameAsToolkit(t, face, l, 14, st) {
				ours++
			}
		}
		if ours < len(lines)*98/100 {
			t.Errorf("bold %v: %d lines of %d are measured, want nearly all", st.Bold, ours, len(lines))
		}
		throw := rand.New(rand.NewPCG(1, 2))
		letters := lettersOf(face)
		for range 4000 {
			s := make([]rune, 1+throw.IntN(8))
			for i := range s {
				if s[i] = letters[throw.IntN(len(letters))]; throw.IntN(3) == 0 {
					s[i] = rune(' ' + throw.IntN(95)) // one of ASCII's
				}
			}
			if !sameAsToolkit(t, face, string(s), []float32{13, 15.3, 24}[throw.IntN(3)], st) {
				t.Fatalf("bold %v: %q is not measured", st.Bold, string(s))
			}
		}
	}
}

// sameAsToolkit compares a text's measures, and tells whether the typeface has any.
func sameAsToolkit(t *testing.T, face *Typeface, text string, size float32, st fyne.TextStyle) bool {
	t.Helper()
	got, ok := face.Measure(text, size)
	if want := fyne.MeasureText(text, size, st); ok && got != want {
		t.Errorf("%q, size %g, bold %v: %v, want %v", text, size, st.Bold, got, want)
	}
	return ok
}

func windowLines(t *testing.T) map[string]bool {
	lines := map[string]bool{"": true, " ": true, "  two  spaces ": true, "AVATAR To. fjord ffi “WAVE”": true}
	texts(t, func(_, s string) {
		for l := range strings.SplitSeq(s, "\n") {
			lines[l] = true
		}
	})
	return lines
}

// lettersOf lists what a typeface can measure.
func lettersOf(face *Typeface) []rune {
	face.open()
	var list []rune
	for r := rune(' '); r <= 0x1ffff; r++ {
		if face.has(r) {
			list = append(list, r)
		}
	}
	return list
}

// What would need the system's fonts, or is more than letters side by side, is left to the
// toolkit.
func TestATypefaceKnowsItsLimits(t *testing.T) {
	for _, s := range []string{"水", "a\tb", "e\u0301", "soft\u00adhyphen", "שלום", "🙂", "a\r"} {
		if _, ok := upright.Measure(s, 14); ok {
			t.Errorf("%q is measured", s)
		}
	}
}

// All texts of the window together are made of so few pairs of letters that a card with new
// words takes no longer than one whose words are known, and nothing is forgotten.
func TestTheWindowsTextsAreMadeOfFewPairs(t *testing.T) {
	face := &Typeface{Resource: upright.Resource, letters: upright.letters}
	for l := range windowLines(t) {
		face.Measure(l, 14)
	}
	n := len(face.steps)
	t.Logf("%d pairs", n)
	if n > mostPairs/2 {
		t.Errorf("%d pairs, and %d are remembered", n, mostPairs)
	}
	for i := range 10 * mostHeights {
		face.Measure("size", float32(10+i))
	}
	if len(face.heights) > mostHeights {
		t.Errorf("the heights of %d sizes are remembered, want %d at most", len(face.heights), mostHeights)
	}
}
