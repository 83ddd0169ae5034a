package view

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"sync"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/lesson"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// pictureScene is what the painter paints: one picture or a pair.
type pictureScene struct {
	sheets   []setup.Setup
	captions []string
	levels   []raster.Pixels
	picture  int // its number
	size     float32
}

// lessonPictures paints the picture of a page. It may be used from any goroutine.
type lessonPictures struct {
	ctx   context.Context
	looks *looks

	mu    sync.Mutex
	scene pictureScene
	fit   raster.Pixels // the picture at the size it was last painted at
	fitTo [3]int        // width and height of its room, number of the picture
}

func (p *lessonPictures) set(s pictureScene) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.scene = s
}

func (p *lessonPictures) now() pictureScene {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.scene
}

// shows tells whether a set-up is on the page.
func (p *lessonPictures) shows(s setup.Setup) bool {
	for _, t := range p.now().sheets {
		if t == s {
			return true
		}
	}
	return false
}

// compose says what the picture of the page shows.
func (v *lessonView) compose() pictureScene {
	s, ph := v.step()
	l := v.lesson
	wrong, should := "gone wrong: "+s.Name, "as it should be: "+l.Paper
	sc := pictureScene{levels: v.levels, picture: v.of.picture}
	one := func(s setup.Setup, caption string) { sc.sheets, sc.captions = []setup.Setup{s}, []string{caption} }
	switch {
	case s.Kind == lesson.Station && s.Original != v.flip:
		one(l.Right.Original(), "the original")
	case s.Kind == lesson.Station:
		one(l.Right, "proof: "+l.Paper)
	case ph == phasePair && v.flip:
		sc.sheets, sc.captions = []setup.Setup{s.Setup, l.Right}, []string{wrong, should}
	case ph == phasePair:
		sc.sheets, sc.captions = []setup.Setup{l.Right, s.Setup}, []string{should, wrong}
	case (ph == phaseWrong) != v.flip:
		one(s.Setup, wrong)
	default:
		one(l.Right, should)
	}
	return sc
}

// paint makes the picture for the exact device pixels that it has. Where a set-up is
// not ready yet a word stands in its place.
func (p *lessonPictures) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	sc := p.now()
	n := len(sc.sheets)
	if n == 0 || len(sc.levels) == 0 {
		return img, nil
	}
	caption, gap, border := int(float64(sc.size)*1.7*scale), int(10*scale), int(8*scale)
	room := image.Pt((w-gap*(n+1))/n-2*border, h-caption-gap-2*border)
	if room.X < 16 || room.Y < 16 {
		return img, nil
	}
	fit, err := p.fitted(sc, room)
	if err != nil {
		return nil, nil
	}
	var said []widget.Word
	for i, s := range sc.sheets {
		x := gap + i*(room.X+2*border+gap) + border + (room.X-fit.W)/2
		y := caption + border + (room.Y-fit.H)/2
		said = append(said, widget.Word{Text: sc.captions[i], X: float64(x - border), Y: float64(y-border) - float64(caption)/2,
			Size: sc.size, Bold: true, Ink: color.White})
		where := image.Rect(x, y, x+fit.W, y+fit.H)
		look := p.looks.of(s)
		if look == nil {
			said = append(said, pending("being computed …", where, sc.size))
			continue
		}
		draw.Draw(img, where.Inset(-border), image.NewUniform(look.Ground()), image.Point{}, draw.Src)
		if layPixels(p.ctx, img, where.Min, look, fit) != nil {
			return nil, nil
		}
	}
	return img, said
}

// fitted is the scene's picture at the size of its room, kept until that changes.
func (p *lessonPictures) fitted(sc pictureScene, room image.Point) (raster.Pixels, error) {
	key := [3]int{room.X, room.Y, sc.picture}
	p.mu.Lock()
	fit, at := p.fit, p.fitTo
	p.mu.Unlock()
	if at == key {
		return fit, nil
	}
	fit, err := raster.Fit(p.ctx, sc.levels, room.X, room.Y)
	if err != nil {
		return fit, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fit, p.fitTo = fit, key
	return fit, nil
}
