package view

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
)

// chartMaker is the part of a card that writes a chart to print.
type chartMaker struct {
	l      *leaf
	c      *layout.Column
	verify bool
	name   func() string // begins the files' names
	counts []int

	patches, page, ppi *widget.Choice
	dir                *widget.Field
	write, browse      *widget.Press
	extent, state      *widget.Prose
	objs               []fyne.CanvasObject

	sizing, writing *lane
}

var (
	pageNames = []string{"A4", "Letter", "A3"}
	pageIDs   = []string{"a4", "letter", "a3"}
	pageDots  = []float64{240, 300, 360}
)

func newChartMaker(l *leaf, c *layout.Column, verify bool, name func() string) *chartMaker {
	m := &chartMaker{l: l, c: c, verify: verify, name: name, sizing: l.work.lane(), writing: l.work.lane(), counts: []int{300, 600, 1000, 1500}}
	first := 2
	if verify {
		m.counts, first = []int{30, 48, 60}, 1
	}
	var items []string
	for _, n := range m.counts {
		items = append(items, fmt.Sprint(n))
	}
	m.patches = wordChoice(items, m.measure)
	m.patches.Chosen = first
	m.page = wordChoice(pageNames, m.measure)
	var dots []string
	for _, v := range pageDots {
		dots = append(dots, fmt.Sprint(v))
	}
	m.ppi = wordChoice(dots, nil)
	m.ppi.Chosen = 1
	m.dir = widget.NewField("a folder; it is made where it is missing", nil)
	if home, err := os.UserHomeDir(); err == nil {
		m.dir.Text = filepath.Join(home, "firstsheet-charts")
	}
	m.browse = widget.NewPress("choose…", m.askDir)
	m.write = widget.NewPress("Write the chart", m.press)
	m.extent, m.state = layout.Caption(""), layout.Prose("")
	patchHint := "How many patches. More of them find the bends of the printer better; 1,000 serve a photo printer, 300 a first try."
	if verify {
		patchHint = "How many patches over hue and tone. 48 take a few minutes to measure by hand."
	}
	l.explain(c, m.patches, patchHint)
	l.explain(c, m.page, "The size of the sheets that the chart is printed on.")
	l.explain(c, m.ppi, "ppi: pixels of the page image an inch. Take what divides your printer’s own figure; patches are flat, so that it hardly matters.")
	l.explain(c, m.dir, "The folder that page images, patch list and instructions are written into. Nothing that is there is replaced.")
	l.explain(c, m.browse, "Choose the folder by a dialog.")
	l.explain(c, m.write, "Write the pages as PNG without a profile, the patch list as CGATS.17 text and a page of instructions: all of them or none.")
	m.objs = []fyne.CanvasObject{
		layout.Row("Patches", m.patches), layout.Row("Page", m.page), layout.Row("ppi", m.ppi), layout.Row("Folder", m.dir, m.browse),
		container.New(layout.Indented{By: layout.LabelColumn}, m.extent),
		container.New(layout.Abreast{Gap: 8}, m.write), m.state, layout.Caption(chart.Caution),
	}
	m.measure()
	return m
}

func (m *chartMaker) wish() chart.Wish {
	return chart.Wish{Verify: m.verify, Patches: m.counts[m.patches.Chosen], Page: pageIDs[m.page.Chosen], PPI: pageDots[m.ppi.Chosen],
		Name: m.name(), Dir: strings.TrimSpace(m.dir.Text)}
}

// measure finds how many pages the chart takes.
func (m *chartMaker) measure() {
	w, page := m.wish(), pageNames[m.page.Chosen]
	m.sizing.start(func(j job) func() {
		t, err := w.Design(j)
		return func() {
			switch {
			case err != nil:
				m.extent.SetText(paperTold(err))
			case t.Layout.Pages == 1:
				m.extent.SetText("One page of " + page + ".")
			default:
				m.extent.SetText(fmt.Sprintf("%d pages of %s.", t.Layout.Pages, page))
			}
			m.c.Again()
		}
	})
}

func (m *chartMaker) say(s string) {
	m.state.SetText(s)
	m.c.Again()
}

// press starts the writing, or stops it.
func (m *chartMaker) press() {
	if m.writing.busy() {
		m.writing.stop()
		return
	}
	w := m.wish()
	if w.Dir == "" {
		m.say("Name a folder for the chart’s files first.")
		return
	}
	m.write.SetText("Stop")
	m.say("The chart is being written …")
	m.writing.start(func(j job) func() {
		made, err := w.Write(j)
		return func() {
			m.write.SetText("Write the chart")
			if err != nil {
				m.say("No chart was written. " + paperTold(err))
				return
			}
			m.say(made.Told(w.Page))
		}
	})
}

func (m *chartMaker) askDir() {
	askFolder(m.l.h, chartFolder, "Write here", strings.TrimSpace(m.dir.Text), func(dir string) { m.dir.SetText(dir) })
}
