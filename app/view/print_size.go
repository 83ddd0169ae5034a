package view

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync/atomic"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// printSize shows the print as large as it will be. Before the first time it asks how fine
// the screen is: a slide is held against a bank card or a ruler.
type printSize struct {
	v       *printView
	drawing *widget.Drawing
	again   *widget.Press // measures the screen anew
	hint    *widget.Prose
	x, y    float64 // what is in the middle, in fractions of the print

	asking   bool          // the screen is being measured
	gauging  atomic.Bool   // the same, for painting
	measured atomic.Uint64 // the ppi that the slide stands at, as bits
	ruler    atomic.Bool
	slide    *widget.Slide
	against  *widget.Choice
	fits     *widget.Press
	said     *widget.Prose

	content *fyne.Container
}

// A bank card, in millimetres: ISO/IEC 7810, ID-1. The ruler is of a length that common
// screens have room for.
const (
	cardW, cardH = 85.60, 53.98
	cardCorner   = 3.18
	rulerLength  = 100.0
)

// usualScreenPPI is what the slide begins with.
const usualScreenPPI = 96

func newPrintSize(v *printView) *printSize {
	p := &printSize{v: v, x: 0.5, y: 0.5}
	p.put(usualScreenPPI)
	p.drawing = widget.NewDrawing(v.h.Session.Post, p.paint)
	p.drawing.Ground = theme.Desk
	p.drawing.OnTap = p.tapped
	p.again = widget.NewPress("Measure the screen anew", func() { p.ask(true) })
	p.again.Explain("Hold a bank card or a ruler to the screen once more: after a change of screen or of its scaling.", v.tell)
	p.hint = layout.Caption("")
	p.slide = widget.NewSlide("The screen’s pixels an inch", 50, 400, 0.5, usualScreenPPI, func(f float64) string { return fmt.Sprintf("%.1f", f) }, func(f float64) {
		p.put(f)
		p.drawing.Again()
	})
	p.slide.Explain("Move it until the drawing is as large as the thing held against the screen; the arrow keys make single steps.", v.tell)
	p.against = widget.NewChoice([]string{"a bank card", "a ruler"}, 0, func(i int) {
		p.against.Set(i)
		p.ruler.Store(i == 1)
		p.tellHow()
		p.drawing.Again()
	})
	p.against.Explain("What is held against the screen: any bank card (85.60 × 53.98 mm, ISO/IEC 7810), or a ruler along 100 mm.", v.tell)
	p.fits = widget.NewPress("It fits", p.take)
	p.fits.Explain("Keep this: it is asked for once, and saved with the desk.", v.tell)
	p.said = layout.Prose("")
	p.content = container.New(freeLayout{fyne.NewSize(300, 160), p.arrange}, p.drawing, p.said, p.against, p.slide, p.fits, p.hint, p.again)
	p.tellHow()
	p.ask(v.h.State().ScreenPPI == 0)
	return p
}

func (p *printSize) put(ppi float64) { p.measured.Store(math.Float64bits(ppi)) }
func (p *printSize) ppi() float64    { return math.Float64frombits(p.measured.Load()) }

func (p *printSize) tellHow() {
	if p.ruler.Load() {
		p.said.SetText("How fine is this screen? Hold a ruler along the line and move the slide until it is 100 mm long.")
	} else {
		p.said.SetText("How fine is this screen? Hold a bank card against the frame and move the slide until both are of one size.")
	}
}

// ask begins or ends measuring.
func (p *printSize) ask(on bool) {
	p.asking = on
	p.gauging.Store(on)
	p.drawing.Clear()
	if was := p.v.h.State().ScreenPPI; was > 0 {
		p.put(min(max(was, p.slide.Low), p.slide.High))
		p.slide.Set(p.ppi())
	}
	for _, o := range []fyne.CanvasObject{p.said, p.against, p.slide, p.fits} {
		show(o, on)
	}
	for _, o := range []fyne.CanvasObject{p.hint, p.again} {
		show(o, !on)
	}
	if p.content != nil {
		p.content.Refresh()
	}
	if p.v.content != nil {
		p.v.content.Refresh()
	}
	p.drawing.Again()
}

func (p *printSize) take() {
	p.v.h.Do(session.SetScreenPPI{PPI: p.ppi()})
	p.ask(false)
	p.v.shown()
}

// follow tells what is seen.
func (p *printSize) follow(now session.State) {
	if now.ScreenPPI > 0 {
		p.hint.SetText(fmt.Sprintf("As large as the print, on this screen of %.1f pixels an inch. The arrow keys and a click move it.", now.ScreenPPI))
	}
}

