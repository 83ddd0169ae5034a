package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// DeskButton lays a ready-made desk: its sheets drawn small, and its name where there is
// room for one.
type DeskButton struct {
	control
	// Sheets has a letter a sheet: o the original, w one gone wrong, a to d proofs that
	// differ from each other.
	Sheets string
	Name   string
	Named  bool // the name is drawn too
	Chosen bool
}

// NewDeskButton returns a button.
func NewDeskButton(sheets, name string, press func()) *DeskButton {
	b := &DeskButton{Sheets: sheets, Name: name}
	b.onPress(press)
	b.ExtendBaseWidget(b)
	return b
}

// Set says whether this desk lies there now, and whether the name is drawn.
func (b *DeskButton) Set(chosen, named bool) {
	if b.Chosen != chosen || b.Named != named {
		b.Chosen, b.Named = chosen, named
		b.Refresh()
	}
}

const (
	deskIconWidth, deskIconHeight = 34, 20
	deskButtonPad                 = 7
)

// Width returns what the button takes.
func (b *DeskButton) Width(named bool) float32 {
	w := float32(deskIconWidth + 2*deskButtonPad)
	if named {
		w += 7 + width(b.Name, Size(toolkit.SizeNameText), fyne.TextStyle{})
	}
	return w
}

// CreateRenderer implements fyne.Widget.
func (b *DeskButton) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: b, min: func() fyne.Size { return fyne.NewSize(b.Width(b.Named), 30) }, draw: b.paint}
}

func (b *DeskButton) paint(size fyne.Size) []fyne.CanvasObject {
	ground, ink := Color(theme.ColorField), Color(toolkit.ColorNameForeground)
	switch {
	case b.Chosen:
		ground, ink = Color(theme.ColorChosen), Color(theme.ColorOnChosen)
	case b.over:
		ground = Color(theme.ColorFieldOn)
	}
	back := canvas.NewRectangle(ground)
	back.CornerRadius = 4
	back.Resize(size)
	out := []fyne.CanvasObject{back}
	out = append(out, b.icon(deskButtonPad, (size.Height-deskIconHeight)/2, ink)...)
	if b.Named {
		ts := Size(toolkit.SizeNameText)
		x := float32(deskButtonPad + deskIconWidth + 7)
		out = append(out, Line(b.Name, x, (size.Height-LineHeight(ts))/2, size.Width-x, ts, false, ink))
	}
	if b.focused {
		out = append(out, ring(size))
	}
	return out
}

// tones are the fills of sheets by their letter: they tell papers apart by lightness.
var tones = map[rune]uint8{'o': 255, 'a': 205, 'b': 160, 'c': 120, 'd': 80, 'w': 205}

// icon draws the sheets: two side by side, four in two rows.
func (b *DeskButton) icon(x, y float32, ink color.Color) []fyne.CanvasObject {
	const gap = 3
	cols, rows := len(b.Sheets), 1
	if cols > 2 {
		cols, rows = 2, (cols+1)/2
	}
	w := (deskIconWidth - float32(cols-1)*gap) / float32(cols)
	h := (deskIconHeight - float32(rows-1)*gap) / float32(rows)
	var out []fyne.CanvasObject
	for i, letter := range b.Sheets {
		at := fyne.NewPos(x+float32(i%cols)*(w+gap), y+float32(i/cols)*(h+gap))
		sheet := canvas.NewRectangle(color.Gray{Y: tones[letter]})
		sheet.StrokeColor, sheet.StrokeWidth = ink, 1
		sheet.Move(at)
		sheet.Resize(fyne.NewSize(w, h))
		out = append(out, sheet)
		if letter == 'w' {
			// The zigzag of a broken link.
			from := fyne.NewPos(at.X+2, at.Y+h*0.65)
			for k, up := range []float32{0.3, 0.7, 0.35} {
				to := fyne.NewPos(at.X+2+(w-4)*float32(k+1)/3, at.Y+h*up)
				l := canvas.NewLine(color.Black)
				l.StrokeWidth = 2
				l.Position1, l.Position2 = from, to
				out, from = append(out, l), to
			}
		}
	}
	return out
}
