package widget

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
)

// Drawing shows an image that is painted aside, for the exact device pixels that
// it has, with words over it. A new painting replaces the old one when it is
// finished; meanwhile the old one stays.
type Drawing struct {
	base
	// Paint returns the drawing for a size in device pixels and the device pixels
	// per unit: a tight opaque image with origin 0, and the words over it. It is
	// called away from the drawing goroutine and must not touch widgets.
	Paint func(w, h int, scale float64) (*image.RGBA, []Word)
	// Post runs a function on the drawing goroutine. Aside runs one away from it;
	// nil starts a goroutine.
	Post  func(func())
	Aside func(func())
	// Ground is shown where nothing is painted yet.
	Ground color.Color
	// Least is the least size.
	Least fyne.Size
	// OnTap is told where it was tapped, in device pixels; nil for nothing.
	OnTap func(x, y float64)
	// OnGrab is told where a drag begins, in device pixels, before OnDrag; nil for nothing.
	OnGrab func(x, y float64)
	// OnDrag is told by how much it was dragged, in device pixels, and OnDragEnd when
	// the mouse lets go; nil for nothing.
	OnDrag    func(dx, dy float64)
	OnDragEnd func()

	raster *canvas.Raster
	shown  *image.RGBA
	words  []Word
	w, h   int
	busy   bool
	again  bool
	drags  bool
	scale  float64
	rest   *image.RGBA
	// lay puts the words in place; the renderer sets it.
	lay func()
}

// Word is a piece of text over a drawing, placed in device pixels. X and Y are
// the middle of its left end, of its middle or of its right end as Align says.
type Word struct {
	Text  string
	X, Y  float64
	Align fyne.TextAlign
	Size  float32
	Bold  bool
	Ink   color.Color
	// Plate is put under it; nil for none.
	Plate color.Color
}

var (
	_ fyne.Tappable  = (*Drawing)(nil)
	_ fyne.Draggable = (*Drawing)(nil)
)

// NewDrawing returns a drawing.
func NewDrawing(post func(func()), paint func(w, h int, scale float64) (*image.RGBA, []Word)) *Drawing {
	d := &Drawing{Paint: paint, Post: post, Ground: color.Gray{119}, Least: fyne.NewSize(120, 120), scale: 1}
	d.raster = canvas.NewRaster(d.generate)
	d.raster.ScaleMode = canvas.ImageScalePixels
	d.ExtendBaseWidget(d)
	return d
}

// Shown returns the finished image, nil before the first.
func (d *Drawing) Shown() *image.RGBA { return d.shown }

// Words returns the words over it.
func (d *Drawing) Words() []Word { return d.words }

