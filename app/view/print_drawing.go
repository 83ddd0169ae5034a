package view

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync"

	"fyne.io/fyne/v2"

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
}

// printPicture paints a print: on its sheet, and at its true size. It may be used from any
// goroutine.
type printPicture struct {
	ctx   context.Context
	looks *looks
	mu    sync.Mutex
	shown printShown
	part  [4]float64 // the print on the drawing of the sheet, in device pixels: x, y, width, height
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

// onSheet paints the print on its sheet, to scale.
func (p *printPicture) onSheet(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img, s := bareDesk(w, h), p.now()
	if s.print == nil {
		return img, nil
	}
	l := s.print.Layout()
	room := 30 * scale // for the words beneath
	at := toScale(l, float64(w), float64(h)-room, 12*scale)
	if at == nil {
		return img, nil
	}
	ground, look := stripPaper, p.look(s)
	if look != nil {
		ground = look.Ground()
	}
	sheet, file, picture := at(l.Sheet), at(l.File), at(l.Picture)
	draw.Draw(img, sheet, image.NewUniform(ground), image.Point{}, draw.Src)
	if l.Inside != l.Sheet {
		dashed(img, at(l.Inside), printMargin, int(4*scale))
	}
	if file != picture {
		draw.Draw(img, file, image.NewUniform(ground), image.Point{}, draw.Src)
		dashed(img, file, printEdge, 0)
	}
	said := []widget.Word{{Text: sheetWords(s, l), X: float64(w) / 2, Y: float64(h) - room/2, Align: fyne.TextAlignCenter, Size: 13, Ink: color.White}}
	if look == nil {
		draw.Draw(img, picture, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
		return img, append(said, pending("…", picture, 15))
	}
	px, err := s.print.Small(p.ctx, max(picture.Dx(), picture.Dy()))
	if err != nil {
		return nil, nil
	}
	seen := image.NewRGBA(image.Rect(0, 0, px.W, px.H))
	if look.Proof(p.ctx, seen.Pix, px) != nil {
		return nil, nil
	}
	draw.Draw(img, picture, seen, image.Point{}, draw.Src) // a print may be larger than its sheet
	if union(l.Sheet, l.File) != l.Sheet {
		for i := range max(int(2*scale), 1) {
			dashed(img, sheet.Inset(i), color.RGBA{255, 255, 255, 255}, int(6*scale))
		}
	}
	p.mu.Lock()
	p.part = [4]float64{float64(picture.Min.X), float64(picture.Min.Y), float64(picture.Dx()), float64(picture.Dy())}
	p.mu.Unlock()
	return img, said
}

// sheetWords say what is drawn.
func sheetWords(s printShown, l printfile.Layout) string {
	picture := "picture " + s.unit.area(l.Picture)
	switch k := s.print.Job().Sheet; {
	case k.None():
		return "no sheet; " + picture
	case k.Roll():
		return k.Name + ", " + s.unit.length(max(l.Sheet.W, l.Sheet.H)) + " of it; " + picture
	default:
		return "sheet " + s.unit.area(l.Sheet) + " (" + k.Name + "); " + picture
	}
}

// toScale returns where rectangles of a layout lie in a room of w by h pixels, the sheet and
// what of the print lies beside it; nil where there is no room.
func toScale(l printfile.Layout, w, h, margin float64) func(printfile.Rect) image.Rectangle {
	all := union(l.Sheet, l.File)
	k := math.Min((w-2*margin)/all.W, (h-2*margin)/all.H)
	if !(k > 0) {
		return nil
	}
	x0, y0 := (w-k*all.W)/2-k*all.X, (h-k*all.H)/2-k*all.Y
	round := func(v float64) int { return int(math.Round(v)) }
	return func(r printfile.Rect) image.Rectangle {
		x, y := round(x0+k*r.X), round(y0+k*r.Y)
		return image.Rect(x, y, max(round(x0+k*(r.X+r.W)), x+1), max(round(y0+k*(r.Y+r.H)), y+1))
	}
}

// union is the rectangle round two.
func union(a, b printfile.Rect) printfile.Rect {
	x, y := math.Min(a.X, b.X), math.Min(a.Y, b.Y)
	return printfile.Rect{X: x, Y: y, W: math.Max(a.X+a.W, b.X+b.W) - x, H: math.Max(a.Y+a.H, b.Y+b.H) - y}
}

// dashed draws a frame of dashes; 0 draws it through.
func dashed(img *image.RGBA, r image.Rectangle, ink color.RGBA, dash int) {
	put := func(x, y, i int) {
		if (dash == 0 || i/dash%2 == 0) && image.Pt(x, y).In(img.Rect) {
			img.SetRGBA(x, y, ink)
		}
	}
	for x := r.Min.X; x < r.Max.X; x++ {
		put(x, r.Min.Y, x-r.Min.X)
		put(x, r.Max.Y-1, x-r.Min.X)
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		put(r.Min.X, y, y-r.Min.Y)
		put(r.Max.X-1, y, y-r.Min.Y)
	}
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
