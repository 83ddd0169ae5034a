package widget

import (
	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// Contents is a list of names beneath each other, one of them chosen: by a click, or by
// the up and down keys.
type Contents struct {
	control
	Items    []string
	Chosen   int
	OnChosen func(int)
}

// NewContents returns a list of which the first is chosen.
func NewContents(items []string, choose func(int)) *Contents {
	c := &Contents{Items: items, OnChosen: choose}
	c.key = func(e *fyne.KeyEvent) bool {
		switch e.Name {
		case fyne.KeyDown:
			c.choose(c.Chosen + 1)
		case fyne.KeyUp:
			c.choose(c.Chosen - 1)
		default:
			return false
		}
		return true
	}
	c.ExtendBaseWidget(c)
	return c
}

// Set shows another item as chosen; nobody is told.
func (c *Contents) Set(chosen int) {
	if c.Chosen != chosen {
		c.Chosen = chosen
		c.Refresh()
	}
}

func (c *Contents) choose(i int) {
	if i >= 0 && i < len(c.Items) && i != c.Chosen && c.OnChosen != nil {
		c.OnChosen(i)
	}
}

// Tapped implements fyne.Tappable: the keyboard goes back to the desk.
func (c *Contents) Tapped(e *fyne.PointEvent) {
	if cv := c.canvas(); cv != nil {
		cv.Unfocus()
	}
	y := float32(0)
	for i := range c.Items {
		if y += c.itemHeight(i, c.BaseWidget.Size().Width); e.Position.Y < y {
			c.choose(i)
			return
		}
	}
}

const contentsLines = 3

func (c *Contents) lines(i int, w float32) []string {
	return Wrap(c.Items[i], w-20, Size(toolkit.SizeNameText), fyne.TextStyle{Bold: true}, contentsLines)
}

func (c *Contents) itemHeight(i int, w float32) float32 {
	return 14 + float32(len(c.lines(i, w)))*LineHeight(Size(toolkit.SizeNameText))
}

// HeightFor is the list's height at a width.
func (c *Contents) HeightFor(w float32) float32 {
	h := float32(0)
	for i := range c.Items {
		h += c.itemHeight(i, w)
	}
	return h
}

// CreateRenderer implements fyne.Widget.
func (c *Contents) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: c, min: func() fyne.Size { return fyne.NewSize(120, 40) }, draw: func(size fyne.Size) []fyne.CanvasObject {
		var out []fyne.CanvasObject
		ts := Size(toolkit.SizeNameText)
		y := float32(0)
		for i := range c.Items {
			h := c.itemHeight(i, size.Width)
			ink := toolkit.ColorNameForeground
			if i == c.Chosen {
				out = append(out, box(theme.ColorChosen, fyne.NewPos(0, y+2), fyne.NewSize(size.Width, h-4)))
				ink = theme.ColorOnChosen
			}
			for n, l := range c.lines(i, size.Width) {
				out = append(out, Line(l, 10, y+7+float32(n)*LineHeight(ts), size.Width-16, ts, i == c.Chosen, Color(ink)))
			}
			y += h
		}
		if c.focused {
			out = append(out, ring(size))
		}
		return out
	}}
}
