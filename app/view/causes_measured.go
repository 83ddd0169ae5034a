package view

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cause"
	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
)

// causeMeasured takes colours that were measured on the print.
type causeMeasured struct {
	p       *causePrint
	path    *widget.Field
	open    *fyne.Container
	what    *widget.Choice
	sigma   *widget.Choice
	said    *widget.Prose
	away    *widget.Press
	reading *lane
}

func newCauseMeasured(p *causePrint) *causeMeasured {
	m := &causeMeasured{p: p, said: prose("", 8), reading: p.v.readingLane()}
	m.path = widget.NewField("CGATS.17 or CSV, then Return", nil)
	browse := widget.NewPress("choose…  (O)", m.ask)
	m.open = p.fileRow(m.path, browse, m.take)
	m.what = widget.NewChoice([]string{"this picture", "a check sheet"}, 0, func(i int) {
		m.what.Set(i)
		if f := &p.v.told.file; len(f.spots) > 0 {
			f.sheet = i == 1
			p.v.changed()
		}
	})
	var names []string
	for _, s := range causeSigmas {
		names = append(names, s.name)
	}
	m.sigma = widget.NewChoice(names, 1, func(i int) {
		p.v.told.sigma = i
		m.said.SetText(causeSigmas[i].help)
		p.v.changed()
	})
	m.away = widget.NewPress("Take it out again", func() { p.take(readFile{}, p.v.told.sigma); m.said.SetText("") })
	p.v.explain(p.column, m.path, "CGATS.17 text with the printed RGB or CMYK numbers and what was measured, relative to its own white patch or the paper’s white; or comma-separated text with the columns pin, c1, c2, c3 (0 to 255), L, a, b (relative to the paper’s white).")
	p.v.explain(p.column, browse, "Choose the file by a dialog.")
	p.v.explain(p.column, m.what, "What the numbers in the file were printed from: the open picture, or a check sheet in sRGB printed by the same route.")
	p.v.explain(p.column, m.sigma, "How far a reading may be off in each of L*, a* and b*: one in three is off by more.")
	p.v.explain(p.column, m.away, "What was measured no longer counts and is forgotten.")
	return m
}

func (m *causeMeasured) objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{m.open, layout.Row("Printed from", m.what), layout.Row("Off by", m.sigma), m.said,
		container.New(layout.Abreast{Gap: 8}, m.away)}
}

func (m *causeMeasured) listPins()            {}
func (m *causeMeasured) update(session.State) {}

func (m *causeMeasured) show() {
	told := m.p.v.told
	show(m.away, len(told.file.spots) > 0)
	m.sigma.Set(told.sigma)
	if len(told.file.spots) > 0 {
		m.what.Set(map[bool]int{false: 0, true: 1}[told.file.sheet])
		text := fmt.Sprintf("%d places were read from ‘%s’.", len(told.file.spots), told.file.name)
		m.said.SetText(strings.Join(append([]string{text}, told.file.notes...), " "))
	}
}

func (m *causeMeasured) say(s string) {
	m.said.SetText(s)
	m.p.column.Again()
}

func (m *causeMeasured) ask() {
	askFile(m.p.v.h, readingFiles, "Take this file", func(path string) {
		m.path.Put(path)
		m.take(path)
	})
}

// take reads a file; one that can't be read is told of, and what was there stays.
func (m *causeMeasured) take(path string) {
	v := m.p.v
	pic := v.h.Session.Store().Picture(v.of.picture)
	if path == "" || pic == nil {
		return
	}
	sheet, white := m.what.Chosen == 1, v.at.white
	channels := pic.Info.Channels
	if sheet {
		channels = 3
	}
	m.reading.start(func(job) func() {
		spots, notes, err := readMeasured(path, channels, white)
		return func() {
			if err != nil {
				refusal := causeRefusal(err, path)
				if len(v.told.file.spots) > 0 {
					refusal += " What was read from ‘" + v.told.file.name + "’ still counts."
				}
				m.say(refusal)
				return
			}
			m.p.take(readFile{name: filepath.Base(path), spots: spots, notes: notes, sheet: sheet}, v.told.sigma)
		}
	})
	m.say("The file is being read …")
}

// mostMeasured bytes of text are read; a chart of thousands of spectra has less.
const mostMeasured = 32 << 20

// readMeasured reads colours off a print from a file: a table with a header, or CGATS
// text. white is the paper's, absolute, for files that hold no patch of bare paper.
func readMeasured(path string, channels int, white cie.Lab) ([]cause.Spot, []string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, nil, err
	}
	if !info.Mode().IsRegular() || info.Size() > mostMeasured {
		return nil, nil, &cause.EvidenceError{Reason: "it is no text file of at most 32 MB"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, mostMeasured))
	if err != nil {
		return nil, nil, err
	}
	if strings.EqualFold(filepath.Ext(path), ".csv") {
		spots, err := cause.ReadTable(bytes.NewReader(text), channels)
		if err != nil {
			return nil, nil, &cause.EvidenceError{Reason: err.Error()}
		}
		return spots, nil, nil
	}
	ms, err := chart.Read(bytes.NewReader(text))
	if err != nil {
		return nil, nil, err
	}
	if have := len(ms.Patches[0].Device); have != channels {
		return nil, nil, &cause.EvidenceError{Reason: fmt.Sprintf("its patches have %d numbers each, and a colour of the original has %d", have, channels)}
	}
	return cause.FromChart(ms, white), ms.Notes, nil
}

func (m *causeMeasured) typed(e *fyne.KeyEvent) bool {
	if e.Name == fyne.KeyO {
		m.ask()
		return true
	}
	return false
}
