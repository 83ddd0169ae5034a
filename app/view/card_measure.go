package view

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
)

// measureCard makes a paper's profile from a printed and measured chart.
func measureCard() Card {
	return Card{ID: "measure", Name: "Add a paper from measurements", Key: "M", Ctrl: true, Menu: session.MenuRoute, Place: WholeWindow,
		Help:  "print a chart, read what was measured of it, and make the paper’s profile",
		Build: func(h *Host) Built { return newMeasureLeaf(h, chart.BuildOptions{}).built() }}
}

// measureLeaf is the open card.
type measureLeaf struct {
	*leaf
	papers  session.Shelf
	options chart.BuildOptions
	ctx     context.Context
	cancel  context.CancelFunc

	print *chartMaker
	files *measuredFiles
	name  *widget.Field
	ink   *widget.Field
	inks  *fyne.Container // its row, for CMYK only
	build *widget.Press
	gauge *widget.Gauge
	state *widget.Prose
	form  *paperForm
	side  *widget.Choice

	stop     context.CancelFunc // of the building under way, nil when there is none
	kept     session.Paper      // what this card has added
	based    *chart.Measurements
	report   []fyne.CanvasObject
	suspects []chart.Suspect
	out      []*widget.Toggle // those that are to be left out
	again    *widget.Press
}

const measureRest = "A profile describes one combination of printer, ink, paper, media setting and quality. A proof by it is as good as the screen’s calibration " +
	"and the light on the print; it is no contract."

func newMeasureLeaf(h *Host, o chart.BuildOptions) *measureLeaf {
	m := &measureLeaf{leaf: newLeaf(h, 0.48, measureRest), options: o}
	m.ctx, m.cancel = context.WithCancel(context.Background())
	m.papers = h.Session.Engine()
	m.print = newChartMaker(m.ctx, m.leaf, m.left, false, func() string { return "" })
	m.files = newMeasuredFiles(m.ctx, m.leaf, m.left, m.taken)
	m.name = widget.NewField("what the paper is to be called", nil)
	m.ink = widget.NewField("percent; the most that was measured", nil)
	m.inks = layout.Row("Total ink", m.ink)
	m.inks.Hide()
	m.build = widget.NewPress("Build the profile", func() { m.press(false) })
	m.gauge = widget.NewGauge()
	m.gauge.Hide()
	m.state = layout.Prose("")
	m.form = newPaperForm(m.leaf, m.right, func() {})
	m.form.date.Text = time.Now().Format(time.DateOnly)
	m.side = widget.NewChoice([]string{"the stock", "the report"}, 0, m.show)
	m.explain(m.left, m.name, "The profile’s description and the name in the list of papers, in plain ASCII letters.")
	m.explain(m.left, m.ink, "Total ink: the most that all inks together may lay down, 100 % being one ink in full. Take what printer and paper bear; too much blocks up, smears or does not dry.")
	m.explain(m.left, m.build, "Find a smooth model through the measurements and write the profile’s tables from it. It takes some seconds to a minute or two and can be stopped.")
	m.explain(m.right, m.side, "What is known of the stock, kept beside the new profile; or how good the profile has become.")
	objs := []fyne.CanvasObject{heading("1   Print a chart and measure it")}
	objs = append(objs, m.print.objs...)
	objs = append(objs, layout.Caption("The pages carry RGB numbers, for a printer that is spoken to through its driver. A CMYK chart comes from elsewhere; what was measured of it is built from in the same way."))
	objs = append(objs, heading("2   Build the profile from what was measured"))
	objs = append(objs, m.files.objs...)
	objs = append(objs, layout.Row("Name", m.name), m.inks, container.New(layout.Abreast{Gap: 8}, m.build), m.gauge, m.state)
	m.left.Fill(objs...)
	m.taken()
	m.show(0)
	return m
}

func (m *measureLeaf) built() Built {
	return Built{Content: m.content, Key: m.typed, Close: m.cancel}
}

func (m *measureLeaf) say(s string) {
	m.state.SetText(s)
	m.left.Again()
	m.left.Reveal(m.state)
}

// taken follows a change of the measurements.
func (m *measureLeaf) taken() {
	m.build.Off = m.files.ms == nil && m.stop == nil
	m.build.Refresh()
	ms := m.files.ms
	show(m.inks, ms != nil && ms.Device == chart.CMYK)
	if ms == nil {
		return
	}
	m.left.Again()
	m.left.Reveal(m.build)
	if m.name.Text == "" && ms.Descriptor != "" {
		m.name.SetText(ascii(ms.Descriptor))
	}
	for i, c := range paper.ConditionChoices() {
		if c != "" && c == ms.Condition && m.form.condition.Chosen == 0 {
			m.form.condition.Set(i)
			m.form.tellCondition()
		}
	}
}

