package view

import (
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
)

// measuredEndings are those that CGATS.17 text commonly has.
var measuredEndings = []string{".txt", ".cgats", ".cgt", ".cie", ".ti3", ".it8", ".TXT", ".CGATS", ".CGT", ".CIE", ".TI3", ".IT8"}

// measuredFiles is the part of a card that takes the files with what was measured.
// A file that can't be read is told of and not taken: what was there stays.
type measuredFiles struct {
	l     *leaf
	c     *layout.Column
	taken func() // the measurements are others now

	sheets  chart.Sheets
	ms      *chart.Measurements // nil while there are none
	reading *lane

	path, list *widget.Field
	files      *fyne.Container
	held       *fyne.Container // shown while there are files
	state      *widget.Prose
	objs       []fyne.CanvasObject
}

func newMeasuredFiles(l *leaf, c *layout.Column, taken func()) *measuredFiles {
	f := &measuredFiles{l: l, c: c, reading: l.work.lane(), taken: taken}
	f.path = widget.NewField("CGATS.17 text, then Return", nil)
	f.path.OnSubmitted = func(s string) { f.add(s) }
	browse := widget.NewPress("choose…", func() { askFile(l.h, measuredEndings, "Take this file", f.add) })
	f.list = widget.NewField("optional", nil)
	f.list.OnLeave = func() { f.setList(f.list.Text) }
	f.list.OnSubmitted = f.setList
	browseList := widget.NewPress("choose…", func() {
		askFile(l.h, measuredEndings, "Take this list", func(path string) {
			f.list.SetText(path)
			f.setList(path)
		})
	})
	f.files = container.New(&layout.Flow{Gap: 3})
	f.held = container.New(layout.Indented{By: layout.LabelColumn}, f.files)
	f.held.Hide()
	f.state = layout.Prose("")
	l.explain(c, f.path, "What the measuring program saved: CGATS.17 text with the printed RGB or CMYK numbers and Lab, XYZ or spectra. Several files of one chart are put together.")
	l.explain(c, browse, "Choose a measured file by a dialog.")
	l.explain(c, f.list, "The patch list that was written with the chart. It gives each reading its place, and its numbers where the measuring program left them out.")
	l.explain(c, browseList, "Choose the patch list by a dialog.")
	f.objs = []fyne.CanvasObject{layout.Row("Measured", f.path, browse), layout.Row("Patch list", f.list, browseList),
		f.held, f.state}
	return f
}

func (f *measuredFiles) say(s string) {
	f.state.SetText(s)
	f.c.Again()
}

func (f *measuredFiles) add(path string) {
	path = strings.TrimSpace(path)
	switch {
	case path == "":
		return
	case slices.Contains(f.sheets.Paths, path):
		f.say("‘" + filepath.Base(path) + "’ is taken already.")
		return
	}
	next := f.sheets
	next.Paths = append(slices.Clone(next.Paths), path)
	f.read(next)
}

func (f *measuredFiles) drop(path string) {
	next := f.sheets
	next.Paths = slices.DeleteFunc(slices.Clone(next.Paths), func(p string) bool { return p == path })
	f.read(next)
}

func (f *measuredFiles) setList(path string) {
	path = strings.TrimSpace(path)
	if path == f.sheets.List {
		return
	}
	next := f.sheets
	next.List = path
	f.read(next)
}

// read reads a new choice of files; it is taken when all of it could be read.
func (f *measuredFiles) read(next chart.Sheets) {
	if len(next.Paths) == 0 {
		f.reading.drop()
		f.take(next, nil)
		f.say("")
		return
	}
	f.say("The measurements are being read …")
	f.reading.start(func(job) func() {
		ms, err := next.Read()
		return func() {
			if err != nil {
				s := paperTold(err)
				if f.ms != nil {
					s += " What was taken before stays."
				}
				f.say(s)
				return
			}
			f.say(chart.Summary(ms) + ".")
			f.path.Put("")
			f.take(next, ms)
		}
	})
}

func (f *measuredFiles) take(s chart.Sheets, ms *chart.Measurements) {
	f.sheets, f.ms = s, ms
	f.files.RemoveAll()
	for _, p := range s.Paths {
		away := widget.NewQuiet("✗  "+filepath.Base(p), func() { f.drop(p) })
		f.l.explain(f.c, away, "Take this file out again: "+p)
		f.files.Add(container.New(layout.Abreast{}, away))
	}
	show(f.held, len(s.Paths) > 0)
	f.c.Again()
	f.taken()
}
