package view

import (
	"context"
	"fmt"
	"image/color"
	"sort"

	"firstsheet/app/plot"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/paper"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// verge is one line of the diagrams: where a paper or the screen ends.
type verge struct {
	id, name string // id "" is the screen
	facts    *paper.Facts
	pattern  plot.Pattern
	on       bool
	row      *widget.LineRow
	ends     [2]end // relative to its own white, and absolute; a screen has but the first
}

// end is an outline that is being found, was found, or can't be.
type end struct {
	lane    *lane
	asked   bool
	outline *gamut.Outline
	failed  string
}

// end is the one that is drawn.
func (l *verge) end(absolute bool) *end {
	if absolute && l.id != "" {
		return &l.ends[1]
	}
	return &l.ends[0]
}

// makeLines makes the lines: all papers and the screen, the desk's papers ticked.
func (v *verges) makeLines() {
	s := v.h.State()
	on := map[string]bool{}
	for _, sh := range s.Sheets[:s.Count] {
		if sh.IsProof() {
			on[sh.Paper] = true
		}
	}
	if len(on) == 0 {
		on[s.Default.Paper] = true
	}
	for _, p := range v.h.Session.Store().Papers() {
		v.lines = append(v.lines, &verge{id: p.ID, name: p.Name, facts: p.Facts, on: on[p.ID]})
	}
	// The desk's papers first: their patterns differ most.
	sort.SliceStable(v.lines, func(i, j int) bool { return v.lines[i].on && !v.lines[j].on })
	v.lines = append(v.lines, &verge{name: "this screen"})
	patterns := plot.Patterns()
	for i, l := range v.lines {
		l.ends[0].lane, l.ends[1].lane = v.work.lane(), v.work.lane()
		l.pattern = patterns[i%len(patterns)]
		l.row = widget.NewLineRow(l.name, l.pattern, func(on bool) { l.on = on; v.update(v.h.State()) })
		l.row.Explain("Tick to draw where "+l.name+" ends. Beneath: the volume of its gamut in cubic units of CIELAB, its own white taken as white, and the lightness of its black and white. "+
			"The wide line is the active sheet’s paper.", v.foot.tell)
		v.key.Add(l.row)
	}
}

// note is the line beneath a paper's name.
func (l *verge) note(absolute bool) string {
	switch e := l.end(absolute); {
	case e.failed != "":
		return e.failed
	case e.outline != nil && l.facts != nil:
		return vergeNote(l.facts.Volume, l.facts.Black.L, l.facts.White.L)
	case e.outline != nil:
		o := e.outline
		return vergeNote(o.Volume, o.Black.L, o.White.L)
	case l.on:
		return "being measured out …"
	}
	return "not drawn"
}

// vergeNote tells a gamut's volume in cubic units of CIELAB, and its lightnesses; a paper's
// are those of its facts, absolute.
func vergeNote(volume, black, white float64) string {
	return fmt.Sprintf("%.0f thousand Lab³, L* %.0f–%.0f", volume/1000, black, white)
}

// find has a line's outline made.
func (v *verges) find(l *verge, now session.State) {
	e := l.end(v.absolute)
	if e.asked {
		return
	}
	e.asked = true
	absolute := v.absolute
	e.lane.start(func(j job) func() {
		o, err := outlineOf(j, v.engine, l.id, now.Screen.Key, absolute)
		return func() {
			e.outline = o
			if err != nil {
				e.failed = session.Explain(err, "").Headline
			}
			v.update(v.h.State())
		}
	})
}

// outlineOf is where a paper ends, or the screen where paper is "".
func outlineOf(ctx context.Context, e session.Engine, paper, screen string, absolute bool) (*gamut.Outline, error) {
	if paper == "" {
		p, err := screenProfile(e, screen)
		if err != nil {
			return nil, err
		}
		return gamut.SpaceOutline(ctx, e, p)
	}
	set := setup.Usual(paper)
	set.Source, set.Screen = "srgb", screen
	plan, err := e.Plan(nil, set)
	if err != nil {
		return nil, err
	}
	return gamut.PaperOutline(ctx, e, plan.Paper, absolute)
}

// turnTo makes another row of the pins the stop of the Tab key.
func (v *verges) turnTo(at int) *widget.PaperRow {
	at = min(max(at, 0), len(v.pinRows)-1)
	for i, r := range v.pinRows {
		r.Passed = i != at
	}
	return v.pinRows[at]
}

// followPins brings the list of pins up to date.
func (v *verges) followPins(now session.State) {
	if len(v.pinRows) != now.NumPins {
		v.pins.RemoveAll()
		v.pinRows = nil
		for i := range now.NumPins {
			r := widget.NewPaperRow("", "", color.Transparent, color.Transparent, false, func() { v.pick(i) })
			r.Explain("Cut both diagrams through this pin’s colour. J: the next pin. Outer field: the original; inner: on the active sheet’s paper.", v.foot.tell)
			r.OnFocus = func() { bringIntoSight(v.pinScroll, r) }
			r.OnArrow = func(by int) { v.h.Window.Canvas().Focus(v.turnTo(i + by)) }
			v.pinRows = append(v.pinRows, r)
			v.pins.Add(r)
		}
		if len(v.pinRows) > 0 {
			v.turnTo(0)
		}
		v.again()
	}
	show(v.pinEmpty, now.NumPins == 0)
	_, n := now.Proof()
	values := now.Values[max(n, 0)][:now.NumPins]
	var labs []cie.Lab
	for _, val := range values {
		labs = append(labs, val.Original)
	}
	v.pinSeen.follow(v.engine, now.Screen.Key, labs, func() {
		v.followPins(v.h.State())
		v.paint()
	})
	for i, r := range v.pinRows {
		note := ""
		r.White, r.Black = color.Transparent, color.Transparent
		if val := values[i]; val.Known {
			c := val.Original
			note = fmt.Sprintf("L* %.0f  C* %.0f  h %.0f°", c.L, c.Chroma(), c.Hue())
			r.White, r.Black = v.pinSeen.at(i), raster.RGBA(val.Screen)
		}
		r.Name, r.Note, r.Chosen = now.Pins[i].Name, note, i == now.Pin
		r.Refresh()
	}
}
