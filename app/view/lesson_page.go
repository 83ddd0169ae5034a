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

	"firstsheet/app/theme"
	"firstsheet/app/widget"
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
		widget.Put(o, x, y+float32(i)*h, w)
		t.add(o)
	}
	return float32(len(lines)) * h
}

// whole is a place on whole units.
func whole(v float32) float32 { return float32(math.Round(float64(v))) }

// right sets one line that ends at x+w.
func (t *setter) right(s string, x, y, w, size float32, bold bool, ink fyne.ThemeColorName) {
	st := fyne.TextStyle{Bold: bold}
	o := canvas.NewText(widget.Shorten(s, w, size, st), widget.Color(ink))
	o.TextSize, o.TextStyle, o.Alignment = size, st, fyne.TextAlignTrailing
	widget.Put(o, x, y, w)
	t.add(o)
}

func (t *setter) box(x, y, w, h float32, fill, edge color.Color, width float32) {
	r := canvas.NewRectangle(fill)
	r.StrokeColor, r.StrokeWidth = edge, width
	set(r, x, y, w, h)
	t.add(r)
}

// textHeight is what text takes without setting it.
func textHeight(s string, w, size float32, bold bool, most int) float32 {
	return float32(len(widget.Wrap(s, w, size, fyne.TextStyle{Bold: bold}, most))) * widget.LineHeight(size)
}

// unit is the size of body type for a page, in units: a line of about 52 letters
// across its width, and 32 lines on its height.
func unit(size fyne.Size) float32 {
	u := float32(math.Min(float64(size.Width)/52, float64(size.Height)/32))
	return min(max(u, 15), 44)
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

// pinLines sets as many pins as there is room for: patch, name and words, these over as
// many lines as they take, and says how many have none.
func (t *setter) pinLines(rows []lesson.Row, x, y, w, h, size float32, say func(lesson.Row) (string, color.Color, color.Color)) {
	lh := widget.LineHeight(size)
	patch := lh * 2.1
	name := float32(0)
	for _, r := range rows {
		name = max(name, widget.Measure(r.Pin, size, fyne.TextStyle{Bold: true}).Width)
	}
	name = min(name+size*0.7, w*0.3)
	at := x + patch + size*0.5 + name
	foot := y + h
	for i, r := range rows {
		words, a, b := say(r)
		need := textHeight(words, x+w-at, size, false, 4) + lh*0.16
		rest := float32(0) // of the line that counts those without room
		if i < len(rows)-1 {
			rest = lh
		}
		if y+need+rest > foot {
			if y+lh <= foot {
				t.text(fmt.Sprintf("and %s", count(len(rows)-i, "more pin")), x, y, w, size, false, theme.ColorQuiet, 1)
			}
			return
		}
		t.patches(x, y+lh*0.06, patch, lh*0.9, a, b)
		t.text(r.Pin, x+patch+size*0.5, y, name, size, true, toolkittheme.ColorNameForeground, 1)
		t.text(words, at, y, x+w-at, size, false, toolkittheme.ColorNameForeground, 4)
		y += need
	}
}
