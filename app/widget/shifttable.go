package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// ShiftRow is a colour before and after, in words and figures.
type ShiftRow struct {
	Name, Words, Figures string
	Before, After        color.Color
}

// ShiftTable lists colours before and after, their two fields touching.
type ShiftTable struct {
	base
	rows []ShiftRow
}

// NewShiftTable returns an empty table.
func NewShiftTable() *ShiftTable {
	t := &ShiftTable{}
	t.ExtendBaseWidget(t)
	return t
}

// Rows returns what is shown.
func (t *ShiftTable) Rows() []ShiftRow { return t.rows }

// SetRows replaces the rows.
func (t *ShiftTable) SetRows(r []ShiftRow) {
	t.rows = r
	t.Refresh()
}

func (t *ShiftTable) rowHeight() float32 {
	return LineHeight(Size(toolkit.SizeNameText)) + LineHeight(Size(toolkit.SizeNameCaptionText)) + 10
}

// CreateRenderer implements fyne.Widget.
func (t *ShiftTable) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: t, min: func() fyne.Size { return fyne.NewSize(300, float32(len(t.rows))*t.rowHeight()) },
		draw: func(size fyne.Size) []fyne.CanvasObject {
			var out []fyne.CanvasObject
			ts, cs := Size(toolkit.SizeNameText), Size(toolkit.SizeNameCaptionText)
			h := t.rowHeight()
			const swatch = 46
			name := min(max(size.Width*0.2, 130), 240)
			for i, r := range t.rows {
				y := float32(i) * h
				for k, c := range []color.Color{r.Before, r.After} {
					s := canvas.NewRectangle(c)
					s.Move(fyne.NewPos(float32(k)*swatch, y+3))
					s.Resize(fyne.NewSize(swatch, h-6))
					out = append(out, s)
				}
				put := func(s string, x, y, w, size float32, bold bool, ink fyne.ThemeColorName) {
					out = append(out, Line(s, x, y, w, size, bold, Color(ink)))
				}
				x := float32(2*swatch + 14)
				put(r.Name, x, y+(h-LineHeight(ts))/2, name-10, ts, true, toolkit.ColorNameForeground)
				x += name
				put(r.Words, x, y+4, size.Width-x-16, ts, false, toolkit.ColorNameForeground)
				put(r.Figures, x, y+4+LineHeight(ts), size.Width-x-16, cs, false, theme.ColorQuiet)
			}
			return out
		}}
}
