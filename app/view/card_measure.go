package view

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
)

// measureCard makes a paper's profile from a printed and measured chart.
func measureCard() Card {
	return Card{ID: "measure", Name: "Paper from measurements", Key: "M", Ctrl: true, Menu: session.MenuRoute, Place: WholeWindow,
		Help:  "print a chart, read what was measured of it, and make the paper’s profile",
		Build: func(h *Host) Built { return newMeasureLeaf(h, chart.BuildOptions{}).built() }}
}

// measureLeaf is the open card.
type measureLeaf struct {
	*leaf
	options  chart.BuildOptions
	building *lane
	adding   bool // the finished profile is being kept

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

	kept     session.Paper // what this card has added
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
	m.building = m.work.lane()
	m.print = newChartMaker(m.leaf, m.left, false, func() string { return "" })
	m.files = newMeasuredFiles(m.leaf, m.left, m.taken)
	m.files.asks = true
	m.name = widget.NewField("what the paper is to be called", nil)
	m.ink = widget.NewField("percent; the most that was measured", nil)
	m.inks = layout.Row("Total ink", m.ink)
	m.inks.Hide()
	m.build = widget.NewPress("Build the profile", m.press)
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
	return Built{Content: m.content, Key: m.typed, Close: m.close}
}

// close ends the building; a profile that is done already is still kept.
func (m *measureLeaf) close() {
	if m.building.busy() {
		m.h.Do(session.Tell{Notice: session.Notice{Headline: "The building of the profile ended with its card; nothing was added to your papers."}})
	}
	m.work.close()
}

// busy tells whether a profile is being built or kept.
func (m *measureLeaf) busy() bool { return m.building.busy() || m.adding }

func (m *measureLeaf) say(s string) {
	m.state.SetText(s)
	m.left.Again()
	m.left.Reveal(m.state)
}

// taken follows a change of the measurements.
func (m *measureLeaf) taken() {
	m.build.SetOff(m.files.ms == nil && !m.busy())
	ms := m.files.ms
	show(m.inks, ms != nil && ms.Device == chart.CMYK)
	if ms == nil {
		return
	}
	m.left.Again()
	m.left.Reveal(m.build)
	if m.name.Text == "" && ms.Descriptor != "" {
		m.name.SetText(chart.PlainName(ms.Descriptor))
	}
	for i, c := range paper.ConditionChoices() {
		if c != "" && c == ms.Condition && m.form.condition.Chosen == 0 {
			m.form.condition.Set(i)
			m.form.tellCondition()
		}
	}
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

// press builds, or stops the building.
func (m *measureLeaf) press() {
	switch {
	case m.building.busy():
		m.building.stop()
	case m.files.ms == nil:
		m.say("Take a measured file first.")
	default:
		m.start(m.files.ms, false)
	}
}

// start builds from measurements, anyway from doubtful ones too, where all that it
// needs is on the card.
func (m *measureLeaf) start(ms *chart.Measurements, anyway bool) {
	name := strings.TrimSpace(m.name.Text)
	card, trouble := m.form.card()
	ink, sound := chart.InkOf(m.ink.Text)
	switch {
	case m.busy():
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
	m.based = ms
	o := m.options
	o.Anyway, o.Keep = anyway, true
	if ms.Device == chart.CMYK {
		o.TotalInk = ink
	}
	m.run(ms, name, card, o)
}

// run builds away from the drawing goroutine.
func (m *measureLeaf) run(ms *chart.Measurements, name string, card paper.Card, o chart.BuildOptions) {
	m.building.start(func(j job) func() {
		last := -1
		built, err := chart.Build(j, ms, name, o, func(done float64, what string) {
			now := int(done * 100)
			if now == last {
				return
			}
			last = now
			j.post(func() {
				if j.Err() == nil {
					m.gauge.Set(done)
					m.say(fmt.Sprintf("%s … %d %%", strings.ToUpper(what[:1])+what[1:], now))
				}
			})
		})
		if err == nil {
			err = j.Err()
		}
		return func() {
			if err != nil {
				m.finished(built, session.Paper{}, err)
				return
			}
			m.add(built, card)
		}
	})
	m.build.SetText("Stop")
	m.build.SetOff(false)
	m.gauge.Set(0)
	m.gauge.Show()
	m.say("Fitting the measurements …")
	m.left.Turn(1e6) // how it goes on is said at the foot
}

// add makes a finished profile a paper: from here on it can't be stopped any more.
func (m *measureLeaf) add(built *chart.Built, card paper.Card) {
	m.adding = true
	var p session.Paper
	m.h.Session.Shelve(func(s session.Shelf) (err error) {
		p, err = s.KeepProfile(built.V2, card)
		return err
	}, func(err error) {
		m.adding = false
		m.finished(built, p, err)
	})
}

// finished shows what has come of the building.
func (m *measureLeaf) finished(built *chart.Built, p session.Paper, err error) {
	m.build.SetText("Build the profile")
	m.gauge.Hide()
	m.taken()
	var doubt *chart.DoubtError
	switch {
	case errors.As(err, &doubt):
		m.doubt(doubt)
	case errors.Is(err, context.Canceled):
		m.say("Stopped. Nothing was added to your papers.")
	case p.ID == "":
		m.say("No profile was made. " + paperTold(err))
	default:
		m.tellAdded(built, p, err)
	}
}

// tellAdded tells of the new paper; err is why its card could not be kept.
func (m *measureLeaf) tellAdded(built *chart.Built, p session.Paper, err error) {
	old := m.kept
	m.kept = p
	notice := session.Notice{Headline: "‘" + p.Name + "’ is now among your papers, and the proof lies on it.", Hint: chart.ReportSentence(built.Report)}
	told := notice.Headline
	if err != nil {
		notice.Hint = "What is known of the stock could not be kept with it: " + paperTold(err)
		told += " " + notice.Hint
	}
	m.h.Session.PapersChanged(p.ID, notice)
	if old.ID != "" {
		m.replace(old, p)
	}
	m.say(told)
	m.tellReport(built.Report)
}

// replace removes what this card had added before.
func (m *measureLeaf) replace(old, now session.Paper) {
	m.h.Session.Shelve(func(s session.Shelf) error {
		_, err := s.RemovePaper(old.ID)
		return err
	}, func(err error) {
		if err != nil {
			m.h.Do(session.Tell{Notice: session.Notice{Failure: true, Headline: "The profile built before could not be removed.", Hint: paperTold(err)}})
			return
		}
		m.h.Do(session.PaperGone{ID: old.ID, Use: now.ID})
		m.h.Session.PapersChanged("", session.Notice{})
	})
}
