package view

import (
	"errors"
	"fmt"
	"image"
	"math"
	"sync/atomic"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/plot"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// vergesCard shows where papers end, and how the picture lies in them.
func vergesCard() Card {
	return Card{ID: "verges", Name: "Paper limits", Key: "V", Place: WholeWindow,
		Help:  "the picture’s colours against the ends of the papers, cut through by lightness and hue",
		Build: func(h *Host) Built { return newVerges(h).built() }}
}

// verges is the open card. All its fields belong to the drawing goroutine but scene,
// which the painters read.
type verges struct {
	h      *Host
	engine session.Engine
	work   *work

	lines    []*verge
	absolute bool
	light    float64 // L* of the slice by lightness
	hue      float64

	cloud    *gamut.Cloud
	cloudOf  cloudKey
	counting *lane

	scene                atomic.Pointer[vergeScene]
	flat, fall           *widget.Drawing // a*b*, L*C*
	flatTold, fallTold   *widget.Prose
	lightSlide, hueSlide *widget.Slide

	white     *widget.Choice
	key       *fyne.Container
	state     *widget.Prose
	pins      *fyne.Container
	pinRows   []*widget.PaperRow
	pinScroll *container.Scroll
	pinSeen   swatches // the pins' colours in the picture
	pinEmpty  *widget.Prose
	foot      *footer
	relay     func()
}

type cloudKey struct {
	picture        int
	source, screen string
}

func newVerges(h *Host) *verges {
	v := &verges{h: h, engine: h.Session.Engine(), work: h.newWork(), light: 50, hue: 40, foot: newFooter(vergesFoot)}
	v.counting, v.pinSeen.lane = v.work.lane(), v.work.lane()
	v.flat = v.work.drawing(v.paintFlat)
	v.fall = v.work.drawing(v.paintFall)
	v.flat.OnTap, v.fall.OnTap = v.tapFlat, v.tapFall
	v.flatTold, v.fallTold, v.state = prose("", 2), prose("", 2), prose("", 3)
	v.pinEmpty = widget.NewProse(noPinsText, v.foot.line.Type, v.foot.line.Ink, 3)
	v.key = container.New(stack{gap: 2})
	v.pins = container.New(stack{gap: 2})
	v.makeControls()
	v.makeLines()
	v.cutChosen(h.State())
	v.scene.Store(v.newScene(h.State()))
	return v
}

func (v *verges) makeControls() {
	v.lightSlide = widget.NewSlide("Cut at lightness", 2, 98, 1, v.light, func(x float64) string { return fmt.Sprintf("L* %.0f", x) },
		func(x float64) { v.light = x; v.paint() })
	v.lightSlide.Explain("Lightness of the cut on the left: 0 is black, 100 the white of the sheet. Arrow keys move it by 1.", v.foot.tell)
	v.hueSlide = widget.NewSlide("Cut at hue", 0, 360, 1, v.hue, func(x float64) string {
		return fmt.Sprintf("%.0f°  %s", x, gamut.HueName(x))
	}, func(x float64) { v.hue = x; v.paint() })
	v.hueSlide.Round = true
	v.hueSlide.Explain("Hue of the cut on the right, as an angle round the left diagram. Arrow keys move it by 1 degree.", v.foot.tell)
	v.white = widget.NewChoice([]string{"as white", "as printed"}, 0, func(i int) {
		v.absolute = i == 1
		v.white.Set(i)
		v.update(v.h.State())
	})
	v.white.Explain("As white: each paper’s own white counts as white, as an eye used to it sees it; reach and ΔE00 are counted so. "+
		"As printed: all papers against one common white.", v.foot.tell)
}

// cutChosen cuts through the chosen pin, the first where none is.
func (v *verges) cutChosen(s session.State) {
	if i := max(s.Pin, 0); i < s.NumPins {
		if val := s.Values[max(s.Active, 0)][i]; val.Known {
			v.cutThrough(val.Original)
		}
	}
}

func (v *verges) cutThrough(c cie.Lab) {
	v.cutAtLight(c.L)
	if c.Chroma() > 2 {
		v.cutAtHue(c.Hue())
	}
}

func (v *verges) cutAtLight(l float64) {
	v.light = math.Round(math.Max(2, math.Min(98, l)))
	v.lightSlide.Set(v.light)
}

func (v *verges) cutAtHue(h float64) {
	v.hue = math.Mod(math.Round(h), 360)
	v.hueSlide.Set(v.hue)
}

// typed gives the keys of the cut: they work wherever the keyboard is.
func (v *verges) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyUp, fyne.KeyDown, fyne.KeyPageUp, fyne.KeyPageDown:
		v.lightSlide.TypedKey(e)
	case fyne.KeyLeft, fyne.KeyRight, fyne.KeyHome, fyne.KeyEnd:
		v.hueSlide.TypedKey(e)
	case fyne.KeyJ:
		if s := v.h.State(); s.NumPins > 0 {
			v.pick((s.Pin + 1) % s.NumPins)
		}
	default:
		return false
	}
	return true
}

