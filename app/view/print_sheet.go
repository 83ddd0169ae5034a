package view

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/printfile"
	"firstsheet/proof/raster"
)

// smallPrint is the last picture that was made for the drawing of the sheet. While a print is
// dragged it serves again.
type smallPrint struct {
	print *printfile.Print
	look  session.Look
	whole bool
	img   *image.RGBA
}

// onSheet paints the print on its sheet, to scale.
func (p *printPicture) onSheet(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img, s := bareDesk(w, h), p.now()
	if s.print == nil {
		return img, nil
	}
	l := s.layout()
	room := 30 * scale // for the words beneath
	all := union(l.Sheet, l.File)
	if s.slides {
		all = union(all, s.print.Layout().WholePicture())
	}
	at, perMM := toScale(all, float64(w), float64(h)-room, 12*scale)
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
	if !p.drawPicture(img, s, look, picture, at(l.WholePicture())) {
		return nil, nil
	}
	if union(l.Sheet, l.File) != l.Sheet {
		for i := range max(int(2*scale), 1) {
			dashed(img, sheet.Inset(i), color.RGBA{255, 255, 255, 255}, int(6*scale))
		}
	}
	drawHandles(img, picture, s.held, scale)
	p.mu.Lock()
	p.part = [4]float64{float64(picture.Min.X), float64(picture.Min.Y), float64(picture.Dx()), float64(picture.Dy())}
	p.perMM = perMM
	p.mu.Unlock()
	return img, said
}

// drawPicture draws what is printed; where the picture slides in its frame what is cut off
// too, faintly, all round it. It returns false when it was stopped.
func (p *printPicture) drawPicture(img *image.RGBA, s printShown, look session.Look, picture, whole image.Rectangle) bool {
	size := picture
	if s.all() {
		size = whole
	}
	seen := p.smallPicture(s, look, size)
	if seen == nil {
		return false
	}
	if !s.all() {
		draw.Draw(img, picture, seen, image.Point{}, draw.Src) // a print may be larger than its sheet
		return true
	}
	const faint = 70 // of 255
	draw.DrawMask(img, whole, seen, image.Point{}, image.NewUniform(color.Alpha{faint}), image.Point{}, draw.Over)
	draw.Draw(img, picture, seen, picture.Min.Sub(whole.Min), draw.Src)
	dashed(img, picture.Inset(-1), color.RGBA{255, 255, 255, 255}, 0)
	return true
}

// smallPicture returns the print's picture, or all of it, as seen in that many pixels.
func (p *printPicture) smallPicture(s printShown, look session.Look, r image.Rectangle) *image.RGBA {
	p.mu.Lock()
	have := p.small
	p.mu.Unlock()
	if have.print == s.print && have.look == look && have.whole == s.all() && have.img.Rect.Size() == r.Size() {
		return have.img
	}
	var px raster.Pixels
	var err error
	if s.all() {
		px, err = s.print.Whole(p.ctx, r.Dx(), r.Dy())
	} else {
		px, err = s.print.Small(p.ctx, max(r.Dx(), r.Dy()))
	}
	if err != nil {
		return nil
	}
	seen := image.NewRGBA(image.Rect(0, 0, px.W, px.H))
	if look.Proof(p.ctx, seen.Pix, px) != nil {
		return nil
	}
	p.mu.Lock()
	p.small = smallPrint{s.print, look, s.all(), seen}
	p.mu.Unlock()
	return seen
}

// sheetWords say what is drawn.
func sheetWords(s printShown, l printfile.Layout) string {
	picture := "picture " + s.unit.area(l.Picture)
	hint := "drag it, or pull its edges; arrow keys too"
	if s.held != 0 {
		hint = "arrow keys pull the " + edgeName(s.held) + " edge, X takes the next"
	}
	switch k := s.print.Job().Sheet; {
	case s.slides || s.pulls:
		if s.held == 0 {
			hint = "drag the picture in its frame, or pull the edges; arrow keys too"
		}
		return picture + " of " + s.unit.area(l.WholePicture()) + "; " + hint
	case k.None():
		return "no sheet; " + picture + "; " + hint
	case k.Roll():
		return k.Name + ", " + s.unit.length(max(l.Sheet.W, l.Sheet.H)) + " of it; " + picture + "; " + hint
	default:
		return "sheet " + s.unit.area(l.Sheet) + " (" + k.Name + "); " + picture + "; " + hint
	}
}

// toScale returns where rectangles lie when all is fitted into a room of w by h pixels, and
// the pixels to a millimetre; nil where there is no room.
func toScale(all printfile.Rect, w, h, margin float64) (at func(printfile.Rect) image.Rectangle, perMM float64) {
	k := math.Min((w-2*margin)/all.W, (h-2*margin)/all.H)
	if !(k > 0) {
		return nil, 0
	}
	x0, y0 := (w-k*all.W)/2-k*all.X, (h-k*all.H)/2-k*all.Y
	round := func(v float64) int { return int(math.Round(v)) }
	return func(r printfile.Rect) image.Rectangle {
		x, y := round(x0+k*r.X), round(y0+k*r.Y)
		return image.Rect(x, y, max(round(x0+k*(r.X+r.W)), x+1), max(round(y0+k*(r.Y+r.H)), y+1))
	}, k
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
