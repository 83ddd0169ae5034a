package view

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
)

// driftCard verifies a paper's profile against a page printed and measured now.
func driftCard() Card {
	return Card{ID: "drift", Name: "Drift of this paper", Key: "D", Ctrl: true, Menu: session.MenuRoute, Place: WholeWindow,
		Help:  "print a small page, measure it, and see how far the paper has moved from its profile",
		Build: func(h *Host) Built { return newDriftLeaf(h).built() }}
}

// driftLeaf is the open card.
type driftLeaf struct {
	*leaf
	judging, comparing *lane

	print *chartMaker
	files *measuredFiles
	id    string
	paper session.Paper
	seen  int

	days     []string                     // of what was read now, as the person says
	together map[string]bool              // days whose readings of now are put together
	kept     map[*chart.Measurements]bool // readings of now that are noted meanwhile
	series   []driftReading
	unread   string // why some that were noted can't be read
	now      int    // the reading that is shown, -1 for none
	before   int    // the one that it is compared with, -1 for none
	since    *chart.Verification
	apart    string // why the two can't be compared
	gone     *paper.Reading
	said     string
	quantity int // of the lines over time
	patches  int // 0 against the profile, 1 against the other reading
}

// driftReading is one reading of the series.
type driftReading struct {
	chart.Point
	taken  int    // which of those read now, -1 for one that was noted
	file   string // the first that it was read from
	failed string // why it can't be verified
}

// name is what a reading is called.
func (r driftReading) name() string {
	s := r.Day
	if r.Merged > 1 {
		s += fmt.Sprintf(", mean of %d", r.Merged)
	}
	if r.taken >= 0 {
		s += ", read now"
	}
	if r.file != "" {
		s += ": " + r.file
	}
	return s
}

const driftRest = "Nothing passes or fails here: the figures say how far, you judge whether it matters. A: the next paper of the list. " +
	"Swatches are shown as on an sRGB screen."

func newDriftLeaf(h *Host) *driftLeaf {
	d := &driftLeaf{leaf: newLeaf(h, 0.38, driftRest), seen: -1, now: -1, before: -1, kept: map[*chart.Measurements]bool{}, together: map[string]bool{}}
	d.judging, d.comparing = d.work.lane(), d.work.lane()
	d.print = newChartMaker(d.leaf, d.left, true, func() string {
		if d.id == "" {
			return ""
		}
		return "verify-" + filepath.Base(d.id)
	})
	d.files = newMeasuredFiles(d.leaf, d.left, d.readAnew)
	d.update(h.State())
	return d
}

func (d *driftLeaf) built() Built {
	return Built{Content: d.content, Update: d.update, Close: d.work.close, Key: func(e *fyne.KeyEvent) bool {
		if e.Name == fyne.KeyA {
			d.next()
			return true
		}
		return d.typed(e)
	}}
}

func (d *driftLeaf) next() {
	d.h.Do(session.SetPaper{ID: d.h.Session.Store().Next(d.id)})
}

func (d *driftLeaf) update(now session.State) {
	sh, _ := now.Proof()
	if sh.Paper == d.id && now.Library == d.seen {
		return
	}
	other := sh.Paper != d.id
	d.id, d.seen = sh.Paper, now.Library
	p, ok := d.h.Session.Store().Paper(d.id)
	if !ok {
		d.left.Fill(layout.Prose("This paper is no longer among your papers."))
		return
	}
	d.paper = p
	next := widget.NewPress("Next paper", d.next)
	d.explain(d.left, next, "The next paper of the list (A).")
	objs := []fyne.CanvasObject{paperHead(p), container.New(layout.Abreast{}, next), heading("1   Print a page and measure it")}
	if p.Profile.Channels() == 3 {
		objs = append(objs, d.print.objs...)
	} else {
		objs = append(objs, layout.Prose(fmt.Sprintf("This paper takes %d channels, and pages are written for RGB only. Print any CMYK chart of at least 10 patches "+
			"along the path of your prints, colour handling off, and read here what was measured of it.", p.Profile.Channels())))
	}
	objs = append(objs, heading("2   Read what was measured"))
	objs = append(objs, d.files.objs...)
	objs = append(objs, layout.Caption("Files that hold a place again are a further reading: each is verified and kept alone."))
	d.left.Fill(objs...)
	if other {
		d.said, d.gone, d.now, d.before = "", nil, -1, -1
		d.kept = map[*chart.Measurements]bool{}
		d.judge(nil)
	}
}

