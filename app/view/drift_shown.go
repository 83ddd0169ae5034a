package view

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// show fills the right column.
func (d *driftLeaf) show() {
	objs := []fyne.CanvasObject{heading(howFar)}
	if d.unread != "" {
		objs = append(objs, layout.Prose(d.unread))
	}
	if d.now < 0 {
		if d.gone != nil {
			back := widget.NewPress("Bring the reading of "+d.gone.Date+" back", d.bringBack)
			objs = append(objs, layout.Prose(d.said), container.New(layout.Abreast{}, back))
		}
		d.right.Fill(append(objs, layout.Prose("When a page has been printed along the path of your prints and measured, this says by hue and by tone "+
			"how far the paper is now from what its profile promises: lighter or darker, duller, turned towards another hue, a cast in the greys. "+
			"Readings that are kept become a series by date."))...)
		return
	}
	r := d.series[d.now]
	objs = append(objs, layout.Row("Reading", d.readingPress(r.name(), d.now, -1, d.choose)))
	if r.failed != "" {
		d.right.Fill(append(append(objs, layout.Prose(r.failed)), d.handling()...)...)
		return
	}
	for i, s := range r.Found.Sentences {
		if i == 0 {
			objs = append(objs, strong(s))
		} else {
			objs = append(objs, layout.Prose(s))
		}
	}
	for _, s := range r.Found.Orders {
		objs = append(objs, layout.Prose(s))
	}
	objs = append(objs, d.handling()...)
	objs = append(objs, d.sinceShown()...)
	objs = append(objs, d.linesShown()...)
	objs = append(objs, d.tablesShown(r)...)
	d.right.Fill(objs...)
}

// readingPress opens a menu of the readings: those before one, or all for -1.
func (d *driftLeaf) readingPress(name string, at, before int, use func(int)) fyne.CanvasObject {
	var p *widget.Press
	p = widget.NewPress(name+" ▾", func() {
		var lines []offer
		for i, r := range d.series {
			if before >= 0 && (i == before || r.Measurements == nil) {
				continue
			}
			lines = append(lines, offer{Item: widget.Item{Text: r.name(), Note: "mean " + words.Figure(r.Found.All.Mean) + " ΔE00", Set: i == at},
				act: func() { use(i) }})
		}
		openMenu(d.h, p, lines)
	})
	d.explain(d.right, p, "Choose among the readings of this paper.")
	return p
}

// sinceShown says what has moved from the other reading.
func (d *driftLeaf) sinceShown() []fyne.CanvasObject {
	if d.before < 0 {
		return nil
	}
	b := d.series[d.before]
	objs := []fyne.CanvasObject{heading("Since another reading"), layout.Row("Compared with", d.readingPress(b.name(), d.before, d.now, func(i int) {
		d.before = i
		d.compare()
	}))}
	switch {
	case d.apart != "":
		objs = append(objs, layout.Prose("What has moved between the two can’t be said place by place. "+d.apart))
	case d.since == nil:
		objs = append(objs, layout.Prose("The two readings are being compared …"))
	default:
		for _, s := range append(d.since.Sentences, d.since.Notes...) {
			objs = append(objs, layout.Prose(s))
		}
	}
	return objs
}

// tablesShown are the figures by tone and hue, before and after side by side, and patch
// by patch.
func (d *driftLeaf) tablesShown(r driftReading) []fyne.CanvasObject {
	if len(r.Found.ByTone) == 0 {
		return []fyne.CanvasObject{layout.Caption("Of this reading only the figures were noted, not its patches.")}
	}
	var before *chart.Verification
	if d.before >= 0 {
		before = d.series[d.before].Found
	}
	objs := []fyne.CanvasObject{heading("By tone"), driftTable("Tone", r.Found.ByTone, before, false), heading("By hue"), driftTable("Hue", r.Found.ByHue, before, true)}
	how := "L*: change of lightness, C*: change of chroma (vividness), turn: of hue, in degrees from red towards yellow; against the profile, means over the patches of each line."
	if before != nil {
		how += " Before the arrow the reading of " + d.series[d.before].Day + ", behind it that of " + r.Day + "."
	}
	objs = append(objs, layout.Caption(how), heading("Patch by patch, the farthest first"))
	shown, above := r.Found, "what the profile says"
	if d.since != nil {
		against := widget.NewChoice([]string{"against the profile", "against the other reading"}, d.patches, func(i int) {
			d.patches = i
			d.show()
		})
		d.explain(d.right, against, "What the patches are compared with.")
		objs = append(objs, against)
		if d.patches == 1 {
			shown, above = d.since, "the reading of "+d.series[d.before].Day
		}
	}
	farthest := shown.Farthest(mostPatches)
	objs = append(objs, patchStrip(farthest, above), patchTable(farthest, above), heading("How such figures are commonly read"))
	for _, s := range r.Found.Aids {
		objs = append(objs, layout.Caption(s))
	}
	if len(r.Found.Notes) > 0 {
		objs = append(objs, heading("What was decided in reading"))
		for _, s := range r.Found.Notes {
			objs = append(objs, layout.Caption(s))
		}
	}
	return objs
}

