package view

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
)

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
					m.state.SetText(fmt.Sprintf("%s … %d %%", strings.ToUpper(what[:1])+what[1:], now))
					m.left.Again()
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
	m.state.SetText("Fitting the measurements …")
	m.left.Again()
	m.report, m.suspects, m.out = nil, nil, nil // of another profile
	m.show(1)
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
	m.show(m.side.Chosen)
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
	if old.ID != "" && m.instead {
		m.replace(old, p)
	}
	m.say(told)
	m.tellReport(built.Report)
}

// replace takes away what this card had added before.
func (m *measureLeaf) replace(old, now session.Paper) {
	m.h.Session.Shelve(func(s session.Shelf) error {
		_, err := s.RemovePaper(old.ID)
		return err
	}, func(err error) {
		if err != nil {
			m.h.Do(session.Tell{Notice: session.Notice{Failure: true, Headline: "The profile built before could not be taken away.", Hint: paperTold(err)}})
			return
		}
		m.h.Do(session.PaperGone{ID: old.ID, Use: now.ID})
		m.h.Session.PapersChanged("", session.Notice{})
	})
}

// buildRow is the press that builds, and stops, at one place all the while, with the
// gauge behind it.
func (m *measureLeaf) buildRow() fyne.CanvasObject {
	m.build.SetText("Build the profile")
	wide := m.build.MinSize().Width
	return container.New(freeLayout{fyne.NewSize(wide+60, 32), func(s fyne.Size) {
		set(m.build, 0, 0, wide, s.Height)
		set(m.gauge, wide+16, (s.Height-m.gauge.MinSize().Height)/2, s.Width-wide-16, m.gauge.MinSize().Height)
	}}, m.build, m.gauge)
}

// askReplace asks what is to become of the profile that this card has built before, and
// goes on with whether the new one takes its place.
func (m *measureLeaf) askReplace(goOn func(instead bool)) {
	old, there := m.h.Session.Store().Paper(m.kept.ID)
	if m.kept.ID == "" || !there {
		goOn(false)
		return
	}
	text := layout.Prose("‘" + old.Name + "’ was built on this card before. The new profile can take its place, or stand beside it. What is taken away can be brought back on the card ‘About this paper’ for 30 days.")
	var d *dialog.CustomDialog
	press := func(word string, do func()) *widget.Press {
		return widget.NewPress(word, func() {
			d.Hide()
			if do != nil {
				do()
			}
		})
	}
	leave := press("Leave it", nil)
	both := press("Keep both", func() { goOn(false) })
	instead := press("Build in its place", func() { goOn(true) })
	d = dialog.NewCustomWithoutButtons("Replace ‘"+old.Name+"’?", container.New(&layout.Flow{Gap: 12, Width: 440}, text), m.h.Window)
	d.SetButtons([]fyne.CanvasObject{leave, both, instead})
	d.Resize(fyne.NewSize(500, 220))
	m.h.front(d, front{})
	d.Show()
	m.h.Window.Canvas().Focus(leave)
}
