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

// PinRow is a pin's line in the table: its name, then a cell a sheet. What a cell says
// stands on one line where all cells have room for that, else the sentence beneath the
// figures.
type PinRow struct {
	control
	turn       // of all rows one is a stop of the Tab key
	Name, Note string
	Cells      []PinCell
	Chosen     bool
	at, high   float32 // HeightFor of a width, until the cells change
}

// Sizes of the table of pins. A row is PinRowHeight high at least; a cell's sentence
// may take four lines.
const (
	PinRowHeight = 30
	PinNameWidth = 132
	pinLines     = 4
	pinGap       = 14 // between figures and words on one line
)

// HeightFor is the row's height at a width: that of its longest sentence.
func (p *PinRow) HeightFor(w float32) float32 {
	if p.high > 0 && p.at == w {
		return p.high
	}
	h := float32(PinRowHeight)
	if p.single(w) {
		p.at, p.high = w, h
		return h
	}
	for i := range p.Cells {
		figures, words := p.cell(i, w)
		h = max(h, 4+float32(len(figures))*LineHeight(Size(toolkit.SizeNameCaptionText))+float32(len(words))*LineHeight(Size(toolkit.SizeNameText))+3)
	}
	p.at, p.high = w, h
	return h
}

func (p *PinRow) cellWidth(w float32) float32 {
	return (w - PinNameWidth - 12) / float32(max(len(p.Cells), 1))
}

// single tells whether every cell has room for its figures and words on one line.
func (p *PinRow) single(w float32) bool {
	cs, ts := Size(toolkit.SizeNameCaptionText), Size(toolkit.SizeNameText)
	for _, c := range p.Cells {
		if width(c.Figures, cs, fyne.TextStyle{})+pinGap+width(c.Words, ts, fyne.TextStyle{}) > p.cellWidth(w)-44 {
			return false
		}
	}
	return true
}

// cell breaks a cell's figures and words into lines.
func (p *PinRow) cell(i int, w float32) (figures, words []string) {
	room := p.cellWidth(w) - 44
	return Wrap(p.Cells[i].Figures, room, Size(toolkit.SizeNameCaptionText), fyne.TextStyle{}, 2),
		Wrap(p.Cells[i].Words, room, Size(toolkit.SizeNameText), fyne.TextStyle{}, pinLines)
}

// NewPinRow returns an empty row.
func NewPinRow(pick func()) *PinRow {
	p := &PinRow{}
	p.onPress(pick)
	p.key = p.turn.keys(p.key)
	p.ExtendBaseWidget(p)
	return p
}

// Set replaces what the row shows.
func (p *PinRow) Set(name, note string, cells []PinCell, chosen bool) {
	same := name == p.Name && note == p.Note && chosen == p.Chosen && len(cells) == len(p.Cells)
	for i := 0; same && i < len(cells); i++ {
		same = cells[i] == p.Cells[i]
	}
	if !same {
		p.Name, p.Note, p.Cells, p.Chosen, p.high = name, note, cells, chosen, 0
		p.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (p *PinRow) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: p, min: func() fyne.Size { return fyne.NewSize(300, PinRowHeight) },
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
				out = append(out, Line(s, x, y, w, ts, bold, c))
			}
			single := p.single(size.Width)
			text(p.Name, 8, 4, PinNameWidth-14, ts, true, ink)
			if !single {
				text(p.Note, 8, 24, PinNameWidth-14, cs, false, quiet)
			}
			w := p.cellWidth(size.Width)
			for i, c := range p.Cells {
				x := PinNameWidth + float32(i)*w
				if c.Patch != nil {
					r := canvas.NewRectangle(c.Patch)
					r.Move(fyne.NewPos(x, 5))
					r.Resize(fyne.NewSize(26, min(size.Height, 46)-10))
					out = append(out, r)
				}
				if single {
					fw := width(c.Figures, cs, fyne.TextStyle{})
					text(c.Figures, x+34, (size.Height-LineHeight(cs))/2, fw+1, cs, false, ink)
					text(c.Words, x+34+fw+pinGap, (size.Height-LineHeight(ts))/2, w-44-fw-pinGap+1, ts, false, ink)
					continue
				}
				figures, words := p.cell(i, size.Width)
				y := float32(4)
				for _, l := range figures {
					text(l, x+34, y, w-44, cs, false, ink)
					y += LineHeight(cs)
				}
				for _, l := range words {
					text(l, x+34, y, w-44, ts, false, ink)
					y += LineHeight(ts)
				}
			}
			if p.focused {
				out = append(out, ring(size))
			}
			return out
		}}
}
