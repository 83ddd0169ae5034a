package view

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/light"
)

// judgingLeaf tells of the light that prints are judged in, and what it and the screen
// do to each other.
type judgingLeaf struct {
	h                  *Host
	conditions, bright *layout.Column
	lux, lum           *widget.Slide
	factor             *widget.Prose
	onDesk             *widget.Toggle
}

func newJudgingLeaf(h *Host, foot *footer) *judgingLeaf {
	l := &judgingLeaf{h: h, conditions: layout.NewColumn(), bright: layout.NewColumn(), factor: prose("", 8)}
	now := h.State().Looking
	change := func(f func(*session.Looking)) {
		looking := h.State().Looking
		f(&looking)
		h.Do(session.SetLooking{Looking: looking})
	}
	l.lux = luxSlide("Light on the print", now.Lux, func(v float64) { change(func(to *session.Looking) { to.Lux = v }) })
	l.lux.Explain("Illuminance on the print in lux, by a lux meter laid on it. A lit living room has 50 to 300 lx, a window place 500 and more (common practice, no source).", foot.tell)
	l.lum = widget.NewSlide("White of the screen", 40, 400, 5, now.Luminance, func(v float64) string { return fmt.Sprintf("%.0f cd/m²", v) },
		func(v float64) { change(func(to *session.Looking) { to.Luminance = v }) })
	l.lum.Explain("Luminance of the screen’s white in candela per square metre: what calibration was set to, or what an instrument reads.", foot.tell)
	l.onDesk = widget.NewToggle("Show the sheets so", now.TooBright, func(on bool) { change(func(to *session.Looking) { to.TooBright = on }) })
	l.onDesk.Explain("The slip ‘screen too bright’: all sheets on the desk are shown with this factor, as a print in that light looks to an eye that is used to the screen. Figures don’t change.", foot.tell)
	l.bright.Fill(heading("Is the screen too bright?"), l.lux, l.lum, l.factor, l.onDesk,
		layout.Caption("Factor: light on the print (lux) divided by π and by the screen’s white (cd/m²). It darkens the sheets’ light, before the screen’s profile; it is no part of any ΔE00."))
	return l
}

// luxSlide sets the light on a print.
func luxSlide(name string, at float64, change func(float64)) *widget.Slide {
	return widget.NewSlide(name, 15, 2500, 5, at, func(v float64) string { return fmt.Sprintf("%.0f lx", v) }, change)
}

func (l *judgingLeaf) box() *fyne.Container { return halves(l.conditions, l.bright, 0.5) }
func (l *judgingLeaf) turned()              {}

func (l *judgingLeaf) typed(e *fyne.KeyEvent) bool {
	l.lux.TypedKey(e)
	return true
}

func (l *judgingLeaf) follow(now session.State) {
	l.lux.Set(now.Looking.Lux)
	l.lum.Set(now.Looking.Luminance)
	l.onDesk.Set(now.Looking.TooBright)
	paper, white := paperWhite(l.h)
	l.factor.SetText(light.Bright(now.Looking.Lux, now.Looking.Luminance, paper, white))
	l.bright.Again()
	objs := []fyne.CanvasObject{heading("Light and screens to judge prints by")}
	for _, c := range light.Conditions() {
		name := widget.NewProse(c.Name, toolkittheme.SizeNameText, theme.ColorQuiet, 3)
		objs = append(objs, container.New(layout.Labelled{Column: 150, Top: true}, name,
			container.New(&layout.Flow{}, layout.Prose(c.Tell(paper, white)), layout.Caption("Source: "+c.Source))))
	}
	l.conditions.Fill(append(objs,
		layout.Caption("D50 is daylight of 5000 K, the light that profiles and all figures of this program are made for; D65 is 6500 K."))...)
}
