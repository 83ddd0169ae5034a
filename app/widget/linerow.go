package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// LineRow is an entry of a diagram's key that can be ticked: a box, a sample of
// the line's pattern, a name and a note beneath.
type LineRow struct {
	control
	Name, Note string
	Pattern    []float64 // dashes and gaps in widths of the line; empty for an unbroken one
	Heavy      bool      // drawn wider, as the active sheet's line is
	On         bool
}

// NewLineRow returns a row.
func NewLineRow(name string, pattern []float64, change func(bool)) *LineRow {
	l := &LineRow{Name: name, Pattern: pattern}
	l.onPress(func() { change(!l.On) })
	l.ExtendBaseWidget(l)
	return l
}

// Set shows another state; nobody is told.
func (l *LineRow) Set(on, heavy bool, note string) {
	if l.On != on || l.Heavy != heavy || l.Note != note {
		l.On, l.Heavy, l.Note = on, heavy, note
		l.Refresh()
	}
}

// LineRowHeight is a row's height.
func LineRowHeight() float32 {
	return LineHeight(Size(toolkit.SizeNameText)) + LineHeight(Size(toolkit.SizeNameCaptionText)) + 8
}

// CreateRenderer implements fyne.Widget.
func (l *LineRow) CreateRenderer() fyne.WidgetRenderer {
	const sample = 44
	return &drawn{of: l, min: func() fyne.Size { return fyne.NewSize(180, LineRowHeight()) },
		draw: func(size fyne.Size) []fyne.CanvasObject {
			ts, cs := Size(toolkit.SizeNameText), Size(toolkit.SizeNameCaptionText)
			h := LineHeight(ts)
			y := 3 + h/2
			var out []fyne.CanvasObject
			if l.over && !l.Off {
				out = append(out, box(theme.ColorFieldOn, fyne.Position{}, size))
			}
			out = append(out, tickBox(theme.ColorField, fyne.NewPos(2, y-tickSide/2), l.On)...)
			ink := Color(toolkit.ColorNameForeground)
			if l.Off {
				ink = Color(toolkit.ColorNameDisabled)
			}
			w := float32(2)
			if l.Heavy {
				w = 3.5
			}
			x0, x1 := float32(tickSide+12), float32(tickSide+12+sample)
			dash := func(a, b float32) {
				d := canvas.NewLine(ink)
				d.StrokeWidth = w
				d.Position1, d.Position2 = fyne.NewPos(a, y), fyne.NewPos(b, y)
				out = append(out, d)
			}
			if len(l.Pattern) == 0 {
				dash(x0, x1)
			} else {
				for x, k := x0, 0; x < x1; k++ {
					step := float32(l.Pattern[k%len(l.Pattern)]) * 2
					if k%2 == 0 {
						dash(x, min(x+step, x1))
					}
					x += step
				}
			}
			at := x1 + 10
			out = append(out, Line(l.Name, at, 3, size.Width-at-4, ts, l.Heavy, ink),
				Line(l.Note, at, 3+h, size.Width-at-4, cs, false, Color(theme.ColorQuiet)))
			if l.focused {
				out = append(out, ring(size))
			}
			return out
		}}
}