// generate hands over the finished image; when the size has changed it asks for
// a new one and shows the old one in the middle.
func (d *Drawing) generate(w, h int) image.Image {
	if w != d.w || h != d.h {
		d.w, d.h = w, h
		if size := d.BaseWidget.Size(); size.Width > 0 {
			d.scale = math.Round(float64(w)/float64(size.Width)*100) / 100
		}
		d.Again()
	}
	if d.shown != nil && d.shown.Rect.Dx() == w && d.shown.Rect.Dy() == h {
		return d.shown
	}
	if d.rest == nil || d.rest.Rect.Dx() != w || d.rest.Rect.Dy() != h {
		d.rest = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	draw.Draw(d.rest, d.rest.Rect, image.NewUniform(d.Ground), image.Point{}, draw.Src)
	if d.shown != nil {
		off := image.Pt((w-d.shown.Rect.Dx())/2, (h-d.shown.Rect.Dy())/2)
		draw.Draw(d.rest, d.shown.Rect.Add(off), d.shown, image.Point{}, draw.Src)
	}
	return d.rest
}

// Clear takes the finished image away: what is painted next is of something else.
func (d *Drawing) Clear() {
	d.shown, d.words = nil, nil
	if d.lay != nil {
		d.lay()
	}
	canvas.Refresh(d)
}

// Again has it painted anew. While one painting is under way the next waits; only
// the last asked for is painted then.
func (d *Drawing) Again() {
	if d.w <= 0 || d.h <= 0 {
		return
	}
	if d.busy {
		d.again = true
		return
	}
	d.busy, d.again = true, false
	w, h, scale := d.w, d.h, d.scale
	job := func() {
		img, words := d.Paint(w, h, scale)
		d.Post(func() {
			d.busy = false
			if img != nil {
				d.shown, d.words = img, words
				if d.lay != nil {
					d.lay()
				}
				canvas.Refresh(d)
				d.raster.Refresh()
			}
			if d.again {
				d.Again()
			}
		})
	}
	if d.Aside != nil {
		d.Aside(job)
	} else {
		go job()
	}
}

// Tapped implements fyne.Tappable.
func (d *Drawing) Tapped(e *fyne.PointEvent) {
	if cv := fyne.CurrentApp().Driver().CanvasForObject(d); cv != nil {
		cv.Unfocus()
	}
	if d.OnTap != nil {
		d.OnTap(float64(e.Position.X)*d.scale, float64(e.Position.Y)*d.scale)
	}
}

// Dragged implements fyne.Draggable.
func (d *Drawing) Dragged(e *fyne.DragEvent) {
	if !d.drags && d.OnGrab != nil {
		d.OnGrab(float64(e.Position.X-e.Dragged.DX)*d.scale, float64(e.Position.Y-e.Dragged.DY)*d.scale)
	}
	d.drags = true
	if d.OnDrag != nil {
		d.OnDrag(float64(e.Dragged.DX)*d.scale, float64(e.Dragged.DY)*d.scale)
	}
}

// DragEnd implements fyne.Draggable.
func (d *Drawing) DragEnd() {
	d.drags = false
	if d.OnDragEnd != nil {
		d.OnDragEnd()
	}
}

// CreateRenderer implements fyne.Widget.
func (d *Drawing) CreateRenderer() fyne.WidgetRenderer {
	r := &drawingRenderer{d: d, objs: []fyne.CanvasObject{d.raster}}
	d.lay = r.lay
	r.lay() // of a drawing that was hidden for long too; the raster keeps its place
	return r
}

type drawingRenderer struct {
	d    *Drawing
	objs []fyne.CanvasObject
}

func (r *drawingRenderer) MinSize() fyne.Size           { return r.d.Least }
func (r *drawingRenderer) Objects() []fyne.CanvasObject { return r.objs }
func (r *drawingRenderer) Destroy()                     {}
func (r *drawingRenderer) Refresh()                     { canvas.Refresh(r.d) }

// Layout gives the raster whole device pixels, at whole device pixels of the
// window: between them a column of pixels would be drawn twice.
func (r *drawingRenderer) Layout(size fyne.Size) {
	scale := float32(1)
	var off fyne.Position
	if cv := fyne.CurrentApp().Driver().CanvasForObject(r.d); cv != nil {
		scale = cv.Scale()
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(r.d)
		up := func(v float32) float32 {
			dev := float64(v * scale)
			return float32(math.Ceil(dev-1e-3)-dev) / scale
		}
		off = fyne.NewPos(up(at.X), up(at.Y))
	}
	down := func(v float32) float32 { return float32(math.Floor(float64(v*scale)+1e-3)) / scale }
	r.d.raster.Move(off)
	r.d.raster.Resize(fyne.NewSize(down(size.Width-off.X), down(size.Height-off.Y)))
	r.lay()
}

// lay makes the words.
func (r *drawingRenderer) lay() {
	r.objs = []fyne.CanvasObject{r.d.raster}
	s := float32(r.d.scale)
	if s <= 0 {
		s = 1
	}
	off := r.d.raster.Position()
	for _, w := range r.d.words {
		t := typed(w.Text, w.Size, w.Bold, w.Ink)
		tw, th := width(w.Text, w.Size, t.TextStyle), LineHeight(w.Size)
		at := fyne.NewPos(float32(w.X)/s, float32(w.Y)/s-th/2).Add(off)
		switch w.Align {
		case fyne.TextAlignCenter:
			at.X -= tw / 2
		case fyne.TextAlignTrailing:
			at.X -= tw
		}
		if w.Plate != nil {
			p := canvas.NewRectangle(w.Plate)
			p.CornerRadius = 3
			p.Move(at.SubtractXY(4, 0))
			p.Resize(fyne.NewSize(tw+8, th))
			r.objs = append(r.objs, p)
		}
		Put(t, at.X, at.Y, tw)
		r.objs = append(r.objs, t)
	}
}

// Scale returns the device pixels per unit that it was last painted for.
func (d *Drawing) Scale() float64 { return d.scale }
