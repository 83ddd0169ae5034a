package lesson

import (
	"context"
	"image"
	"image/color"
	"image/draw"

	"github.com/disintegration/imaging"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
)

// render shows numbers by a plan, finely sampled: the bytes that the screen is told.
func render(ctx context.Context, e Engine, p proof.Plan, px raster.Pixels) (*image.RGBA, error) {
	g, err := e.Grid(ctx, p, proof.Fine)
	if err != nil {
		return nil, err
	}
	img := image.NewRGBA(image.Rect(0, 0, px.W, px.H))
	return img, g.Proof(ctx, img.Pix, px)
}

// Pair is a picture twice: as it should be, and gone wrong.
type Pair struct{ Right, Wrong *image.RGBA }

// Pairs renders the pair of a mistake for paper and files, each no larger than side
// pixels. They are looked at still and closely, so what the window averages for
// speed is brought to size by a windowed sinc here, after the proof.
func Pairs(ctx context.Context, e Engine, l *Lesson, s Step, levels []raster.Pixels, side int) (Pair, error) {
	px := levels[0]
	for _, half := range levels[1:] {
		if max(half.W, half.H) < side {
			break
		}
		px = half
	}
	var out Pair
	for _, of := range []struct {
		to   **image.RGBA
		plan proof.Plan
	}{{&out.Right, l.Plan}, {&out.Wrong, s.Plan}} {
		img, err := render(ctx, e, of.plan, px)
		if err != nil {
			return Pair{}, err
		}
		small := imaging.Fit(img, side, side, imaging.Lanczos)
		*of.to = image.NewRGBA(small.Rect)
		draw.Draw(*of.to, small.Rect, small, image.Point{}, draw.Src)
	}
	return out, ctx.Err()
}

// Neutral greys of the sheet that a pair is laid on.
var (
	sheetGrey = color.RGBA{119, 119, 119, 255}
	sheetInk  = color.RGBA{255, 255, 255, 255}
)

// Side lays a pair side by side on neutral grey with a line of text under each, as
// a picture whose numbers are the screen's.
func (p Pair) Side(right, wrong string, screen *proof.Profile) (*photo.Picture, error) {
	w, h := p.Right.Rect.Dx(), p.Right.Rect.Dy()
	gap := max(w/40, 8)
	em := max(float64(w)/38, 10)
	foot := int(em * 3)
	img := image.NewRGBA(image.Rect(0, 0, 2*w+3*gap, h+gap+foot))
	draw.Draw(img, img.Rect, image.NewUniform(sheetGrey), image.Point{}, draw.Src)
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: em, DPI: 72})
	if err != nil {
		return nil, err
	}
	defer face.Close()
	for i, half := range []struct {
		m    *image.RGBA
		text string
	}{{p.Right, right}, {p.Wrong, wrong}} {
		x := gap + i*(w+gap)
		draw.Draw(img, image.Rect(x, gap, x+w, gap+h), half.m, image.Point{}, draw.Src)
		d := font.Drawer{Dst: img, Src: image.NewUniform(sheetInk), Face: face}
		d.Dot = fixed.P(x, gap+h+int(em*1.5))
		d.DrawString(cut(face, half.text, w))
	}
	pic := &photo.Picture{W: img.Rect.Dx(), H: img.Rect.Dy(), Channels: 3, Depth: 8, ICC: screen.Data(),
		Pix8: make([]uint8, 0, img.Rect.Dx()*img.Rect.Dy()*3)}
	for i := 0; i < len(img.Pix); i += 4 {
		pic.Pix8 = append(pic.Pix8, img.Pix[i], img.Pix[i+1], img.Pix[i+2])
	}
	return pic, nil
}

// cut shortens a text to a width in pixels.
func cut(face font.Face, s string, width int) string {
	if font.MeasureString(face, s) <= fixed.I(width) {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && font.MeasureString(face, string(r)+"…") > fixed.I(width) {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}
