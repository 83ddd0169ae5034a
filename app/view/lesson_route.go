package view

import (
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// routeLine is a route for a room to read.
type routeLine struct {
	stops []widget.Stop
	at    int // the station spoken of, -1 for none
	u     float32
}

func (r routeLine) sizes() (plain, trade, why float32) { return r.u * 0.74, r.u * 0.6, r.u * 0.6 }

// box returns the width of a station and of an arrow.
func (r routeLine) box(w float32) (box, arrow float32) {
	n := float32(len(r.stops))
	arrow = r.u * 1.9
	return (w - (n-1)*arrow) / max(n, 1), arrow
}

// height is what the line takes at a width.
func (r routeLine) height(w float32) float32 {
	box, _ := r.box(w)
	plain, trade, why := r.sizes()
	pad := r.u * 0.35
	var most float32
	for _, s := range r.stops {
		h := textHeight(s.Plain, box-2*pad, plain, true, 3) + textHeight(s.Trade, box-2*pad, trade, false, 3) +
			textHeight(s.Note, box-2*pad, why, true, 5)
		most = max(most, h)
	}
	return most + 2*pad
}

// set draws it and returns nothing that height did not say before.
func (r routeLine) set(t *setter, x, y, w, h float32) {
	box, arrow := r.box(w)
	plain, trade, why := r.sizes()
	pad := r.u * 0.35
	ink := widget.Color(toolkittheme.ColorNameForeground)
	for i, s := range r.stops {
		left := x + float32(i)*(box+arrow)
		if i > 0 {
			const drawnFor = 16 // the size of type that links are drawn for
			t.add(widget.Link(s.Link, left-arrow, y+pad+widget.LineHeight(plain)/2, arrow, r.u/drawnFor, ink)...)
		}
		fill, edge, width, second := widget.Color(theme.ColorBench), widget.Color(theme.ColorLine), float32(1), theme.ColorQuiet
		if s.Note != "" || i == r.at {
			fill, edge, width, second = widget.Color(theme.ColorField), ink, max(r.u*0.1, 2), toolkittheme.ColorNameForeground
		}
		if s.Note != "" {
			width = max(r.u*0.16, 2.5)
		}
		t.box(left, y, box, h, fill, edge, width)
		yy := y + pad
		yy += t.text(s.Plain, left+pad, yy, box-2*pad, plain, true, toolkittheme.ColorNameForeground, 3)
		yy += t.text(s.Trade, left+pad, yy, box-2*pad, trade, false, second, 3)
		t.text(s.Note, left+pad, yy, box-2*pad, why, true, toolkittheme.ColorNameForeground, 5)
	}
}
