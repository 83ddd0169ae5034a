package view

import (
	"fmt"
	"image"
	"math"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// desk is the neutral surface with the sheets. It gives every sheet a cell of
// the same size in whole device pixels, at whole device pixels.
type desk struct {
	toolkit.BaseWidget
	h       *Host
	ground  *canvas.Rectangle
	panes   [session.MaxSheets]*widget.Pane
	legends [session.MaxSheets]*widget.Legend
	count   int
	scale   float64
	cellAt  [session.MaxSheets]fyne.Position
	cell    fyne.Size
	want    session.Cell // the room of the last layout
	posted  bool         // it is on its way to the session
}

const (
	deskMargin = 12
	deskGap    = 16
)

func newDesk(h *Host) *desk {
	d := &desk{h: h, ground: canvas.NewRectangle(theme.Desk), scale: 1}
	for n := range d.panes {
		d.panes[n] = d.pane(n)
		d.legends[n] = d.legend(n)
	}
	d.ExtendBaseWidget(d)
	return d
}

func (d *desk) pane(n int) *widget.Pane {
	p := widget.NewPane(func() *image.RGBA { return d.h.Session.Store().Buffer(n) })
	p.Scale = func() float64 { return d.scale }
	place := func() session.Placing {
		s := d.h.State()
		return session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H)
	}
	p.OnTap = func(x, y float64) {
		d.h.Focus()
		d.h.Do(session.Activate{N: n})
		if m := p.MarkAt(x, y); m >= 0 {
			d.h.Do(session.ChoosePin{N: m})
		}
	}
	p.OnSecond = func(x, y float64, at fyne.Position) {
		d.h.Focus()
		d.h.Do(session.Activate{N: n}) // the menu speaks of the active sheet
		px, py := place().ToPicture(x, y)
		d.menu(p.MarkAt(x, y), px, py, at)
	}
	p.OnWheel = func(x, y, steps float64) {
		d.h.Do(session.ZoomAt{X: x, Y: y, Factor: math.Pow(1.18, clampSteps(steps))})
	}
	p.OnDrag = func(mark int, dx, dy float64) {
		s := d.h.State()
		if mark >= 0 && mark < s.NumPins {
			k := place().Scale
			x, y := s.Pins[mark].X*float64(s.Picture.W), s.Pins[mark].Y*float64(s.Picture.H)
			d.h.Do(session.MovePin{N: mark, X: x + dx/k, Y: y + dy/k})
			return
		}
		d.h.Do(session.Pan{DX: dx, DY: dy})
	}
	p.OnHover = func(over bool, x, y float64) {
		if !over {
			d.h.Do(session.Point{})
			return
		}
		pl := place()
		px, py := pl.ToPicture(x, y)
		in := image.Pt(int(x), int(y)).In(pl.Pic)
		s := d.h.State()
		if !in || px < 0 || py < 0 || px >= float64(s.Picture.W) || py >= float64(s.Picture.H) {
			d.h.Do(session.Point{})
			return
		}
		d.h.Do(session.Point{Pointer: session.Pointer{Over: true, Sheet: n, X: px, Y: py}})
	}
	return p
}

func clampSteps(s float64) float64 { return math.Max(-4, math.Min(4, s)) }

func (d *desk) legend(n int) *widget.Legend {
	l := widget.NewLegend(func() { d.h.Do(session.Activate{N: n}) })
	l.Explain("", d.h.Hint)
	l.OnDrop = func(at fyne.Position) {
		if to := d.sheetAt(at); to >= 0 && to != n {
			d.h.Do(session.CopySetup{From: n, To: to})
		}
	}
	return l
}

// sheetAt returns the sheet under a place of the window, or -1.
func (d *desk) sheetAt(at fyne.Position) int {
	o := fyne.CurrentApp().Driver().AbsolutePositionForObject(d)
	for n := 0; n < d.count; n++ {
		c := d.cellAt[n].Add(o)
		if at.X >= c.X && at.Y >= c.Y && at.X < c.X+d.cell.Width && at.Y < c.Y+d.cell.Height+widget.LegendHeight(d.cell.Width)+8 {
			return n
		}
	}
	return -1
}

