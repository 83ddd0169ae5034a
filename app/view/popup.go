package view

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// offer is a line of a small list that opens over the window: what it says, and what it
// does. Sub unfolds beneath it instead, one at a time; it is unfolded from the first
// where open is set.
type offer struct {
	widget.Item
	act  func()
	sub  []offer
	open bool
}

// doing is an offer that sends an action.
func doing(h *Host, name string, a session.Action) offer {
	return offer{Item: widget.Item{Text: name}, act: func() { h.Do(a) }}
}

// popup is the open list.
type popup struct {
	h       *Host
	lines   []offer
	shown   []offer // those in the list, unfolded ones too
	from    []int   // of each of those, the line of lines that it is or belongs to
	list    *widget.List
	seek    *field // nil where there is nothing to seek
	over    *fyne.Container
	at      fyne.Position // the lower left corner of what was pressed
	above   float32       // how high that is
	width   float32
	keys    func(*fyne.KeyEvent)
	dropped func([]string)
}

// seekFrom is from how many lines on a field to seek in them stands above.
const seekFrom = 12

// openMenu opens a list at the edge of what was pressed, above it where there is no room
// beneath.
func openMenu(h *Host, at fyne.CanvasObject, lines []offer) {
	pos := fyne.CurrentApp().Driver().AbsolutePositionForObject(at)
	openList(h, pos.AddXY(0, at.Size().Height+2), at.Size().Height+4, lines)
}

// openMenuAt opens a list at a place of the window.
func openMenuAt(h *Host, pos fyne.Position, lines []offer) { openList(h, pos, 0, lines) }

func openList(h *Host, pos fyne.Position, above float32, lines []offer) {
	if h.covered() {
		return
	}
	p := &popup{h: h, lines: lines, at: pos, above: above}
	p.list = widget.NewList(func(i int) { p.take(i) })
	if len(lines) >= seekFrom {
		p.seek = newField("", func(string) { p.fill(-1) }, func(string) { p.list.Take() }, p.close)
		p.seek.PlaceHolder = "seek"
		p.seek.onKey = func(e *fyne.KeyEvent) bool {
			switch e.Name {
			case fyne.KeyDown, fyne.KeyUp, fyne.KeyPageDown, fyne.KeyPageUp:
				p.list.TypedKey(e)
				return true
			}
			return false
		}
	} else {
		p.list.Seek = true
	}
	p.fill(-1)
	p.open()
}

// open lays the list over the window and gives it the keyboard.
func (p *popup) open() {
	c := p.h.Window.Canvas()
	ground := canvas.NewRectangle(widget.Color(toolkittheme.ColorNameMenuBackground))
	ground.StrokeColor, ground.StrokeWidth, ground.CornerRadius = widget.Color(theme.ColorEdge), 1, 4
	veil := newVeil(p.close)
	objs := []fyne.CanvasObject{veil, ground, p.list}
	if p.seek != nil {
		objs = append(objs, p.seek)
	}
	p.width = p.wide()
	p.over = container.New(freeLayout{fyne.NewSize(10, 10), func(s fyne.Size) { p.place(s, veil, ground) }}, objs...)
	c.Overlays().Add(p.over)
	p.over.Resize(c.Size())
	p.keys, p.dropped = c.OnTypedKey(), p.h.dropping
	p.h.dropping = nil
	c.SetOnTypedKey(func(e *fyne.KeyEvent) {
		if e.Name == fyne.KeyEscape {
			p.close()
		}
	})
	if p.seek != nil {
		focusField(p.h, p.seek, false)
		return
	}
	c.Focus(p.list)
}

const (
	popupPad  = 4
	seekHigh  = 40
	popupEdge = 8 // what is left free at the window's edges
)

// wide is how wide the longest line is, within what is readable.
func (p *popup) wide() float32 {
	w := float32(220)
	ts, cs := widget.Size(toolkittheme.SizeNameText), widget.Size(toolkittheme.SizeNameCaptionText)
	for _, l := range p.all() {
		x := widget.Measure(l.Text, ts, fyne.TextStyle{Bold: true}).Width + 70
		if l.Note != "" {
			x += widget.Measure(l.Note, cs, fyne.TextStyle{}).Width + 24
		}
		if l.Under != "" {
			x = max(x, 420)
		}
		w = max(w, x)
	}
	return min(w, 560)
}

