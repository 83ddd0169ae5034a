package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// explained is a control that can explain itself.
type explained interface {
	fyne.CanvasObject
	Explain(hint string, tell func(string))
}

// leaf is what the content of a card of two columns is made of, with a line at its
// foot that explains what the mouse or the keyboard is on: the window's own is
// covered.
type leaf struct {
	h           *Host
	work        *work // ends with the card
	left, right *layout.Column
	share       float32 // the left column's part of the width
	foot        *widget.Prose
	rest        string // what the foot says when nothing is pointed at
	content     *fyne.Container
}

func newLeaf(h *Host, share float32, rest string) *leaf {
	l := &leaf{h: h, work: h.newWork(), share: share, rest: rest, left: layout.NewColumn(), right: layout.NewColumn()}
	l.foot = widget.NewProse(rest, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 3)
	rule := canvas.NewLine(widget.Color(theme.ColorLine))
	l.content = container.New(freeLayout{fyne.NewSize(860, 420), func(s fyne.Size) {
		foot := 2 * widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText))
		set(l.foot, 0, s.Height-foot, s.Width, foot)
		h := s.Height - foot - 8
		const gap = 24
		w := (s.Width - gap) * l.share
		l.left.Put(0, 0, w, h)
		l.right.Put(w+gap, 0, s.Width-w-gap, h)
		rule.Position1, rule.Position2 = fyne.NewPos(w+gap/2, 0), fyne.NewPos(w+gap/2, h)
	}}, l.left.Scroll, rule, l.right.Scroll, l.foot)
	return l
}

func (l *leaf) tell(s string) {
	if s == "" {
		s = l.rest
	}
	l.foot.SetText(s)
}

// explain gives a control its hint and keeps it in sight while it is used.
func (l *leaf) explain(c *layout.Column, o explained, hint string) {
	o.Explain(hint, func(s string) {
		if s != "" {
			c.Reveal(o)
		}
		l.tell(s)
	})
}

// typed scrolls by keys: the right column, or the left one where that has no need.
func (l *leaf) typed(e *fyne.KeyEvent) bool {
	c := l.right
	if c.Height() <= c.Room() {
		c = l.left
	}
	return c.Typed(e)
}
