package view

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
)

// printCard makes the active proof a print file, with its job ticket.
func printCard() Card {
	return Card{ID: "print", Name: "Print this", Key: "P", Ctrl: true, Menu: session.MenuPicture, Place: WholeWindow,
		Help:  "make the active proof a print file: size, sheet, sharpening, who converts, with a job ticket beside it",
		Build: func(h *Host) Built { return newPrintCard(h).built() }}
}

// printView is the open card. All its fields belong to the drawing goroutine.
type printView struct {
	h         *Host
	work      *work
	preparing *lane
	files     *writing
	looks     *looks
	form      *printForm
	picture   *printPicture

	of      printOf
	print   *printfile.Print // nil while there is none
	refused string           // why there can be none

	route *widget.Route
	tabs  *widget.Choice
	panes []fyne.CanvasObject // by printPane
	sheet *widget.Drawing
	size  *printSize
	past  *printPast
	many  *printMany

	facts   *widget.Prose
	told    *layout.Column
	mend    *widget.Press // brings the desk to a set-up that can be printed
	mending session.Action
	write   *widget.Press
	foot    *widget.Prose
	content *fyne.Container
}

// printOf is all of the window's state that a print depends on.
type printOf struct {
	job     printfile.Job
	refused string
	seen    setup.Setup // by which the proof is seen on the desk
	picture int
	library int
	edition int
	ppi     float64
}

// printPane is what the card's right side shows.
type printPane int

const (
	onSheet printPane = iota
	atPrintSize
	pastPrints
	manyPictures
)

var printPanes = []string{"on the sheet", "at print size", "past prints", "many pictures"}

const printFoot = "Tab goes from field to field, W or Return writes the file, Page up and Page down scroll, Esc closes. " +
	"A proof is only as good as the screen’s calibration and the light in which the print is judged; it is no contract proof."

func newPrintCard(h *Host) *printView {
	v := &printView{h: h, work: h.newWork()}
	v.preparing = v.work.lane()
	v.foot = widget.NewProse(printFoot, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	v.files = newWriting(v.work, v.foot.SetText, v.turned)
	v.looks = newLooks(v.work, func(setup.Setup) { v.again() }, func(err error) { v.refuse(session.Explain(err, "").Headline, nil) })
	v.picture = &printPicture{ctx: v.work.ctx, looks: v.looks}
	v.route = widget.NewRoute(nil)
	v.route.Bare = true
	v.form = newPrintForm(h, v.tell, func() { v.update(h.State()); v.turned() })
	v.sheet = widget.NewDrawing(h.Session.Post, v.picture.onSheet)
	v.sheet.Ground = theme.Desk
	v.sheet.OnTap = v.lookAt
	v.size = newPrintSize(v)
	v.past = newPrintPast(v)
	v.many = newPrintMany(v)
	v.panes = []fyne.CanvasObject{v.sheet, v.size.content, v.past.content, v.many.content}
	v.tabs = widget.NewChoice(printPanes, 0, func(i int) { v.show(printPane(i)) })
	v.tabs.Explain("See the print on its sheet, to scale; as large as it will be; the prints made on this paper before; or print a folder of pictures.", v.tell)
	v.facts = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 4)
	v.facts.Bold = true
	v.told = layout.NewColumn()
	v.mend = widget.NewPress("", func() { h.Do(v.mending) })
	v.mend.Hide()
	v.write = widget.NewPress("Write the print file…  (W)", v.askFile)
	v.write.Explain("Write the print file, and its job ticket beside it.", v.tell)
	v.route.Explain("The way of the colours from the picture’s file to ink on paper.", v.tell)
	v.show(onSheet)
	return v
}

// tell explains a control in the card's foot line; while a file is being written that
// line is taken.
func (v *printView) tell(s string) {
	if !v.files.busy() {
		v.foot.SetText(cmp.Or(s, printFoot))
	}
}

func (v *printView) built() Built {
	objs := []fyne.CanvasObject{v.write, v.files.halt, v.form.column.Scroll, v.tabs}
	objs = append(objs, v.panes...)
	objs = append(objs, v.facts, v.told.Scroll, v.mend, v.route, v.foot)
	v.content = container.New(freeLayout{fyne.NewSize(860, 480), v.arrange}, objs...)
	v.form.show()
	// Tab goes on from the card's first control, not from the desk behind it.
	v.h.Session.Post(func() {
		if v.work.ctx.Err() == nil && v.h.State().Card == "print" {
			first := v.write
			if v.mend.Visible() {
				first = v.mend
			}
			v.h.Window.Canvas().Focus(first)
		}
	})
	return Built{Content: v.content, Update: v.update, Key: v.typed, Drop: v.many.dropped, Close: v.work.close}
}

