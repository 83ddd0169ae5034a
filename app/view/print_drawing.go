package view

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
)

// printShown is what the print card's drawings show; without a print it is bare desk.
type printShown struct {
	print *printfile.Print
	set   setup.Setup // by which it is seen on the desk
	ppi   float64     // of the screen, 0 where it was not measured
	// X, Y is the middle of what is seen at print size, in fractions of the print.
	x, y float64
	unit lengthUnit
	// Moved is how the print lies while it is dragged; nil for as it is.
	moved *printfile.Layout
	// Slides says that the picture moves in its frame; what is cut off is shown then.
	slides bool
	// Pulls says the same while edges are pulled; the scale stays then.
	pulls bool
	// Held are the edges that the arrow keys pull.
	held printfile.Edges
}

// all tells whether all of the picture is shown, what is cut off too.
func (s printShown) all() bool { return s.slides || s.pulls }

// layout is how the print lies.
func (s printShown) layout() printfile.Layout {
	if s.moved != nil {
		return *s.moved
	}
	return s.print.Layout()
}

// printPicture paints a print: on its sheet, and at its true size. It may be used from any
// goroutine.
type printPicture struct {
	ctx   context.Context
	looks *looks
	mu    sync.Mutex
	shown printShown
	part  [4]float64 // the print on the drawing of the sheet, in device pixels: x, y, width, height
	perMM float64    // device pixels to a millimetre there
	small smallPrint
}

func (p *printPicture) set(s printShown) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.shown = s
}

func (p *printPicture) now() printShown {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.shown
}

// look returns the look that the print is seen by, nil while it is not ready.
func (p *printPicture) look(s printShown) session.Look { return p.looks.of(s.set) }

var (
	printEdge   = color.RGBA{90, 90, 90, 255}
	printMargin = color.RGBA{130, 130, 130, 255}
)

// bareDesk is a drawing with nothing on it.
func bareDesk(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	return img
}

// atPrintSize paints a part of the print as large as it will be.
func (p *printPicture) atPrintSize(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img, s := bareDesk(w, h), p.now()
	if s.print == nil || s.ppi == 0 {
		return img, nil
	}
	look := p.look(s)
	if look == nil {
		return img, []widget.Word{pending("…", img.Rect, 15)}
	}
	part, to := s.seen(w, h)
	draw.Draw(img, to.Inset(-int(10*scale)), image.NewUniform(look.Ground()), image.Point{}, draw.Src)
	px, err := s.print.Preview(p.ctx, part, to.Dx(), to.Dy())
	if err != nil || layPixels(p.ctx, img, to.Min, look, px) != nil {
		return nil, nil
	}
	return img, nil
}

// seen returns which part of the print is seen at print size in a room of w by h pixels,
// and where.
func (s printShown) seen(w, h int) (part, to image.Rectangle) {
	l := s.print.Layout()
	k := s.ppi / l.PPI // screen pixels to a pixel of the print
	whole := image.Pt(max(int(math.Round(float64(l.W)*k)), 1), max(int(math.Round(float64(l.H)*k)), 1))
	size := image.Pt(min(whole.X, w), min(whole.Y, h))
	to = image.Rectangle{Max: size}.Add(image.Pt((w-size.X)/2, (h-size.Y)/2))
	span := func(n int, most int, room int, middle float64) (int, int) {
		if room == 0 {
			return 0, most
		}
		len := min(max(int(math.Round(float64(n)/k)), 1), most)
		lo := min(max(int(math.Round(middle*float64(most)))-len/2, 0), most-len)
		return lo, lo + len
	}
	x0, x1 := span(size.X, l.W, whole.X-size.X, s.x)
	y0, y1 := span(size.Y, l.H, whole.Y-size.Y, s.y)
	return image.Rect(x0, y0, x1, y1), to
}
