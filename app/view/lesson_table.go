package view

import (
	"image/color"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/lesson"
	"firstsheet/proof/raster"
	"firstsheet/proof/words"
)

// summaryNote says what the table's cells mean.
const summaryNote = "Degrees of CIELAB hue against the print as it should be; + goes from red over yellow to green, − the other way. " +
	"Where a colour has no hue worth naming, its cast or the change in chroma or lightness; – where nothing is seen (below 1 ΔE00). Patches: as it should be, gone wrong."

// drawSummary sets the table of pins and mistakes.
func (v *lessonView) drawSummary(t *setter, s lesson.Step, u, y float32, size fyne.Size) {
	for _, line := range s.Lead {
		y += t.text(line, 0, y, size.Width, u*1.05, true, toolkittheme.ColorNameForeground, 2) + u*0.4
	}
	list, pins := v.lesson.Mistakes(), v.lesson.Pins
	ts := u * 0.7
	var name float32
	for _, p := range pins {
		name = max(name, widget.Measure(p, ts, fyne.TextStyle{Bold: true}).Width+u)
	}
	name = min(name, size.Width*0.2)
	w := (size.Width - name) / float32(len(list))
	var head float32
	for i, m := range list {
		head = max(head, textHeight(m.Title, w-u*0.5, ts, true, 3))
		t.text(m.Title, name+float32(i)*w+u*0.25, y, w-u*0.5, ts, true, toolkittheme.ColorNameForeground, 3)
	}
	y += head + u*0.3
	const foot = 2.2
	step := min((size.Height-y-u*foot)/float32(max(len(pins), 1)), widget.LineHeight(ts)*1.7)
	ts = min(ts, step*0.72)
	lh := widget.LineHeight(ts)
	for i, p := range pins {
		if i%2 == 0 {
			t.box(0, y, size.Width, step, widget.Color(theme.ColorBench), color.Transparent, 0)
		}
		t.text(p, u*0.3, y+(step-lh)/2, name-u*0.4, ts, true, toolkittheme.ColorNameForeground, 1)
		for k, m := range list {
			t.summaryCell(m.Rows[i], i == 0, name+float32(k)*w, y, w, step, ts, u)
		}
		y += step
	}
	t.text(summaryNote, 0, size.Height-u*foot+u*0.2, size.Width, u*0.6, false, theme.ColorQuiet, 2)
}

// summaryCell sets what one mistake does to one pin.
func (t *setter) summaryCell(r lesson.Row, lead bool, x, y, w, h, ts, u float32) {
	lh := widget.LineHeight(ts)
	ink := toolkittheme.ColorNameForeground
	if r.Change.Same() {
		ink = theme.ColorQuiet
	} else {
		t.patches(x+u*0.2, y+h*0.22, lh*0.9, h*0.56, raster.RGBA(r.Right.Screen), raster.RGBA(r.Wrong.Screen))
	}
	told, room := lesson.Cell(r.Change), w-u*0.4-lh
	if wide := widget.Measure(told, ts, fyne.TextStyle{Bold: true}).Width; wide > room {
		ts *= room / wide // told whole, in smaller type
		lh = widget.LineHeight(ts)
	}
	t.text(told, x+w-u*0.1-room, y+(h-lh)/2, room, ts, lead && r.Change.Hue != words.Unnamed, ink, 1)
}