func (v *printView) arrange(s fyne.Size) {
	const gap = 22
	foot := 2 * widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText))
	set(v.foot, 0, s.Height-foot, s.Width-8, foot)
	top := float32(math.Ceil(float64(v.route.HeightFor(s.Width))))
	set(v.route, 0, 0, s.Width, top)
	top += 8
	side := min(max(s.Width*0.37, 360), 460)
	bottom := s.Height - foot - 8
	v.form.column.Put(0, top, side, bottom-top)
	x, w := side+gap, s.Width-side-gap
	set(v.tabs, x, top, min(w, 520), 32)
	ww, hw := v.write.MinSize().Width, v.files.halt.MinSize().Width
	set(v.write, x+w-ww, bottom-34, ww, 34)
	set(v.files.halt, x+w-ww-8-hw, bottom-34, hw, 34)
	mw := v.mend.MinSize().Width
	set(v.mend, x, bottom-34, mw, 34)
	v.told.Put(x, 0, w, 10)
	told := min(v.told.Height()+4, max(s.Height*0.24, 124))
	v.told.Put(x, bottom-44-told, w, told)
	fh := v.facts.HeightFor(w)
	y := bottom - 44 - told - 6 - fh
	set(v.facts, x, y, w, fh)
	if v.whole() {
		y = bottom - 44 + 8
	}
	show(v.facts, !v.whole())
	show(v.told.Scroll, !v.whole())
	whole := func(f float32) float32 { return float32(math.Floor(float64(f))) }
	for _, p := range v.panes {
		set(p, whole(x), whole(top+40), whole(w), whole(y-8-top-40))
	}
}

func (v *printView) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyW, fyne.KeyReturn, fyne.KeyEnter:
		v.askFile()
	case fyne.KeyPageDown:
		v.form.column.Turn(v.form.column.Room() * 0.85)
	case fyne.KeyPageUp:
		v.form.column.Turn(-v.form.column.Room() * 0.85)
	default:
		return v.tabs.Chosen == int(atPrintSize) && v.size.typed(e)
	}
	return true
}

// whole tells whether the pane in front needs the room of what is told of the print.
func (v *printView) whole() bool {
	switch printPane(v.tabs.Chosen) {
	case pastPrints, manyPictures:
		return v.print != nil
	case atPrintSize:
		return v.size.asking && v.print != nil
	}
	return false
}

// show brings a pane to the front.
func (v *printView) show(p printPane) {
	v.tabs.Set(int(p))
	for i, o := range v.panes {
		show(o, i == int(p))
	}
	if p == pastPrints {
		v.past.list()
	}
	if v.content != nil {
		v.content.Refresh()
	}
}

// lookAt shows the place of the print that was tapped on its sheet, as large as it will be.
func (v *printView) lookAt(x, y float64) {
	v.picture.mu.Lock()
	p := v.picture.part
	v.picture.mu.Unlock()
	if p[2] > 0 && p[3] > 0 {
		v.size.x, v.size.y = min(max((x-p[0])/p[2], 0), 1), min(max((y-p[1])/p[3], 0), 1)
		v.shown()
		v.show(atPrintSize)
	}
}

// update follows the window's state.
func (v *printView) update(now session.State) {
	of := printOf{picture: now.Picture.Key, library: now.Library, edition: now.Edition, ppi: now.ScreenPPI}
	of.job, of.refused = now.PrintJob()
	if of.refused == "" {
		of.seen = now.Setup(now.Sheets[now.Active].Righted())
	}
	if no := v.form.complaint(); no != "" {
		of.refused = no
	}
	if of == v.of {
		return
	}
	was := v.of
	v.of = of
	v.form.show()
	v.tellPaper(now)
	if of.picture != was.picture || of.library != was.library || of.edition != was.edition {
		v.looks.forget()
	}
	switch {
	case of.refused != "":
		v.refuse(of.refused, mended(now))
	default:
		v.prepare()
	}
	v.size.follow(now)
	if of.job.Setup.Paper != was.job.Setup.Paper && v.tabs.Chosen == int(pastPrints) {
		v.past.list()
	}
}

// mended is what makes the desk one that can be printed from, nil where nothing does.
func mended(now session.State) session.Action {
	if sh := now.Sheets[now.Active]; !sh.IsProof() {
		if _, n := now.Proof(); n >= 0 {
			return session.Activate{N: n}
		}
	} else if sh.Wrong {
		return session.SetWrong{}
	}
	return nil
}

