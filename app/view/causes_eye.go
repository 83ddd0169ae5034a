package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// causeEye has each pin's colour turned by keys until it looks like the print.
type causeEye struct {
	p      *causePrint
	rows   []*widget.MatchRow
	keys   *fyne.Container
	seen   swatches // as they should be, then as they look on the print
	screen string
}

func newCauseEye(p *causePrint) *causeEye {
	e := &causeEye{p: p}
	e.seen.lane = p.v.work.lane()
	press := func(text, hint string, do func()) *widget.Press {
		b := widget.NewPress(text, do)
		p.v.explain(p.column, b, hint)
		return b
	}
	by := func(l, c, h float64) func() { return func() { e.turn(l, c, h) } }
	e.keys = container.New(layout.Even{Columns: 2, Gap: 8},
		press("lighter  (↑)", "The right field lighter: the up key.", by(1, 0, 0)),
		press("darker  (↓)", "The right field darker: the down key.", by(-1, 0, 0)),
		press("hue on  (→)", "The right field’s hue onwards: red, orange, yellow, green, blue, purple. The right key.", by(0, 0, 1)),
		press("hue back  (←)", "The right field’s hue backwards: red, purple, blue, green, yellow, orange. The left key.", by(0, 0, -1)),
		press("more vivid  (+)", "The right field more vivid; a grey takes on a cast. The plus key.", by(0, 1, 0)),
		press("duller  (−)", "The right field duller. The minus key.", by(0, -1, 0)),
		press("looks right  (J)", "This pin looks on the print as it should: that tells as much as a change. The J key.", e.judgeRight),
		press("forget  (Backspace)", "Forget what was told of this pin. The Backspace key.", e.forget))
	return e
}

func (e *causeEye) objects() []fyne.CanvasObject {
	objs := []fyne.CanvasObject{e.keys, layout.Caption("Left as it should be, right as on the print. N takes the next pin.")}
	for _, r := range e.rows {
		objs = append(objs, r)
	}
	return objs
}

// listPins has a row for each pin. A row stays where it is: the keyboard may be on it.
func (e *causeEye) listPins() {
	pins := e.p.v.pins()
	for i := len(e.rows); i < len(pins); i++ {
		r := widget.NewMatchRow(func() { e.pick(i) })
		e.p.v.explain(e.p.column, r, "Arrows turn hue and lightness, plus and minus the vividness, J says that it looks right, Backspace forgets it.")
		e.rows = append(e.rows, r)
	}
	e.rows = e.rows[:len(pins)]
	for i, p := range pins {
		e.rows[i].Name = p.Name
	}
}

func (e *causeEye) pick(i int) {
	if e.p.at != i {
		e.p.at = i
		e.show()
	}
}

// show brings the rows to what was told.
func (e *causeEye) show() {
	v := e.p.v
	var should, print []cie.Lab
	for i, r := range e.rows {
		r.Chosen = i == e.p.at
		r.Judged, r.Words = false, "not looked at yet"
		if i < len(v.at.pins) && v.ready {
			right := v.at.pins[i].Lab
			look, judged := v.told.turned(v.of.pins[i])
			if !judged {
				look = right.LCh()
			} else {
				r.Judged, r.Words = true, words.Compare(right, look.Lab()).Sentence()
				if r.Chosen {
					r.Words += "\n" + words.LCh(look.Lab())
				}
			}
			should, print = append(should, right), append(print, look.Lab())
		}
		r.Refresh()
	}
	e.seen.follow(v.h.Session.Engine(), e.screen, append(should, print...), e.paint)
	e.paint()
	e.p.column.Again()
}

// paint gives the rows their colours.
func (e *causeEye) paint() {
	n := len(e.seen.of) / 2
	for i, r := range e.rows {
		r.Should, r.Print = e.seen.at(i), e.seen.at(n+i)
		r.Refresh()
	}
}

func (e *causeEye) update(now session.State) {
	if now.Screen.Key != e.screen {
		e.screen = now.Screen.Key
		e.show()
	}
}

// turn changes the chosen pin's colour by steps.
func (e *causeEye) turn(lightness, chroma, hue float64) {
	right, ok := e.p.right()
	p, is := e.p.pin()
	if !ok || !is {
		return
	}
	c, judged := e.p.v.told.turned(p)
	if !judged {
		c = right.Lab.LCh()
	}
	e.tell(turn(c, lightness, chroma, hue))
}

func (e *causeEye) judgeRight() {
	if right, ok := e.p.right(); ok {
		e.tell(right.Lab.LCh())
	}
}

// tell takes what the chosen pin looks like.
func (e *causeEye) tell(c cie.LCh) {
	p, _ := e.p.pin()
	e.p.v.told.matched[spottedBy(p)] = c
	e.p.v.changed()
	e.reveal()
}

func (e *causeEye) forget() {
	if p, ok := e.p.pin(); ok {
		delete(e.p.v.told.matched, spottedBy(p))
		e.p.v.changed()
	}
}

func (e *causeEye) reveal() {
	if e.p.at >= 0 && e.p.at < len(e.rows) {
		e.p.column.Reveal(e.rows[e.p.at])
	}
}

func (e *causeEye) typed(k *fyne.KeyEvent) bool {
	switch k.Name {
	case fyne.KeyUp:
		e.turn(1, 0, 0)
	case fyne.KeyDown:
		e.turn(-1, 0, 0)
	case fyne.KeyRight:
		e.turn(0, 0, 1)
	case fyne.KeyLeft:
		e.turn(0, 0, -1)
	case fyne.KeyPlus, fyne.KeyEqual:
		e.turn(0, 1, 0)
	case fyne.KeyMinus:
		e.turn(0, -1, 0)
	case fyne.KeyJ:
		e.judgeRight()
	case fyne.KeyBackspace, fyne.KeyDelete:
		e.forget()
	case fyne.KeyN:
		e.p.step()
		e.reveal()
	default:
		return false
	}
	return true
}
