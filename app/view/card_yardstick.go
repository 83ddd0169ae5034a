package view

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

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
	return Card{ID: "yardstick", Name: "Yardstick: papers and intents in order", Key: "Y", Place: WholeWindow,
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

// ticks are the ways that are asked for.
type ticks struct {
	papers  map[string]bool
	intents [4]bool
	with    bool // compensation on
	without bool
}

// yardstick is the open card; everything belongs to the drawing goroutine.
type yardstick struct {
	h      *Host
	engine session.Engine
	ticks  ticks
	stop   context.CancelFunc // of the run under way, nil for none
	run    int                // goes up with each run
	have   *measured
	relay  func()
	papers []*widget.Toggle
	ids    []string

	intents       [4]*widget.Toggle
	with, without *widget.Toggle
	start         *widget.Press
	bar           *widget.Gauge
	table         *widget.Table
	column        *widget.Prose
	said          *widget.Prose
	empty         *widget.Prose
	why, against  *widget.Prose
	rule          *widget.Prose
	beside        *widget.Press
	place         *widget.Press
	foot          *widget.Prose
	side          *fyne.Container
}

func newYardstick(h *Host) *yardstick {
	y := &yardstick{h: h}
	y.engine = h.Session.Engine()
	y.foot = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	y.tell("")
	if m, ok := h.Kept("yardstick").(*measured); ok && m.of == ofState(h.State()) {
		y.have, y.ticks = m, m.ticks
	} else {
		y.ticks = usualTicks(h)
	}
	y.makeTicks()
	y.start = widget.NewPress("", y.press)
	y.start.Explain("Measure every ticked way over the whole picture at full size (Return). It runs in the background and can be stopped (Esc closes and stops it).", y.tell)
	y.bar = widget.NewGauge()
	y.makeTable()
	prose := func(ink fyne.ThemeColorName, most int) *widget.Prose {
		return widget.NewProse("", toolkittheme.SizeNameText, ink, most)
	}
	y.said, y.empty = prose(toolkittheme.ColorNameForeground, 2), prose(theme.ColorQuiet, 6)
	y.why, y.against = prose(toolkittheme.ColorNameForeground, 40), prose(toolkittheme.ColorNameForeground, 40)
	y.rule = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 60)
	y.place = widget.NewPress("", func() { y.put(false) })
	y.place.Explain("Put the chosen way on the active sheet; a click on its row does the same.", y.tell)
	y.beside = widget.NewPress("Lay it beside, as a further sheet  (Insert)", func() { y.put(true) })
	y.beside.Explain("Lay a further sheet on the desk under the chosen way; four sheets at most.", y.tell)
	return y
}

const yardstickFoot = "A ranking weighs figures, not taste: the surface of a paper and the look you want have their own say. " +
	"Up and down choose a row, Return puts it on the active sheet; left and right explain the columns."

func (y *yardstick) tell(s string) {
	y.foot.SetText(cmp.Or(s, yardstickFoot))
}

// usualTicks asks for all papers at hand (six at most) with the two intents that
// photographs are printed by.
func usualTicks(h *Host) ticks {
	t := ticks{papers: map[string]bool{}, with: true, without: true}
	t.intents[proof.Perceptual], t.intents[proof.RelativeColorimetric] = true, true
	s := h.State()
	for i := 0; i < s.Count; i++ {
		if !s.Sheets[i].Original {
			t.papers[s.Sheets[i].Paper] = true
		}
	}
	for _, p := range h.Session.Store().Papers() {
		if len(t.papers) < 6 {
			t.papers[p.ID] = true
		}
	}
	return t
}

