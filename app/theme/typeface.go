package theme

import (
	"bytes"
	"sync"
	"unicode"

	"fyne.io/fyne/v2"
	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/language"
	"github.com/go-text/typesetting/shaping"
	"golang.org/x/image/math/fixed"
)

// Typeface is a font that tells how wide its texts are. The toolkit tells the same, but
// prepares the font's rules anew for every text, which takes ten times as long as to follow
// them, and forgets after a minute: opening a card would hold up the window.
//
// Where a letter stands depends in these fonts on the letter before it and on nothing else,
// so that what pairs of letters take in the fonts' own units tells the width of any text in
// any size. It may be asked from any goroutine.
type Typeface struct {
	fyne.Resource               // the signs, which come first
	letters       fyne.Resource // has all that the signs lack

	mu      sync.Mutex
	faces   faces // of signs and letters; nil until the first text is measured
	shaper  shaping.HarfbuzzShaper
	steps   map[pair]step
	heights map[int]float32 // of a line, by size
}

// pair is two neighbours in a text, the first of them 0 where nothing stands so near
// before the second that it matters.
type pair [2]rune

// step is how much the second letter of a pair adds to the first: its own width, and what
// brings the two together or apart, in units of which upem make the font's size.
type step struct{ advance, kern, upem int32 }

// in returns the step in 64ths of a unit of the window. The shaper rounds widths and cuts
// off what is between letters.
func (s step) in(size int) int {
	scale := int32(size) << 6
	return int(float64(float32(s.advance)*float32(scale)/float32(s.upem))+0.5) + int(s.kern*scale/s.upem)
}

// mostHeights and mostPairs bound what a typeface remembers. The window has five sizes, all its
// texts some two thousand pairs; the lesson’s sizes grow with the window.
const (
	mostHeights = 32
	mostPairs   = 1 << 13
)

// Measure returns the size of a line of text as the toolkit draws it, and false for text
// that is not made of this typeface's letters alone: that only the toolkit can tell, which
// looks in the system's fonts.
func (t *Typeface) Measure(text string, size float32) (fyne.Size, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.open()
	whole := points(size).Ceil() // so does the shaper
	w := 0
	before, script := rune(0), language.Common
	for _, r := range text {
		if s := scriptOf(r); s != language.Common && s != script {
			if script != language.Common {
				before = 0 // letters of two scripts are set apart
			}
			script = s
		}
		to, ok := t.steps[pair{before, r}]
		if !ok {
			if !t.has(r) {
				return fyne.Size{}, false
			}
			to = t.step(before, r)
			remember(t.steps, pair{before, r}, to, mostPairs)
		}
		w += to.in(whole)
		if before = r; r == ' ' {
			before = 0
		}
	}
	return fyne.NewSize(float32(w)/64, t.height(whole)), true
}

// open reads the fonts, in the order in which the toolkit looks for a letter in them.
func (t *Typeface) open() {
	if t.faces != nil {
		return
	}
	for _, r := range []fyne.Resource{t.Resource, t.letters} {
		f, err := font.ParseTTF(bytes.NewReader(r.Content()))
		if err != nil {
			panic("theme: " + r.Name() + ": " + err.Error()) // it is one of those linked in
		}
		t.faces = append(t.faces, f)
	}
	t.shaper.SetFontCacheSize(len(t.faces))
	t.steps, t.heights = map[pair]step{}, map[int]float32{}
}

func remember[K comparable, V any](m map[K]V, k K, v V, most int) {
	if len(m) >= most {
		clear(m)
	}
	m[k] = v
}

// height returns the height of a line.
func (t *Typeface) height(size int) float32 {
	h, ok := t.heights[size]
	if !ok {
		h = units(t.shaper.Shape(input(t.faces.ResolveFace(' '), size, ' ')).LineBounds.LineThickness())
		remember(t.heights, size, h, mostHeights)
	}
	return h
}

// step returns how much a letter adds to the one before, which may be 0.
func (t *Typeface) step(before, r rune) step {
	face := t.faces.ResolveFace(r)
	s := step{advance: t.advance(face, r), upem: int32(face.Upem())}
	if before != 0 && t.faces.ResolveFace(before) == face {
		s.kern = t.advance(face, before, r) - t.advance(face, before) - s.advance
	}
	return s
}

// has tells whether a letter is one of the typeface's and changes nothing but itself: marks
// and signs of control do.
func (t *Typeface) has(r rune) bool {
	if unicode.In(r, unicode.M, unicode.C, unicode.Z) && r != ' ' || language.LookupScript(r) == language.Inherited {
		return false
	}
	_, ok := t.faces.find(r)
	return ok
}

// advance returns the width of neighbours of one font and script, in the font's units.
func (t *Typeface) advance(face *font.Face, text ...rune) int32 {
	return int32(t.shaper.Shape(input(face, int(face.Upem()), text...)).Advance.Round())
}

func input(face *font.Face, size int, text ...rune) shaping.Input {
	in := shaping.Input{Text: text, RunEnd: len(text), Direction: di.DirectionLTR, Face: face, Size: fixed.I(size), Script: language.Common}
	for _, r := range text {
		if s := scriptOf(r); s != language.Common {
			in.Script = s
		}
	}
	return in
}

func points(v float32) fixed.Int26_6 { return fixed.Int26_6(v * 64) }

func units(v fixed.Int26_6) float32 { return float32(v) / 64 }

func scriptOf(r rune) language.Script {
	switch {
	case 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z':
		return language.Latin
	case r < 0x80:
		return language.Common
	}
	return language.LookupScript(r)
}

// faces are fonts in the order in which a letter is looked for in them.
type faces []*font.Face

func (fs faces) find(r rune) (*font.Face, bool) {
	for _, f := range fs {
		if _, ok := f.NominalGlyph(r); ok {
			return f, true
		}
	}
	return fs[0], false
}

// ResolveFace implements shaping.Fontmap.
func (fs faces) ResolveFace(r rune) *font.Face {
	f, _ := fs.find(r)
	return f
}
