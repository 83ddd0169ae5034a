package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// PaperRow is one paper of the list: a swatch of its white with its black on
// it, its name and its finish. Without a white it has no swatch: a plain row of a list.
type PaperRow struct {
	control
	turn
	Name, Note   string
	White, Black color.Color
	Chosen       bool
}

// NewPaperRow returns a row.
func NewPaperRow(name, note string, white, black color.Color, chosen bool, pick func()) *PaperRow {
	p := &PaperRow{Name: name, Note: note, White: white, Black: black, Chosen: chosen}
	p.onPress(pick)
	p.key = p.turn.keys(p.key)
	p.ExtendBaseWidget(p)
	return p
}

// Set marks the row as the chosen one or not.
func (p *PaperRow) Set(chosen bool) {
	if p.Chosen != chosen {
		p.Chosen = chosen
		p.Refresh()
	}
}

// RowHeight is the height of a row in the papers' list.
const RowHeight = 30

// CreateRenderer implements fyne.Widget.
func (p *PaperRow) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: p, min: func() fyne.Size { return fyne.NewSize(150, RowHeight) },
		draw: func(size fyne.Size) []fyne.CanvasObject {
			var out []fyne.CanvasObject
			ink, quiet := Color(toolkit.ColorNameForeground), Color(theme.ColorQuiet)
			if p.Chosen {
				out = append(out, box(theme.ColorChosen, fyne.Position{}, size))
				ink = Color(theme.ColorOnChosen)
				quiet = ink
			} else if p.over {
				out = append(out, box(theme.ColorFieldOn, fyne.Position{}, size))
			}
			left := float32(8)
			if p.White != nil {
				left = 46
				sw := canvas.NewRectangle(p.White)
				sw.StrokeColor, sw.StrokeWidth = Color(theme.ColorEdge), 1
				sw.Move(fyne.NewPos(6, 5))
				sw.Resize(fyne.NewSize(30, RowHeight-10))
				bl := canvas.NewRectangle(p.Black)
				bl.Move(fyne.NewPos(22, 9))
				bl.Resize(fyne.NewSize(10, RowHeight-18))
				out = append(out, sw, bl)
			}
			ts, cs := Size(toolkit.SizeNameText), Size(toolkit.SizeNameCaptionText)
			room := size.Width - left - 6
			note := width(p.Note, cs, fyne.TextStyle{})
			n := Line(p.Name, left, (size.Height-LineHeight(ts))/2, room, ts, p.Chosen, ink)
			nw := width(n.Text, ts, n.TextStyle)
			out = append(out, n)
			if nw+10+note <= room {
				out = append(out, Line(p.Note, left+nw+10, (size.Height-LineHeight(cs))/2+1, note, cs, false, quiet))
			}
			if p.focused {
				out = append(out, ring(size))
			}
			return out
		}}
}
