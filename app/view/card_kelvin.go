package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/light"
)

// kelvinCard tells what is known of the screen and of the light prints are seen in.
func kelvinCard() Card {
	return Card{ID: "kelvin", Name: "Screen and light", Key: "K", Place: WholeWindow,
		Help:  "what is known of the screen, a check by eye, the light to judge prints in, and how a print shifts under another",
		Build: func(h *Host) Built { return newKelvin(h).built() }}
}

// kelvin is the open card: four leaves of which one is seen. It belongs to the drawing
// goroutine.
type kelvin struct {
	h       *Host
	work    *work
	leaf    int
	leaves  [4]kelvinLeaf
	boxes   [4]*fyne.Container
	turning *widget.Choice
	foot    *footer

	screen  *screenLeaf
	check   *checkLeaf
	judging *judgingLeaf
	other   *otherLeaf

	reading   *lane
	screenKey string
}

// kelvinLeaf is one leaf of the card.
type kelvinLeaf interface {
	// box makes the leaf's content.
	box() *fyne.Container
	// turned is called when the leaf comes in sight.
	turned()
	// typed is offered the keys that move a slide.
	typed(e *fyne.KeyEvent) bool
	// follow brings the leaf up to date.
	follow(now session.State)
}

const kelvinFoot = "A proof is only as good as the screen’s calibration and the light the print is judged in. Left and right turn the leaves."

func newKelvin(h *Host) *kelvin {
	k := &kelvin{h: h, work: h.newWork(), foot: newFooter(kelvinFoot)}
	k.reading = k.work.lane()
	k.turning = widget.NewChoice([]string{"The screen", "Check by eye", "Light for judging", "Another light"}, 0, k.turn)
	k.turning.Explain("Four leaves; the left and right keys turn them.", k.foot.tell)
	k.screen = newScreenLeaf(h, k.foot)
	k.check = newCheckLeaf(h, k.work, k.foot)
	k.judging = newJudgingLeaf(h, k.foot)
	k.other = newOtherLeaf(h, k.work, k.foot)
	k.leaves = [4]kelvinLeaf{k.screen, k.check, k.judging, k.other}
	for i, l := range k.leaves {
		k.boxes[i] = l.box()
	}
	return k
}

func (k *kelvin) turn(i int) {
	k.leaf = i
	k.turning.Set(i)
	for n, b := range k.boxes {
		show(b, n == i)
	}
	k.leaves[i].turned()
	k.boxes[i].Refresh()
}

func (k *kelvin) built() Built {
	content := container.New(freeLayout{fyne.NewSize(860, 480), func(s fyne.Size) {
		set(k.turning, 0, 0, min(s.Width, 640), 34)
		foot := captionHeight(2)
		set(k.foot.line, 0, s.Height-foot, s.Width, foot)
		for _, b := range k.boxes {
			set(b, 0, 48, s.Width, s.Height-48-foot-8)
		}
	}}, k.turning, k.boxes[0], k.boxes[1], k.boxes[2], k.boxes[3], k.foot.line)
	k.turn(0)
	return Built{Content: content, Update: k.update, Close: k.work.close, Key: k.typed}
}

func (k *kelvin) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyLeft:
		k.turn(max(k.leaf-1, 0))
	case fyne.KeyRight:
		k.turn(min(k.leaf+1, len(k.leaves)-1))
	case fyne.KeyUp, fyne.KeyDown, fyne.KeyPageUp, fyne.KeyPageDown, fyne.KeyHome, fyne.KeyEnd:
		return k.leaves[k.leaf].typed(e)
	default:
		return false
	}
	return true
}

func (k *kelvin) update(now session.State) {
	if k.screenKey != now.Screen.Key {
		k.screenKey = now.Screen.Key
		k.read(now.Screen.Key)
	}
	for _, l := range k.leaves {
		l.follow(now)
	}
}

// read measures the screen's profile out, for the leaves that tell of it.
func (k *kelvin) read(key string) {
	k.screen.known, k.screen.trouble = nil, ""
	k.check.know(nil)
	engine := k.h.Session.Engine()
	k.reading.start(func(j job) func() {
		var greys *light.Greys
		var known light.Screen
		p, err := screenProfile(engine, key)
		if err == nil {
			greys, err = light.MeasureGreys(engine, p)
		}
		if err == nil {
			known, err = light.InspectScreen(j, engine, p)
		}
		return func() {
			if err != nil {
				k.screen.trouble = session.Explain(err, "").Headline
			} else {
				k.screen.known = &known
				k.check.know(greys)
			}
			k.screen.follow(k.h.State())
		}
	})
}

// proofPaper is the active proof's paper, and its sheet; ok is false where no proof lies on the
// desk.
func proofPaper(h *Host) (p session.Paper, sheet int, ok bool) {
	sh, n := h.State().Proof()
	if n < 0 {
		return p, n, false
	}
	p, ok = h.Session.Store().Paper(sh.Paper)
	return p, n, ok
}

// paperWhite is the active proof's paper by name, with the luminance factor of its
// white; 0 where it is not known.
func paperWhite(h *Host) (string, float64) {
	if p, _, ok := proofPaper(h); ok && p.White().L > 0 {
		return p.Name, p.White().ToXYZ(cie.D50).Y
	}
	return "", 0
}