func (y *yardstick) makeTicks() {
	for _, p := range y.h.Session.Store().Papers() {
		t := widget.NewToggle(p.Name, y.ticks.papers[p.ID], nil)
		t.OnChange = func(on bool) { t.Set(on); y.ticks.papers[p.ID] = on; y.show() }
		t.Explain("Measure ways to print on "+p.Name+".", y.tell)
		y.papers, y.ids = append(y.papers, t), append(y.ids, p.ID)
	}
	help := [4]string{
		"Perceptual: all colours are moved together so that relations are kept; the maker of the profile decides how.",
		"Relative colorimetric: what the paper reaches stays as it is, the rest moves to the nearest colour.",
		"Saturation: vividness before truth; meant for charts.",
		"Absolute colorimetric: as relative, with the original’s white imitated on the paper; meant for proofs.",
	}
	for i := range y.intents {
		t := widget.NewToggle(proof.Intent(i).Short(), y.ticks.intents[i], nil)
		t.OnChange = func(on bool) { t.Set(on); y.ticks.intents[i] = on; y.show() }
		t.Explain(help[i], y.tell)
		y.intents[i] = t
	}
	y.with = widget.NewToggle("with", y.ticks.with, nil)
	y.with.OnChange = func(on bool) { y.with.Set(on); y.ticks.with = on; y.show() }
	y.with.Explain("With black point compensation: the picture’s black becomes the paper’s black, and shadows keep their steps.", y.tell)
	y.without = widget.NewToggle("without", y.ticks.without, nil)
	y.without.OnChange = func(on bool) { y.without.Set(on); y.ticks.without = on; y.show() }
	y.without.Explain("Without black point compensation: what is darker than the paper’s black becomes one black.", y.tell)
}

func (y *yardstick) makeTable() {
	cols := []widget.Column{
		{Head: []string{"#"}, Help: "Place in the order that the rule below makes; = marks ways that are as good as the first.", Least: 34, Words: true},
		{Head: []string{"way to print"}, Help: "Paper, rendering intent, and black point compensation on (with) or off (without).", Share: 3, Least: 196, Words: true},
	}
	// The widest figure of each column, in bold.
	least := []float32{60, 72, 50, 54, 50, 56, 76, 76, 76, 94, 64}
	for i, c := range rank.Columns() {
		cols = append(cols, widget.Column{Head: c.Head, Help: c.Help, Share: 1, Least: least[i]})
	}
	y.table = widget.NewTable(cols)
	y.column = widget.NewProse(headText(cols, -1), toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	y.table.OnHead = func(c int) { y.column.SetText(headText(cols, c)) }
	y.table.OnChoose = func(int) { y.show() }
	y.table.OnPick = func(int) { y.put(false) }
}

func headText(cols []widget.Column, c int) string {
	if c < 0 {
		return "Point at a heading, or reach it by the left and right keys, to read how its figure is defined."
	}
	return strings.Join(cols[c].Head, " ") + ": " + cols[c].Help
}

// wanted returns what is ticked.
func (y *yardstick) wanted() (papers []string, intents []proof.Intent, comp []bool) {
	for _, id := range y.ids {
		if y.ticks.papers[id] {
			papers = append(papers, id)
		}
	}
	for i, on := range y.ticks.intents {
		if on {
			intents = append(intents, proof.Intent(i))
		}
	}
	if y.ticks.with {
		comp = append(comp, true)
	}
	if y.ticks.without {
		comp = append(comp, false)
	}
	return
}

func (y *yardstick) built() Built {
	paperHead, intentHead, compHead := heading("Papers"), heading("Intents"), heading("Compensation")
	paperObjs := make([]fyne.CanvasObject, len(y.papers))
	for i, t := range y.papers {
		paperObjs[i] = t
	}
	papers := container.NewVScroll(container.New(&tickRows{gap: 14}, paperObjs...))
	intents := container.New(&tickRows{gap: 14, columns: 2}, y.intents[0], y.intents[1], y.intents[2], y.intents[3])
	comp := container.New(&tickRows{gap: 14, columns: 1}, y.with, y.without)
	whyHead, againstHead, ruleHead := heading("Recommended"), heading("What speaks against it"), heading("The rule")
	text := container.New(paragraphs{}, whyHead, y.why, againstHead, y.against)
	words := container.NewVScroll(text)
	rules := container.NewVScroll(container.New(paragraphs{}, ruleHead, y.rule))
	y.side = text
	content := container.New(freeLayout{fyne.NewSize(860, 480), func(s fyne.Size) {
		const top, gap = 96, 24
		iw, cw, bw := float32(236), float32(124), float32(210)
		pw := s.Width - iw - cw - bw - 3*gap
		set(paperHead, 0, 0, pw, 24)
		set(papers, 0, 28, pw, top-28)
		x := pw + gap
		set(intentHead, x, 0, iw, 24)
		set(intents, x, 28, iw, top-28)
		x += iw + gap
		set(compHead, x, 0, cw, 24)
		set(comp, x, 28, cw, top-28)
		set(y.start, s.Width-bw, 2, bw, 40)
		set(y.bar, s.Width-bw, 52, bw, 12)
		set(y.said, s.Width-bw, 68, bw, 40)

		caption := widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText))
		foot := 2 * caption
		set(y.foot, 0, s.Height-foot, s.Width, foot)
		bottom := max(min((s.Height-top)*0.36, 250), 150)
		yb := s.Height - foot - 10 - bottom
		set(y.place, 0, yb, 230, 30)
		set(y.beside, 240, yb, 350, 30)
		rw := max(s.Width*0.36, 300)
		set(words, 0, yb+38, s.Width-rw-gap, bottom-38)
		set(rules, s.Width-rw, yb+38, rw, bottom-38)
		set(y.column, 0, yb-2*caption-8, s.Width, 2*caption)
		set(y.table, 0, top+14, s.Width, yb-2*caption-16-top-14)
		set(y.empty, 0, top+68, s.Width, 80)
	}}, paperHead, papers, intentHead, intents, compHead, comp, y.start, y.bar, y.said, y.table, y.empty, y.column, y.place, y.beside, words, rules, y.foot)
	y.relay = func() {
		words.Refresh()
		rules.Refresh()
	}
	return Built{Content: content, Update: func(session.State) { y.show() }, Close: y.close, Key: y.typed}
}

