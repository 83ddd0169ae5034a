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
// so that what pairs of letters take tells the width of any text. It may be asked from any
// goroutine.
type Typeface struct {
	fyne.Resource               // the signs, which come first
	letters       fyne.Resource // has all that the signs lack

	mu     sync.Mutex
	faces  faces // of signs and letters; nil until the first text is measured
	shaper shaping.HarfbuzzShaper
	sizes  map[int]*measures
}

// measures are those of a typeface in one size.
type measures struct {
	height float32
	steps  map[pair]float32 // how much the second letter adds to the first
}

// pair is two neighbours in a text, the first of them 0 where nothing stands so near
// before the second that it matters.
type pair [2]rune

// mostSizes and mostPairs bound what a typeface remembers. The window has five sizes, all its
// texts some two thousand pairs; the lesson’s sizes grow with the window.
const (
	mostSizes = 32
	mostPairs = 1 << 13
)

// Measure returns the size of a line of text as the toolkit draws it, and false for text
// that is not made of this typeface's letters alone: that only the toolkit can tell, which
// looks in the system's fonts.
func (t *Typeface) Measure(text string, size float32) (fyne.Size, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.open()
	in := t.in(size)
	var w float32
	before, script := rune(0), language.Common
	for _, r := range text {
		if s := scriptOf(r); s != language.Common && s != script {
			if script != language.Common {
				before = 0 // letters of two scripts are set apart
			}
			script = s
		}
		step, ok := in.steps[pair{before, r}]
		if !ok {
			if !t.has(r) {
				return fyne.Size{}, false
			}
			step = t.step(before, r, size)
			in.remember(pair{before, r}, step)
		}
		w += step
		if before = r; r == ' ' {
			before = 0
		}
	}
	return fyne.NewSize(w, in.height), true
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
	t.sizes = map[int]*measures{}
}

// in returns the measures of a size, which the shaper rounds up to a whole one.
func (t *Typeface) in(size float32) *measures {
	whole := points(size).Ceil()
	m, ok := t.sizes[whole]
	if !ok {
		if len(t.sizes) >= mostSizes {
			clear(t.sizes)
		}
		m = &measures{height: units(t.shaper.Shape(input(t.faces.ResolveFace(' '), size, []rune{' '})).LineBounds.LineThickness()), steps: map[pair]float32{}}
		t.sizes[whole] = m
	}
	return m
}

func (m *measures) remember(p pair, step float32) {
	if len(m.steps) >= mostPairs {
		clear(m.steps)
	}
	m.steps[p] = step
}

// step returns how much a letter adds to the one before, which may be 0.
func (t *Typeface) step(before, r rune, size float32) float32 {
	face := t.faces.ResolveFace(r)
	if before == 0 || t.faces.ResolveFace(before) != face {
		return t.advance(face, size, r)
	}
	return t.advance(face, size, before, r) - t.advance(face, size, before)
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

// advance returns the width of neighbours of one font and script.
func (t *Typeface) advance(face *font.Face, size float32, text ...rune) float32 {
	return units(t.shaper.Shape(input(face, size, text)).Advance)
}

func input(face *font.Face, size float32, text []rune) shaping.Input {
	in := shaping.Input{Text: text, RunEnd: len(text), Direction: di.DirectionLTR, Face: face, Size: points(size), Script: language.Common}
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
