package view

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/aside"
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
	options check.Options
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
	p.options = check.Options{Page: check.Pages()[0].ID, PPI: check.Resolutions()[0], Depth: 8, Space: checkDrawn()}
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
	var pages, resolutions []string
	for _, s := range check.Pages() {
		pages = append(pages, s.Name)
	}
	for _, r := range check.Resolutions() {
		resolutions = append(resolutions, fmt.Sprintf("%g ppi", r))
	}
	choice := func(items []string, hint string, take func(int)) *widget.Choice {
		var c *widget.Choice
		c = widget.NewChoice(items, 0, func(i int) { c.Set(i); take(i) })
		p.v.explain(p.column, c, hint)
		return c
	}
	p.write = widget.NewPress("Write the check sheet…  (W)", p.askWrite)
	p.v.explain(p.column, p.write, "A page with known greys, dark and light steps, hues, skin, gradients and fine lines, as TIFF, PNG or PDF in sRGB; beside it a table of its values.")
	p.read = widget.NewPress("Read a scan of it…  (R)", p.askRead)
	p.v.explain(p.column, p.read, "A scan or photo of the sheet, printed by the very route of the bad print, all five round marks in sight. Its patches then answer instead of the picture.")
	return []fyne.CanvasObject{
		choice(pages, "The page that the check sheet is printed on.", func(i int) { p.options.Page = check.Pages()[i].ID }),
		choice(resolutions, "The printer’s own resolution: the sheet’s finest lines are one pixel wide and tell nothing once resampled.", func(i int) { p.options.PPI = check.Resolutions()[i] }),
		choice([]string{"8 bits", "16 bits"}, "How finely the sheet’s numbers are written. 16 bits tell whether a band in a gradient is the printer’s.", func(i int) { p.options.Depth = []int{8, 16}[i] }),
		container.New(layout.Abreast{Gap: 8}, p.write, p.read), p.said,
	}
}

func (p *causePrinter) say(s string) {
	p.said.SetText(s)
	p.column.Again()
}

// turned follows whether a file is being written.
func (p *causePrinter) turned() {
	p.write.SetOff(p.v.files.busy())
}

// askWrite asks where the check sheet is to be written.
func (p *causePrinter) askWrite() {
	if p.v.files.busy() {
		return
	}
	page, _ := check.PageByID(p.options.Page)
	whereTo{
		title: "Check sheet", label: "File: its ending, .tif, .png or .pdf, says of what kind",
		path: filepath.Join(homeFor(p.v.h.State().Picture.Path), "check sheet "+page.Name+".tif"),
		about: widget.NewProse(fmt.Sprintf("%s at %g ppi, %d bits, in sRGB with its profile. Beside it a text of the same name with its values. "+
			"Print it at its own size: nothing fitted to the page, nothing sharpened.", page.Name, p.options.PPI, p.options.Depth),
			toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5),
		kinds: []writable{{"Write it", checkFiles(keepOriginal(p.v.h)), p.writeFile}},
	}.ask(p.v.h)
}

// checkFiles returns the files of a check sheet by the name that was typed; keep may not
// be written over.
func checkFiles(keep []string) func(string) (string, []string, string) {
	return func(typed string) (path string, files []string, complaint string) {
		path = strings.TrimSpace(typed)
		if !slices.Contains(check.Endings(), strings.ToLower(filepath.Ext(path))) {
			return "", nil, "The name must end in .tif, .png or .pdf."
		}
		files = []string{path, check.TableFile(path)}
		for _, k := range keep {
			if slices.Contains(files, filepath.Clean(k)) {
				return "", nil, "That is the open picture’s own file: give another name."
			}
		}
		return path, files, ""
	}
}

func (p *causePrinter) writeFile(path string) {
	options, keep := p.options, keepOriginal(p.v.h)
	p.v.files.start("The check sheet", path, func(ctx context.Context, _ func(float64)) (string, error) {
		sheet, err := check.New(options)
		if err != nil {
			return "", err
		}
		files := aside.Files{Keep: keep}
		defer files.Discard()
		if err := files.Add(path, func(aside string) error { return sheet.Write(ctx, aside) }); err != nil {
			return "", err
		}
		if err := files.Add(check.TableFile(path), sheet.WriteTable); err != nil {
			return "", err
		}
		if err := files.Commit(); err != nil {
			return "", err
		}
		return fmt.Sprintf("The check sheet is written: %s, and beside it %s with its values.", path, filepath.Base(check.TableFile(path))), nil
	})
}

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
