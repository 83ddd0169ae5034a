package view

import (
	"image"
	"image/color"
	"math"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/plot"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/words"
)

// driftQuantity is what the lines over time may show.
type driftQuantity struct {
	name string
	of   func(chart.Drift) float64
	hues bool // not of tones
}

func driftQuantities() []driftQuantity {
	return []driftQuantity{
		{"ΔE00", func(d chart.Drift) float64 { return d.Mean }, false},
		{"lightness L*", func(d chart.Drift) float64 { return d.Lightness }, false},
		{"chroma C*", func(d chart.Drift) float64 { return d.Chroma }, false},
		{"turn of hue, °", func(d chart.Drift) float64 { return d.Turn }, true},
	}
}

// driftLine is one tone or hue over time.
type driftLine struct {
	name   string
	days   []time.Time
	values []float64
}

// linesShown draws the series by tone and hue, where there are two readings or more.
func (d *driftLeaf) linesShown() []fyne.CanvasObject {
	n := 0
	for _, r := range d.series {
		if r.failed == "" {
			n++
		}
	}
	if n < 2 {
		return nil
	}
	all := driftQuantities()
	q := all[d.quantity]
	var names []string
	for _, q := range all {
		names = append(names, q.name)
	}
	what := widget.NewChoice(names, d.quantity, func(i int) {
		d.quantity = i
		d.show()
	})
	d.explain(d.right, what, "What the lines show: how far each tone and hue was from the profile on each day; 0 is as the profile says.")
	objs := []fyne.CanvasObject{heading("Over time"), what}
	for _, hue := range []bool{false, true} {
		if lines := driftLines(d.series, q, hue); len(lines) > 0 && (hue || !q.hues) {
			by := "By tone"
			if hue {
				by = "By hue"
			}
			drawing := d.work.drawing(func(w, h int, scale float64) (*image.RGBA, []widget.Word) {
				return paintDrift(w, h, scale, by, lines)
			})
			drawing.Least = fyne.NewSize(300, 190)
			if hue {
				drawing.Least.Height = 220
			}
			drawing.Ground = widget.Color(theme.ColorGroup)
			objs = append(objs, drawing)
		}
	}
	return append(objs, layout.Caption("Each reading stands alone at its day; the line only joins them. A dot is a reading."))
}

// driftLines takes a quantity by tone or hue out of a series. Readings of which only the
// figures were noted have one line of their own, the mean of all.
func driftLines(series []driftReading, q driftQuantity, hue bool) (out []driftLine) {
	add := func(name string, day time.Time, v float64) {
		i := slices.IndexFunc(out, func(l driftLine) bool { return l.name == name })
		if i < 0 {
			i = len(out)
			out = append(out, driftLine{name: name})
		}
		out[i].days, out[i].values = append(out[i].days, day), append(out[i].values, v)
	}
	for _, r := range series {
		day, err := time.Parse(time.DateOnly, r.Day)
		if err != nil || r.failed != "" {
			continue
		}
		if !hue && q.name == driftQuantities()[0].name {
			add("all", day, r.Found.All.Mean)
		}
		groups := r.Found.ByTone
		if hue {
			groups = r.Found.ByHue
		}
		for _, g := range groups {
			if q.hues && g.Name == "grey" {
				continue
			}
			add(g.Name, day, q.of(g))
		}
	}
	return out
}

