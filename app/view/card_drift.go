package view

import (
	"errors"
	"fmt"
	"path/filepath"
	"time"

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
	judging, recalling *lane

	print *chartMaker
	files *measuredFiles
	id    string
	paper session.Paper
	seen  int
	found *chart.Verification
	past  *fyne.Container // the readings that were kept
	keep  *widget.Press
}

const driftRest = "Nothing passes or fails here: the figures say how far, you judge whether it matters. A: the next paper of the list. " +
	"Swatches are shown as on an sRGB screen."

func newDriftLeaf(h *Host) *driftLeaf {
	d := &driftLeaf{leaf: newLeaf(h, 0.42, driftRest), seen: -1}
	d.judging, d.recalling = d.work.lane(), d.work.lane()
	d.print = newChartMaker(d.leaf, d.left, true, func() string {
		if d.id == "" {
			return ""
		}
		return "verify-" + filepath.Base(d.id)
	})
	d.past = container.New(&layout.Flow{Gap: 7})
	d.files = newMeasuredFiles(d.leaf, d.left, d.judge)
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
	d.left.Fill(append(objs, d.files.objs...)...)
	if other {
		d.judge()
	}
}

const howFar = "How far it has moved"

// judge compares what was measured with what the paper's profile says.
func (d *driftLeaf) judge() {
	lies, ms := d.paper, d.files.ms
	d.found = nil
	d.recall()
	if ms == nil {
		d.judging.drop()
		d.right.Fill(heading(howFar), layout.Prose("When a page has been printed along the path of your prints and measured, this says by hue and by tone "+
			"how far the paper is now from what its profile promises: lighter or darker, duller, turned towards another hue, a cast in the greys."), d.past)
		return
	}
	d.right.Fill(heading(howFar), layout.Prose("The readings are being compared with the profile …"))
	d.judging.start(func(job) func() {
		v, err := chart.VerifyProfile(lies.Profile.Data(), ms)
		return func() {
			if err != nil {
				d.right.Fill(heading(howFar), layout.Prose("It can’t be said. "+driftTold(err, lies.Name)))
				return
			}
			d.found = v
			d.showDrift(v)
		}
	})
}

func driftTold(err error, paper string) string {
	if other, ok := errors.AsType[*chart.ChannelsError](err); ok {
		return fmt.Sprintf("The page was measured from %s numbers, and %s takes %d channels.", other.Measured, paper, other.Takes)
	}
	return paperTold(err)
}

// recall shows what was kept of the paper.
func (d *driftLeaf) recall() {
	d.past.RemoveAll()
	readReadings(d.recalling, d.id, func(shown []fyne.CanvasObject) {
		d.past.Objects = shown
		d.right.Again()
	})
}

const (
	keepWord = "Keep this result with the paper"
	keptWord = "Kept with the paper"
)

func (d *driftLeaf) keepResult() {
	if d.found == nil || d.keep.Off {
		return
	}
	d.keep.SetOff(true)
	d.keep.SetText(keptWord)
	id, v := d.id, d.found
	r := paper.Reading{Date: time.Now().Format(time.DateOnly), Patches: v.All.Count, Mean: v.All.Mean, P95: v.All.P95, Max: v.All.Max,
		Condition: d.files.ms.Condition, Words: v.Sentences}
	d.h.Session.Shelve(func(s session.Shelf) error {
		_, err := s.AddReading(id, r)
		return err
	}, func(err error) {
		switch {
		case v != d.found: // it was about another page or paper
		case err != nil:
			d.keep.SetOff(false)
			d.keep.SetText(keepWord)
			d.files.say("The result is not kept. " + paperTold(err))
		default:
			d.recall()
		}
	})
}
