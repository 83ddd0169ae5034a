package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// RankedRow is an entry of a ranking: a name, how much of the whole falls to it as a bar
// and a figure, and a note beneath.
type RankedRow struct {
	Name, Figure, Note string
	Share              float64 // 0 to 1
}

// Ranked lists what is ranked, one of it chosen: by a click, or by the up and down keys.
type Ranked struct {
	control
	Rows     []RankedRow
	Chosen   int
	OnChoose func(int)
}

const (
	rankedBar    = 8
	rankedFigure = 62 // the figure's column
	rankedLines  = 2
)

// NewRanked returns an empty ranking.
func NewRanked(choose func(int)) *Ranked {
	r := &Ranked{OnChoose: choose}
	r.key = func(e *fyne.KeyEvent) bool {
		switch e.Name {
		case fyne.KeyDown:
			r.choose(r.Chosen + 1)
		case fyne.KeyUp:
			r.choose(r.Chosen - 1)
		default:
			return false
		}
		return true
	}
	r.ExtendBaseWidget(r)
	return r
}

// Set replaces the rows and what is chosen; nobody is told.
func (r *Ranked) Set(rows []RankedRow, chosen int) {
	r.Rows, r.Chosen = rows, chosen
	r.Refresh()
}

func (r *Ranked) choose(i int) {
	if i < 0 || i >= len(r.Rows) || i == r.Chosen {
		return
	}
	r.Chosen = i
	r.Refresh()
	if r.OnChoose != nil {
		r.OnChoose(i)
	}
}

// Tapped implements fyne.Tappable: the ranking keeps the keyboard, so that the arrows go
// on from the row that was clicked.
func (r *Ranked) Tapped(e *fyne.PointEvent) {
	if cv := r.canvas(); cv != nil {
		cv.Focus(r)
	}
	w, y := r.BaseWidget.Size().Width, float32(0)
	for i := range r.Rows {
		if y += r.rowHeight(i, w); e.Position.Y < y {
			r.choose(i)
			return
		}
	}
}

func (r *Ranked) names(i int, w float32) []string {
	return Wrap(r.Rows[i].Name, w-rankedFigure-16, Size(toolkit.SizeNameText), fyne.TextStyle{Bold: true}, rankedLines)
}

func (r *Ranked) notes(i int, w float32) []string {
	return Wrap(r.Rows[i].Note, w-16, Size(toolkit.SizeNameCaptionText), fyne.TextStyle{}, rankedLines)
}

func (r *Ranked) rowHeight(i int, w float32) float32 {
	return 6 + float32(len(r.names(i, w)))*LineHeight(Size(toolkit.SizeNameText)) + rankedBar + 4 +
		float32(len(r.notes(i, w)))*LineHeight(Size(toolkit.SizeNameCaptionText)) + 5
}

// HeightFor is the ranking's height at a width.
func (r *Ranked) HeightFor(w float32) float32 {
	h := float32(0)
	for i := range r.Rows {
		h += r.rowHeight(i, w)
	}
	return h
}

// CreateRenderer implements fyne.Widget.
func (r *Ranked) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: r, min: func() fyne.Size { return fyne.NewSize(160, 40) }, draw: func(size fyne.Size) []fyne.CanvasObject {
		var out []fyne.CanvasObject
		y := float32(0)
		for i := range r.Rows {
			out = append(out, r.row(i, y, size.Width)...)
			y += r.rowHeight(i, size.Width)
		}
		if r.focused {
			out = append(out, ring(size))
		}
		return out
	}}
}

// row draws one row at a height.
func (r *Ranked) row(i int, y, w float32) []fyne.CanvasObject {
	row := r.Rows[i]
	var out []fyne.CanvasObject
	track := theme.ColorField
	if i == r.Chosen {
		out = append(out, box(theme.ColorFieldOn, fyne.NewPos(0, y), fyne.NewSize(w, r.rowHeight(i, w))))
		track = theme.ColorLine
	}
	text := func(s string, x, y, w float32, size fyne.ThemeSizeName, bold bool, ink fyne.ThemeColorName) *canvas.Text {
		t := NewText(s, size, ink, bold)
		Put(t, x, y, w)
		out = append(out, t)
		return t
	}
	at := y + 6
	figure := text(row.Figure, w-rankedFigure-8, at, rankedFigure, toolkit.SizeNameText, true, toolkit.ColorNameForeground)
	figure.Alignment = fyne.TextAlignTrailing
	for _, l := range r.names(i, w) {
		text(l, 8, at, w-rankedFigure-16, toolkit.SizeNameText, i == r.Chosen, toolkit.ColorNameForeground)
		at += LineHeight(Size(toolkit.SizeNameText))
	}
	out = append(out, box(track, fyne.NewPos(8, at), fyne.NewSize(w-16, rankedBar)))
	if long := (w - 16) * float32(min(max(row.Share, 0), 1)); long >= 2 {
		out = append(out, box(theme.ColorChosen, fyne.NewPos(8, at), fyne.NewSize(long, rankedBar)))
	}
	at += rankedBar + 4
	for _, l := range r.notes(i, w) {
		text(l, 8, at, w-16, toolkit.SizeNameCaptionText, false, theme.ColorQuiet)
		at += LineHeight(Size(toolkit.SizeNameCaptionText))
	}
	return out
}