// paintDrift draws lines over time with their names at the right end.
func paintDrift(w, h int, scale float64, title string, lines []driftLine) (*image.RGBA, []widget.Word) {
	ground, ink, quiet := rgba(widget.Color(theme.ColorGroup)), rgba(widget.Color(toolkittheme.ColorNameForeground)), widget.Color(theme.ColorQuiet)
	s := plot.New(w, h, ground)
	left, right, top, foot := 44*scale, 108*scale, 26*scale, 24*scale
	box := image.Rect(int(left), int(top), w-int(right), h-int(foot))
	if box.Dx() < 40 || box.Dy() < 40 {
		return s.Img, nil
	}
	first, last, low, high := extent(lines)
	axes := plot.Axes{Box: box, X0: 0, X1: max(last.Sub(first).Hours(), 24), Y0: low, Y1: high}
	said := []widget.Word{{Text: title, X: 4 * scale, Y: top / 2, Size: 13, Bold: true, Ink: ink}}
	rule := rgba(widget.Color(theme.ColorLine))
	step := evenStep(high - low)
	for v := math.Ceil(low/step) * step; v <= high+step/1000; v += step {
		y := axes.At(0, v).Y
		s.Rule(box.Min.X, int(y), box.Max.X, int(y), max(int(scale), 1), rule)
		said = append(said, widget.Word{Text: tickWord(v, step, low), X: left - 6*scale, Y: y, Align: fyne.TextAlignTrailing, Size: 11, Ink: quiet})
	}
	for _, day := range ends(first, last) {
		at, x := fyne.TextAlignLeading, axes.At(day.Sub(first).Hours(), low).X
		if day.After(first) {
			at = fyne.TextAlignTrailing
		}
		said = append(said, widget.Word{Text: day.Format(time.DateOnly), X: x, Y: float64(box.Max.Y) + foot/2, Align: at, Size: 11, Ink: quiet})
	}
	patterns := plot.Patterns()
	var names []widget.Word
	var tips []plot.Pt
	for i, l := range lines {
		var pts []plot.Pt
		for k := range l.days {
			pts = append(pts, axes.At(l.days[k].Sub(first).Hours(), l.values[k]))
		}
		s.Line(pts, false, 1.8*scale, patterns[i%len(patterns)], ink, ground, scale)
		for _, p := range pts {
			s.Disc(p, 3*scale, ink)
		}
		end := pts[len(pts)-1]
		tips = append(tips, end)
		names = append(names, widget.Word{Text: l.name, X: float64(box.Max.X) + 26*scale, Y: end.Y, Size: 11, Ink: ink})
	}
	apartDown(names, 13*scale, top, float64(box.Max.Y))
	for i, n := range names {
		s.Line([]plot.Pt{{X: tips[i].X + 6*scale, Y: tips[i].Y}, {X: n.X - 4*scale, Y: n.Y}}, false, scale, nil, rule, ground, 0)
	}
	return s.Img, append(said, names...)
}

// extent finds the days and values that lines cover; 0, as the profile says, is among
// the values, and they cover 1 at least.
func extent(lines []driftLine) (first, last time.Time, low, high float64) {
	for i, l := range lines {
		for k, t := range l.days {
			if i == 0 && k == 0 || t.Before(first) {
				first = t
			}
			if t.After(last) {
				last = t
			}
			low, high = min(low, l.values[k]), max(high, l.values[k])
		}
	}
	if high-low < 1 {
		high = low + 1
	}
	room := (high - low) * 0.08
	if low < 0 {
		low -= room
	}
	return first, last, low, high + room
}

func ends(first, last time.Time) []time.Time {
	if first.Equal(last) {
		return []time.Time{first}
	}
	return []time.Time{first, last}
}

// evenStep is a step of 1, 2 or 5 of some power of ten that gives about four of them.
func evenStep(span float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(span/4)))
	for _, k := range []float64{1, 2, 5} {
		if span/(k*power) <= 5 {
			return k * power
		}
	}
	return 10 * power
}

func tickWord(v, step, low float64) string {
	switch {
	case low < 0:
		return signed(v)
	case step >= 1:
		return plainWhole(v)
	}
	return plain(v)
}

// apartDown moves words that stand one beneath the other so that they do not overlap.
func apartDown(list []widget.Word, line, top, foot float64) {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case list[a].Y < list[b].Y:
			return -1
		case list[a].Y > list[b].Y:
			return 1
		}
		return 0
	})
	at := top - line
	for _, i := range order {
		list[i].Y = max(list[i].Y, at+line)
		at = list[i].Y
	}
	if over := at - foot; over > 0 {
		below := math.Inf(1)
		for _, i := range slices.Backward(order) {
			list[i].Y = min(list[i].Y, below-line, foot)
			below = list[i].Y
		}
	}
}

func plainWhole(v float64) string { return strings.ReplaceAll(words.Whole(v), "−", "-") }

func rgba(c color.Color) color.RGBA { return color.RGBAModel.Convert(c).(color.RGBA) }
