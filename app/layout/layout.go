// Package layout sets the content of cards: columns that scroll, paragraphs as high
// as their text is at the width there is, and controls with a word before them.
package layout

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// tall is what knows its height at a width: paragraphs, and layouts of rows.
type tall interface{ HeightFor(w float32) float32 }

// TallLayout is a layout that knows how high its objects are at a width.
type TallLayout interface {
	HeightFor(o []fyne.CanvasObject, w float32) float32
}

func heightOf(o fyne.CanvasObject, w float32) float32 {
	if t, ok := o.(tall); ok {
		return t.HeightFor(w)
	}
	if c, ok := o.(*fyne.Container); ok {
		if l, ok := c.Layout.(TallLayout); ok {
			return l.HeightFor(c.Objects, w)
		}
	}
	return widget.Least(o).Height
}

// empty tells a paragraph that takes no room because it says nothing.
func empty(o fyne.CanvasObject) bool {
	p, ok := o.(*widget.Prose)
	return !o.Visible() || ok && p.Text == ""
}

// Flow sets objects one beneath the other over its width.
type Flow struct{ Gap, Width float32 }

func (l *Flow) Layout(o []fyne.CanvasObject, size fyne.Size) {
	if l.Width == 0 {
		l.Width = size.Width
	}
	y := float32(0)
	for _, c := range o {
		if empty(c) {
			set(c, 0, y, l.Width, 0)
			continue
		}
		h := heightOf(c, l.Width)
		set(c, 0, y, l.Width, h)
		y += h + l.Gap
	}
}

// HeightFor implements TallLayout.
func (l *Flow) HeightFor(o []fyne.CanvasObject, w float32) float32 {
	l.Width = w
	y := float32(0)
	for _, c := range o {
		if !empty(c) {
			y += heightOf(c, w) + l.Gap
		}
	}
	return max(y-l.Gap, 0)
}

func (l *Flow) MinSize(o []fyne.CanvasObject) fyne.Size {
	w := l.Width
	if w == 0 {
		w = 400
	}
	h := l.HeightFor(o, w)
	return fyne.NewSize(40, h)
}

// Labelled sets a word in a column of its own, a control beside it and, at the far
// end, buttons of their own width.
type Labelled struct {
	Column float32
	Top    bool // the word stands at the top, not beside the middle of a control
}

// LabelColumn is the usual column of the words.
const LabelColumn = 112

func (l Labelled) Layout(o []fyne.CanvasObject, size fyne.Size) {
	h := widget.Least(o[0]).Height
	right := size.Width
	for i := len(o) - 1; i > 1; i-- {
		if o[i].Visible() {
			m := widget.Least(o[i])
			right -= m.Width
			set(o[i], right, max((min(size.Height, 36)-m.Height)/2, 0), m.Width, m.Height)
			right -= 6
		}
	}
	y := max((min(size.Height, 36)-h)/2, 0)
	if l.Top {
		y = 0
	}
	set(o[0], 0, y, l.Column-8, h)
	set(o[1], l.Column, 0, right-l.Column, size.Height)
}

// HeightFor implements TallLayout.
func (l Labelled) HeightFor(o []fyne.CanvasObject, w float32) float32 {
	h := float32(30)
	if l.Top {
		h = widget.Least(o[0]).Height
	}
	room := w - l.Column
	for _, c := range o[2:] {
		if c.Visible() {
			m := widget.Least(c)
			room -= m.Width + 6
			h = max(h, m.Height)
		}
	}
	return max(h, heightOf(o[1], room))
}

func (l Labelled) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(l.Column+60, l.HeightFor(o, 400))
}

// Row is a labelled control.
func Row(label string, control ...fyne.CanvasObject) *fyne.Container {
	t := widget.NewText(label, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	return container.New(Labelled{Column: LabelColumn}, append([]fyne.CanvasObject{t}, control...)...)
}

// Caption is a paragraph of second rank.
func Caption(s string) *widget.Prose {
	return widget.NewProse(s, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 12)
}

// Prose is a paragraph of first rank.
func Prose(s string) *widget.Prose {
	return widget.NewProse(s, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 12)
}

// Indented sets one object beneath the controls of labelled rows.
type Indented struct{ By float32 }

func (l Indented) Layout(o []fyne.CanvasObject, size fyne.Size) {
	set(o[0], l.By, 0, size.Width-l.By, size.Height)
}

// HeightFor implements TallLayout.
func (l Indented) HeightFor(o []fyne.CanvasObject, w float32) float32 {
	return heightOf(o[0], w-l.By)
}

func (l Indented) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(l.By+40, l.HeightFor(o, 400))
}

// Abreast sets controls of their own width side by side, on as many lines as they
// need.
type Abreast struct{ Gap float32 }