// MinSize keeps a sheet of a thumbnail's size at least.
func (d *desk) MinSize() fyne.Size { return fyne.NewSize(320, 150) }

// CreateRenderer implements fyne.Widget.
func (d *desk) CreateRenderer() fyne.WidgetRenderer { return &deskRenderer{d} }

type deskRenderer struct{ d *desk }

func (r *deskRenderer) MinSize() fyne.Size    { return r.d.MinSize() }
func (r *deskRenderer) Layout(size fyne.Size) { r.d.arrange(size) }
func (r *deskRenderer) Refresh()              { r.d.arrange(r.d.Size()) }
func (r *deskRenderer) Destroy()              {}
func (r *deskRenderer) Objects() []fyne.CanvasObject {
	o := []fyne.CanvasObject{r.d.ground}
	for n := 0; n < r.d.count; n++ {
		o = append(o, r.d.panes[n], r.d.legends[n])
	}
	return o
}

// pixelScale returns the device pixels per unit, and whether they can be exact.
func pixelScale(c fyne.Canvas) (float64, bool) {
	if c == nil {
		return 1, true
	}
	x, _ := c.PixelCoordinateForPosition(fyne.NewPos(20000, 0))
	s := float64(x) / 20000
	if s <= 0 {
		return 1, true
	}
	s = math.Round(s*1000) / 1000
	// The toolkit rounds the canvas and the viewport apart at other scales.
	return s, math.Mod(s*2, 1) == 0
}

// arrange gives the cells their places, snapped to whole device pixels.
func (d *desk) arrange(size fyne.Size) {
	s := d.h.State()
	d.count = s.Count
	drv := fyne.CurrentApp().Driver()
	scale, exact := pixelScale(drv.CanvasForObject(d))
	d.scale = scale
	var abs fyne.Position
	if d.Visible() { // what is hidden lies nowhere, and would be sought everywhere
		abs = drv.AbsolutePositionForObject(d)
	}
	d.ground.Resize(size)
	snap := func(v, origin float32) float32 {
		return float32(math.Round(float64(v+origin)*scale)/scale) - origin
	}
	aspect := 1.5
	if s.Picture.H > 0 {
		aspect = float64(s.Picture.W) / float64(s.Picture.H)
	}
	w, h := size.Width-2*deskMargin, size.Height-2*deskMargin
	under := func(width float64) float64 { return float64(widget.LegendHeight(float32(width))) + 8 }
	cols := session.Columns(d.count, float64(w), float64(h), aspect, deskGap, under)
	rows := (d.count + cols - 1) / cols
	cw := (w - float32(cols-1)*deskGap) / float32(cols)
	legend := float32(under(float64(cw)))
	ch := (h-float32(rows-1)*deskGap)/float32(rows) - legend
	dw, dh := int(math.Floor(float64(cw)*scale)), int(math.Floor(float64(ch)*scale))
	if dw < 16 || dh < 16 {
		return
	}
	d.cell = fyne.NewSize(float32(float64(dw)/scale), float32(float64(dh)/scale))
	for n := 0; n < d.count; n++ {
		col, row := n%cols, n/cols
		at := fyne.NewPos(
			snap(deskMargin+float32(col)*(cw+deskGap), abs.X),
			snap(deskMargin+float32(row)*(ch+legend+deskGap), abs.Y))
		d.cellAt[n] = at
		d.panes[n].Resize(d.cell)
		d.panes[n].Move(at)
	}
	d.placeLegends()
	d.want = session.Cell{W: dw, H: dh, Scale: scale, Exact: exact}
	if d.want != s.Cell && !d.posted {
		// Not from within the layout: the state's change refreshes the desk. What
		// is wanted by then counts, for the toolkit lays a window out several times.
		d.posted = true
		d.h.Session.Post(func() {
			d.posted = false
			d.h.Do(session.Resize{Cell: d.want})
		})
	}
}