// ascii leaves out what a version 2 profile can't be called.
func ascii(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// show fills the right column.
func (m *measureLeaf) show(i int) {
	m.side.Set(i)
	switch {
	case i == 0:
		objs := []fyne.CanvasObject{m.side, layout.Caption("Kept as the new paper’s card, all of it optional. Note the media setting at least: a profile holds for one only.")}
		m.right.Fill(append(objs, m.form.objs...)...)
	case len(m.report) == 0:
		m.right.Fill(m.side, layout.Prose("Nothing has been built yet. When a profile is done, this says how well it follows what was measured, and names readings that the others contradict."))
	default:
		m.right.Fill(append([]fyne.CanvasObject{m.side}, m.report...)...)
	}
}

// press builds, or stops the building. anyway builds from doubtful measurements.
func (m *measureLeaf) press(anyway bool) {
	if m.stop != nil {
		m.stop()
		return
	}
	if m.files.ms == nil {
		m.say("Take a measured file first.")
		return
	}
	m.start(m.files.ms, anyway)
}

func (m *measureLeaf) start(ms *chart.Measurements, anyway bool) {
	name := strings.TrimSpace(m.name.Text)
	card, trouble := m.form.card()
	ink, sound := chart.InkOf(m.ink.Text)
	switch {
	case m.stop != nil:
		return
	case m.papers == nil:
		m.say("This engine keeps no papers.")
		return
	case name == "":
		m.say("Give the paper a name first.")
		m.h.Window.Canvas().Focus(m.name)
		return
	case ms.Device == chart.CMYK && !sound:
		m.say("The total ink ‘" + m.ink.Text + "’ is no percentage from 100 to 400.")
		return
	case trouble != "":
		m.say(trouble)
		m.show(0)
		return
	}
	ctx, stop := context.WithCancel(m.ctx)
	m.stop, m.based = stop, ms
	o := m.options
	o.Anyway, o.Keep = anyway, true
	if ms.Device == chart.CMYK {
		o.TotalInk = ink
	}
	m.build.SetText("Stop")
	m.build.Off = false
	m.build.Refresh()
	m.gauge.Set(0)
	m.gauge.Show()
	m.say("Fitting the measurements …")
	m.left.Turn(1e6) // how it goes on is said at the foot
	last := -1
	go func() {
		defer stop()
		built, err := chart.Build(ctx, ms, name, o, func(done float64, what string) {
			if now := int(done * 100); now != last {
				last = now
				m.h.Session.Post(func() {
					if m.stop != nil && ctx.Err() == nil {
						m.gauge.Set(done)
						m.say(fmt.Sprintf("%s … %d %%", strings.ToUpper(what[:1])+what[1:], now))
					}
				})
			}
		})
		var p session.Paper
		if err == nil {
			// From here on it is kept: a profile that is done is not thrown away.
			if err = ctx.Err(); err == nil {
				p, err = m.papers.KeepProfile(built.V2, card)
			}
		}
		m.h.Session.Post(func() { m.finished(built, p, err) })
	}()
}

// finished shows what has come of the building.
func (m *measureLeaf) finished(built *chart.Built, p session.Paper, err error) {
	open := m.ctx.Err() == nil
	m.stop = nil
	if open {
		m.build.SetText("Build the profile")
		m.gauge.Hide()
		m.taken()
	}
	var doubt *chart.DoubtError
	switch {
	case errors.As(err, &doubt):
		if open {
			m.doubt(doubt)
		}
		return
	case errors.Is(err, context.Canceled):
		if open {
			m.say("Stopped. Nothing was added to your papers.")
		} else {
			m.h.Do(session.Tell{Notice: session.Notice{Headline: "The building of the profile ended with its card; nothing was added to your papers."}})
		}
		return
	case p.ID == "":
		if open {
			m.say("No profile was made. " + paperTold(err))
		}
		return
	}
	old := m.kept
	m.kept = p
	notice := session.Notice{Headline: "‘" + p.Name + "’ is now among your papers, and the proof lies on it.", Hint: chart.ReportSentence(built.Report)}
	if err != nil {
		notice.Hint = "What is known of the stock could not be kept with it: " + paperTold(err)
	}
	m.h.Session.PapersChanged(p.ID, notice)
	if old.ID != "" {
		m.replace(old, p)
	}
	if !open {
		return
	}
	m.say(notice.Headline)
	if err != nil {
		m.say(notice.Headline + " " + notice.Hint)
	}
	m.tellReport(built.Report)
}

// replace removes what this card had added before.
func (m *measureLeaf) replace(old, now session.Paper) {
	go func() {
		err := m.papers.RemovePaper(old.ID)
		m.h.Session.Post(func() {
			if err != nil {
				m.h.Do(session.Tell{Notice: session.Notice{Failure: true, Headline: "The profile built before could not be removed.", Hint: paperTold(err)}})
				return
			}
			m.h.Do(session.PaperGone{ID: old.ID, Use: now.ID})
			m.h.Session.PapersChanged("", session.Notice{})
		})
	}()
}

func (m *measureLeaf) tellReport(r chart.Report) {
	m.report = []fyne.CanvasObject{strong(chart.ReportSentence(r))}
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

// strong is a paragraph that is read first.
func strong(s string) *widget.Prose {
	p := widget.NewProse(s, toolkittheme.SizeNameSubHeadingText, toolkittheme.ColorNameForeground, 6)
	p.Bold = true
	return p
}

// mostListed suspects are named one by one; more say no more.
const mostListed = 60

func (m *measureLeaf) listSuspects(list []chart.Suspect, refused bool) {
	m.suspects, m.out = list[:min(len(list), mostListed)], nil
	presses := container.New(layout.Abreast{Gap: 8})
	m.again = widget.NewPress("", m.withoutTicked)
	m.explain(m.right, m.again, "Build anew as if the ticked patches had not been measured. It takes the place of the profile built before.")
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
	if m.stop != nil || m.based == nil {
		return
	}
	m.start(chart.Without(m.based, m.ticked()), false)
}
