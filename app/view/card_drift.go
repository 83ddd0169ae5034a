package view

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// driftCard verifies a paper's profile against a page printed and measured now.
func driftCard() Card {
	return Card{ID: "drift", Name: "Drift: verify this paper’s profile", Key: "D", Ctrl: true, Menu: session.MenuRoute, Place: WholeWindow,
		Help:  "print a small page, measure it, and see how far the paper has moved from its profile",
		Build: func(h *Host) Built { return newDriftLeaf(h).built() }}
}

// driftLeaf is the open card.
type driftLeaf struct {
	*leaf
	papers session.Shelf
	ctx    context.Context
	cancel context.CancelFunc

	print  *chartMaker
	files  *measuredFiles
	id     string
	paper  session.Paper
	seen   int
	serial int
	found  *chart.Verification
	past   *fyne.Container // the readings that were kept
	keep   *widget.Press
}

const driftRest = "Nothing passes or fails here: the figures say how far, you judge whether it matters. A: the next paper of the list. " +
	"Swatches are shown as on an sRGB screen."

func newDriftLeaf(h *Host) *driftLeaf {
	d := &driftLeaf{leaf: newLeaf(h, 0.42, driftRest), seen: -1}
	d.ctx, d.cancel = context.WithCancel(context.Background())
	d.papers = h.Session.Engine()
	d.print = newChartMaker(d.ctx, d.leaf, d.left, true, func() string {
		if d.id == "" {
			return ""
		}
		return "verify-" + filepath.Base(d.id)
	})
	d.past = container.New(&layout.Flow{Gap: 7})
	d.files = newMeasuredFiles(d.ctx, d.leaf, d.left, d.judge)
	d.update(h.State())
	return d
}

