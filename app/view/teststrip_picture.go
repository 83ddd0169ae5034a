package view

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/teststrip"
)

// teststripQuality is how finely the small pieces are sampled.
const teststripQuality = proof.Good

// stripPlan is what the painter paints; without a layout it is bare desk.
type stripPlan struct {
	layout *teststrip.Layout
	pieces []teststrip.Piece
	levels []raster.Pixels
	bare   setup.Setup // whose bare paper the offcut is
}

// stripPicture paints the strip as it will lie. It may be used from any goroutine.
type stripPicture struct {
	ctx   context.Context
	looks *looks
	mu    sync.Mutex
	plan  stripPlan
}

func (p *stripPicture) set(plan stripPlan) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.plan = plan
}

func (p *stripPicture) now() stripPlan {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.plan
}

var (
	stripInk = color.RGBA{40, 40, 40, 255}
	// stripPaper stands for paper that is not known yet.
	stripPaper = color.RGBA{240, 240, 240, 255}
)

// paint shows pieces, labels and cut marks.
func (p *stripPicture) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	plan := p.now()
	if plan.layout == nil {
		return img, nil
	}
	at := placing(plan.layout, w, h, 14*scale)
	if at == nil {
		return img, nil
	}
	ground := stripPaper
	if l := p.looks.of(plan.bare); l != nil {
		ground = l.Ground()
	}
	draw.Draw(img, at(image.Rect(0, 0, plan.layout.W, plan.layout.H)), image.NewUniform(ground), image.Point{}, draw.Src)
	for _, m := range plan.layout.Marks {
		draw.Draw(img, at(m), image.NewUniform(stripInk), image.Point{}, draw.Src)
	}
	var said []widget.Word
	for i, c := range plan.layout.Cells {
		piece, to := plan.pieces[i], at(c.Tile)
		look := p.looks.of(piece.Way.Setup)
		if look == nil {
			draw.Draw(img, to, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
			said = append(said, pending("…", to, 15))
			continue
		}
		px, err := raster.Cut(p.ctx, plan.levels, piece.From, to.Dx(), to.Dy())
		if err != nil || layPixels(p.ctx, img, to.Min, look, px) != nil {
			return nil, nil
		}
		said = append(said, labelWords(c.Lines, at(c.Label), scale)...)
	}
	return img, said
}

// placing returns where a layout's rectangles lie in a room of w by h pixels, in its
// middle and as large as fits; nil where there is no room.
func placing(l *teststrip.Layout, w, h int, margin float64) func(image.Rectangle) image.Rectangle {
	s := math.Min((float64(w)-2*margin)/float64(l.W), (float64(h)-2*margin)/float64(l.H))
	if s <= 0 {
		return nil
	}
	x0, y0 := (float64(w)-s*float64(l.W))/2, (float64(h)-s*float64(l.H))/2
	round := func(o float64, v int) int { return int(math.Round(o + s*float64(v))) }
	return func(r image.Rectangle) image.Rectangle {
		x, y := round(x0, r.Min.X), round(y0, r.Min.Y)
		return image.Rect(x, y, max(round(x0, r.Max.X), x+1), max(round(y0, r.Max.Y), y+1))
	}
}

// labelWords are a label's lines in their box.
func labelWords(lines []string, box image.Rectangle, scale float64) []widget.Word {
	step := float64(box.Dy()) / float64(max(len(lines), 1))
	var out []widget.Word
	for k, line := range lines {
		out = append(out, widget.Word{Text: line, X: float64(box.Min.X), Y: float64(box.Min.Y) + step*(float64(k)+0.5),
			Size: float32(step / 1.25 / scale * 0.92), Ink: stripInk})
	}
	return out
}
