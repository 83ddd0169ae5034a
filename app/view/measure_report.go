package view

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
)

func (m *measureLeaf) tellReport(r chart.Report) {
	m.report = []fyne.CanvasObject{strong(chart.ReportSentence(r))}
	for _, s := range r.Warnings {
		m.report = append(m.report, layout.Prose("! "+s))
	}
	for _, l := range chart.ReportLines(r) {
		m.report = append(m.report, factLine(l))
	}
	m.listSuspects(r.Fit.Suspects, false)
	for _, s := range r.Fit.Orders {
		m.report = append(m.report, layout.Prose(s))
	}
	m.report = append(m.report, heading("What was decided in reading"))
	for _, s := range r.Fit.Notes {
		m.report = append(m.report, layout.Caption(s))
	}
	for _, s := range r.Cautions {
		m.report = append(m.report, layout.Caption(s))
	}
	m.show(1)
}

// doubt tells why nothing was built.
func (m *measureLeaf) doubt(e *chart.DoubtError) {
	m.say("Nothing was built: the measurements look wrong as a whole. The report says why.")
	m.report = []fyne.CanvasObject{strong(chart.DoubtSentence(e))}
	m.listSuspects(e.Suspects, true)
	m.show(1)
}

// mostListed suspects are named one by one; more say no more.
const mostListed = 60

func (m *measureLeaf) listSuspects(list []chart.Suspect, refused bool) {
	m.suspects, m.out = list[:min(len(list), mostListed)], nil
	presses := container.New(layout.Abreast{Gap: 8})
	m.again = widget.NewPress("", m.withoutTicked)
	m.explain(m.right, m.again, "Build anew as if the ticked patches had not been measured.")
	if refused {
		all := widget.NewPress("Build all the same", func() { m.start(m.based, true) })
		m.explain(m.right, all, "Build from all of it, doubtful as it is.")
		presses.Add(all)
	}
	if len(list) > 0 {
		m.report = append(m.report, heading("Readings that the others contradict"),
			layout.Caption("Look at the sheet at these places: page, row letter, column. A smudge or a slipped reading is left out; a true colour of the printer stays in."))
		for _, s := range m.suspects {
			var t *widget.Toggle
			t = widget.NewToggle("leave out "+s.Place, true, func(on bool) {
				t.Set(on)
				m.count()
			})
			m.explain(m.right, t, "Ticked: left out when it is built again.")
			m.out = append(m.out, t)
			text := s.Text
			if s.Aside {
				text += " It was set aside already."
			}
			m.report = append(m.report, container.New(layout.Labelled{Column: factColumn, Top: true}, t, layout.Caption(text)))
		}
		if n := len(list) - len(m.suspects); n > 0 {
			m.report = append(m.report, layout.Caption(fmt.Sprintf("And %d more.", n)))
		}
		presses.Objects = append([]fyne.CanvasObject{m.again}, presses.Objects...)
	}
	if len(presses.Objects) > 0 {
		m.report = append(m.report, presses)
	}
	m.count()
}

func (m *measureLeaf) ticked() (out []chart.Suspect) {
	for i, t := range m.out {
		if t.On {
			out = append(out, m.suspects[i])
		}
	}
	return out
}

func (m *measureLeaf) count() {
	n := len(m.ticked())
	m.again.Off = n == 0
	m.again.SetText(fmt.Sprintf("Leave %d out and build again", n))
	m.again.Refresh()
	m.right.Again()
}

func (m *measureLeaf) withoutTicked() {
	if m.busy() || m.based == nil {
		return
	}
	m.start(chart.Without(m.based, m.ticked()), false)
}
