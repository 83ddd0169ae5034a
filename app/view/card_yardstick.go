package view

import (
	"context"
	"errors"
	"fmt"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/rank"
	"firstsheet/proof/setup"
)

// yardstickCard puts papers, intents and compensation in order for the picture.
func yardstickCard() Card {
	return Card{ID: "yardstick", Name: "Rank papers", Key: "Y", Place: WholeWindow,
		Help:  "papers, intents and compensation measured on the whole picture, put in order by a rule that is shown",
		Build: func(h *Host) Built { return newYardstick(h).built() }}
}

// measured is a finished ranking, kept while the card is closed.
type measured struct {
	of      measuredOf
	outcome rank.Outcome
	left    []string
	ticks   ticks
}

// way returns the way at a place of the order.
func (m *measured) way(i int) rank.Way { return m.outcome.Ways[m.outcome.Verdict.Order[i].ID] }

// measuredOf is what a ranking depends on beside the ways.
type measuredOf struct {
	picture int
	source  string
	pins    [session.MaxPins]pin.Pin
	count   int
}

func ofState(s session.State) measuredOf {
	return measuredOf{s.Picture.Key, s.Picture.Assumed, s.Pins, s.NumPins}
}

// yardstick is the open card; everything belongs to the drawing goroutine.
type yardstick struct {
	h     *Host
	work  *work
	run   *lane
	ticks ticks
	have  *measured
	relay func()

	several  []string   // pictures that papers are ranked for together; nil for the open one
	together *rankedSet // what came out for them

	choices       []session.Paper
	papers        []*widget.Toggle // one for each of the choices
	intents       [4]*widget.Toggle
	with, without *widget.Toggle

	start, swapped      *widget.Press
	bar                 *widget.Gauge
	said                *widget.Prose
	table               *widget.Table
	column, empty       *widget.Prose
	place, beside       *widget.Press
	why, against, rules *widget.Prose
	pictures            *rankPictures
	each                *layout.Column // the several pictures on the chosen paper
	foot                *footer
}

func newYardstick(h *Host) *yardstick {
	y := &yardstick{h: h, work: h.newWork(), choices: h.Session.Store().Papers(), foot: newFooter(yardstickFoot)}
	y.run, y.pictures = y.work.lane(), newRankPictures(y.work)
	if m, ok := h.Kept("yardstick").(*measured); ok && m.of == ofState(h.State()) {
		y.have, y.ticks = m, m.ticks
	} else {
		y.ticks = usualTicks(h.State(), y.choices)
	}
	y.makeTicks()
	y.start = widget.NewPress("", y.press)
	y.start.Explain("Measure every ticked way over the whole picture at full size (Return). It runs in the background and can be stopped (Esc closes and stops it).", y.foot.tell)
	y.swapped = widget.NewPress("", y.swap)
	y.swapped.Explain("Which paper serves several pictures together? Choose their folder here, or drop a folder or several pictures on this card.", y.foot.tell)
	y.bar = widget.NewGauge()
	y.each = layout.NewColumn()
	y.makeTable()
	y.said, y.why, y.against = prose("", 2), prose("", 40), prose("", 40)
	y.empty = widget.NewProse("", toolkittheme.SizeNameText, theme.ColorQuiet, 6)
	y.rules = caption("", 60)
	y.place = widget.NewPress("", func() { y.put(false) })
	y.place.Explain("Put the chosen way on the active sheet; a click on its row does the same.", y.foot.tell)
	y.beside = widget.NewPress("Lay it beside, as a further sheet  (Insert)", func() { y.put(true) })
	y.beside.Explain("Lay a further sheet on the desk under the chosen way; four sheets at most.", y.foot.tell)
	return y
}

func (y *yardstick) makeTable() {
	y.table = widget.NewTable(yardstickColumns())
	y.column = caption(headText(y.table.Columns, -1), 2)
	y.table.OnHead = func(c int) { y.column.SetText(headText(y.table.Columns, c)) }
	y.table.OnChoose = func(int) { y.show() }
	y.table.OnPick = func(int) { y.put(false) }
}

func (y *yardstick) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyUp, fyne.KeyDown, fyne.KeyHome, fyne.KeyEnd, fyne.KeyLeft, fyne.KeyRight:
		if len(y.table.Rows) > 0 {
			y.table.TypedKey(e)
		}
	case fyne.KeyReturn, fyne.KeyEnter:
		if y.table.Chosen >= 0 {
			y.put(false)
		} else {
			y.press()
		}
	case fyne.KeyInsert:
		y.put(true)
	default:
		return false
	}
	return true
}

// question is what is asked by the ticks of the picture on the desk.
func (y *yardstick) question(now session.State) rank.Question {
	q := rank.Question{Pins: now.Pins[:now.NumPins]}
	q.Papers, q.Intents, q.Compensation = y.ticks.wanted(y.choices)
	pic := y.h.Session.Store().Picture(now.Picture.Key)
	if pic == nil {
		return q
	}
	q.Picture = pic.Whole()
	engine, base := y.h.Session.Engine(), setup.Setup{Source: now.Picture.Assumed, Screen: now.Screen.Key}
	q.Plan = func(w rank.Way) (proof.Plan, error) {
		set := base
		set.Paper, set.Intent, set.BPC = w.Paper, w.Intent, w.Compensation
		return engine.Plan(pic, set)
	}
	return q
}