func (p *printSize) arrange(s fyne.Size) {
	foot := float32(30)
	if p.asking {
		foot = widget.SlideHeight() + p.said.HeightFor(s.Width) + 10
	}
	set(p.drawing, 0, 0, s.Width, float32(math.Floor(float64(s.Height-foot-6))))
	y := s.Height - foot
	set(p.said, 0, y, s.Width, p.said.HeightFor(s.Width))
	y2 := y + p.said.HeightFor(s.Width) + 10
	set(p.against, 0, y2+6, 190, 32)
	fw := p.fits.MinSize().Width
	set(p.fits, s.Width-fw, y2+6, fw, 32)
	set(p.slide, 206, y2, s.Width-206-fw-16, widget.SlideHeight())
	aw := p.again.MinSize().Width
	set(p.again, s.Width-aw, y, aw, 30)
	set(p.hint, 0, y, s.Width-aw-10, 30)
}

// paint shows the print, or what is held against the screen. It may be used from any
// goroutine.
func (p *printSize) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	if s := p.v.picture.now(); s.ppi > 0 && !p.gauging.Load() {
		return p.v.picture.atPrintSize(w, h, scale)
	}
	img := bareDesk(w, h)
	ink := color.RGBA{255, 255, 255, 255}
	px := func(mm float64) int { return int(math.Round(mm / 25.4 * p.ppi())) }
	if p.ruler.Load() {
		n := px(rulerLength)
		x0, y := (w-n)/2, h/2
		draw.Draw(img, image.Rect(x0, y-1, x0+n, y+1), image.NewUniform(ink), image.Point{}, draw.Src)
		for mm := 0; mm <= int(rulerLength); mm += 5 {
			high := 8
			if mm%50 == 0 {
				high = 22
			}
			x := x0 + px(float64(mm))
			draw.Draw(img, image.Rect(x-1, y-high, x+1, y+high), image.NewUniform(ink), image.Point{}, draw.Src)
		}
		return img, []widget.Word{{Text: "100 mm", X: float64(w) / 2, Y: float64(y) + 36*scale, Align: fyne.TextAlignCenter, Size: 14, Ink: color.White}}
	}
	r := image.Rect(0, 0, px(cardW), px(cardH))
	r = r.Add(image.Pt((w-r.Dx())/2, (h-r.Dy())/2))
	outline(img, r, px(cardCorner), ink)
	return img, []widget.Word{pending("a bank card’s size", r, 14)}
}

// outline draws a frame with round corners, two pixels wide.
func outline(img *image.RGBA, r image.Rectangle, corner int, ink color.RGBA) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			dx := float64(max(r.Min.X+corner-x, x-(r.Max.X-1-corner), 0))
			dy := float64(max(r.Min.Y+corner-y, y-(r.Max.Y-1-corner), 0))
			if d := math.Hypot(dx, dy); d <= float64(corner) && d > float64(corner)-2 && image.Pt(x, y).In(img.Rect) {
				img.SetRGBA(x, y, ink)
			}
		}
	}
}

// tapped moves what was tapped to the middle.
func (p *printSize) tapped(x, y float64) {
	s := p.v.picture.now()
	img := p.drawing.Shown()
	if s.print == nil || s.ppi == 0 || p.asking || img == nil {
		return
	}
	part, to := s.seen(img.Rect.Dx(), img.Rect.Dy())
	l := s.print.Layout()
	p.x = (float64(part.Min.X) + (x-float64(to.Min.X))/float64(to.Dx())*float64(part.Dx())) / float64(l.W)
	p.y = (float64(part.Min.Y) + (y-float64(to.Min.Y))/float64(to.Dy())*float64(part.Dy())) / float64(l.H)
	p.move(0, 0)
}

// move moves what is seen by parts of what is in sight.
func (p *printSize) move(dx, dy float64) {
	s := p.v.picture.now()
	img := p.drawing.Shown()
	if s.print == nil || s.ppi == 0 || img == nil {
		return
	}
	part, _ := s.seen(img.Rect.Dx(), img.Rect.Dy())
	l := s.print.Layout()
	keep := func(v, span, whole float64) float64 {
		half := min(span/whole/2, 0.5)
		return min(max(v, half), 1-half)
	}
	p.x = keep(p.x+dx*float64(part.Dx())/float64(l.W), float64(part.Dx()), float64(l.W))
	p.y = keep(p.y+dy*float64(part.Dy())/float64(l.H), float64(part.Dy()), float64(l.H))
	p.v.shown()
}

func (p *printSize) typed(e *fyne.KeyEvent) bool {
	const step = 0.25
	switch e.Name {
	case fyne.KeyLeft:
		p.move(-step, 0)
	case fyne.KeyRight:
		p.move(step, 0)
	case fyne.KeyUp:
		p.move(0, -step)
	case fyne.KeyDown:
		p.move(0, step)
	default:
		return false
	}
	return true
}
