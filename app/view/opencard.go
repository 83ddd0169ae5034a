package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// openCard is the frame that an open card stands in.
type openCard struct {
	w     *Window
	box   *fyne.Container
	id    string
	built Built
	whole bool
	alone bool // it has the screen to itself
}

func newOpenCard(w *Window) *openCard {
	c := &openCard{w: w, box: container.NewStack()}
	c.box.Hide()
	return c
}

func (c *openCard) update(now session.State) {
	if now.Card != c.id {
		c.shut()
		for _, card := range Cards() {
			if card.ID == now.Card {
				c.open(card)
			}
		}
	}
	if c.id != "" && c.built.Update != nil {
		c.built.Update(now)
	}
}

func (c *openCard) shut() {
	if c.id == "" {
		return
	}
	if c.built.Close != nil {
		c.built.Close()
	}
	c.id, c.built, c.whole, c.alone = "", Built{}, false, false
	c.box.RemoveAll()
	c.box.Hide()
	c.w.cover()
	c.w.layout.Layout(nil, c.w.layout.size)
	canvas.Refresh(c.w.win.Content())
	if c.w.keys != nil {
		c.w.keys.card = nil
	}
	c.w.h.Hint("")
	c.w.h.Focus()
}

// dropped gives files to the open card, or to the desk.
func (c *openCard) dropped(files []fyne.URI) {
	var paths []string
	for _, f := range files {
		paths = append(paths, f.Path())
	}
	if c.w.h.covered() {
		if take := c.w.h.dropping; take != nil {
			take(paths)
		}
		return
	}
	if c.built.Drop == nil || !c.built.Drop(paths) {
		dropped(c.w.h, files)
	}
}

func (c *openCard) open(card Card) {
	c.id, c.whole, c.alone = card.ID, card.Place != OverDesk, card.Place == Projected
	c.built = card.Build(c.w.h)
	ground := canvas.NewRectangle(widget.Color(theme.ColorGroup))
	ground.StrokeColor, ground.StrokeWidth = widget.Color(theme.ColorLine), 1
	title := widget.NewText(card.Name, toolkittheme.SizeNameHeadingText, toolkittheme.ColorNameForeground, true)
	shut := widget.NewPress("Close  (Esc)", c.w.h.Close)
	head := container.New(atEnds{}, title, shut)
	// The ground swallows clicks, so that they do not fall through to the desk.
	wall := newWall(c.w.h)
	inner := container.New(freeLayout{fyne.NewSize(320, 120), func(s fyne.Size) {
		set(ground, 0, 0, s.Width, s.Height)
		set(wall, 0, 0, s.Width, s.Height)
		if c.alone {
			set(c.built.Content, 0, 0, s.Width, s.Height)
			return
		}
		set(head, 20, 12, s.Width-40, 34)
		set(c.built.Content, 20, 58, s.Width-40, s.Height-58-14)
	}}, ground, wall, head, c.built.Content)
	if c.alone {
		ground.StrokeWidth = 0
		head.Hide()
	}
	c.box.Objects = []fyne.CanvasObject{inner}
	c.box.Show()
	c.w.cover()
	c.w.layout.Layout(c.w.win.Content().(*fyne.Container).Objects, c.w.layout.size)
	inner.Resize(c.box.Size()) // where the box is as large as it was for the card before
	// The box has never been painted, so that the toolkit knows no canvas for it
	// and would wait with painting until something else changes.
	canvas.Refresh(c.w.win.Content())
	if c.w.keys != nil {
		c.w.keys.card = c.built.Key
	}
	c.w.h.Focus()
}

// wall takes every click that nothing on the card takes.
type wall struct {
	toolkit.BaseWidget
	h *Host
}

func newWall(h *Host) *wall {
	w := &wall{h: h}
	w.ExtendBaseWidget(w)
	return w
}

func (w *wall) Tapped(*fyne.PointEvent)    { w.h.Focus() }
func (w *wall) Dragged(*fyne.DragEvent)    {}
func (w *wall) DragEnd()                   {}
func (w *wall) Scrolled(*fyne.ScrollEvent) {}
func (w *wall) CreateRenderer() fyne.WidgetRenderer {
	return toolkit.NewSimpleRenderer(container.NewWithoutLayout())
}