func (l Abreast) each(o []fyne.CanvasObject, w float32, put func(c fyne.CanvasObject, x, y float32, m fyne.Size)) float32 {
	x, y, line := float32(0), float32(0), float32(0)
	for _, c := range o {
		if !c.Visible() {
			continue
		}
		m := widget.Least(c)
		m.Width = min(m.Width, w)
		if x > 0 && x+m.Width > w {
			x, y, line = 0, y+line+l.Gap, 0
		}
		put(c, x, y, m)
		x += m.Width + l.Gap
		line = max(line, m.Height)
	}
	return y + line
}

func (l Abreast) Layout(o []fyne.CanvasObject, size fyne.Size) {
	l.each(o, size.Width, func(c fyne.CanvasObject, x, y float32, m fyne.Size) { set(c, x, y, m.Width, m.Height) })
}

// HeightFor implements TallLayout.
func (l Abreast) HeightFor(o []fyne.CanvasObject, w float32) float32 {
	return l.each(o, w, func(fyne.CanvasObject, float32, float32, fyne.Size) {})
}

func (l Abreast) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(40, l.HeightFor(o, 400))
}

// Grid sets texts in rows and columns, as tables for reading are. Shares are the
// columns' parts of the width; the first Words of them stand to the left, the
// others, figures, to the right.
type Grid struct {
	Shares []float32
	Words  int
}

const gridRow = 27

// Layout implements fyne.Layout.
func (l *Grid) Layout(o []fyne.CanvasObject, size fyne.Size) {
	var sum float32
	for _, s := range l.Shares {
		sum += s
	}
	x := float32(0)
	for c, s := range l.Shares {
		w := size.Width * s / sum
		for i := c; i < len(o); i += len(l.Shares) {
			h := widget.Least(o[i]).Height
			set(o[i], x, float32(i/len(l.Shares))*gridRow+(gridRow-h)/2, w-8, h)
		}
		x += w
	}
}

// HeightFor implements TallLayout.
func (l *Grid) HeightFor(o []fyne.CanvasObject, _ float32) float32 {
	return float32(len(o)/max(len(l.Shares), 1)) * gridRow
}

// MinSize implements fyne.Layout.
func (l *Grid) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(40, l.HeightFor(o, 0))
}

// NewGrid returns a table for reading; the first row is its heading.
func NewGrid(shares []float32, words int, rows [][]string) *fyne.Container {
	g := container.New(&Grid{Shares: shares, Words: words})
	for r, row := range rows {
		for c := range shares {
			size, ink := toolkittheme.SizeNameText, toolkittheme.ColorNameForeground
			if r == 0 {
				size, ink = toolkittheme.SizeNameCaptionText, theme.ColorQuiet
			}
			t := widget.NewText(row[c], size, ink, false)
			if c >= words {
				t.Alignment = fyne.TextAlignTrailing
			}
			g.Add(t)
		}
	}
	return g
}

func set(o fyne.CanvasObject, x, y, w, h float32) {
	o.Move(fyne.NewPos(x, y))
	o.Resize(fyne.NewSize(w, h))
}

// Even sets controls in columns of one width, row by row.
type Even struct {
	Columns int
	Gap     float32
}

const evenRow = 30

func (l Even) Layout(o []fyne.CanvasObject, size fyne.Size) {
	w := (size.Width - float32(l.Columns-1)*l.Gap) / float32(l.Columns)
	for i, c := range o {
		set(c, float32(i%l.Columns)*(w+l.Gap), float32(i/l.Columns)*evenRow, w, evenRow-2)
	}
}

// HeightFor implements TallLayout.
func (l Even) HeightFor(o []fyne.CanvasObject, _ float32) float32 {
	return float32((len(o)+l.Columns-1)/l.Columns) * evenRow
}

func (l Even) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(40, l.HeightFor(o, 0))
}

// Shared sets objects side by side, each as wide as its share says.
type Shared struct {
	Shares []float32
	Gap    float32
}

func (l Shared) each(o []fyne.CanvasObject, w float32, put func(c fyne.CanvasObject, x, w float32)) {
	var sum float32
	for _, s := range l.Shares {
		sum += s
	}
	x := float32(0)
	for i, c := range o {
		part := (w - l.Gap*float32(len(o)-1)) * l.Shares[i] / sum
		put(c, x, part)
		x += part + l.Gap
	}
}

func (l Shared) Layout(o []fyne.CanvasObject, size fyne.Size) {
	l.each(o, size.Width, func(c fyne.CanvasObject, x, w float32) { set(c, x, 0, w, size.Height) })
}

// HeightFor implements TallLayout.
func (l Shared) HeightFor(o []fyne.CanvasObject, w float32) (h float32) {
	l.each(o, w, func(c fyne.CanvasObject, _, part float32) { h = max(h, heightOf(c, part)) })
	return h
}

func (l Shared) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(40, l.HeightFor(o, 400))
}