// press starts a run or stops the one under way.
func (y *yardstick) press() {
	if y.run.busy() {
		y.run.stop()
		return
	}
	if y.several != nil {
		y.pressSet()
		return
	}
	now := y.h.State()
	q := y.question(now)
	if q.Plan == nil || len(q.Papers)*len(q.Intents)*len(q.Compensation) == 0 {
		return
	}
	m := &measured{of: ofState(now), ticks: y.ticks.only(q.Papers)}
	engine := y.h.Session.Engine()
	y.progress(0, "The picture’s pixels are being counted …")
	y.run.start(func(j job) func() {
		var err error
		m.outcome, m.left, err = q.Answer(j, engine, func(s rank.Step) {
			j.post(func() { y.progress((float64(s.Done)+0.3)/float64(s.All), stepText(s)) })
		})
		return func() { y.ended(m, err, now.Picture.Path) }
	})
	y.show()
}

func (y *yardstick) progress(done float64, said string) {
	y.bar.Set(done)
	y.said.SetText(said)
}

// ended takes over what a run has measured.
func (y *yardstick) ended(m *measured, err error, path string) {
	switch {
	case errors.Is(err, context.Canceled):
		y.progress(0, "Stopped. What was measured before is still there.")
	case errors.Is(err, rank.ErrEmpty):
		y.progress(0, "The picture has no visible pixel.")
	case err != nil:
		y.progress(0, session.Explain(err, path).Headline)
	default:
		y.progress(0, "")
		y.have = m
		y.h.Keep("yardstick", m)
		y.fill()
	}
	y.show()
}

// fill puts the outcome into the table.
func (y *yardstick) fill() {
	var rows []widget.Row
	y.table.Columns = yardstickColumns()
	switch {
	case y.several != nil:
		y.table.Columns = setColumns()
		if y.together != nil {
			rows = y.together.rows()
		}
	case y.have != nil:
		rows = yardstickRows(y.have)
	}
	y.column.SetText(headText(y.table.Columns, -1))
	y.table.SetRows(rows)
}

// chosen is the place in the order whose row is chosen, -1 for none.
func (y *yardstick) chosen() int {
	if y.several != nil && y.together != nil {
		return y.table.Chosen
	}
	if y.have == nil || y.table.Chosen >= len(y.have.outcome.Verdict.Order) {
		return -1
	}
	return y.table.Chosen
}

// put puts the chosen way on the active proof, or on a further sheet.
func (y *yardstick) put(further bool) {
	if y.chosen() < 0 {
		return
	}
	if further && y.h.State().Count >= session.MaxSheets {
		return
	}
	if y.several != nil {
		y.putSet(further)
		return
	}
	w := y.have.way(y.chosen())
	y.h.Do(append(y.sheetFor(further), session.SetPaper{ID: w.Paper}, session.SetIntent{Intent: w.Intent},
		session.SetBPC{On: w.Compensation}, session.SetWrong{On: false}))
	_, n := y.h.State().Proof()
	y.foot.tell(fmt.Sprintf("Sheet %d now lies on %s. Esc shows the desk; this ranking stays.", n+1, wayName(w)))
	y.show()
}

// sheetFor has the active sheet, or a further one, be a proof.
func (y *yardstick) sheetFor(further bool) session.Together {
	if further {
		return session.Together{session.AddSheet{}}
	}
	if _, n := y.h.State().Proof(); n < 0 {
		return session.Together{session.SetOriginal{On: false}}
	}
	return nil
}

// show brings everything on the card up to date.
func (y *yardstick) show() {
	now := y.h.State()
	if y.several == nil && y.have != nil && y.have.of != ofState(now) && !y.run.busy() {
		// Another picture, space or pin: its figures would be false now.
		y.have = nil
		y.fill()
		y.said.SetText("The picture, its space or its pins have changed; measure anew.")
	} else if len(y.table.Rows) == 0 && y.have != nil {
		y.fill()
	}
	n := y.ticks.number(y.choices)
	y.start.SetText(startText(y.run.busy(), n))
	y.start.SetOff(!y.run.busy() && (n == 0 || y.several == nil && now.Picture.Key == 0))
	y.swapped.SetText("Several pictures…")
	empty := emptyText(now, y.have, y.run.busy(), n)
	if y.several != nil {
		y.swapped.SetText("Back to the open picture")
		empty = y.emptySet(n)
	}
	show(y.swapped, !y.run.busy())
	y.empty.SetText(empty)
	show(y.empty, empty != "")
	show(y.bar, y.run.busy())
	_, sheet := now.Proof()
	if sheet < 0 {
		sheet = now.Active
	}
	y.place.SetText(fmt.Sprintf("Put it on sheet %d  (Return)", sheet+1))
	y.place.SetOff(y.chosen() < 0)
	y.beside.SetOff(y.chosen() < 0 || now.Count >= session.MaxSheets)
	why, against, rule := verdictText(y.have, y.chosen())
	show(y.pictures.drawing, y.several == nil)
	show(y.each.Scroll, y.several != nil)
	if y.several != nil {
		why, against, rule = y.together.words()
		y.each.Fill(y.together.onPaper(y.chosen())...)
	}
	y.why.SetText(why)
	y.against.SetText(against)
	y.rules.SetText(rule)
	y.pictures.show(y.have, now, y.chosen())
	if y.relay != nil {
		y.relay()
	}
}
