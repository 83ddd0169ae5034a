package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/overlay"
	"firstsheet/app/theme"
	"firstsheet/proof"
	"firstsheet/proof/words"
)

// Legend is the line beneath a sheet: its number, what it is, its figures. It
// can be dragged onto another sheet.
type Legend struct {
	control
	Number  string
	Title   string
	Figures string
	Active  bool
	// Bands is the ΔE00 from which bands are drawn over the sheet, 0 where none are: their
	// tints stand beside the figures.
	Bands  float64
	OnDrop func(at fyne.Position)
	at     fyne.Position
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
func (l *Legend) Set(number, title, figures string, bands float64, active bool) {
	if l.Number == number && l.Title == title && l.Figures == figures && l.Bands == bands && l.Active == active {
		return
	}
	l.Number, l.Title, l.Figures, l.Bands, l.Active = number, title, figures, bands, active
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
			room := size.Width - x
			put := func(lines []string, ts float32, bold bool) {
				for _, line := range lines {
					out = append(out, Line(line, x, y, room, ts, bold, ink))
					y += LineHeight(ts)
				}
			}
			most := legendLines(size.Width)
			put(Wrap(l.Title, room, ts, fyne.TextStyle{Bold: l.Active}, most), ts, l.Active)
			if l.Bands == 0 {
				put(Wrap(l.Figures, room, cs, fyne.TextStyle{}, most), cs, false)
			} else {
				key := bandStrip(l.Bands, ink)
				lines, at := beside(l.Figures, room, key.Size().Width, cs, most)
				top := y
				put(lines, cs, false)
				key.Move(at.AddXY(x, top))
				out = append(out, key)
			}
			if l.focused {
				out = append(out, ring(size))
			}
			return out
		}}
}

// beside breaks s into at most most lines of type size cs in a room, and returns the place of
// something w wide after it: behind the last line, beneath it, or at the right of all.
func beside(s string, room, w, cs float32, most int) ([]string, fyne.Position) {
	const gap = 12
	lines := Wrap(s, room, cs, fyne.TextStyle{}, most)
	n := len(lines)
	if n == 0 {
		return nil, fyne.Position{}
	}
	if last := width(lines[n-1], cs, fyne.TextStyle{}); last+gap+w <= room {
		return lines, fyne.NewPos(last+gap, float32(n-1)*LineHeight(cs))
	}
	if n < most {
		return lines, fyne.NewPos(0, float32(n)*LineHeight(cs))
	}
	lines = Wrap(s, room-gap-w, cs, fyne.TextStyle{}, most)
	return lines, fyne.NewPos(room-w, float32(len(lines)-1)*LineHeight(cs))
}

// bandStrip is the key of the bands from a limit on, on one line: each band's tint and the
// ΔE00 that it begins at.
func bandStrip(limit float64, ink color.Color) *fyne.Container {
	const side, gap = 12, 5
	cs := Size(toolkit.SizeNameCaptionText)
	h := LineHeight(cs)
	out := container.NewWithoutLayout()
	var x float32
	put := func(s string) {
		t := typed(s, cs, false, ink)
		Put(t, x, 0, width(s, cs, fyne.TextStyle{}))
		out.Add(t)
		x += t.Size().Width + gap
	}
	put("ΔE00 from")
	for i, from := range proof.BandEdges() {
		if from < limit {
			continue
		}
		chip := bandChip(i + 1)
		chip.Resize(fyne.NewSize(side, side))
		chip.Move(fyne.NewPos(x, (h-side)/2))
		out.Add(chip)
		x += side + gap
		put(words.Whole(from))
	}
	out.Resize(fyne.NewSize(x-gap, h))
	return out
}

// bandChip is a band's tint between a light line and a dark one, so that it shows on any
// ground.
func bandChip(band int) *canvas.Rectangle {
	c := canvas.NewRectangle(overlay.Tint(band))
	c.StrokeColor, c.StrokeWidth = color.Black, 1
	return c
}
