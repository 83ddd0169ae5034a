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

// showDrift fills the right column.
func (d *driftLeaf) showDrift(v *chart.Verification) {
	objs := []fyne.CanvasObject{strong(v.Sentences[0])}
	for _, s := range v.Sentences[1:] {
		objs = append(objs, layout.Prose(s))
	}
	for _, s := range v.Orders {
		objs = append(objs, layout.Prose(s))
	}
	d.keep = widget.NewPress(keepWord, d.keepResult)
	d.explain(d.right, d.keep, "Keep date, figures and sentences beside the paper’s card, to see later how it moves over the months.")
	objs = append(objs, container.New(layout.Abreast{}, d.keep), d.past)
	objs = append(objs, heading("By tone"), driftTable("Tone", v.ByTone, false), heading("By hue"), driftTable("Hue", v.ByHue, true),
		layout.Caption("L*: change of lightness, C*: change of chroma (vividness), turn: of hue, in degrees from red towards yellow; means over the patches of each line."))
	objs = append(objs, heading("How such figures are commonly read"))
	for _, s := range v.Aids {
		objs = append(objs, layout.Caption(s))
	}
	farthest := v.Farthest(mostPatches)
	objs = append(objs, heading("Patch by patch, the farthest first"), patchStrip(farthest), patchTable(farthest))
	if len(v.Notes) > 0 {
		objs = append(objs, heading("What was decided in reading"))
		for _, s := range v.Notes {
			objs = append(objs, layout.Caption(s))
		}
	}
	d.right.Fill(objs...)
	d.right.Turn(-1e6)
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

// mostPatches are shown one by one; a whole chart may be read too.
const mostPatches = 60

func patchTable(list []chart.PatchDrift) fyne.CanvasObject {
	rows := [][]string{{"patch", "hue", "tone", "ΔE00", "profile says L* a* b*", "measured L* a* b*"}}
	triple := func(c cie.Lab) string { return strings.ReplaceAll(words.Triple(c), "−", "-") }
	for _, p := range list {
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
	for _, p := range list {
		t := widget.NewText(p.Place, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
		t.Alignment = fyne.TextAlignCenter
		t.TextSize = 11
		c.Add(canvas.NewRectangle(space.OnScreen(p.Expected)))
		c.Add(canvas.NewRectangle(space.OnScreen(p.Measured)))
		c.Add(t)
	}
	return container.New(&layout.Flow{Gap: 2}, layout.Caption("Above what the profile says, below what was measured."), c)
}
