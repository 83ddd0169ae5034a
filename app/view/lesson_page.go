package view

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkittheme "fyne.io/fyne/v2/theme"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/lesson"
)

// page is a widget that is drawn afresh whenever size or content change.
type page struct {
	toolkit.BaseWidget
	least fyne.Size
	draw  func(size fyne.Size) []fyne.CanvasObject
}

func newPage(least fyne.Size, draw func(size fyne.Size) []fyne.CanvasObject) *page {
	p := &page{least: least, draw: draw}
	p.ExtendBaseWidget(p)
	return p
}

// CreateRenderer implements fyne.Widget.
func (p *page) CreateRenderer() fyne.WidgetRenderer { return &pageRenderer{p: p} }

type pageRenderer struct {
	p    *page
	size fyne.Size
	objs []fyne.CanvasObject
}

func (r *pageRenderer) MinSize() fyne.Size { return r.p.least }
func (r *pageRenderer) Objects() []fyne.CanvasObject {
	if r.objs == nil { // a new renderer is not laid out where the page was hidden for long
		r.Layout(r.p.Size())
	}
	return r.objs
}
func (r *pageRenderer) Destroy() {}
func (r *pageRenderer) Layout(size fyne.Size) {
	if size != r.size || r.objs == nil {
		r.size, r.objs = size, r.p.draw(size)
	}
}
func (r *pageRenderer) Refresh() {
	r.objs = r.p.draw(r.size)
	canvas.Refresh(r.p)
}

// setter sets type of any size: the theme's sizes are for a desk, not for a room.
type setter struct{ objs []fyne.CanvasObject }

func (t *setter) add(o ...fyne.CanvasObject) { t.objs = append(t.objs, o...) }

// text sets at most most lines into a width and returns the height they take.
func (t *setter) text(s string, x, y, w, size float32, bold bool, ink fyne.ThemeColorName, most int) float32 {
	st := fyne.TextStyle{Bold: bold}
	h := widget.LineHeight(size)
	lines := widget.Wrap(strings.ReplaceAll(s, "−", "–"), w, size, st, most) // a minus comes from another typeface, which sits higher
	for i, l := range lines {
		o := canvas.NewText(l, widget.Color(ink))
		o.TextSize, o.TextStyle = size, st
		set(o, x, y+float32(i)*h, w, h)
		t.add(o)
	}
	return float32(len(lines)) * h
}

// right sets one line that ends at x+w.
func (t *setter) right(s string, x, y, w, size float32, bold bool, ink fyne.ThemeColorName) {
	st := fyne.TextStyle{Bold: bold}
	o := canvas.NewText(widget.Shorten(s, w, size, st), widget.Color(ink))
	o.TextSize, o.TextStyle, o.Alignment = size, st, fyne.TextAlignTrailing
	set(o, x, y, w, widget.LineHeight(size))
	t.add(o)
}

func (t *setter) box(x, y, w, h float32, fill, edge color.Color, width float32) {
	r := canvas.NewRectangle(fill)
	r.StrokeColor, r.StrokeWidth = edge, width
	set(r, x, y, w, h)
	t.add(r)
}

func (t *setter) line(x1, y1, x2, y2, width float32) {
	l := canvas.NewLine(widget.Color(toolkittheme.ColorNameForeground))
	l.StrokeWidth = width
	l.Position1, l.Position2 = fyne.NewPos(x1, y1), fyne.NewPos(x2, y2)
	t.add(l)
}

// height is what text takes without setting it.
func textHeight(s string, w, size float32, bold bool, most int) float32 {
	return float32(len(widget.Wrap(s, w, size, fyne.TextStyle{Bold: bold}, most))) * widget.LineHeight(size)
}

// unit is the size of body type for a page, in units: a line of about 52 letters
// across its width, and 32 lines on its height.
func unit(size fyne.Size) float32 {
	u := float32(math.Min(float64(size.Width)/52, float64(size.Height)/32))
	return min(max(u, 15), 44)
}

// breaks are the shapes of broken links, the same as on the route line.
var breaks = map[proof.Fault]widget.Break{
	proof.Extra: widget.Doubled, proof.Missing: widget.Gap, proof.LeftOut: widget.Gap,
	proof.Mislabeled: widget.Crooked, proof.WrongPaper: widget.Crooked, proof.TooBright: widget.Crooked,
}

// routeLine is a route for a room to read.
type routeLine struct {
	stations []proof.Station
	at       int // the station spoken of, -1 for none
	u        float32
}

func (r routeLine) sizes() (plain, trade, why float32) { return r.u * 0.74, r.u * 0.6, r.u * 0.6 }

// box returns the width of a station and of an arrow.
func (r routeLine) box(w float32) (box, arrow float32) {
	n := float32(len(r.stations))
	arrow = r.u * 1.9
	return (w - (n-1)*arrow) / max(n, 1), arrow
}

func stationWhy(s proof.Station) string {
	if s.Fault == proof.NoFault {
		return ""
	}
	return session.Typeset(s.Fault.String() + ": " + s.Why)
}