func (y *yardstick) close() {
	if y.stop != nil {
		y.stop()
	}
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

// press starts a run or stops the one under way.
func (y *yardstick) press() {
	if y.stop != nil {
		y.stop()
		return
	}
	now := y.h.State()
	pic := y.h.Session.Store().Picture(now.Picture.Key)
	papers, intents, comp := y.wanted()
	if pic == nil || len(papers) == 0 || len(intents) == 0 || len(comp) == 0 {
		return
	}
	ctx, stop := context.WithCancel(context.Background())
	y.stop = stop
	y.run++
	run, of, ticked := y.run, ofState(now), y.ticks
	ticked.papers = map[string]bool{}
	for _, id := range papers {
		ticked.papers[id] = true
	}
	names := map[string]string{}
	for _, p := range y.h.Session.Store().Papers() {
		names[p.ID] = p.Name
	}
	base := setup.Setup{Source: now.Picture.Assumed, Screen: now.Screen.Key}
	post := func(f func()) {
		y.h.Session.Post(func() {
			if y.run == run && y.stop != nil {
				f()
			}
		})
	}
	go func() {
		defer stop()
		tell := func(done float64, text string) { post(func() { y.bar.Set(done); y.said.SetText(text) }) }
		m := &measured{of: of, ticks: ticked}
		err := y.measure(ctx, m, pic, now, papers, intents, comp, names, base, tell)
		post(func() {
			y.stop = nil
			y.bar.Set(0)
			switch {
			case errors.Is(err, context.Canceled):
				y.said.SetText("Stopped. What was measured before is still there.")
			case errors.Is(err, rank.ErrEmpty):
				y.said.SetText("The picture has no visible pixel.")
			case err != nil:
				y.said.SetText(session.Explain(err, now.Picture.Path).Headline)
			default:
				y.have = m
				y.h.Keep("yardstick", m)
				y.said.SetText("")
				y.fill()
			}
			y.show()
		})
	}()
	y.show()
}

// measure does the work of a run, away from the drawing goroutine.
func (y *yardstick) measure(ctx context.Context, m *measured, pic *session.Picture, now session.State, papers []string,
	intents []proof.Intent, comp []bool, names map[string]string, base setup.Setup, tell func(float64, string)) error {
	tell(0, "The picture’s pixels are being counted …")
	full := pic.Levels[0]
	gathered, err := rank.Gather(ctx, full, pic.Alpha(), now.Pins[:now.NumPins], nil)
	if err != nil {
		return err
	}
	var given []rank.Paper
	for _, id := range papers {
		set := base
		set.Paper, set.Intent = id, proof.RelativeColorimetric
		s := rank.Paper{ID: id, Name: names[id]}
		if p, err := y.engine.Plan(pic, set); err == nil && p.Paper != nil {
			s.Forced = p.Paper.ForcesBPC
		}
		given = append(given, s)
	}
	var ways []rank.Way
	ways, m.left = rank.Ways(given, intents, comp)
	m.outcome, err = rank.Compute(ctx, y.engine, gathered, ways, func(w rank.Way) (proof.Plan, error) {
		set := base
		set.Paper, set.Intent, set.BPC = w.Paper, w.Intent, w.Compensation
		return y.engine.Plan(pic, set)
	}, func(done int, next rank.Way) {
		tell((float64(done)+0.3)/float64(len(ways)), fmt.Sprintf("%d of %d: %s", done+1, len(ways), wayName(next)))
	})
	return err
}

func wayName(w rank.Way) string {
	return fmt.Sprintf("%s, %s, %s", w.Name, w.Intent.Short(), compName(w.Compensation))
}

func compName(on bool) string {
	if on {
		return "with"
	}
	return "without"
}

// fill puts the outcome into the table.
func (y *yardstick) fill() {
	var rows []widget.Row
	if y.have != nil {
		for i, p := range y.have.outcome.Verdict.Order {
			w := y.have.outcome.Ways[p.ID]
			r := widget.Row{Cells: []string{fmt.Sprint(i + 1), wayName(w)}, Bold: i == 0 || p.AsGood}
			if i > 0 && p.AsGood {
				r.Cells[0] = "="
			}
			for _, c := range rank.Columns() {
				r.Cells = append(r.Cells, c.Cell(p))
			}
			rows = append(rows, r)
		}
	}
	y.table.SetRows(rows)
}

// put puts the chosen way on the active proof, or on a further sheet.
func (y *yardstick) put(further bool) {
	if y.have == nil || y.table.Chosen < 0 || y.table.Chosen >= len(y.have.outcome.Verdict.Order) {
		return
	}
	w := y.have.outcome.Ways[y.have.outcome.Verdict.Order[y.table.Chosen].ID]
	if further {
		if y.h.State().Count >= session.MaxSheets {
			return
		}
		y.h.Do(session.AddSheet{})
	} else if _, n := y.h.State().Proof(); n < 0 {
		y.h.Do(session.SetOriginal{On: false})
	}
	y.h.Do(session.SetPaper{ID: w.Paper})
	y.h.Do(session.SetIntent{Intent: w.Intent})
	y.h.Do(session.SetBPC{On: w.Compensation})
	y.h.Do(session.SetWrong{On: false})
	_, n := y.h.State().Proof()
	y.tell(fmt.Sprintf("Sheet %d now lies on %s. Esc shows the desk; this ranking stays.", n+1, wayName(w)))
	y.show()
}

// show brings everything on the card up to date.
func (y *yardstick) show() {
	now := y.h.State()
	if y.have != nil && y.have.of != ofState(now) && y.stop == nil {
		// Another picture, space or pin: its figures would be false now.
		y.have = nil
		y.fill()
		y.said.SetText("The picture, its space or its pins have changed; measure anew.")
	} else if len(y.table.Rows) == 0 && y.have != nil {
		y.fill()
	}
	papers, intents, comp := y.wanted()
	n := len(papers) * len(intents) * len(comp)
	switch {
	case y.stop != nil:
		y.start.SetText("Stop")
	case n == 1:
		y.start.SetText("Measure this one way")
	default:
		y.start.SetText(fmt.Sprintf("Measure these %d ways", n))
	}
	y.start.SetOff(y.stop == nil && (n == 0 || now.Picture.Key == 0))
	empty := ""
	switch {
	case now.Picture.Key == 0:
		empty = "No picture is open yet. A ranking is made for one picture: open it first."
	case y.have != nil && len(y.have.outcome.Verdict.Order) == 0:
		empty = "None of these ways can be printed; the reasons stand below."
	case y.have != nil:
	case y.stop != nil:
		empty = "Every way is measured over the whole picture at full size; the table appears when all are done."
	case n == 0:
		empty = "Tick at least one paper, one intent, and with or without compensation."
	default:
		empty = "Nothing is measured yet. Tick papers and intents above, then press the button or Return. " +
			"Each way is run over the whole picture at full size, and put in order by the rule below."
	}
	y.empty.SetText(empty)
	show(y.empty, empty != "")
	show(y.bar, y.stop != nil)
	_, active := now.Proof()
	chosen := y.have != nil && y.table.Chosen >= 0
	y.place.SetText(fmt.Sprintf("Put it on sheet %d  (Return)", max(active, now.Active)+1))
	if active >= 0 {
		y.place.SetText(fmt.Sprintf("Put it on sheet %d  (Return)", active+1))
	}
	y.place.SetOff(!chosen)
	y.beside.SetOff(!chosen || now.Count >= session.MaxSheets)
	y.words()
	if y.relay != nil {
		y.relay()
	}
}

// words tells the recommendation, what speaks against it, the rule, and what
// could not be measured.
func (y *yardstick) words() {
	why, against := "The way that the rule puts first stands here when everything is measured, with its reasons.", ""
	rule := rank.Order(nil).Rule
	if y.have != nil {
		v := y.have.outcome.Verdict
		rule = v.Rule
		if len(v.Order) > 0 {
			why = sentences(v.Why)
			against = sentences(v.Against)
			if against == "" {
				against = "Nothing in these figures: it passes every check, and no other way is clearly better in one of them."
			}
			if i := y.table.Chosen; i > 0 && i < len(v.Order) {
				p := v.Order[i]
				stand := "It passes every check, as the first does."
				if len(p.Failed) > 0 {
					stand = "It fails: " + strings.Join(p.Failed, "; ") + "."
				}
				against += "\nRow " + fmt.Sprint(i+1) + ", " + wayName(y.have.outcome.Ways[p.ID]) + ": " + stand
			}
		}
		for _, r := range y.have.outcome.Refused {
			against += "\nNot measured: " + wayName(r.Way) + ". " + session.Explain(r.Err, "").Headline
		}
		for _, l := range y.have.left {
			against += "\n" + l
		}
	}
	y.why.SetText(why)
	y.against.SetText(strings.TrimSpace(against))
	y.rule.SetText(strings.Join(numbered(rule), "\n"))
}

// sentences makes sentences of clauses.
func sentences(clauses []string) string {
	var out []string
	for _, c := range clauses {
		if c == "" {
			continue
		}
		r := []rune(c)
		out = append(out, strings.ToUpper(string(r[:1]))+string(r[1:])+".")
	}
	return strings.Join(out, " ")
}

// numbered puts a number before each check of the rule; its first line and its
// last ones are sentences of their own.
func numbered(rule []string) []string {
	checks := len(rank.Checks())
	out := append([]string(nil), rule...)
	for i := 1; i <= checks && i < len(out); i++ {
		out[i] = fmt.Sprintf("%d  %s", i, out[i])
	}
	return out
}
