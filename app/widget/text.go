package widget

import (
	"image/color"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// Color returns a theme colour by name.
func Color(n fyne.ThemeColorName) color.Color { return toolkit.Color(n) }

// Size returns a theme size by name.
func Size(n fyne.ThemeSizeName) float32 { return toolkit.Size(n) }

// NewText returns a line of text in a theme colour and size.
func NewText(s string, size fyne.ThemeSizeName, ink fyne.ThemeColorName, bold bool) *canvas.Text {
	return typed(s, Size(size), bold, Color(ink))
}

func typed(s string, size float32, bold bool, ink color.Color) *canvas.Text {
	t := canvas.NewText(s, ink)
	t.TextSize, t.TextStyle.Bold = size, bold
	return t
}

// Line returns a line of text with its top left end at x, y, cut where it is wider
// than w.
func Line(s string, x, y, w, size float32, bold bool, ink color.Color) *canvas.Text {
	t := typed(Shorten(s, w, size, fyne.TextStyle{Bold: bold}), size, bold, ink)
	Put(t, x, y, w)
	return t
}

// Put sets a text with its top left end at x, y into a width, on whole units: the toolkit
// draws letters into whole rows of pixels and squeezes them where fewer rows are covered.
func Put(t *canvas.Text, x, y, w float32) {
	t.Move(fyne.NewPos(x, float32(math.Round(float64(y)))))
	t.Resize(fyne.NewSize(w, Measure("", t.TextSize, t.TextStyle).Height))
}

// Measure returns the size of a line of text. What the theme's typeface can't tell the
// toolkit does, which takes longer.
func Measure(s string, size float32, st fyne.TextStyle) fyne.Size {
	if f, ok := fyne.CurrentApp().Settings().Theme().Font(st).(*theme.Typeface); ok {
		if m, ok := f.Measure(s, size); ok {
			return m
		}
	}
	return fyne.MeasureText(s, size, st)
}

// Least returns the least size of an object, of a bare text as Measure tells it.
func Least(o fyne.CanvasObject) fyne.Size {
	if t, ok := o.(*canvas.Text); ok && t.FontSource == nil {
		return Measure(t.Text, t.TextSize, t.TextStyle)
	}
	return o.MinSize()
}

func width(s string, size float32, st fyne.TextStyle) float32 { return Measure(s, size, st).Width }

// Shorten returns s, cut with an ellipsis where it is wider than w.
func Shorten(s string, w, size float32, st fyne.TextStyle) string {
	if s == "" || width(s, size, st) <= w {
		return s
	}
	r := []rune(s)
	lo, hi := 0, len(r)
	for lo < hi {
		m := (lo + hi + 1) / 2
		if width(strings.TrimRight(string(r[:m]), " ,")+"…", size, st) <= w {
			lo = m
		} else {
			hi = m - 1
		}
	}
	return strings.TrimRight(string(r[:lo]), " ,") + "…"
}

// Wrap breaks s into at most most lines no wider than w; the last is shortened
// where the rest does not fit. A line feed starts a new line.
func Wrap(s string, w, size float32, st fyne.TextStyle, most int) []string {
	if head, rest, more := strings.Cut(s, "\n"); more && most > 1 {
		lines := Wrap(head, w, size, st, most-1)
		return append(lines, Wrap(rest, w, size, st, most-len(lines))...)
	}
	words := fields(s)
	var lines []string
	for len(words) > 0 {
		if len(lines) == most-1 {
			return append(lines, Shorten(strings.Join(words, " "), w, size, st))
		}
		n := fitting(words, w, size, st)
		line := strings.Join(words[:n], " ")
		if n == 1 {
			line = Shorten(line, w, size, st)
		}
		lines = append(lines, line)
		words = words[n:]
	}
	return lines
}

// fitting returns how many of the words stand on a line of width w, at least 1. To measure
// a line is slow, and the toolkit remembers words: it sets none nearer to a space than to
// another, so that they tell the line's width.
func fitting(words []string, w, size float32, st fyne.TextStyle) int {
	space, end := width(" ", size, st), float32(0)
	for n, word := range words {
		end += width(word, size, st)
		if n > 0 && end > w {
			return n
		}
		end += space
	}
	return len(words)
}

// fields splits s into what a line may end between: a percent sign stays with its number.
func fields(s string) []string {
	var out []string
	for _, f := range strings.Fields(s) {
		if n := len(out); n > 0 && f[0] == '%' {
			out[n-1] += " " + f
			continue
		}
		out = append(out, f)
	}
	return out
}

// LineHeight is the height of a line of text of a size, in whole units.
func LineHeight(size float32) float32 {
	return float32(math.Ceil(float64(Measure("", size, fyne.TextStyle{}).Height)))
}

// Prose is text that breaks over several lines, to the width it is given.
type Prose struct {
	base
	Text   string
	Type   fyne.ThemeSizeName
	Ink    fyne.ThemeColorName
	Bold   bool
	Centre bool
	Most   int // lines at most

	broken struct { // what it was broken into last
		text    string
		w, size float32
		bold    bool
		lines   []string
	}
}

// NewProse returns text of a size and ink.
func NewProse(s string, size fyne.ThemeSizeName, ink fyne.ThemeColorName, most int) *Prose {
	p := &Prose{Text: s, Type: size, Ink: ink, Most: most}
	p.ExtendBaseWidget(p)
	return p
}

// SetText replaces the text.
func (p *Prose) SetText(s string) {
	if p.Text != s {
		p.Text = s
		p.Refresh()
	}
}

// lines returns what the text is broken into at a width. It is asked for the height first
// and for the letters afterwards.
func (p *Prose) lines(w float32) []string {
	b, size := &p.broken, Size(p.Type)
	if b.lines == nil || b.text != p.Text || b.w != w || b.size != size || b.bold != p.Bold {
		b.text, b.w, b.size, b.bold = p.Text, w, size, p.Bold
		b.lines = p.breakAt(w)
	}
	return b.lines
}

func (p *Prose) breakAt(w float32) []string {
	st := fyne.TextStyle{Bold: p.Bold}
	lines := Wrap(p.Text, w, Size(p.Type), st, p.Most)
	if !p.Centre || len(lines) < 2 {
		return lines
	}
	// Centred lines are balanced: no single word stands alone beneath.
	for narrower := w * 0.97; narrower > w/2; narrower *= 0.97 {
		try := Wrap(p.Text, narrower, Size(p.Type), st, p.Most+1)
		if len(try) > len(lines) {
			break
		}
		lines = try
	}
	return lines
}

// Fits reports whether the text stands on one line of a width.
func (p *Prose) Fits(w float32) bool {
	return width(p.Text, Size(p.Type), fyne.TextStyle{Bold: p.Bold}) <= w
}

// HeightFor returns the height that the text takes at a width.
func (p *Prose) HeightFor(w float32) float32 {
	return float32(max(len(p.lines(w)), 1)) * LineHeight(Size(p.Type))
}

// CreateRenderer implements fyne.Widget.
func (p *Prose) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: p, min: func() fyne.Size {
		return fyne.NewSize(20, LineHeight(Size(p.Type)))
	}, draw: func(size fyne.Size) []fyne.CanvasObject {
		var out []fyne.CanvasObject
		h := LineHeight(Size(p.Type))
		for i, l := range p.lines(size.Width) {
			t := typed(l, Size(p.Type), p.Bold, Color(p.Ink)) // as wide as it may be
			Put(t, 0, float32(i)*h, size.Width)
			if p.Centre {
				t.Alignment = fyne.TextAlignCenter
			}
			out = append(out, t)
		}
		return out
	}}
}
