package widget

import (
	"image"
	"image/color"
	"image/draw"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"

	"firstsheet/app/theme"
)

// Pane shows one sheet's finished buffer, pixel for pixel, and reports what the
// mouse does on it in device pixels from the pane's top left corner.
type Pane struct {
	base
	// Buffer returns the finished picture, or nil. It is only read while drawing.
	Buffer func() *image.RGBA
	// Busy shows the small sign that something is being computed.
	Busy bool
	// Marks are drawn over the sheet.
	Marks []Mark
	// Refusal is written on the sheet where its picture can't be shown: why, a sentence.
	Refusal string
	// Frame is what their names keep within, in device pixels; empty for the whole pane.
	Frame image.Rectangle

	OnTap    func(x, y float64)
	OnSecond func(x, y float64, at fyne.Position)
	OnWheel  func(x, y, steps float64)
	OnDrag   func(mark int, dx, dy float64)
	OnHover  func(over bool, x, y float64)
	// Scale returns the device pixels per unit.
	Scale func() float64

	raster  *canvas.Raster
	last    *image.RGBA
	grabbed int
	pointed int // the mark under the mouse, or -1
	drag    bool
}

// Mark is a pin on the sheet, in device pixels.
type Mark struct {
	X, Y   float64
	Radius float64
	Name   string
	Named  bool // the name stands beside it; else it does while the mouse is on it
	Chosen bool
}

var (
	_ fyne.Draggable         = (*Pane)(nil)
	_ fyne.Scrollable        = (*Pane)(nil)
	_ fyne.Tappable          = (*Pane)(nil)
	_ fyne.SecondaryTappable = (*Pane)(nil)
	_ desktop.Hoverable      = (*Pane)(nil)
	_ desktop.Mouseable      = (*Pane)(nil)
)

// NewPane returns a pane that shows what buffer returns.
func NewPane(buffer func() *image.RGBA) *Pane {
	p := &Pane{Buffer: buffer, grabbed: -1, pointed: -1, Scale: func() float64 { return 1 }}
	p.raster = canvas.NewRaster(p.generate)
	p.raster.ScaleMode = canvas.ImageScalePixels
	p.ExtendBaseWidget(p)
	return p
}