// placeLegends sets each legend right beneath its sheet.
func (d *desk) placeLegends() {
	s := d.h.State()
	pl := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H)
	k := float32(d.scale)
	for n := 0; n < d.count; n++ {
		x, y := float32(pl.Sheet.Min.X)/k, float32(pl.Sheet.Max.Y)/k
		if y <= 0 || y > d.cell.Height {
			x, y = 0, d.cell.Height
		}
		// A narrow sheet's legend may be wider than the sheet.
		x = max(min(x, d.cell.Width-420), 0) // no less than a legend of two lines needs
		w := d.cell.Width - x
		d.legends[n].Move(d.cellAt[n].AddXY(x, y+6))
		d.legends[n].Resize(fyne.NewSize(w, widget.LegendHeight(w)))
	}
}

// update brings the desk to a state.
func (d *desk) update(old, now session.State) {
	if now.Count != d.count || now.Picture.W != old.Picture.W || now.Picture.H != old.Picture.H {
		d.arrange(d.Size())
		d.Refresh()
	} else if now.View != old.View || now.Cell != old.Cell || now.Picture.Key != old.Picture.Key {
		d.placeLegends()
	}
	pl := session.Place(now.Cell, now.View, now.Picture.W, now.Picture.H)
	for n := now.Count; n < len(d.legends); n++ {
		d.legends[n].Explain("", d.h.Hint) // it is no longer under the mouse
	}
	for n := 0; n < now.Count; n++ {
		sh := now.Shown(n)
		title, figures := sheetTitle(d.h.Session.Store(), sh), legendFigures(d.h.Session.Store(), now, n, sh)
		d.legends[n].Set(fmt.Sprint(n+1), title, figures, bandsFrom(now, sh), n == now.Active && now.Count > 1)
		d.legends[n].Explain(legendHint(title, figures), d.h.Hint)
		p := d.panes[n]
		busy := now.Stale[n]
		why := now.Refusal(n)
		var marks []widget.Mark
		if why == "" {
			marks = pinMarks(now, pl)
		}
		if busy != p.Busy || why != p.Refusal || why != "" && p.Frame != pl.Sheet || !slices.Equal(marks, p.Marks) {
			p.Busy, p.Marks, p.Refusal, p.Frame = busy, marks, why, pl.Sheet
			p.Refresh()
		}
		if now.Frame != old.Frame {
			p.Show()
		}
	}
}

// legendHint says in whole what a legend has no room for, and what can be done with it.
func legendHint(title, figures string) string {
	said := title
	if figures != "" {
		said += ". " + figures
	}
	if !strings.HasSuffix(said, "…") {
		said += "."
	}
	return said + " Drag this line onto another sheet to give that one this set-up."
}

// namesFrom is the width of a sheet, in units, that has room for the names of all pins.
const namesFrom = 360

// pinMarks returns the pins that lie within the visible part of the picture.
func pinMarks(s session.State, pl session.Placing) []widget.Mark {
	var out []widget.Mark
	if s.Looking.NoPins {
		return nil
	}
	spoken := s.Told().Pin
	wide := float64(pl.Sheet.Dx()) >= namesFrom*s.Cell.Scale
	for i := 0; i < s.NumPins; i++ {
		p := s.Pins[i]
		x, y := pl.ToCell(p.X*float64(s.Picture.W), p.Y*float64(s.Picture.H))
		m := widget.Mark{X: x, Y: y, Radius: session.PinRadius(s.Picture, p) * pl.Scale, Chosen: i == s.Pin}
		// Names would cover the picture: without the table only the pin that the
		// sentence speaks of has its name, and the one that is pointed at.
		m.Name = p.Name
		m.Named = s.Folds.Pins && wide || i == s.Pin || i == spoken
		if !image.Pt(int(x), int(y)).In(pl.Pic) {
			m.X, m.Y = -1e6, -1e6 // keeps its number, is not drawn
		}
		out = append(out, m)
	}
	return out
}
