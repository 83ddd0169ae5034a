package view

import (
	"math"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/widget"
)

func (v *printView) arrange(s fyne.Size) {
	const gap = 22
	foot := 2 * widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText))
	set(v.foot, 0, s.Height-foot, s.Width-8, foot)
	top := float32(math.Ceil(float64(v.route.HeightFor(s.Width))))
	set(v.route, 0, 0, s.Width, top)
	top += 8
	side := min(max(s.Width*0.37, 360), 460)
	bottom := s.Height - foot - 8
	v.form.column.Put(0, top, side, bottom-top)
	x, w := side+gap, s.Width-side-gap
	set(v.tabs, x, top, min(w, 520), 32)
	ww, hw := v.write.MinSize().Width, v.files.halt.MinSize().Width
	set(v.write, x+w-ww, bottom-34, ww, 34)
	set(v.files.halt, x+w-ww-8-hw, bottom-34, hw, 34)
	mw := v.mend.MinSize().Width
	set(v.mend, x, bottom-34, mw, 34)
	v.told.Put(x, 0, w, 10)
	told := min(v.told.Height()+4, max(s.Height*0.24, 124))
	v.told.Put(x, bottom-44-told, w, told)
	fh := v.facts.HeightFor(w)
	y := bottom - 44 - told - 6 - fh
	set(v.facts, x, y, w, fh)
	if v.whole() {
		y = bottom - 44 + 8
	}
	show(v.facts, !v.whole())
	show(v.told.Scroll, !v.whole())
	whole := func(f float32) float32 { return float32(math.Floor(float64(f))) }
	for _, p := range v.panes {
		set(p, whole(x), whole(top+40), whole(w), whole(y-8-top-40))
	}
}

// whole tells whether the pane in front needs the room of what is told of the print.
func (v *printView) whole() bool {
	switch printPane(v.tabs.Chosen) {
	case pastPrints, manyPictures:
		return v.print != nil
	case atPrintSize:
		return v.size.asking && v.print != nil
	}
	return false
}
