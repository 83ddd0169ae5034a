package view

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"sync"

	"fyne.io/fyne/v2"

	"firstsheet/app/plot"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/lesson"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// pictureScene is what the painter paints: one picture or a pair.
type pictureScene struct {
	sheets  []lessonSheet
	levels  [2][]raster.Pixels // the picture's own, and rewritten in another space's numbers
	picture int                // its number
	size    float32
}

// lessonSheet is one of the pictures.
type lessonSheet struct {
	set       setup.Setup
	caption   string
	rewritten bool
	look      *pin.Pin // a ring is laid round it; nil for none
}

// numbers are the picture's numbers that the sheet shows, an index of levels.
func (s lessonSheet) numbers() int {
	if s.rewritten {
		return 1
	}
	return 0
}

// lessonPictures paints the picture of a page. It may be used from any goroutine.
type lessonPictures struct {
	ctx   context.Context
	looks *looks

	mu    sync.Mutex
	scene pictureScene
	fit   [2]raster.Pixels // the picture's levels at the size they were last painted at
	fitTo [2][3]int        // width and height of their room, number of the picture
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
		if t.set == s {
			return true
		}
	}
	return false
}

// scene is a scene of the open picture with nothing in it.
func (v *lessonView) scene() pictureScene {
	return pictureScene{levels: [2][]raster.Pixels{v.levels, v.rewritten}, picture: v.of.picture}
}

// compose says what the picture of the page shows.
func (v *lessonView) compose() pictureScene {
	s, ph := v.step()
	l := v.lesson
	wrong, should := "gone wrong: "+s.Name, "as it should be: "+l.Paper
	sc := v.scene()
	one := func(s setup.Setup, caption string) { sc.sheets = []lessonSheet{{set: s, caption: caption}} }
	two := func(a setup.Setup, first string, b setup.Setup, second string) {
		sc.sheets = []lessonSheet{{set: a, caption: first}, {set: b, caption: second}}
	}
	switch {
	case s.Kind == lesson.Station && s.Original != v.flip:
		one(l.Right.Original(), "the original")
	case s.Kind == lesson.Station:
		one(l.Right, "proof: "+l.Paper)
	case ph == phasePair && v.flip:
		two(s.Setup, wrong, l.Right, should)
	case ph == phasePair:
		two(l.Right, should, s.Setup, wrong)
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
	if n == 0 || len(sc.levels[0]) == 0 {
		return img, nil
	}
	caption, gap, border := int(float64(sc.size)*1.7*scale), int(10*scale), int(8*scale)
	room := image.Pt((w-gap*(n+1))/n-2*border, h-caption-gap-2*border)
	if room.X < 16 || room.Y < 16 {
		return img, nil
	}
	var said []widget.Word
	for i, s := range sc.sheets {
		fit, err := p.fitted(sc, s.numbers(), room)
		if err != nil {
			return nil, nil
		}
		x := gap + i*(room.X+2*border+gap) + border + (room.X-fit.W)/2
		y := caption + border + (room.Y-fit.H)/2
		said = append(said, widget.Word{Text: widget.Shorten(s.caption, float32(float64(room.X+2*border)/scale), sc.size, fyne.TextStyle{Bold: true}),
			X: float64(x - border), Y: float64(y-border) - float64(caption)/2, Size: sc.size, Bold: true, Ink: color.White})
		where := image.Rect(x, y, x+fit.W, y+fit.H)
		look := p.looks.of(s.set)
		if look == nil {
			said = append(said, pending("being computed …", where, sc.size))
			continue
		}
		draw.Draw(img, where.Inset(-border), image.NewUniform(look.Ground()), image.Point{}, draw.Src)
		if layPixels(p.ctx, img, where.Min, look, fit) != nil {
			return nil, nil
		}
		if s.look != nil {
			ringAt(img, *s.look, where, scale)
		}
	}
	return img, said
}

// ringAt lays a ring round a pin of a picture, wide enough to be seen across a room.
func ringAt(img *image.RGBA, p pin.Pin, where image.Rectangle, scale float64) {
	at := plot.Pt{X: float64(where.Min.X) + p.X*float64(where.Dx()), Y: float64(where.Min.Y) + p.Y*float64(where.Dy())}
	side := float64(max(where.Dx(), where.Dy()))
	r := max(p.Radius*side*1.5, side/28, 12*scale)
	(&plot.Sheet{Img: img}).Ring(at, r, 3*scale, color.RGBA{255, 255, 255, 255}, color.RGBA{0, 0, 0, 255}, 1.5*scale)
}

// fitted is the scene's picture, in its own numbers or rewritten, at the size of its room,
// kept until that changes.
func (p *lessonPictures) fitted(sc pictureScene, numbers int, room image.Point) (raster.Pixels, error) {
	key := [3]int{room.X, room.Y, sc.picture}
	p.mu.Lock()
	fit, at := p.fit[numbers], p.fitTo[numbers]
	p.mu.Unlock()
	if at == key {
		return fit, nil
	}
	fit, err := raster.Fit(p.ctx, sc.levels[numbers], room.X, room.Y)
	if err != nil {
		return fit, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fit[numbers], p.fitTo[numbers] = fit, key
	return fit, nil
}
