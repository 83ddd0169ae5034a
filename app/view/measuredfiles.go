package view

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
)

// measuredFiles is the part of a card that takes the files with what was measured.
// A file that can't be read is told of and not taken: what was there stays.
type measuredFiles struct {
	l     *leaf
	c     *layout.Column
	taken func() // the measurements are others now

	sheets   chart.Sheets
	readings []chart.Taken
	ms       *chart.Measurements // the one to work with; nil while there is none or it is not chosen
	reading  *lane

	// asks offers the single readings and their mean where the files hold several.
	asks   bool
	which  *widget.Choice
	choose *fyne.Container

	path, list *widget.Field
	files      *fyne.Container
	held       *fyne.Container // shown while there are files
	state      *widget.Prose
	objs       []fyne.CanvasObject
}

func newMeasuredFiles(l *leaf, c *layout.Column, taken func()) *measuredFiles {
	f := &measuredFiles{l: l, c: c, reading: l.work.lane(), taken: taken}
	f.path = widget.NewField("CGATS.17 text", nil)
	f.path.OnSubmitted = func(s string) { f.add(s) }
	browse := widget.NewPress("choose…", func() { askFile(l.h, measuredKind, "Take this file", f.add) })
	f.list = widget.NewField("optional", nil)
	f.list.OnLeave = func() { f.setList(f.list.Text) }
	f.list.OnSubmitted = f.setList
	browseList := widget.NewPress("choose…", func() {
		askFile(l.h, measuredKind, "Take this list", func(path string) {
			f.list.SetText(path)
			f.setList(path)
		})
	})
	f.files = container.New(&layout.Flow{Gap: 3})
	f.held = container.New(layout.Indented{By: layout.LabelColumn}, f.files)
	f.held.Hide()
	f.state = layout.Prose("")
	f.choose = container.New(&layout.Flow{Gap: 7})
	f.choose.Hide()
	l.explain(c, f.path, "What the measuring program saved: CGATS.17 text with the printed RGB or CMYK numbers and Lab, XYZ or spectra. Pages of one chart are put together; what holds a place again is a reading of its own.")
	l.explain(c, browse, "Choose a measured file by a dialog.")
	l.explain(c, f.list, "The patch list that was written with the chart. It gives each reading its place, and its numbers where the measuring program left them out.")
	l.explain(c, browseList, "Choose the patch list by a dialog.")
	f.objs = []fyne.CanvasObject{layout.Row("Measured", f.path, browse), layout.Row("Patch list", f.list, browseList),
		f.held, f.state, f.choose}
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
		list, err := next.Readings()
		return func() {
			if err != nil {
				s := paperTold(err)
				if len(f.readings) > 0 {
					s += " What was taken before stays."
				}
				f.say(s)
				return
			}
			f.say(chart.Summary(list[len(list)-1].Measurements) + ".")
			if len(list) > 1 {
				f.say(chart.SeveralTold(list))
			}
			f.path.Put("")
			f.take(next, list)
		}
	})
}

func (f *measuredFiles) take(s chart.Sheets, list []chart.Taken) {
	f.sheets, f.readings, f.ms = s, list, nil
	if len(list) == 1 {
		f.ms = list[0].Measurements
	}
	f.offer()
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

// offer lets the person choose among several readings. None is chosen beforehand.
func (f *measuredFiles) offer() {
	show(f.choose, f.asks && len(f.readings) > 1)
	if !f.choose.Visible() {
		return
	}
	var items []string
	for i, t := range f.readings {
		items = append(items, fmt.Sprintf("%d: %s", i+1, t.Day))
	}
	items = append(items, "their mean")
	f.which = widget.NewChoice(items, -1, func(i int) {
		f.which.Set(i)
		f.pick(i)
	})
	f.l.explain(f.c, f.which, "Which reading to work with. The mean of several readings of one sheet lessens the noise of the instrument; readings of different days are different prints.")
	f.choose.Objects = []fyne.CanvasObject{layout.Row("Take", f.which)}
}

// pick takes one of the readings, or their mean.
func (f *measuredFiles) pick(i int) {
	if i < len(f.readings) {
		f.ms = f.readings[i].Measurements
		f.say(chart.Summary(f.ms) + ".")
	} else {
		var all []*chart.Measurements
		for _, t := range f.readings {
			all = append(all, t.Measurements)
		}
		ms, apart, err := chart.Mean(all)
		if err != nil {
			f.say(paperTold(err))
			return
		}
		f.ms = ms
		f.say(chart.MeanTold(len(all), apart) + " " + chart.Summary(ms) + ".")
	}
	f.c.Again()
	f.taken()
}