// generate hands the finished buffer to the painter. It never computes: where
// the window was resized a moment ago and no buffer of that size is there yet,
// the old one is set in the middle of a bare desk.
func (p *Pane) generate(w, h int) image.Image {
	b := p.Buffer()
	if b != nil && b.Rect.Dx() == w && b.Rect.Dy() == h {
		p.last = nil
		return b
	}
	if p.last == nil || p.last.Rect.Dx() != w || p.last.Rect.Dy() != h {
		p.last = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	draw.Draw(p.last, p.last.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	if b != nil {
		off := image.Pt((w-b.Rect.Dx())/2, (h-b.Rect.Dy())/2)
		draw.Draw(p.last, b.Rect.Add(off), b, image.Point{}, draw.Src)
	}
	return p.last
}

// Show has the new buffer painted.
func (p *Pane) Show() { p.raster.Refresh() }

func (p *Pane) device(pos fyne.Position) (float64, float64) {
	s := p.Scale()
	return float64(pos.X) * s, float64(pos.Y) * s
}

// near returns the mark at a place, or -1.
func (p *Pane) near(x, y float64) int {
	best, at := 14*p.Scale(), -1
	for i, m := range p.Marks {
		dx, dy := m.X-x, m.Y-y
		if d := dx*dx + dy*dy; d < best*best {
			best, at = best*0.999, i
		}
	}
	return at
}

// MarkAt returns the mark at a place in device pixels, or -1.
func (p *Pane) MarkAt(x, y float64) int { return p.near(x, y) }

// Tapped implements fyne.Tappable.
func (p *Pane) Tapped(e *fyne.PointEvent) {
	if p.OnTap != nil {
		x, y := p.device(e.Position)
		p.OnTap(x, y)
	}
}

// TappedSecondary implements fyne.SecondaryTappable.
func (p *Pane) TappedSecondary(e *fyne.PointEvent) {
	if p.OnSecond != nil {
		x, y := p.device(e.Position)
		p.OnSecond(x, y, e.AbsolutePosition)
	}
}

// Scrolled implements fyne.Scrollable: 10 units of the toolkit are one notch.
func (p *Pane) Scrolled(e *fyne.ScrollEvent) {
	if p.OnWheel != nil && e.Scrolled.DY != 0 {
		x, y := p.device(e.Position)
		p.OnWheel(x, y, float64(e.Scrolled.DY)/10)
	}
}

// MouseDown implements desktop.Mouseable: it remembers which mark is grabbed.
func (p *Pane) MouseDown(e *desktop.MouseEvent) {
	x, y := p.device(e.Position)
	p.grabbed = p.near(x, y)
}

// MouseUp implements desktop.Mouseable.
func (p *Pane) MouseUp(*desktop.MouseEvent) {}

// Dragged implements fyne.Draggable.
func (p *Pane) Dragged(e *fyne.DragEvent) {
	p.drag = true
	if p.OnDrag != nil {
		dx, dy := p.device(fyne.NewPos(e.Dragged.DX, e.Dragged.DY))
		p.OnDrag(p.grabbed, dx, dy)
	}
}

// DragEnd implements fyne.Draggable.
func (p *Pane) DragEnd() { p.drag, p.grabbed = false, -1 }

// MouseIn implements desktop.Hoverable.
func (p *Pane) MouseIn(e *desktop.MouseEvent) { p.MouseMoved(e) }

// MouseMoved implements desktop.Hoverable.
func (p *Pane) MouseMoved(e *desktop.MouseEvent) {
	p.point(p.near(p.device(e.Position)))
	if p.OnHover != nil {
		x, y := p.device(e.Position)
		p.OnHover(true, x, y)
	}
}

// MouseOut implements desktop.Hoverable.
func (p *Pane) MouseOut() {
	p.point(-1)
	if p.OnHover != nil {
		p.OnHover(false, 0, 0)
	}
}

// point shows the name of the mark under the mouse.
func (p *Pane) point(mark int) {
	if mark != p.pointed {
		p.pointed = mark
		p.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (p *Pane) CreateRenderer() fyne.WidgetRenderer {
	r := &paneRenderer{p: p}
	r.Layout(p.Size()) // of a pane that was hidden for long too
	return r
}

type paneRenderer struct {
	p    *Pane
	size fyne.Size
	objs []fyne.CanvasObject
}

func (r *paneRenderer) MinSize() fyne.Size { return fyne.NewSize(64, 64) }

func (r *paneRenderer) Layout(size fyne.Size) {
	r.size = size
	r.p.raster.Move(fyne.NewPos(0, 0))
	r.p.raster.Resize(size)
	r.build()
}

func (r *paneRenderer) Refresh() {
	r.build()
	canvas.Refresh(r.p)
}

func (r *paneRenderer) Objects() []fyne.CanvasObject { return r.objs }
func (r *paneRenderer) Destroy()                     {}

// build makes the marks: a dark ring inside a light one, so that they show on
// any picture, and the name on a dark label. They are neutral.
func (r *paneRenderer) build() {
	p := r.p
	r.objs = []fyne.CanvasObject{p.raster}
	s := float32(p.Scale())
	if s <= 0 {
		s = 1
	}
	var taken [][4]float32
	for _, m := range p.Marks {
		taken = append(taken, [4]float32{float32(m.X)/s - 7, float32(m.Y)/s - 7, 14, 14})
	}
	for i, m := range p.Marks {
		x, y := float32(m.X)/s, float32(m.Y)/s
		if x < 0 || y < 0 || x > r.size.Width || y > r.size.Height {
			continue
		}
		rad := max(float32(m.Radius)/s, 6)
		if m.Chosen {
			rad = max(rad, 8)
		}
		for _, c := range []struct {
			d float32
			g uint8
			w float32
		}{{1.5, 0, 1.5}, {0, 255, 1.5}} {
			o := canvas.NewCircle(color.Transparent)
			o.StrokeColor, o.StrokeWidth = color.NRGBA{c.g, c.g, c.g, 255}, c.w
			if m.Chosen {
				o.StrokeWidth = c.w + 0.5
			}
			o.Position1, o.Position2 = fyne.NewPos(x-rad-c.d, y-rad-c.d), fyne.NewPos(x+rad+c.d, y+rad+c.d)
			r.objs = append(r.objs, o)
		}
		if m.Named || i == p.pointed && m.Name != "" {
			const ts = 13
			w, h := width(m.Name, ts, fyne.TextStyle{}), LineHeight(ts)
			at := r.room(&taken, x, y, rad, w+8, h+2)
			bg := canvas.NewRectangle(color.NRGBA{20, 20, 20, 190})
			bg.CornerRadius = 3
			bg.Move(at)
			bg.Resize(fyne.NewSize(w+8, h+2))
			r.objs = append(r.objs, bg, Line(m.Name, at.X+4, at.Y+1, w, ts, false, color.White))
		}
	}
	if p.Refusal != "" {
		r.objs = append(r.objs, r.refusal()...)
	}
	if p.Busy {
		// Three grey dots on the desk's corner of the cell, not on the sheet.
		for i := range 3 {
			d := canvas.NewCircle(color.NRGBA{235, 235, 235, 255})
			d.StrokeColor, d.StrokeWidth = color.NRGBA{30, 30, 30, 255}, 1
			d.Position1 = fyne.NewPos(4+float32(i)*11, 4)
			d.Position2 = d.Position1.AddXY(7, 7)
			r.objs = append(r.objs, d)
		}
	}
}

// refusal writes why the sheet is empty on a plain field in the middle of it.
func (r *paneRenderer) refusal() []fyne.CanvasObject {
	const inset, ts, most = 14, 15, 8
	x0, y0, x1, y1 := r.frame()
	x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, r.size.Width), min(y1, r.size.Height)
	lines := Wrap(r.p.Refusal, min(x1-x0-4*inset, 460), ts, fyne.TextStyle{}, most)
	var w float32
	for _, l := range lines {
		w = max(w, width(l, ts, fyne.TextStyle{}))
	}
	h := float32(len(lines)) * LineHeight(ts)
	at := fyne.NewPos((x0+x1-w)/2, (y0+y1-h)/2)
	field := canvas.NewRectangle(color.Gray{Y: 235})
	field.CornerRadius = 4
	field.Move(at.SubtractXY(inset, inset))
	field.Resize(fyne.NewSize(w+2*inset, h+2*inset))
	out := []fyne.CanvasObject{field}
	for i, l := range lines {
		out = append(out, Line(l, at.X, at.Y+float32(i)*LineHeight(ts), w, ts, false, color.Gray{Y: 20}))
	}
	return out
}

// frame returns what names keep within, in units.
func (r *paneRenderer) frame() (x0, y0, x1, y1 float32) {
	f, s := r.p.Frame, float32(r.p.Scale())
	if f.Empty() || s <= 0 {
		return 0, 0, r.size.Width, r.size.Height
	}
	return float32(f.Min.X) / s, float32(f.Min.Y) / s, float32(f.Max.X) / s, float32(f.Max.Y) / s
}

// room finds a place for a label of w by h beside a mark: right, left, below, above
// or at a corner of it, the first that lies on the pane and on no other mark or
// label; in a crowd the one that covers least of them.
func (r *paneRenderer) room(taken *[][4]float32, x, y, rad, w, h float32) fyne.Position {
	x0, y0, x1, y1 := r.frame()
	mid := min(max(x-w/2, x0), max(x1-w, x0))
	side := max(rad, 8)
	tries := []fyne.Position{
		{X: x + side + 4, Y: y - h/2}, {X: x - side - 4 - w, Y: y - h/2}, {X: mid, Y: y + side + 3}, {X: mid, Y: y - side - 3 - h},
	}
	for _, dy := range []float32{side + 2, -side - 2 - h} {
		tries = append(tries, fyne.NewPos(x+side-2, y+dy), fyne.NewPos(x-side+2-w, y+dy))
	}
	at, least := tries[0], float32(-1)
	for _, t := range tries {
		if t.X < x0 || t.Y < y0 || t.X+w > x1 || t.Y+h > y1 {
			continue
		}
		var covered float32
		for _, o := range *taken {
			covered += max(min(t.X+w, o[0]+o[2])-max(t.X, o[0]), 0) * max(min(t.Y+h, o[1]+o[3])-max(t.Y, o[1]), 0)
		}
		if least < 0 || covered < least {
			at, least = t, covered
		}
		if covered == 0 {
			break
		}
	}
	*taken = append(*taken, [4]float32{at.X, at.Y, w, h})
	return at
}