// height is what the line takes at a width.
func (r routeLine) height(w float32) float32 {
	box, _ := r.box(w)
	plain, trade, why := r.sizes()
	pad := r.u * 0.35
	var most float32
	for _, s := range r.stations {
		h := textHeight(s.Title, box-2*pad, plain, true, 2) + textHeight(s.Detail, box-2*pad, trade, false, 2) +
			textHeight(stationWhy(s), box-2*pad, why, true, 4)
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
	for i, s := range r.stations {
		left := x + float32(i)*(box+arrow)
		if i > 0 {
			r.link(t, breaks[s.Fault], left-arrow, y+pad+widget.LineHeight(plain)/2, arrow)
		}
		fill, edge, width := widget.Color(theme.ColorBench), widget.Color(theme.ColorLine), float32(1)
		switch {
		case s.Fault != proof.NoFault:
			fill, edge, width = widget.Color(theme.ColorField), ink, max(r.u*0.16, 2.5)
		case i == r.at:
			fill, edge, width = widget.Color(theme.ColorField), ink, max(r.u*0.1, 2)
		}
		t.box(left, y, box, h, fill, edge, width)
		yy := y + pad
		second := theme.ColorQuiet
		if s.Fault != proof.NoFault || i == r.at {
			second = toolkittheme.ColorNameForeground
		}
		yy += t.text(s.Title, left+pad, yy, box-2*pad, plain, true, toolkittheme.ColorNameForeground, 2)
		yy += t.text(s.Detail, left+pad, yy, box-2*pad, trade, false, second, 2)
		t.text(stationWhy(s), left+pad, yy, box-2*pad, why, true, toolkittheme.ColorNameForeground, 4)
	}
}

// link draws an arrow of a shape, w long, its middle at height y.
func (r routeLine) link(t *setter, shape widget.Break, x, y, w float32) {
	s := r.u / 16 // shapes are drawn for type of 16
	width := max(2*s, 2)
	line := func(x1, y1, x2, y2 float32) { t.line(x1, y1, x2, y2, width) }
	a, b, head := x+3*s, x+w-3*s, 5*s
	m := (a + b) / 2
	tip := func(b float32) {
		line(b-head, y-head, b, y)
		line(b-head, y+head, b, y)
	}
	switch shape {
	case widget.Doubled:
		line(a, y-2.5*s, b-3*s, y-2.5*s)
		line(a, y+2.5*s, b-3*s, y+2.5*s)
		line(b-head-2*s, y-head-2*s, b, y)
		line(b-head-2*s, y+head+2*s, b, y)
		line(m-7*s, y-13*s, m+3*s, y-13*s)
		line(m-2*s, y-18*s, m-2*s, y-8*s)
	case widget.Gap:
		line(a, y, m-5*s, y)
		line(m+5*s, y, b, y)
		line(m-5*s, y+7*s, m-1*s, y-7*s)
		line(m+1*s, y+7*s, m+5*s, y-7*s)
	case widget.Crooked:
		q := (b - a - 5*s) / 4
		line(a, y, a+q, y-6*s)
		line(a+q, y-6*s, a+2*q, y+6*s)
		line(a+2*q, y+6*s, a+3*q, y-6*s)
		line(a+3*q, y-6*s, b, y)
		tip(b)
	default:
		line(a, y, b, y)
		tip(b)
	}
}

// patches draws a pin's colour as it should be and gone wrong, side by side; the
// second may be left out.
func (t *setter) patches(x, y, w, h float32, a, b color.Color) {
	if b == nil {
		t.box(x, y, w, h, a, widget.Color(theme.ColorLine), 1)
		return
	}
	t.box(x, y, w/2, h, a, widget.Color(theme.ColorLine), 1)
	t.box(x+w/2, y, w/2, h, b, widget.Color(theme.ColorLine), 1)
}

// pinLines sets as many pins as there is room for: patch, name and words, and says
// how many have none.
func (t *setter) pinLines(rows []lesson.Row, x, y, w, h, size float32, say func(lesson.Row) (string, color.Color, color.Color)) {
	lh := widget.LineHeight(size)
	step := lh * 1.16
	patch := lh * 2.1
	name := float32(0)
	for _, r := range rows {
		name = max(name, fyne.MeasureText(r.Pin, size, fyne.TextStyle{Bold: true}).Width)
	}
	name = min(name+size*0.7, w*0.3)
	room := int(h / step)
	for i, r := range rows {
		left := len(rows) - i
		if i == room-1 && left > 1 || i >= room {
			if i == room-1 {
				t.text(fmt.Sprintf("and %d more pins", left), x, y, w, size, false, theme.ColorQuiet, 1)
			}
			return
		}
		words, a, b := say(r)
		t.patches(x, y+lh*0.06, patch, lh*0.9, a, b)
		t.text(r.Pin, x+patch+size*0.5, y, name, size, true, toolkittheme.ColorNameForeground, 1)
		at := x + patch + size*0.5 + name
		t.text(words, at, y, x+w-at, size, false, toolkittheme.ColorNameForeground, 1)
		y += step
	}
}
