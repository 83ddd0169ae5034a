package view

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// causePair shows the chosen cause's prediction beside what was observed: the photograph
// as it lies on the picture, or without one the right proof.
type causePair struct {
	a       *causeAnswer
	view    *widget.Choice
	picture *widget.Drawing
	frame   *fyne.Container
	painter *pairPicture
	proofs  *looks // of the picture
	photos  *looks // of the photograph
	of      setup.Setup
	can     bool
}

// The views of a pair.
const (
	sideBySide = iota
	onlyFirst
	onlySecond
)

func newCausePair(a *causeAnswer) *causePair {
	p := &causePair{a: a}
	came := func(setup.Setup) { p.picture.Again() }
	failed := func(err error) {
		a.noDesk.SetText("The pictures can’t be shown. " + session.Explain(err, "").Headline)
	}
	p.proofs, p.photos = newLooks(a.v.work, came, failed), newLooks(a.v.work, came, failed)
	p.painter = &pairPicture{ctx: a.v.work.ctx, proofs: p.proofs, photos: p.photos}
	p.picture = a.v.work.drawing(p.painter.paint)
	p.picture.Ground = theme.Desk
	p.picture.OnTap = func(float64, float64) { p.blink() }
	p.frame = container.New(photoFrame{}, p.picture)
	p.view = widget.NewChoice([]string{"beside", "first", "second"}, 0, p.choose)
	a.v.explain(a.column, p.view, "Both side by side, or one of them alone; B or a click on the picture blinks between them in place.")
	return p
}

// objects are the pair's, where there is a cause to be shown.
func (p *causePair) objects() []fyne.CanvasObject {
	if !p.can {
		return nil
	}
	return []fyne.CanvasObject{heading(p.title()), p.view, p.frame}
}

func (p *causePair) title() string {
	if p.a.v.told.photo.laid != nil {
		return "The photo and the prediction"
	}
	return "What this cause prints"
}

// forget drops all pictures: they are of others now.
func (p *causePair) forget() {
	p.proofs.forget()
	p.photos.forget()
	p.of, p.can = setup.Setup{}, false
	p.painter.set(pairPlan{})
}

// set shows the prediction of a set-up, where there is one.
func (p *causePair) set(of setup.Setup, can bool) {
	p.of, p.can = of, can
	v := p.a.v
	pic := v.h.Session.Store().Picture(v.of.picture)
	if !can || pic == nil {
		return
	}
	plan := pairPlan{names: [2]string{"as it should be", "predicted"}, view: p.view.Chosen,
		levels: [2][]raster.Pixels{pic.Levels, pic.Levels}, sets: [2]setup.Setup{v.of.set, of}}
	p.view.Items = []string{"beside", "right", "predicted"}
	list := []setup.Setup{of}
	if laid := v.told.photo.laid; laid != nil {
		plan.names[0], plan.levels[0], plan.sets[0], plan.photo = "the photo", laid.Levels, v.of.set.Observed(), true
		p.view.Items[1] = "photo"
		p.photos.want(laid, []setup.Setup{plan.sets[0]}, proof.Good)
	} else {
		list = append(list, v.of.set)
	}
	p.view.Refresh()
	p.painter.set(plan)
	p.proofs.want(pic, list, proof.Good)
	p.picture.Again()
}

func (p *causePair) choose(i int) {
	p.view.Set(i)
	p.painter.show(i)
	p.picture.Again()
}

// blink shows the one and the other in the same place.
func (p *causePair) blink() {
	if !p.can {
		return
	}
	p.a.column.Reveal(p.frame)
	if p.view.Chosen == onlyFirst {
		p.choose(onlySecond)
	} else {
		p.choose(onlyFirst)
	}
}

// pairPlan is what the painter of a pair paints.
type pairPlan struct {
	names  [2]string
	levels [2][]raster.Pixels
	sets   [2]setup.Setup
	photo  bool // the first is the photograph
	view   int
}

// pairPicture paints a pair. It may be used from any goroutine.
type pairPicture struct {
	ctx            context.Context
	proofs, photos *looks
	mu             sync.Mutex
	plan           pairPlan
}

func (p *pairPicture) set(plan pairPlan) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.plan = plan
}

func (p *pairPicture) show(view int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.plan.view = view
}

func (p *pairPicture) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	p.mu.Lock()
	plan := p.plan
	p.mu.Unlock()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	if len(plan.levels[0]) == 0 {
		return img, nil
	}
	var said []widget.Word
	label := int(18 * scale)
	for i := range plan.names {
		room := image.Rect(0, 0, w, h-label)
		switch {
		case plan.view == sideBySide && i == 0:
			room.Max.X = w/2 - 1
		case plan.view == sideBySide:
			room.Min.X = w/2 + 1
		case (plan.view == onlyFirst) != (i == 0):
			continue
		}
		from := p.proofs
		if i == 0 && plan.photo {
			from = p.photos
		}
		look := from.of(plan.sets[i])
		full := plan.levels[i][0]
		k, x, y := fit(full.W, full.H, float64(room.Dx()), float64(room.Dy()))
		to := image.Rect(0, 0, max(int(k*float64(full.W)), 1), max(int(k*float64(full.H)), 1)).Add(room.Min).Add(image.Pt(int(x), int(y)))
		said = append(said, widget.Word{Text: plan.names[i], X: float64(to.Min.X+to.Max.X) / 2, Y: float64(to.Max.Y) + float64(label)/2,
			Align: fyne.TextAlignCenter, Size: 12, Ink: color.White})
		if look == nil {
			said = append(said, pending("…", to, 15))
			continue
		}
		px, err := raster.Cut(p.ctx, plan.levels[i], image.Rect(0, 0, full.W, full.H), to.Dx(), to.Dy())
		if err != nil || layPixels(p.ctx, img, to.Min, look, px) != nil {
			return nil, nil
		}
	}
	return img, said
}
