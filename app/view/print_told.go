package view

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/printfile"
)

// tellPaper says whose print it is.
func (v *printView) tellPaper(now session.State) {
	sh, n := now.Proof()
	p, _ := v.h.Session.Store().Paper(sh.Paper)
	bpc := ", without compensation"
	switch {
	case sh.Intent == proof.AbsoluteColorimetric: // which knows none
		bpc = ""
	case sh.BPC:
		bpc = ", with compensation"
	}
	said := fmt.Sprintf("Sheet %d: %s on %s, %s%s, as set on the desk.", n+1, now.Picture.Name, p.Name, sh.Intent.Short(), bpc)
	if said != v.form.of.Text {
		v.form.of.SetText(said)
		v.form.column.Again()
	}
}

// take shows a print.
func (v *printView) take(p *printfile.Print) {
	v.print, v.refused = p, ""
	v.route.Set(stopsOf(p.Route()))
	v.facts.SetText(printFacts(p, v.form.kept.Unit))
	var lines []fyne.CanvasObject
	for _, w := range p.Warnings() {
		if w.Kind == printfile.DriverNotSaid {
			continue // it is said below, whatever is known of the driver
		}
		line := layout.Prose(session.Typeset(w.Sentence))
		if w.Grave() {
			line.Bold = true
			line.SetText("!  " + line.Text)
		}
		lines = append(lines, line)
	}
	lines = append(lines, layout.Prose("Behind this program: "+session.Typeset(printfile.Instruction(p.Job().Converts, p.Paper().Name))))
	v.told.Fill(lines...)
	v.told.Scroll.ScrollToTop()
	v.mend.Hide()
	v.shown()
	v.turned()
}

// printFacts says how large the print is and from where it is looked at.
func printFacts(p *printfile.Print, unit lengthUnit) string {
	l := p.Layout()
	s := fmt.Sprintf("%s, %d × %d pixels at %s ppi.", unit.area(l.File), l.FileW, l.FileH, trimmed(l.PPI))
	s += fmt.Sprintf(" The picture’s own pixels: %.0f an inch, not seen singly from %s on; such a print is looked at from %s.", l.TruePPI, unit.far(l.Suits), unit.far(l.Distance))
	return s
}

// trimmed writes a resolution.
func trimmed(v float64) string {
	if v == math.Round(v) {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.1f", v)
}

// refuse says why there is no print, and offers what would mend it.
func (v *printView) refuse(s string, mend session.Action) {
	v.preparing.drop()
	v.print, v.refused, v.mending = nil, s, mend
	v.route.Set(nil)
	v.facts.SetText(s)
	v.told.Fill()
	switch mend := mend.(type) {
	case session.Activate:
		v.mend.SetText(fmt.Sprintf("Take the proof on sheet %d", mend.N+1))
	case session.SetWrong:
		v.mend.SetText("Print it as it should be")
	}
	show(v.mend, mend != nil)
	v.shown()
	v.turned()
}
