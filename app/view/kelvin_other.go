package view

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/light"
	"firstsheet/proof/words"
)

// otherLeaf tells how the print of the active proof shifts under another light.
type otherLeaf struct {
	h                     *Host
	kelvinSlide, luxSlide *widget.Slide
	kelvins, luxes        float64
	shifts                *widget.ShiftTable
	told                  *widget.Prose
	cautions              *layout.Column
	swatches              swatches // the colours before, then those after
}

func newOtherLeaf(h *Host, w *work, foot *footer) *otherLeaf {
	l := &otherLeaf{h: h, kelvins: 2850, luxes: 500, shifts: widget.NewShiftTable(), told: prose("", 4), cautions: layout.NewColumn()}
	l.swatches.lane = w.lane()
	l.kelvinSlide = widget.NewSlide("Colour of the light", 1800, 12000, 50, l.kelvins, func(v float64) string {
		return fmt.Sprintf("%.0f K  %s", v, lightName(v))
	}, func(v float64) { l.kelvins = v; l.follow(h.State()) })
	l.kelvinSlide.Explain("Correlated colour temperature of the lamp: a bulb has 2700 to 2900 K, daylight 5000 to 6500 K. Lamps of 4000 K and more are taken as daylight, others as a bulb.", foot.tell)
	l.luxSlide = luxSlide("How much of it", l.luxes, func(v float64) { l.luxes = v; l.follow(h.State()) })
	l.luxSlide.Explain("The brighter a light is, the more the eye gets used to it; what it does not get used to is seen as a shift.", foot.tell)
	return l
}

func (l *otherLeaf) box() *fyne.Container {
	scroll := container.NewVScroll(l.shifts)
	return container.New(freeLayout{fyne.NewSize(400, 200), func(s fyne.Size) {
		const gap = 32
		w, h, told := (s.Width-gap)/2, widget.SlideHeight(), proseHeight(2)
		set(l.kelvinSlide, 0, 0, w, h)
		set(l.luxSlide, w+gap, 0, w, h)
		set(l.told, 0, h+8, s.Width, told)
		low := max(s.Height*0.24, 100)
		set(scroll, 0, h+16+told, s.Width, s.Height-h-16-told-low-8)
		l.cautions.Put(0, s.Height-low, s.Width, low)
	}}, l.kelvinSlide, l.luxSlide, l.told, scroll, l.cautions.Scroll)
}

func (l *otherLeaf) turned() {}

func (l *otherLeaf) typed(e *fyne.KeyEvent) bool {
	l.kelvinSlide.TypedKey(e)
	return true
}

func (l *otherLeaf) follow(now session.State) {
	p, n, ok := proofPaper(l.h)
	if !ok {
		l.told.SetText("No proof lies on the desk; there is no print to light.")
		l.shifts.SetRows(nil)
		return
	}
	names, labs := printColours(now, n, p)
	shifts, degree, err := light.Shifts(labs, l.kelvins, l.luxes)
	if err != nil {
		l.told.SetText(session.Explain(err, "").Headline)
		l.shifts.SetRows(nil)
		return
	}
	for _, s := range shifts {
		labs = append(labs, s.Print)
	}
	l.swatches.follow(l.h.Session.Engine(), now.Screen.Key, labs, func() { l.follow(l.h.State()) })
	rows := make([]widget.ShiftRow, len(shifts))
	for i, s := range shifts {
		rows[i] = widget.ShiftRow{Name: names[i], Words: s.Sentence(), Before: l.swatches.at(i), After: l.swatches.at(len(rows) + i),
			Figures: fmt.Sprintf("L* a* b*  %s  →  %s     ΔE00 %.1f", labText(s.Original), labText(s.Print), s.DeltaE00)}
	}
	l.shifts.SetRows(rows)
	l.told.SetText(fmt.Sprintf("The print on %s, made for 5000 K, in %.0f lx of %.0f K. An eye that looks about there gets used to the light by %.0f %%; the rest is seen as this shift.",
		p.Name, l.luxes, l.kelvins, 100*degree) + mostText(names, shifts))
	l.caution(p)
}

// printColours are the colours of a sheet's print as they are beside a perfect white, by
// name: the paper's white, then the pins that are known.
func printColours(now session.State, sheet int, p session.Paper) (names []string, labs []cie.Lab) {
	white := p.White()
	names, labs = []string{p.Name + "’s white"}, []cie.Lab{white}
	for i, val := range now.Values[sheet][:now.NumPins] {
		if val.Known {
			names = append(names, now.Pins[i].Name)
			labs = append(labs, val.Relative.OnWhite(white))
		}
	}
	return names, labs
}

// mostText says which colour shifts most.
func mostText(names []string, shifts []words.Change) string {
	most, name := 0.0, ""
	for i, s := range shifts {
		if s.DeltaE00 > most {
			most, name = s.DeltaE00, names[i]
		}
	}
	if most < 1 {
		return " Nothing shifts by as much as 1 ΔE00."
	}
	return fmt.Sprintf(" Most of all: %s, by ΔE00 %.1f.", name, most)
}

func labText(c cie.Lab) string {
	return words.Whole(c.L) + " " + words.Whole(c.A) + " " + words.Whole(c.B)
}

func lightName(kelvin float64) string {
	switch {
	case kelvin < 2300:
		return "candle-like"
	case kelvin < 3300:
		return "warm bulb"
	case kelvin < 4600:
		return "cool lamp"
	case kelvin < 5400:
		return "daylight"
	case kelvin < 7000:
		return "noon daylight"
	}
	return "shade"
}

func (l *otherLeaf) caution(p session.Paper) {
	objs := []fyne.CanvasObject{}
	for _, c := range light.Cautions(l.kelvins, p.Name, p.White()) {
		objs = append(objs, layout.Caption(c))
	}
	l.cautions.Fill(append(objs,
		layout.Caption("Computed by Bradford adaptation (ICC.1:2022, annex E) from the print’s colours under D50; the degree by CIE 159:2004 (CIECAM02) for an average surround."))...)
}
