package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// MatchRow is a pin whose print is being matched by eye: two fields that touch, the
// colour as it should be and the one that looks like the print, its name and what the
// change is called. The keyboard's coming to it picks it.
type MatchRow struct {
	control
	Name, Words   string
	Should, Print color.Color
	Chosen        bool
	Judged        bool // the right field is the print's; else nobody has looked
	OnPick        func()
}

// Sizes of a row of matching: its two fields, and the least height.
const (
	matchField = 34
	matchHigh  = 44
	matchText  = 2*matchField + 16 // where its text begins
	matchLines = 3
)

// NewMatchRow returns an empty row.
func NewMatchRow(pick func()) *MatchRow {
	m := &MatchRow{OnPick: pick}
	m.tap = func(float32) { m.pick() }
	m.key = func(e *fyne.KeyEvent) bool {
		if e.Name != fyne.KeySpace {
			return false
		}
		m.pick()
		return true
	}
	m.ExtendBaseWidget(m)
	return m
}

func (m *MatchRow) pick() {
	if m.OnPick != nil {
		m.OnPick()
	}
}

// FocusGained implements fyne.Focusable.
func (m *MatchRow) FocusGained() {
	m.control.FocusGained()
	m.pick()
}

func (m *MatchRow) lines(w float32) []string {
	return Wrap(m.Words, w-matchText-6, Size(toolkit.SizeNameCaptionText), fyne.TextStyle{}, matchLines)
}

// HeightFor is the row's height at a width.
func (m *MatchRow) HeightFor(w float32) float32 {
	h := 3 + LineHeight(Size(toolkit.SizeNameText)) + float32(len(m.lines(w)))*LineHeight(Size(toolkit.SizeNameCaptionText)) + 4
	return max(h, matchHigh)
}

// CreateRenderer implements fyne.Widget.
func (m *MatchRow) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: m, min: func() fyne.Size { return fyne.NewSize(matchText+60, matchHigh) }, draw: func(size fyne.Size) []fyne.CanvasObject {
		var out []fyne.CanvasObject
		if m.Chosen {
			out = append(out, box(theme.ColorFieldOn, fyne.Position{}, size))
		} else if m.over {
			out = append(out, box(theme.ColorField, fyne.Position{}, size))
		}
		field := func(x float32, fill color.Color) *canvas.Rectangle {
			r := canvas.NewRectangle(fill)
			r.Move(fyne.NewPos(x, 5))
			r.Resize(fyne.NewSize(matchField, matchHigh-10))
			return r
		}
		right := field(6+matchField, m.Print)
		if !m.Judged {
			right.FillColor, right.StrokeColor, right.StrokeWidth = color.Transparent, Color(theme.ColorQuiet), 1
		}
		out = append(out, field(6, m.Should), right)
		text := func(s string, y, ts float32, bold bool, ink color.Color) {
			out = append(out, Line(s, matchText, y, size.Width-matchText-6, ts, bold, ink))
		}
		ts, cs := Size(toolkit.SizeNameText), Size(toolkit.SizeNameCaptionText)
		text(m.Name, 3, ts, true, Color(toolkit.ColorNameForeground))
		ink := Color(theme.ColorQuiet)
		if m.Judged {
			ink = Color(toolkit.ColorNameForeground)
		}
		for i, l := range m.lines(size.Width) {
			text(l, 3+LineHeight(ts)+float32(i)*LineHeight(cs), cs, false, ink)
		}
		if m.focused {
			out = append(out, ring(size))
		}
		return out
	}}
}
