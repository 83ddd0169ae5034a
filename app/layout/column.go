package layout

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// Column is a flow that scrolls.
type Column struct {
	flow   *Flow
	box    *fyne.Container
	Scroll *container.Scroll
}

// NewColumn returns a column of objects.
func NewColumn(objs ...fyne.CanvasObject) *Column {
	c := &Column{flow: &Flow{Gap: 7}}
	c.box = container.New(c.flow, objs...)
	c.Scroll = container.NewVScroll(c.box)
	return c
}

// ScrollRoom is what the scroll bar takes beside the text.
const ScrollRoom = 16

// Put places the column. In another size it is laid out by that, in the one that it has
// anew.
func (c *Column) Put(x, y, w, h float32) {
	before := c.Scroll.Size()
	c.flow.Width = w - ScrollRoom
	set(c.Scroll, x, y, w, h)
	if c.Scroll.Size() == before {
		c.Again()
	}
}

// Again lays the column out anew after its content has changed; before it is first put
// somewhere there is nothing to do.
func (c *Column) Again() {
	if c.flow.Width == 0 {
		return
	}
	c.box.Refresh()
	c.Scroll.Refresh()
}

// Fill replaces what is in the column.
func (c *Column) Fill(objs ...fyne.CanvasObject) {
	c.box.Objects = objs
	c.Again()
}

// Reveal scrolls so that an object of the column is seen.
func (c *Column) Reveal(o fyne.CanvasObject) {
	d := fyne.CurrentApp().Driver()
	y := d.AbsolutePositionForObject(o).Y - d.AbsolutePositionForObject(c.Scroll).Y
	h := o.Size().Height
	switch room := c.Scroll.Size().Height; {
	case y < 0:
		c.Turn(y - 8)
	case y+h > room:
		c.Turn(min(y+h-room+8, y))
	}
}

// Top scrolls so that an object of the column stands at the top, as far as what is below
// it allows.
func (c *Column) Top(o fyne.CanvasObject) {
	d := fyne.CurrentApp().Driver()
	c.Turn(d.AbsolutePositionForObject(o).Y - d.AbsolutePositionForObject(c.Scroll).Y - 8)
}

// Turn scrolls by a distance.
func (c *Column) Turn(by float32) {
	most := max(c.box.MinSize().Height-c.Scroll.Size().Height, 0)
	y := min(max(c.Scroll.Offset.Y+by, 0), most)
	if y != c.Scroll.Offset.Y {
		c.Scroll.Offset.Y = y
		c.Scroll.Refresh()
	}
}

// Typed scrolls by the arrow, page, home and end keys, and tells whether it was one of them.
func (c *Column) Typed(e *fyne.KeyEvent) bool {
	page := c.Room() * 0.85
	switch e.Name {
	case fyne.KeyDown:
		c.Turn(40)
	case fyne.KeyUp:
		c.Turn(-40)
	case fyne.KeyPageDown:
		c.Turn(page)
	case fyne.KeyPageUp:
		c.Turn(-page)
	case fyne.KeyHome:
		c.Turn(-1e6)
	case fyne.KeyEnd:
		c.Turn(1e6)
	default:
		return false
	}
	return true
}

// Room returns how high the column is.
func (c *Column) Room() float32 { return c.Scroll.Size().Height }

// Height returns how high its content is.
func (c *Column) Height() float32 { return c.box.MinSize().Height }