// tellPaper says whose print it is.
func (v *printView) tellPaper(now session.State) {
	sh, n := now.Proof()
	p, _ := v.h.Session.Store().Paper(sh.Paper)
	bpc := "without compensation"
	if sh.BPC {
		bpc = "with compensation"
	}
	v.form.of.SetText(fmt.Sprintf("Sheet %d: %s on %s, %s, %s, as set on the desk.", n+1, now.Picture.Name, p.Name, sh.Intent.Short(), bpc))
	v.form.column.Again()
}

// sourceOf returns the picture with what a set-up takes its numbers for.
func sourceOf(engine session.Engine, pic *session.Picture, set setup.Setup) (setup.Source, error) {
	if set.Source == "" {
		return pic.Source, nil
	}
	p, err := engine.Finder(pic).Profile(set.Source)
	if err != nil || p.ID() == pic.Source.Profile.ID() {
		return pic.Source, err
	}
	return setup.SourceOf(pic.Source.Picture, p)
}

// preparePrint joins a picture and a job. The caller closes what comes.
func preparePrint(ctx context.Context, engine session.Engine, pic *session.Picture, job printfile.Job) (*printfile.Print, error) {
	source, err := sourceOf(engine, pic, job.Setup)
	if err != nil {
		return nil, err
	}
	return printfile.Prepare(ctx, engine, engine.Finder(pic), source, job)
}

// prepare makes the print anew.
func (v *printView) prepare() {
	pic := v.h.Session.Store().Picture(v.of.picture)
	if pic == nil {
		return
	}
	engine, choices := v.h.Session.Engine(), v.of.job
	v.looks.want(pic, []setup.Setup{v.of.seen}, proof.Good, proof.Fine)
	v.preparing.start(func(j job) func() {
		p, err := preparePrint(j, engine, pic, choices)
		if err == nil {
			p.Close() // nothing is converted for what the card shows; writing prepares its own
		}
		return func() {
			switch {
			case errors.Is(err, context.Canceled):
			case err != nil:
				v.refuse(session.Explain(err, "").Headline, nil)
			default:
				v.take(p)
			}
		}
	})
}

// take shows a print.
func (v *printView) take(p *printfile.Print) {
	v.print, v.refused = p, ""
	v.route.Set(stopsOf(p.Route()))
	v.facts.SetText(printFacts(p, v.form.kept.Unit))
	var lines []fyne.CanvasObject
	for _, w := range p.Warnings() {
		if w.Kind == printfile.DriverNotSaid {
			continue // it is said below, whatever is known of the driver
		}
		line := layout.Prose(session.Typeset(w.Sentence))
		if w.Grave() {
			line.Bold = true
			line.SetText("!  " + line.Text)
		}
		lines = append(lines, line)
	}
	lines = append(lines, layout.Prose("Behind this program: "+session.Typeset(printfile.Instruction(p.Job().Converts, p.Paper().Name))))
	v.told.Fill(lines...)
	v.told.Scroll.ScrollToTop()
	v.mend.Hide()
	v.shown()
	v.turned()
}

// printFacts says how large the print is and from where it is looked at.
func printFacts(p *printfile.Print, unit lengthUnit) string {
	l := p.Layout()
	s := fmt.Sprintf("%s, %d × %d pixels at %s ppi.", unit.area(l.File), l.FileW, l.FileH, trimmed(l.PPI))
	s += fmt.Sprintf(" The picture’s own pixels: %.0f an inch, not seen singly from %s on; such a print is looked at from %s.", l.TruePPI, unit.far(l.Suits), unit.far(l.Distance))
	return s
}

// trimmed writes a resolution.
func trimmed(v float64) string {
	if v == math.Round(v) {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.1f", v)
}

// refuse says why there is no print, and offers what would mend it.
func (v *printView) refuse(s string, mend session.Action) {
	v.preparing.drop()
	v.print, v.refused, v.mending = nil, s, mend
	v.route.Set(nil)
	v.facts.SetText(s)
	v.told.Fill()
	switch mend := mend.(type) {
	case session.Activate:
		v.mend.SetText(fmt.Sprintf("Take the proof on sheet %d", mend.N+1))
	case session.SetWrong:
		v.mend.SetText("Print it as it should be")
	}
	show(v.mend, mend != nil)
	v.shown()
	v.turned()
}

// shown has the drawings show what is so now.
func (v *printView) shown() {
	v.picture.set(printShown{print: v.print, set: v.of.seen, ppi: v.of.ppi, x: v.size.x, y: v.size.y, unit: v.form.kept.Unit})
	v.again()
}

func (v *printView) again() {
	v.sheet.Again()
	v.size.drawing.Again()
}

// turned follows whether there is a print to write, and whether one is being written.
func (v *printView) turned() {
	v.write.SetOff(v.print == nil || v.files.busy())
	v.many.turned()
	if v.content != nil {
		v.content.Refresh()
	}
}