// readAnew follows a change of the files.
func (d *driftLeaf) readAnew() {
	d.days = nil
	for _, t := range d.files.readings {
		d.days = append(d.days, t.Day)
	}
	d.together = map[string]bool{}
	d.said = ""
	d.judge(readAs(len(d.days) - 1))
}

// readAs fits the reading of now of that number, notedAs the noted one of that ID, onDay
// those of a day.
func readAs(taken int) func(driftReading) bool {
	return func(r driftReading) bool { return r.taken == taken && taken >= 0 }
}

func notedAs(id string) func(driftReading) bool {
	return func(r driftReading) bool { return r.ID == id }
}

func onDay(day string) func(driftReading) bool {
	return func(r driftReading) bool { return r.Day == day }
}

const howFar = "How far it has moved"

// judge verifies all readings by the paper's profile, those that were noted and those
// read now, and shows the last that fits; for nil the last that was read now, else the
// last of all.
func (d *driftLeaf) judge(fits func(driftReading) bool) {
	d.right.Fill(heading(howFar), layout.Prose("The readings are being compared with the profile …"))
	now := d.readNow()
	data, id, name, engine := d.paper.Profile.Data(), d.id, d.paper.Name, d.h.Session.Engine()
	d.judging.start(func(job) func() {
		noted, err := engine.Readings(id)
		var all []driftReading
		for _, p := range chart.Series(data, noted) {
			all = append(all, driftReading{Point: p, taken: -1})
		}
		for _, r := range now {
			v, err := chart.VerifyProfile(data, r.Measurements)
			if err != nil {
				r.failed, v = "It can’t be said. "+driftTold(err, name), &chart.Verification{}
			}
			r.Found = v
			all = append(all, r)
		}
		slices.SortStableFunc(all, func(a, b driftReading) int { return strings.Compare(a.Day, b.Day) })
		return func() {
			d.series, d.unread = all, ""
			if err != nil {
				d.unread = "Some readings can’t be read. " + paperTold(err)
			}
			at := len(all) - 1
			for i, r := range all {
				if fits == nil && r.taken >= 0 || fits != nil && fits(r) {
					at = i
				}
			}
			d.choose(at)
		}
	})
}

// readNow are the readings of now that are not noted yet, those of a day put together
// where that was asked for.
func (d *driftLeaf) readNow() (out []driftReading) {
	byDay := map[string][]*chart.Measurements{}
	for i, t := range d.files.readings {
		if d.kept[t.Measurements] {
			continue
		}
		day := d.days[i]
		byDay[day] = append(byDay[day], t.Measurements)
		if d.together[day] {
			continue
		}
		out = append(out, driftReading{Point: chart.Point{Day: day, Measurements: t.Measurements}, taken: i, file: filepath.Base(t.Paths[0])})
	}
	for day, all := range byDay {
		if !d.together[day] {
			continue
		}
		ms, apart, err := chart.Mean(all)
		if err != nil {
			d.said = paperTold(err)
			d.together[day] = false
			return d.readNow()
		}
		d.said = chart.MeanTold(len(all), apart)
		out = append(out, driftReading{Point: chart.Point{Day: day, Measurements: ms, Merged: len(all)}, taken: slices.Index(d.days, day)})
	}
	return out
}

// choose shows a reading beside the last one of an earlier day, or where there is none
// beside the one before it.
func (d *driftLeaf) choose(at int) {
	d.now, d.before = at, -1
	for i := range d.series[:max(at, 0)] {
		if r := d.series[i]; r.Measurements != nil && (r.Day < d.series[at].Day || d.before < 0 || d.series[d.before].Day == r.Day) {
			d.before = i
		}
	}
	d.compare()
}

// compare finds what has moved between the two readings that are chosen.
func (d *driftLeaf) compare() {
	d.since, d.apart = nil, ""
	d.comparing.drop()
	d.show()
	if d.now < 0 || d.before < 0 || d.series[d.now].Measurements == nil || d.series[d.now].failed != "" {
		return
	}
	data, before, after := d.paper.Profile.Data(), d.series[d.before].Point, d.series[d.now].Point
	d.comparing.start(func(job) func() {
		v, err := chart.SinceProfile(data, before.Measurements, after.Measurements, before.Day)
		return func() {
			d.since = v
			if err != nil {
				d.apart = paperTold(err)
			}
			d.show()
		}
	})
}

func driftTold(err error, paper string) string {
	if other, ok := errors.AsType[*chart.ChannelsError](err); ok {
		return fmt.Sprintf("The page was measured from %s numbers, and %s takes %d channels.", other.Measured, paper, other.Takes)
	}
	return paperTold(err)
}
