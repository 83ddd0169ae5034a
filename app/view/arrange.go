package view

import (
	"cmp"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// How the window's parts and the cards are set: the small things that several of them
// use.

func heading(s string) *canvas.Text {
	return widget.NewText(s, toolkittheme.SizeNameSubHeadingText, toolkittheme.ColorNameForeground, true)
}

// prose is a paragraph of first rank with so many lines at most, caption one of second.
func prose(s string, most int) *widget.Prose {
	return widget.NewProse(s, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, most)
}

func caption(s string, most int) *widget.Prose {
	return widget.NewProse(s, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, most)
}

// proseHeight and captionHeight are the heights of so many lines of them.
func proseHeight(lines int) float32 {
	return float32(lines) * widget.LineHeight(widget.Size(toolkittheme.SizeNameText))
}

func captionHeight(lines int) float32 {
	return float32(lines) * widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText))
}

// footer is a card's own line that explains what the mouse or the keyboard is on: the
// window's is covered.
type footer struct {
	line *widget.Prose
	rest string // what it says when nothing is pointed at
}

func newFooter(rest string) *footer { return &footer{caption(rest, 2), rest} }

func (f *footer) tell(s string) { f.line.SetText(cmp.Or(s, f.rest)) }

// freeLayout calls a function to lay out a group.
type freeLayout struct {
	least fyne.Size
	place func(size fyne.Size)
}

func (l freeLayout) Layout(_ []fyne.CanvasObject, size fyne.Size) { l.place(size) }
func (l freeLayout) MinSize([]fyne.CanvasObject) fyne.Size        { return l.least }

func set(o fyne.CanvasObject, x, y, w, h float32) {
	o.Move(fyne.NewPos(x, y))
	o.Resize(fyne.NewSize(w, h))
}

func show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

// bringIntoSight scrolls to a control that the keyboard has come to.
func bringIntoSight(scroll *container.Scroll, o fyne.CanvasObject) {
	const above, below = 30, 10 // so that one sees that it goes on
	drv := fyne.CurrentApp().Driver()
	y := drv.AbsolutePositionForObject(o).Y - drv.AbsolutePositionForObject(scroll.Content).Y
	h, room := o.Size().Height, scroll.Size().Height
	to := min(scroll.Offset.Y, y-above)
	to = max(min(max(to, y+h+below-room), scroll.Content.Size().Height-room), 0)
	if to != scroll.Offset.Y {
		scroll.ScrollToOffset(fyne.NewPos(0, to))
	}
}

// stack sets objects of their own least height one beneath the other.
type stack struct{ gap float32 }

func (l stack) Layout(o []fyne.CanvasObject, size fyne.Size) {
	y := float32(0)
	for _, c := range o {
		if c.Visible() {
			h := widget.Least(c).Height
			set(c, 0, y, size.Width, h)
			y += h + l.gap
		}
	}
}

func (l stack) MinSize(o []fyne.CanvasObject) fyne.Size {
	w, y := float32(0), float32(0)
	for _, c := range o {
		if c.Visible() {
			m := widget.Least(c)
			w, y = max(w, m.Width), y+m.Height+l.gap
		}
	}
	return fyne.NewSize(w, max(y-l.gap, 0))
}

// atEnds sets a word at the left end and a control at the right one.
type atEnds struct{}

func (atEnds) Layout(o []fyne.CanvasObject, size fyne.Size) {
	w := widget.Least(o[1]).Width
	set(o[0], 0, 0, size.Width-w, size.Height)
	set(o[1], size.Width-w, 0, w, size.Height)
}

func (atEnds) MinSize(o []fyne.CanvasObject) fyne.Size {
	word, control := widget.Least(o[0]), widget.Least(o[1])
	return fyne.NewSize(word.Width+control.Width, max(word.Height, control.Height))
}

// halves lays two columns side by side.
func halves(left, right *layout.Column, share float32) *fyne.Container {
	return container.New(freeLayout{fyne.NewSize(400, 200), func(s fyne.Size) {
		const gap = 32
		w := (s.Width - gap) * share
		left.Put(0, 0, w, s.Height)
		right.Put(w+gap, 0, s.Width-gap-w, s.Height)
	}}, left.Scroll, right.Scroll)
}

// tickRows sets objects in rows from left to right; columns fixes how many stand in a
// row, each as wide as the others.
type tickRows struct {
	gap     float32
	columns int
	height  float32
}

func (l *tickRows) Layout(o []fyne.CanvasObject, size fyne.Size) {
	const row = 30
	if l.columns > 0 {
		w := (size.Width - float32(l.columns-1)*l.gap) / float32(l.columns)
		for i, c := range o {
			set(c, float32(i%l.columns)*(w+l.gap), float32(i/l.columns)*(row+4), w, row)
		}
		l.height = float32((len(o)+l.columns-1)/l.columns) * (row + 4)
		return
	}
	x, y := float32(0), float32(0)
	for _, c := range o {
		w := widget.Least(c).Width
		if x > 0 && x+w > size.Width {
			x, y = 0, y+row+4
		}
		set(c, x, y, min(w, size.Width), row)
		x += w + l.gap
	}
	l.height = y + row + 4
}

func (l *tickRows) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(80, max(l.height, 34))
}
