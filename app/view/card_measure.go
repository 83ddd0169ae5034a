package view

import (
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

	print   *chartMaker
	files   *measuredFiles
	name    *widget.Field
	ink     *widget.Field
	inks    *fyne.Container // its rows, for CMYK only
	stock   string          // whose usual limit was taken
	inkTold *widget.Prose
	build   *widget.Press
	gauge   *widget.Gauge
	state   *widget.Prose
	form    *paperForm
	side    *widget.Choice

	kept     session.Paper // what this card has added last
	instead  bool          // what is being built takes its place
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
	m.ink = widget.NewField("percent that the stock bears", nil)
	m.ink.OnChanged = func(string) { m.tellInk() }
	usual := widget.NewPress("usual limits ▾", nil)
	usual.OnPress = func() { m.askInk(usual) }
	m.inkTold = layout.Prose("")
	m.inks = container.New(&layout.Flow{Gap: 7}, layout.Row("Total ink", m.ink, usual), m.inkTold)
	m.inks.Hide()
	m.build = widget.NewPress("Build the profile", m.press)
	m.gauge = widget.NewGauge()
	m.gauge.Hide()
	m.state = layout.Prose("")
	m.form = newPaperForm(m.leaf, m.right, func() {})
	m.form.date.Text = time.Now().Format(time.DateOnly)
	m.side = widget.NewChoice([]string{"the stock", "the report"}, 0, m.show)
	m.explain(m.left, m.name, "The profile’s description and the name in the list of papers, in any script.")
	m.explain(m.left, m.ink, "Total ink: the most that all inks together may lay down, 100 % being one ink in full. Take what printer and paper bear; too much blocks up, smears or does not dry.")
	m.explain(m.left, usual, "Limits that are usual on kinds of stock, as a place to begin. "+chart.InkPractice)
	m.explain(m.left, m.build, "Find a smooth model through the measurements and write the profile’s tables from it. It takes some seconds to a minute or two and can be stopped.")
	m.explain(m.right, m.side, "What is known of the stock, kept beside the new profile; or how good the profile has become.")
	objs := []fyne.CanvasObject{heading("1   Print a chart and measure it")}
	objs = append(objs, m.print.objs...)
	objs = append(objs, layout.Caption("The pages carry RGB numbers, for a printer that is spoken to through its driver. A CMYK chart comes from elsewhere; what was measured of it is built from in the same way."))
	objs = append(objs, heading("2   Build the profile from what was measured"))
	objs = append(objs, m.files.objs...)
	objs = append(objs, layout.Row("Name", m.name), m.inks, m.buildRow(), container.New(roomy{stateRoom}, m.state))
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

// stateRoom holds the usual sentences on how it goes, so that what lies above them does
// not move.
const stateRoom = 64

// roomy gives one object a least height.
type roomy struct{ least float32 }

func (l roomy) Layout(o []fyne.CanvasObject, size fyne.Size) {
	set(o[0], 0, 0, size.Width, size.Height)
}

// HeightFor implements layout.TallLayout.
func (l roomy) HeightFor(o []fyne.CanvasObject, w float32) float32 {
	return max(l.least, o[0].(*widget.Prose).HeightFor(w))
}

func (l roomy) MinSize(o []fyne.CanvasObject) fyne.Size { return fyne.NewSize(40, l.HeightFor(o, 400)) }

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
	m.tellInk()
	m.left.Again()
	m.left.Reveal(m.build)
	if m.name.Text == "" && ms.Descriptor != "" {
		m.name.SetText(chart.CleanName(ms.Descriptor))
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
	case m.busy():
		m.right.Fill(m.side, layout.Prose("The profile is being built …"))
	case len(m.report) == 0:
		m.right.Fill(m.side, layout.Prose("There is no report. When a profile is done, this says how well it follows what was measured, and names readings that the others contradict."))
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
	case ms.Device == chart.CMYK && ink == 0:
		m.say(fmt.Sprintf(sayInk+" The chart goes up to %.0f %%, which no stock need bear.", 100*chart.MostInk(ms)))
		m.h.Window.Canvas().Focus(m.ink)
		return
	case trouble != "":
		m.say(trouble)
		m.show(0)
		return
	}
	o := m.options
	o.Anyway, o.Keep = anyway, true
	if ms.Device == chart.CMYK {
		o.TotalInk = ink
	}
	m.askReplace(func(instead bool) {
		m.based, m.instead = ms, instead
		m.run(ms, name, card, o)
	})
}
