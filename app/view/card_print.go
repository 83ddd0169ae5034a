package view

import (
	"cmp"
	"context"
	"errors"

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
	move  *printMove
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

const printFoot = "Tab goes from field to field, W or Return writes the file, X takes an edge for the arrow keys, Page up and Page down scroll, Esc closes. " +
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
	v.move = &printMove{v: v}
	v.sheet.OnGrab, v.sheet.OnDrag, v.sheet.OnDragEnd = v.move.grab, v.move.drag, v.move.drop
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

func (v *printView) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyW, fyne.KeyReturn, fyne.KeyEnter:
		v.askFile()
	case fyne.KeyPageDown:
		v.form.column.Turn(v.form.column.Room() * 0.85)
	case fyne.KeyPageUp:
		v.form.column.Turn(-v.form.column.Room() * 0.85)
	default:
		switch printPane(v.tabs.Chosen) {
		case onSheet:
			return v.move.typed(e)
		case atPrintSize:
			return v.size.typed(e)
		}
		return false
	}
	return true
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
	v.tellPaper(now) // of another sheet with the same set-up too
	if of == v.of {
		return
	}
	was := v.of
	v.of = of
	v.form.show()
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
	v.many.follow(now)
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

// shown has the drawings show what is so now.
func (v *printView) shown() {
	v.picture.set(printShown{print: v.print, set: v.of.seen, ppi: v.of.ppi, x: v.size.x, y: v.size.y, unit: v.form.kept.Unit, slides: v.move.slides(), held: v.move.held})
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
