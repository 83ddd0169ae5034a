package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// Legend is the line beneath a sheet: its number, what it is, its figures. It
// can be dragged onto another sheet.
type Legend struct {
	control
	Number  string
	Title   string
	Figures string
	Active  bool
	OnDrop  func(at fyne.Position)
	at      fyne.Position
}

var _ fyne.Draggable = (*Legend)(nil)
var _ desktop.Cursorable = (*Legend)(nil)

// NewLegend returns a legend.
func NewLegend(tap func()) *Legend {
	l := &Legend{}
	l.onPress(tap)
	l.ExtendBaseWidget(l)
	return l
}

// Cursor implements desktop.Cursorable.
func (l *Legend) Cursor() desktop.Cursor { return desktop.PointerCursor }

// Dragged implements fyne.Draggable.
func (l *Legend) Dragged(e *fyne.DragEvent) {
	l.at = e.AbsolutePosition
}

// DragEnd implements fyne.Draggable.
func (l *Legend) DragEnd() {
	if l.OnDrop != nil {
		l.OnDrop(l.at)
	}
}

// The widths below which title and figures may take two lines each, and three: a paper's
// name, intent and three figures need about as much.
const (
	legendRoom = 500
	narrowRoom = 300
)

// LegendHeight is the height of a legend of a width.
func LegendHeight(w float32) float32 {
	return float32(legendLines(w))*(LineHeight(Size(toolkit.SizeNameText))+LineHeight(Size(toolkit.SizeNameCaptionText))) + 2
}

func legendLines(w float32) int {
	switch {
	case w < narrowRoom:
		return 3
	case w < legendRoom:
		return 2
	}
	return 1
}

// Set replaces what the legend says.
func (l *Legend) Set(number, title, figures string, active bool) {
	if l.Number == number && l.Title == title && l.Figures == figures && l.Active == active {
		return
	}
	l.Number, l.Title, l.Figures, l.Active = number, title, figures, active
	l.Refresh()
}

// CreateRenderer implements fyne.Widget.
func (l *Legend) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: l, min: func() fyne.Size { return fyne.NewSize(80, LegendHeight(legendRoom)) },
		draw: func(size fyne.Size) []fyne.CanvasObject {
			ink := Color(theme.ColorDeskInk)
			ts, cs := Size(toolkit.SizeNameText), Size(toolkit.SizeNameCaptionText)
			h := LineHeight(ts)
			// The active sheet's number stands inverted, the others' in a frame.
			chip := canvas.NewRectangle(theme.Desk)
			chip.StrokeColor, chip.StrokeWidth, chip.CornerRadius = ink, 1.5, 4
			num := ink
			if l.Active {
				chip.FillColor, num = ink, theme.Desk
			}
			chip.Resize(fyne.NewSize(20, 20))
			chip.Move(fyne.NewPos(0, (h-20)/2))
			n := centred(l.Number, ts, true, num, fyne.NewPos(0, (h-20)/2-0.5), fyne.NewSize(20, 20))
			const x = 28
			out := []fyne.CanvasObject{chip, n}
			y := float32(0)
			put := func(s string, ts float32, st fyne.TextStyle) {
				for _, line := range Wrap(s, size.Width-x, ts, st, legendLines(size.Width)) {
					out = append(out, Line(line, x, y, size.Width-x, ts, st.Bold, ink))
					y += LineHeight(ts)
				}
			}
			put(l.Title, ts, fyne.TextStyle{Bold: l.Active})
			put(l.Figures, cs, fyne.TextStyle{})
			if l.focused {
				out = append(out, ring(size))
			}
			return out
		}}
}
