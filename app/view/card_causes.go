package view

import (
	"cmp"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/pin"
)

// causesCard finds out why a print came out wrong.
func causesCard() Card {
	return Card{ID: "causes", Name: "Find the cause of a bad print", Key: "F", Ctrl: true, Place: WholeWindow,
		Help:  "the printer first, then what the print looks like; what went wrong, how sure that is, and what to check next",
		Build: func(h *Host) Built { return newCauses(h).built() }}
}

// causesView is the open card: the printer, the print and the answer side by side. All
// its fields belong to the drawing goroutine.
type causesView struct {
	h         *Host
	work      *work
	gathering *lane   // the pins' numbers
	finding   *lane   // the cause
	laying    *lane   // the observed print for the desk
	reading   []*lane // files

	of    causesOf
	told  *causeTold
	at    causePlaces
	ready bool // at is of of

	printer *causePrinter
	print   *causePrint
	answer  *causeAnswer
	foot    *widget.Prose
	content *fyne.Container
}

func newCauses(h *Host) *causesView {
	v := &causesView{h: h, work: h.newWork()}
	v.gathering, v.finding, v.laying = v.work.lane(), v.work.lane(), v.work.lane()
	v.foot = caption("", 2)
	v.told, _ = h.Kept("causes").(*causeTold)
	if v.told == nil || v.told.picture != h.State().Picture.Key {
		v.told = newCauseTold(h.State().Picture.Key, v.told)
		h.Keep("causes", v.told)
	}
	v.printer = newCausePrinter(v)
	v.print = newCausePrint(v)
	v.answer = newCauseAnswer(v)
	v.tell("")
	return v
}

const causesFoot = "1 to 4 choose how you tell what the print looks like, N takes the next pin, C the next cause, B blinks. F looks for the cause or stops, S shows it on the desk, P opens the lesson on how to prevent it, L says how likely each is before looking. Tab goes from field to field. Esc closes."

// tell explains a control in the card's foot line.
func (v *causesView) tell(s string) {
	v.foot.SetText(cmp.Or(s, causesFoot))
}

// explain gives a control of a column its hint and keeps it in sight while the keyboard
// is on it.
func (v *causesView) explain(c *layout.Column, o explained, hint string) {
	o.Explain(hint, func(s string) {
		if f, ok := o.(fyne.Focusable); ok && s != "" && v.h.Window.Canvas().Focused() == f {
			c.Reveal(o)
		}
		v.tell(s)
	})
}

func (v *causesView) built() Built {
	rules := [2]*canvas.Line{canvas.NewLine(widget.Color(theme.ColorLine)), canvas.NewLine(widget.Color(theme.ColorLine))}
	v.content = container.New(freeLayout{fyne.NewSize(860, 420), func(s fyne.Size) {
		foot := captionHeight(2)
		set(v.foot, 0, s.Height-foot, s.Width, foot)
		h := s.Height - foot - 8
		const gap = 22
		room := s.Width - 2*gap
		x := float32(0)
		for i, c := range []*layout.Column{v.printer.column, v.print.column, v.answer.column} {
			w := room * []float32{0.26, 0.375, 0.365}[i]
			c.Put(x, 0, w, h)
			x += w + gap
			if i < len(rules) {
				rules[i].Position1, rules[i].Position2 = fyne.NewPos(x-gap/2-4, 0), fyne.NewPos(x-gap/2-4, h)
			}
		}
	}}, v.printer.column.Scroll, rules[0], v.print.column.Scroll, rules[1], v.answer.column.Scroll, v.foot)
	return Built{Content: v.content, Update: v.update, Key: v.typed, Close: v.work.close}
}

// readingLane returns a lane for files that tell of the open picture's print.
func (v *causesView) readingLane() *lane {
	l := v.work.lane()
	v.reading = append(v.reading, l)
	return l
}

func (v *causesView) pins() []pin.Pin { return v.of.pins[:v.of.n] }

// update follows the window's state.
func (v *causesView) update(now session.State) {
	if of := newCausesOf(now); of != v.of || !v.ready && !v.gathering.busy() {
		if of.picture != v.told.picture {
			for _, l := range v.reading {
				l.drop() // it was to be told of the picture before
			}
			v.told = newCauseTold(of.picture, v.told)
			v.h.Keep("causes", v.told)
			v.printer.show()
		}
		if of.picture != v.of.picture || of.library != v.of.library {
			v.answer.pair.forget()
		}
		v.of, v.ready = of, false
		v.print.listPins()
		v.gather()
	}
	v.print.update(now)
}

// refuse says why nothing can be found out at all.
func (v *causesView) refuse(s string) {
	v.finding.drop()
	v.answer.none(s)
}

// changed follows something that was told anew.
func (v *causesView) changed() {
	v.print.show()
	v.find()
}

func (v *causesView) typed(e *fyne.KeyEvent) bool {
	page := v.answer.column.Room() * 0.8
	switch e.Name {
	case fyne.KeyF:
		v.findOrStop()
	case fyne.KeyC:
		v.answer.nextCause()
	case fyne.KeyB:
		v.answer.blink()
	case fyne.KeyG:
		v.answer.takeNext()
	case fyne.KeyS:
		v.answer.onDesk()
	case fyne.KeyP:
		v.answer.prevent()
	case fyne.KeyL:
		v.answer.prior.turn()
	case fyne.KeyW:
		v.printer.openSheet()
	case fyne.KeyR:
		v.printer.askRead()
	case fyne.KeyPageDown:
		v.answer.column.Turn(page)
	case fyne.KeyPageUp:
		v.answer.column.Turn(-page)
	default:
		return v.print.typed(e)
	}
	return true
}

func (v *causesView) findOrStop() {
	if v.finding.busy() {
		v.finding.stop()
		return
	}
	v.find()
}
