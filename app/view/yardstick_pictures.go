package view

import (
	"fmt"
	"image"
	"image/draw"
	"slices"
	"sync"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/differ"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// rankPictures shows the ways as pictures: small proofs of the first ones and of the
// chosen one, cut to the piece of the picture where they differ most.
type rankPictures struct {
	h       *Host
	drawing *widget.Drawing
	looks   *looks
	place   *lane
	work    *work

	mu    sync.Mutex
	shown rankScene
}

// rankScene is what the painter paints.
type rankScene struct {
	pic   *session.Picture
	ways  []setup.Setup
	names []string // beneath them
	at    differ.Place
}

// rankShown is how many ways are shown as pictures.
const rankShown = 4

func newRankPictures(w *work) *rankPictures {
	p := &rankPictures{h: w.h, work: w, place: w.lane()}
	p.drawing = w.drawing(p.paint)
	p.looks = newLooks(w, func(setup.Setup) { p.drawing.Again() }, func(error) {})
	return p
}

// show shows the first ways and the chosen one, -1 for none.
func (p *rankPictures) show(m *measured, now session.State, chosen int) {
	var s rankScene
	if m != nil && len(m.outcome.Verdict.Order) > 0 {
		s.pic = p.h.Session.Store().Picture(now.Picture.Key)
		n := min(rankShown, len(m.outcome.Verdict.Order))
		places := []int{}
		for i := range n {
			places = append(places, i)
		}
		if chosen >= n {
			places[n-1] = chosen
		}
		for _, i := range places {
			w := m.way(i)
			set := setup.Setup{Source: now.Picture.Assumed, Screen: now.Screen.Key, White: proof.PaperWhite, Paper: w.Paper, Intent: w.Intent, BPC: w.Compensation}
			s.ways, s.names = append(s.ways, set), append(s.names, fmt.Sprintf("%d  %s", i+1, wayName(w)))
		}
	}
	if was := p.scene(); s.pic == was.pic && slices.Equal(s.ways, was.ways) {
		return
	}
	p.set(s)
	if s.pic == nil {
		return
	}
	p.looks.want(s.pic, s.ways, proof.Good)
	engine := p.h.Session.Engine()
	p.place.start(func(j job) func() {
		found, err := engine.Differing(j, s.pic, s.ways[0], s.ways[1:], s.names[0], s.names[1:])
		if err != nil || len(found) == 0 {
			return nil // alike, or a way that the desk itself refuses: the whole picture shows
		}
		return func() {
			s.at = found[0].Place
			p.set(s)
		}
	})
}

func (p *rankPictures) scene() rankScene {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.shown
}

func (p *rankPictures) set(s rankScene) {
	p.mu.Lock()
	p.shown = s
	p.mu.Unlock()
	p.drawing.Again()
}

// paint lays the pieces side by side, each with its way beneath.
func (p *rankPictures) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	s := p.scene()
	if s.pic == nil {
		return img, nil
	}
	gap, line := int(10*scale), int(20*scale)
	each := (w - gap*(len(s.ways)+1)) / len(s.ways)
	high := h - 2*gap - line
	if each < 8 || high < 8 {
		return img, nil
	}
	from := piece(s.pic.Levels[0], s.at, each, high)
	var said []widget.Word
	for i, set := range s.ways {
		x := gap + i*(each+gap)
		to := image.Rect(x, gap, x+each, gap+high)
		said = append(said, widget.Word{Text: widget.Shorten(s.names[i], float32(float64(each)/scale), 13, fyne.TextStyle{}),
			X: float64(x), Y: float64(gap+high) + float64(line)*0.7, Size: 13, Ink: widget.Color(theme.ColorDeskInk)})
		look := p.looks.of(set)
		if look == nil {
			said = append(said, pending("…", to, 15))
			continue
		}
		px, err := raster.Cut(p.work.ctx, s.pic.Levels, from, each, high)
		if err != nil || layPixels(p.work.ctx, img, to.Min, look, px) != nil {
			return nil, nil
		}
	}
	return img, said
}

// piece returns the part of a picture around a place that has the shape of w by h: twice
// the place's side, or without a place as much as there is.
func piece(full raster.Pixels, at differ.Place, w, h int) image.Rectangle {
	pw := min(float64(full.W), float64(full.H)*float64(w)/float64(h))
	cx, cy := float64(full.W)/2, float64(full.H)/2
	if at.Side > 0 {
		pw = min(pw, 2*at.Side*float64(max(full.W, full.H)))
		cx, cy = at.X*float64(full.W), at.Y*float64(full.H)
	}
	ph := pw * float64(h) / float64(w)
	x := min(max(cx-pw/2, 0), float64(full.W)-pw)
	y := min(max(cy-ph/2, 0), float64(full.H)-ph)
	return image.Rect(int(x), int(y), int(x+pw), int(y+ph))
}