// A tap in one diagram moves the cut of the other.

func (v *verges) tapFlat(x, y float64) {
	if p, ok := v.tapped(v.flat, flatAxes, x, y); ok && math.Hypot(p.X, p.Y) > 2 {
		v.cutAtHue(cie.Lab{A: p.X, B: p.Y}.Hue())
		v.paint()
	}
}

func (v *verges) tapFall(x, y float64) {
	if p, ok := v.tapped(v.fall, fallAxes, x, y); ok {
		v.cutAtLight(p.Y)
		v.paint()
	}
}

func (v *verges) tapped(d *widget.Drawing, axes axesOf, x, y float64) (gamut.Place, bool) {
	img := d.Shown()
	if img == nil {
		return gamut.Place{}, false
	}
	px, py := axes(img.Rect.Dx(), img.Rect.Dy(), d.Scale(), v.scene.Load().most).Back(plot.Pt{X: x, Y: y})
	return gamut.Place{X: px, Y: py}, true
}

// pick chooses a pin and cuts through its colour.
func (v *verges) pick(n int) {
	v.h.Do(session.ChoosePin{N: n})
	for i := 0; i < v.h.State().Count; i++ {
		if val := v.h.State().Values[i][n]; val.Known {
			v.cutThrough(val.Original)
			break
		}
	}
	v.paint()
}

// update follows the window's state.
func (v *verges) update(now session.State) {
	if now.Picture.Key == 0 {
		v.say("No picture is open yet: only the papers are drawn.")
	} else {
		v.followCloud(now)
	}
	sh, n := now.Proof()
	for _, l := range v.lines {
		if p, ok := v.h.Session.Store().Paper(l.id); ok {
			l.facts = p.Facts
		}
		if l.on {
			v.find(l, now)
		}
		l.row.Set(l.on, n >= 0 && l.id == sh.Paper && l.id != "", l.note(v.absolute))
	}
	v.followPins(now)
	v.paint()
}

// followCloud counts the picture's colours anew where they mean something else.
func (v *verges) followCloud(now session.State) {
	key := cloudKey{now.Picture.Key, now.Picture.Assumed, now.Screen.Key}
	if key == v.cloudOf {
		return
	}
	v.cloudOf = key
	v.counting.drop()
	pic := v.h.Session.Store().Picture(now.Picture.Key)
	if pic == nil || len(pic.Levels) == 0 {
		return
	}
	v.say("The picture’s colours are being counted …")
	v.counting.start(func(j job) func() {
		var cloud *gamut.Cloud
		plan, err := v.engine.Plan(pic, setup.Setup{Source: key.source, Screen: key.screen})
		if err == nil {
			told := 0.0
			cloud, err = gamut.NewCloud(j, v.engine, plan.Source, plan.Screen, pic.Levels[0], pic.Alpha(), func(done float64) {
				if done-told >= 0.1 {
					told = done
					j.post(func() { v.say("The picture’s colours are being counted … " + words.Share(done)) })
				}
			})
		}
		return func() { v.counted(cloud, err, now.Picture.Path) }
	})
}

// counted takes the picture's colours over.
func (v *verges) counted(cloud *gamut.Cloud, err error, path string) {
	v.cloud = cloud
	switch {
	case errors.Is(err, gamut.ErrNoPixels):
		v.say("The picture has no visible pixel.")
	case err != nil:
		v.say("The picture’s colours can’t be drawn. " + session.Explain(err, path).Headline)
	default:
		v.say("")
	}
	v.paint()
}

// say puts a sentence above the pins.
func (v *verges) say(s string) {
	if v.state.Text != s {
		v.state.SetText(s)
		v.again()
	}
}

// again lays the card out anew.
func (v *verges) again() {
	if v.relay != nil {
		v.relay()
	}
}

// paint makes a new scene and has both diagrams painted.
func (v *verges) paint() {
	v.scene.Store(v.newScene(v.h.State()))
	v.flat.Again()
	v.fall.Again()
}

func (v *verges) paintFlat(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	return v.painted(v.flatTold, v.scene.Load().flat(w, h, scale))
}

func (v *verges) paintFall(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	return v.painted(v.fallTold, v.scene.Load().fall(w, h, scale))
}

// painted hands a diagram over, and tells beneath it what it shows.
func (v *verges) painted(told *widget.Prose, d *diagram) (*image.RGBA, []widget.Word) {
	text := d.told()
	v.work.post(func() { told.SetText(text) })
	return d.Img, d.words
}
