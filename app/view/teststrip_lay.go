package view

import (
	"fmt"
	"strings"

	"firstsheet/app/session"
	"firstsheet/proof/setup"
	"firstsheet/proof/teststrip"
)

// gather finds out what mistakes can be made with, and lays the strip out.
func (v *testStripView) gather() {
	pic := v.h.Session.Store().Picture(v.of.picture)
	if pic == nil || len(pic.Levels) == 0 {
		v.gathering.drop()
		v.fail("The picture is no longer open.")
		return
	}
	engine, right := v.h.Session.Engine(), v.of.set
	find := engine.Finder(pic)
	papers, spaces := paperIDs(v.h, v.of.slip.Other), spaceIDs(v.of.slip.Reads)
	v.gathering.start(func(job) func() {
		spaces, err := setup.Distinct(engine, find, right.Source, spaces)
		var choices setup.Choices
		if err == nil {
			choices, err = setup.AtHand(right, find, papers, spaces)
		}
		return func() {
			if err != nil {
				v.refuse(err)
				return
			}
			v.wish = teststrip.Wish{Right: right, Find: find, Choices: choices}
			v.lay()
		}
	})
}

// lay makes the layout anew and has the preview painted.
func (v *testStripView) lay() {
	pic := v.h.Session.Store().Picture(v.of.picture)
	if v.gathering.busy() || v.wish.Find == nil || pic == nil {
		return // it will be laid out when all is there
	}
	if no := v.form.complaint(); no != "" {
		v.fail(no)
		return
	}
	ways, left, err := v.form.fill(v.wish).Ways()
	if err != nil {
		v.refuse(err)
		return
	}
	p, _ := v.h.Session.Store().Paper(v.wish.Right.Paper)
	m := v.form.measure
	v.order = teststrip.Order{Numbers: pic.Levels[0], Pins: v.form.ticked(v.of.pins[:v.of.n]), Ways: ways, Paper: p.Profile,
		Width: m["w"], Height: m["h"],
		Sheet: teststrip.Sheet{Width: m["sheetw"], Height: m["sheeth"], PPI: m["ppi"], Border: m["border"]}}
	layout, pieces, err := v.order.Lay()
	if err != nil {
		// What was laid out before is gone: its sizes are not those on the card.
		v.fail(v.order.Explain(err))
		return
	}
	v.layout, v.pieces = layout, pieces
	v.picture.set(stripPlan{layout: layout, pieces: pieces, levels: pic.Levels, bare: v.wish.Right})
	v.writingTurns()
	v.said(strings.Join(append([]string{v.summary(pic)}, left...), " "))
	list := []setup.Setup{v.wish.Right}
	for _, w := range ways {
		list = append(list, w.Setup)
	}
	v.looks.want(pic, list, teststripQuality)
	v.preview.Again()
}

// summary says what the strip holds.
func (v *testStripView) summary(pic *session.Picture) string {
	ppi := v.form.measure["ppi"]
	mm := func(px int) float64 { return float64(px) / ppi * 25.4 }
	from := v.pieces[0].From
	s := fmt.Sprintf("%s of %.0f by %.0f mm. At %g ppi the whole picture prints %.0f by %.0f mm.", count(len(v.pieces), "piece"),
		mm(from.Dx()), mm(from.Dy()), ppi, mm(pic.Info.W), mm(pic.Info.H))
	if from.Dx() == pic.Info.W || from.Dy() == pic.Info.H {
		s += " No piece can be larger than the picture."
	}
	return s
}

// refuse says why there can be no strip at all.
func (v *testStripView) refuse(err error) {
	v.fail("This strip can’t be made. " + session.Explain(err, "").Headline)
}

// fail says why there is no layout.
func (v *testStripView) fail(s string) {
	v.layout, v.pieces = nil, nil
	v.picture.set(stripPlan{})
	v.said(s)
	v.writingTurns()
	v.preview.Again()
}

func (v *testStripView) said(s string) {
	if v.say.Text != s {
		v.say.SetText(s)
		if v.content != nil {
			v.content.Refresh()
		}
	}
}