func (d *driftLeaf) built() Built {
	return Built{Content: d.content, Update: d.update, Close: d.cancel, Key: func(e *fyne.KeyEvent) bool {
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

// judge compares what was measured with what the paper's profile says.
func (d *driftLeaf) judge() {
	d.serial++
	n, ms := d.serial, d.files.ms
	d.found = nil
	d.recall()
	if ms == nil {
		d.right.Fill(heading("How far it has moved"), layout.Prose("When a page has been printed along the path of your prints and measured, this says by hue and by tone "+
			"how far the paper is now from what its profile promises: lighter or darker, duller, turned towards another hue, a cast in the greys."), d.past)
		return
	}
	d.right.Fill(heading("How far it has moved"), layout.Prose("The readings are being compared with the profile …"))
	lies := d.paper
	go func() {
		v, err := compare(lies, ms)
		d.h.Session.Post(func() {
			if n != d.serial || d.ctx.Err() != nil {
				return
			}
			if err != nil {
				d.right.Fill(heading("How far it has moved"), layout.Prose("It can’t be said. "+paperTold(err)))
				return
			}
			d.found = v
			d.showDrift(v)
		})
	}()
}

func compare(paper session.Paper, ms *chart.Measurements) (*chart.Verification, error) {
	if have, takes := ms.Device.Channels(), paper.Profile.Channels(); have != takes {
		return nil, fmt.Errorf("the page was measured from %s numbers, and %s takes %d channels", ms.Device, paper.Name, takes)
	}
	p, err := chart.NewPrediction(paper.Profile.Data())
	if err != nil {
		return nil, err
	}
	defer p.Close()
	return chart.Verify(ms, p.Lab)
}

// showDrift fills the right column.
func (d *driftLeaf) showDrift(v *chart.Verification) {
	objs := []fyne.CanvasObject{strong(v.Sentences[0])}
	for _, s := range v.Sentences[1:] {
		objs = append(objs, layout.Prose(s))
	}
	for _, s := range v.Orders {
		objs = append(objs, layout.Prose(s))
	}
	d.keep = widget.NewPress("Keep this result with the paper", d.keepResult)
	d.explain(d.right, d.keep, "Keep date, figures and sentences beside the paper’s card, to see later how it moves over the months.")
	objs = append(objs, container.New(layout.Abreast{}, d.keep), d.past)
	objs = append(objs, heading("By tone"), driftTable("Tone", v.ByTone, false), heading("By hue"), driftTable("Hue", v.ByHue, true),
		layout.Caption("L*: change of lightness, C*: change of chroma (vividness), turn: of hue, in degrees from red towards yellow; means over the patches of each line."))
	objs = append(objs, heading("How such figures are commonly read"))
	for _, s := range v.Aids {
		objs = append(objs, layout.Caption(s))
	}
	objs = append(objs, heading("Patch by patch, the farthest first"), patchStrip(v.Patches), patchTable(v.Patches))
	if len(v.Notes) > 0 {
		objs = append(objs, heading("What was decided in reading"))
		for _, s := range v.Notes {
			objs = append(objs, layout.Caption(s))
		}
	}
	d.right.Fill(objs...)
	d.right.Turn(-1e6)
}

// recall shows what was kept of the paper.
func (d *driftLeaf) recall() {
	d.past.RemoveAll()
	if d.papers == nil {
		return
	}
	id := d.id
	go func() {
		list, err := d.papers.Readings(id)
		d.h.Session.Post(func() {
			if id == d.id && d.ctx.Err() == nil {
				d.past.Objects = readingsShown(list, err)
				d.right.Again()
			}
		})
	}()
}

// readingsShown is the list of a paper's kept readings, the latest first.
func readingsShown(list []paper.Reading, err error) []fyne.CanvasObject {
	if err != nil {
		return []fyne.CanvasObject{heading("Kept readings"), layout.Caption("They can’t be read. " + paperTold(err))}
	}
	if len(list) == 0 {
		return nil
	}
	rows := [][]string{{"day", "patches", "mean ΔE00", "95 of 100", "largest", "light"}}
	for _, r := range slices.Backward(list) {
		rows = append(rows, []string{r.Date, fmt.Sprint(r.Patches), plain(r.Mean), plain(r.P95), plain(r.Max), r.Condition})
	}
	return []fyne.CanvasObject{heading("Kept readings"), layout.NewGrid([]float32{1.4, 0.9, 1.1, 1.1, 0.9, 0.7}, 1, rows)}
}

func (d *driftLeaf) keepResult() {
	if d.found == nil || d.keep.Off {
		return
	}
	d.keep.Off = true
	d.keep.SetText("Kept with the paper")
	id, v := d.id, d.found
	r := paper.Reading{Date: time.Now().Format(time.DateOnly), Patches: v.All.Count, Mean: v.All.Mean, P95: v.All.P95, Max: v.All.Max,
		Condition: d.files.ms.Condition, Words: v.Sentences}
	go func() {
		err := d.papers.AddReading(id, r)
		d.h.Session.Post(func() {
			if d.ctx.Err() != nil || id != d.id || v != d.found {
				return
			}
			if err != nil {
				d.keep.Off = false
				d.keep.SetText("Keep this result with the paper")
				d.files.say("The result is not kept. " + paperTold(err))
				return
			}
			d.recall()
		})
	}()
}

func driftTable(first string, list []chart.Drift, turns bool) fyne.CanvasObject {
	shares := []float32{1.5, 0.9, 1.1, 0.9, 0.8, 0.8}
	head := []string{first, "patches", "mean ΔE00", "largest", "L*", "C*"}
	if turns {
		shares, head = append(shares, 0.8), append(head, "turn")
	}
	rows := [][]string{head}
	for _, g := range list {
		r := []string{g.Name, fmt.Sprint(g.Count), plain(g.Mean), plain(g.Max), signed(g.Lightness), signed(g.Chroma)}
		if turns {
			turn := signed(g.Turn) + "°"
			if g.Name == "grey" {
				turn = "" // has no hue that could turn
			}
			r = append(r, turn)
		}
		rows = append(rows, r)
	}
	return layout.NewGrid(shares, 1, rows)
}

// In tables the minus is the keyboard's: the typeface has no true one, and one
// borrowed from another stands too high.
func plain(v float64) string  { return strings.ReplaceAll(words.Figure(v), "−", "-") }
func signed(v float64) string { return strings.ReplaceAll(words.Signed(v), "−", "-") }

// byDrift returns the patches with the farthest first.
func byDrift(list []chart.PatchDrift) []chart.PatchDrift {
	out := slices.Clone(list)
	slices.SortStableFunc(out, func(a, b chart.PatchDrift) int {
		switch {
		case a.DeltaE00 > b.DeltaE00:
			return -1
		case a.DeltaE00 < b.DeltaE00:
			return 1
		}
		return 0
	})
	return out
}

// mostPatches are shown one by one; a whole chart may be read too.
const mostPatches = 60

func patchTable(list []chart.PatchDrift) fyne.CanvasObject {
	rows := [][]string{{"patch", "hue", "tone", "ΔE00", "profile says L* a* b*", "measured L* a* b*"}}
	list = byDrift(list)
	triple := func(c cie.Lab) string { return strings.ReplaceAll(words.Triple(c), "−", "-") }
	for _, p := range list[:min(len(list), mostPatches)] {
		rows = append(rows, []string{p.Place, p.Hue, p.Tone, plain(p.DeltaE00), triple(p.Expected), triple(p.Measured)})
	}
	return layout.NewGrid([]float32{0.8, 1.2, 1.2, 0.7, 1.7, 1.7}, 3, rows)
}

// patchStripLayout shows each patch as two halves: what the profile says above, what was
// measured below.
type patchStripLayout struct{ side, gap float32 }

func (l patchStripLayout) Layout(o []fyne.CanvasObject, size fyne.Size) {
	n := l.across(size.Width)
	for i := 0; i+2 < len(o); i += 3 {
		k := i / 3
		x, y := float32(k%n)*(l.side+l.gap), float32(k/n)*(l.side+22)
		set(o[i], x, y, l.side, l.side/2)
		set(o[i+1], x, y+l.side/2, l.side, l.side/2)
		set(o[i+2], x, y+l.side+1, l.side, 16)
	}
}

func (l patchStripLayout) across(w float32) int { return max(int((w+l.gap)/(l.side+l.gap)), 1) }

// HeightFor implements layout.TallLayout.
func (l patchStripLayout) HeightFor(o []fyne.CanvasObject, w float32) float32 {
	n := l.across(w)
	return float32((len(o)/3+n-1)/n) * (l.side + 22)
}

func (l patchStripLayout) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(l.side, l.HeightFor(o, 400))
}

func patchStrip(list []chart.PatchDrift) fyne.CanvasObject {
	c := container.New(patchStripLayout{side: 44, gap: 8})
	list = byDrift(list)
	for _, p := range list[:min(len(list), mostPatches)] {
		t := widget.NewText(p.Place, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
		t.Alignment = fyne.TextAlignCenter
		t.TextSize = 11
		c.Add(canvas.NewRectangle(space.OnScreen(p.Expected)))
		c.Add(canvas.NewRectangle(space.OnScreen(p.Measured)))
		c.Add(t)
	}
	return container.New(&layout.Flow{Gap: 2}, layout.Caption("Above what the profile says, below what was measured."), c)
}
