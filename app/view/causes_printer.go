package view

import (
	"context"
	"fmt"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cause"
	"firstsheet/proof/check"
	"firstsheet/proof/photo"
)

// causePrinter is the card's first column: the guided order, the printer first, and the
// check sheet.
type causePrinter struct {
	v       *causesView
	column  *layout.Column
	steps   []causeStep
	write   *widget.Press
	read    *widget.Press
	reading *lane
	said    *widget.Prose
}

// causeStep is a step of the guided order.
type causeStep struct {
	cause.Step
	outcome *widget.Choice
	rules   *widget.Prose // what its result rules out
}

// The outcomes of a step as its choice lists them.
const (
	notTried = iota
	passed
	failed
)

func newCausePrinter(v *causesView) *causePrinter {
	p := &causePrinter{v: v, column: layout.NewColumn(), reading: v.readingLane(), said: prose("", 6)}
	objs := []fyne.CanvasObject{heading("1   The printer first"),
		layout.Caption("In this order: each step clears a part before the next is looked at.")}
	for i, s := range cause.PrinterFirst() {
		objs = append(objs, p.step(i, s)...)
		if s.ID == "driver" {
			objs = append(objs, p.sheet()...)
		}
	}
	p.column.Fill(objs...)
	p.show()
	return p
}

// step makes what shows a step.
func (p *causePrinter) step(i int, s cause.Step) []fyne.CanvasObject {
	step := causeStep{Step: s, rules: prose("", 6)}
	step.outcome = widget.NewChoice([]string{"not tried", "passed", "failed"}, notTried, func(n int) { p.judge(s.ID, n) })
	p.v.explain(p.column, step.outcome, "Passed: "+session.Typeset(s.Pass))
	p.steps = append(p.steps, step)
	title := widget.NewProse(fmt.Sprintf("Step %d: %s", i+1, session.Typeset(s.Title)), toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 2)
	title.Bold = true
	return []fyne.CanvasObject{title, layout.Caption(session.Typeset(s.Do)), step.outcome, step.rules}
}

// judge takes how a step came out.
func (p *causePrinter) judge(id string, n int) {
	delete(p.v.told.outcomes, id)
	if n != notTried {
		p.v.told.outcomes[id] = n == passed
	}
	p.show()
	p.v.changed()
}

// show brings the steps to what was told of them.
func (p *causePrinter) show() {
	for _, s := range p.steps {
		ok, tried := p.v.told.outcomes[s.ID]
		switch {
		case !tried:
			s.outcome.Set(notTried)
			s.rules.SetText("")
		case ok:
			s.outcome.Set(passed)
			s.rules.SetText("✓  " + session.Typeset(s.Cleared))
		default:
			s.outcome.Set(failed)
			s.rules.SetText("✗  " + session.Typeset(s.Found))
		}
	}
	p.column.Again()
}

// sheet makes what writes and reads the check sheet.
func (p *causePrinter) sheet() []fyne.CanvasObject {
	p.write = widget.NewPress("Check sheet…  (W)", p.openSheet)
	p.v.explain(p.column, p.write, "How the check sheet should look on this paper and with each mistake; there it is written too. What was told here is kept.")
	p.read = widget.NewPress("Read a scan of it…  (R)", p.askRead)
	p.v.explain(p.column, p.read, "A scan or photo of the sheet, printed by the very route of the bad print, all five round marks in sight. Its patches then answer instead of the picture.")
	return []fyne.CanvasObject{
		container.New(layout.Abreast{Gap: 8}, p.write, p.read), p.said,
	}
}

func (p *causePrinter) say(s string) {
	p.said.SetText(s)
	p.column.Again()
}

// openSheet opens the card that shows and writes the check sheet.
func (p *causePrinter) openSheet() { p.v.h.Do(session.OpenCard{ID: checkID}) }

// askRead asks for a scan of the check sheet.
func (p *causePrinter) askRead() {
	if p.reading.busy() {
		p.reading.stop()
		return
	}
	askFile(p.v.h, pictureFiles, "Read this scan", p.readScan)
}

// readScan reads the patches off a scan. They take the place of what was measured.
func (p *causePrinter) readScan(path string) {
	engine := p.v.h.Session.Engine()
	p.reading.start(func(j job) func() {
		scan, err := openScan(j, engine, path)
		return func() {
			p.read.SetText("Read a scan of it…  (R)")
			if err != nil {
				p.say(causeRefusal(err, path))
				return
			}
			p.say(fmt.Sprintf("%d patches were read off ‘%s’. The answer is about that sheet now, no longer about the picture; ‘measured’ in the middle column puts it aside.",
				len(scan.Readings), filepath.Base(path)))
			p.v.print.take(readFile{name: filepath.Base(path), spots: cause.FromScan(scan), notes: scan.Notes, sheet: true}, scanSigma)
		}
	})
	p.read.SetText("Stop reading  (R)")
	p.say("The scan is being read …")
}

// scanSigma is which of causeSigmas a scan has.
const scanSigma = 2

func openScan(ctx context.Context, engine session.Engine, path string) (check.Scan, error) {
	pic, err := photo.Open(ctx, path)
	if err != nil {
		return check.Scan{}, err
	}
	return check.ReadScan(ctx, engine, pic, checkDrawn())
}