// driftTable has a line for each group, with the figures of an earlier reading before an
// arrow where there is one.
func driftTable(first string, list []chart.Drift, before *chart.Verification, turns bool) fyne.CanvasObject {
	shares := []float32{1.3, 0.8, 1.2, 1.2, 1.2, 1.2}
	head := []string{first, "patches", "mean ΔE00", "largest", "L*", "C*"}
	if turns {
		shares, head = append(shares, 1.2), append(head, "turn")
	}
	rows := [][]string{head}
	for _, g := range list {
		was := groupIn(before, g.Name, turns)
		cell := func(write func(float64) string, of func(chart.Drift) float64, unit string) string {
			s := write(of(g)) + unit
			if was != nil {
				s = write(of(*was)) + " → " + s
			}
			return s
		}
		r := []string{g.Name, fmt.Sprint(g.Count),
			cell(plain, func(g chart.Drift) float64 { return g.Mean }, ""), cell(plain, func(g chart.Drift) float64 { return g.Max }, ""),
			cell(signed, func(g chart.Drift) float64 { return g.Lightness }, ""), cell(signed, func(g chart.Drift) float64 { return g.Chroma }, "")}
		if turns {
			turn := cell(signed, func(g chart.Drift) float64 { return g.Turn }, "°")
			if g.Name == "grey" {
				turn = "" // has no hue that could turn
			}
			r = append(r, turn)
		}
		rows = append(rows, r)
	}
	return layout.NewGrid(shares, 1, rows)
}

// groupIn finds a tone or hue in a verification, nil where it has none.
func groupIn(v *chart.Verification, name string, hue bool) *chart.Drift {
	if v == nil {
		return nil
	}
	list := v.ByTone
	if hue {
		list = v.ByHue
	}
	for i := range list {
		if list[i].Name == name {
			return &list[i]
		}
	}
	return nil
}

// In tables the minus is the keyboard's: the typeface has no true one, and one
// borrowed from another stands too high.
func plain(v float64) string  { return strings.ReplaceAll(words.Figure(v), "−", "-") }
func signed(v float64) string { return strings.ReplaceAll(words.Signed(v), "−", "-") }

// mostPatches are shown one by one; a whole chart may be read too.
const mostPatches = 60

func patchTable(list []chart.PatchDrift, above string) fyne.CanvasObject {
	rows := [][]string{{"patch", "hue", "tone", "ΔE00", above, "measured"}}
	triple := func(c cie.Lab) string { return strings.ReplaceAll(words.Triple(c), "−", "-") }
	for _, p := range list {
		rows = append(rows, []string{p.Place, p.Hue, p.Tone, plain(p.DeltaE00), triple(p.Expected), triple(p.Measured)})
	}
	return layout.NewGrid([]float32{0.8, 1.2, 1.2, 0.7, 2, 1.7}, 3, rows)
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

func patchStrip(list []chart.PatchDrift, above string) fyne.CanvasObject {
	c := container.New(patchStripLayout{side: 44, gap: 8})
	for _, p := range list {
		t := widget.NewText(p.Place, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
		t.Alignment = fyne.TextAlignCenter
		t.TextSize = 11
		c.Add(canvas.NewRectangle(space.OnScreen(p.Expected)))
		c.Add(canvas.NewRectangle(space.OnScreen(p.Measured)))
		c.Add(t)
	}
	return container.New(&layout.Flow{Gap: 2}, layout.Caption("Above "+above+", below what was measured."), c)
}
