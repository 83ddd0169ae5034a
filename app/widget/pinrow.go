package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// PinCell is a pin's colour on one sheet.
type PinCell struct {
	Patch   color.Color
	Figures string
	Words   string
}

// PinRow is a pin's line in the table: its name, then a cell a sheet.
type PinRow struct {
	control
	Name, Note string
	Cells      []PinCell
	Chosen     bool
	OnPick     func()
}

// Sizes of the table of pins.
const (
	PinRowHeight = 46
	PinNameWidth = 132
)

// NewPinRow returns an empty row.
func NewPinRow(pick func()) *PinRow {
	p := &PinRow{OnPick: pick}
	p.tap = func(float32) {
		if p.OnPick != nil {
			p.OnPick()
		}
	}
	p.key = func(e *fyne.KeyEvent) bool {
		if isPress(e) && p.OnPick != nil {
			p.OnPick()
			return true
		}
		return false
	}
	p.extend(p)
	return p
}

// Set replaces what the row shows.
func (p *PinRow) Set(name, note string, cells []PinCell, chosen bool) {
	same := name == p.Name && note == p.Note && chosen == p.Chosen && len(cells) == len(p.Cells)
	for i := 0; same && i < len(cells); i++ {
		same = cells[i] == p.Cells[i]
	}
	if !same {
		p.Name, p.Note, p.Cells, p.Chosen = name, note, cells, chosen
		p.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (p *PinRow) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{min: func() fyne.Size { return fyne.NewSize(300, PinRowHeight) },
		draw: func(size fyne.Size) []fyne.CanvasObject {
			ink, quiet := Color(toolkit.ColorNameForeground), Color(theme.ColorQuiet)
			ts, cs := Size(toolkit.SizeNameText), Size(toolkit.SizeNameCaptionText)
			var out []fyne.CanvasObject
			if p.Chosen {
				out = append(out, box(theme.ColorGroup, fyne.NewPos(0, 1), size.SubtractWidthHeight(12, 2)))
			} else if p.over {
				out = append(out, box(theme.ColorField, fyne.NewPos(0, 1), size.SubtractWidthHeight(12, 2)))
			}
			text := func(s string, x, y, w, ts float32, bold bool, c color.Color) {
				t := canvas.NewText(Shorten(s, w, ts, fyne.TextStyle{Bold: bold}), c)
				t.TextSize, t.TextStyle.Bold = ts, bold
				t.Move(fyne.NewPos(x, y))
				t.Resize(fyne.NewSize(w, LineHeight(ts)))
				out = append(out, t)
			}
			text(p.Name, 8, 3, PinNameWidth-14, ts, true, ink)
			text(p.Note, 8, 24, PinNameWidth-14, cs, false, quiet)
			n := float32(max(len(p.Cells), 1))
			w := (size.Width - PinNameWidth - 12) / n
			for i, c := range p.Cells {
				x := PinNameWidth + float32(i)*w
				if c.Patch != nil {
					r := canvas.NewRectangle(c.Patch)
					r.Move(fyne.NewPos(x, 6))
					r.Resize(fyne.NewSize(26, PinRowHeight-12))
					out = append(out, r)
				}
				text(c.Figures, x+34, 4, w-44, cs, false, ink)
				text(c.Words, x+34, 22, w-44, ts, false, ink)
			}
			if p.focused {
				out = append(out, ring(size))
			}
			return out
		}}
}