// all returns the lines with what unfolds beneath them.
func (p *popup) all() (out []offer) {
	for _, l := range p.lines {
		out = append(append(out, l), l.sub...)
	}
	return out
}

func (p *popup) place(s fyne.Size, veil fyne.CanvasObject, ground *canvas.Rectangle) {
	set(veil, 0, 0, s.Width, s.Height)
	w := min(p.width, s.Width-2*popupEdge)
	h, head := p.list.HeightFor(w-2*popupPad), float32(0)
	if p.seek != nil {
		head = seekHigh
	}
	h = min(h+head+2*popupPad, s.Height-2*popupEdge)
	x := max(min(p.at.X, s.Width-popupEdge-w), popupEdge)
	y := p.at.Y
	if y+h > s.Height-popupEdge {
		y = p.at.Y - p.above - h // above what was pressed
		if y < popupEdge {
			y = max(s.Height-popupEdge-h, popupEdge)
		}
	}
	set(ground, x, y, w, h)
	if p.seek != nil {
		set(p.seek, x+popupPad, y+popupPad, w-2*popupPad, seekHigh-6)
	}
	set(p.list, x+popupPad, y+popupPad+head, w-2*popupPad, h-head-2*popupPad)
}

// fill shows the lines that hold what is sought; the keyboard is on line at of them, on
// what is set now where that is -1.
func (p *popup) fill(at int) {
	sought := ""
	if p.seek != nil {
		sought = strings.TrimSpace(p.seek.Text)
	}
	p.shown, p.from = nil, nil
	for i, l := range p.lines {
		if sought != "" && (l.Head || !saysAll(l.Text+" "+l.Note+" "+l.Under, sought)) {
			continue
		}
		p.shown, p.from = append(p.shown, l), append(p.from, i)
		if l.open {
			for _, s := range l.sub {
				s.Deep = true
				p.shown, p.from = append(p.shown, s), append(p.from, i)
			}
		}
	}
	items := make([]widget.Item, len(p.shown))
	first := -1
	for i, l := range p.shown {
		items[i] = l.Item
		if l.sub != nil {
			items[i].Note = "▾"
		}
		if at < 0 && l.Set {
			at = i
		}
		if first < 0 && !l.Head && !l.Off {
			first = i
		}
	}
	if at < 0 {
		at = first
	}
	if len(items) == 0 {
		items = []widget.Item{{Text: "nothing here says that", Off: true}}
	}
	p.list.SetItems(items, at)
	if p.over != nil {
		p.over.Refresh() // another height
	}
}

// saysAll tells whether a text has each of the words that are sought, in any letters.
func saysAll(text, sought string) bool {
	text = strings.ToLower(text)
	for _, w := range strings.Fields(strings.ToLower(sought)) {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return true
}

func (p *popup) take(i int) {
	l := p.shown[i]
	if l.sub == nil {
		p.close()
		if l.act != nil {
			l.act()
		}
		return
	}
	at := p.from[i]
	for k := range p.lines {
		p.lines[k].open = k == at && !l.open
	}
	p.fill(at) // what stands above it is folded
	if !l.open {
		p.list.Step(len(l.sub)) // all of it in sight, where there is room
		p.list.Go(at + 1)
	}
}

func (p *popup) close() {
	c := p.h.Window.Canvas()
	c.Overlays().Remove(p.over)
	c.SetOnTypedKey(p.keys)
	p.h.dropping = p.dropped
}

// veil covers the window while a list is open: a click on it closes the list.
type veil struct {
	toolkit.BaseWidget
	tap func()
}

func newVeil(tap func()) *veil {
	v := &veil{tap: tap}
	v.ExtendBaseWidget(v)
	return v
}

func (v *veil) Tapped(*fyne.PointEvent)          { v.tap() }
func (v *veil) TappedSecondary(*fyne.PointEvent) { v.tap() }
func (v *veil) Scrolled(*fyne.ScrollEvent)       {}
func (v *veil) CreateRenderer() fyne.WidgetRenderer {
	return toolkit.NewSimpleRenderer(container.NewWithoutLayout())
}
