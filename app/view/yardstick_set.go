package view

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/printrun"
	"firstsheet/proof/rank"
	"firstsheet/proof/setup"
)

// rankedSet is a finished ranking of papers for several pictures.
type rankedSet struct {
	result rank.Portfolio
	strips []*decidingStrip // of the pictures that decide
	lost   []string         // why pictures could not be ranked, a sentence each
}

// dropped takes several pictures, or a folder, to be ranked for together.
func (y *yardstick) dropped(paths []string) bool {
	folder := false
	for _, p := range paths {
		if IsProfile(p) || IsTicket(p) {
			return false
		}
		folder = folder || isFolder(p)
	}
	if !folder && len(paths) < 2 {
		return false
	}
	y.takeSet(paths)
	return true
}

// swap goes over to several pictures, or back to the open one.
func (y *yardstick) swap() {
	if y.several == nil {
		askFolder(y.h, pictureFolder, "These pictures", folderOf(y.h.State().Picture.Path), func(dir string) { y.takeSet([]string{dir}) })
		return
	}
	y.run.drop()
	y.several, y.together = nil, nil
	y.said.SetText("")
	y.fill()
	y.show()
}

// takeSet makes these pictures those that papers are ranked for.
func (y *yardstick) takeSet(named []string) {
	photos, err := printrun.Photographs(named)
	if err != nil {
		y.said.SetText(session.Sentence(err.Error()))
		return
	}
	y.run.drop()
	y.several, y.together = photos, nil
	y.said.SetText(count(len(photos), "picture") + ", each in its own best way.")
	y.fill()
	y.show()
}

// pressSet measures every picture in every way, one picture in memory at a time.
func (y *yardstick) pressSet() {
	paths := y.several
	papers, intents, compensation := y.ticks.wanted(y.choices)
	if len(papers)*len(intents)*len(compensation) == 0 {
		return
	}
	engine, screen := y.h.Session.Engine(), y.h.State().Screen.Key
	ask := func(j job, path string, progress func(rank.Step)) (rank.Outcome, smallPicture, error) {
		p, err := photo.Open(j, path)
		if err != nil {
			return rank.Outcome{}, smallPicture{}, err
		}
		source, err := setup.SourceOf(p, nil)
		if err != nil {
			return rank.Outcome{}, smallPicture{}, err
		}
		pic := &session.Picture{Source: source}
		q := rank.Question{Picture: proof.NewPicture(source.Pixels(), source.Picture.Alpha), Papers: papers, Intents: intents, Compensation: compensation,
			Plan: func(w rank.Way) (proof.Plan, error) {
				return engine.Plan(pic, setup.Setup{Screen: screen, Paper: w.Paper, Intent: w.Intent, BPC: w.Compensation})
			}}
		out, _, err := q.Answer(j, engine, progress)
		if err != nil {
			return out, smallPicture{}, err
		}
		small, err := newSmallPicture(j, source, out.Ways)
		return out, small, err
	}
	y.progress(0, "The first picture is being opened …")
	y.run.start(func(j job) func() {
		var ranked []rank.Ranked
		var small []smallPicture
		set := &rankedSet{}
		for i, path := range paths {
			name := filepath.Base(path)
			out, little, err := ask(j, path, func(s rank.Step) {
				done := (float64(i) + (float64(s.Done)+0.3)/float64(s.All)) / float64(len(paths))
				j.post(func() { y.progress(done, fmt.Sprintf("Picture %d of %d, %s", i+1, len(paths), name)) })
			})
			switch {
			case j.Err() != nil:
				return func() { y.setEnded(nil, j.Err()) }
			case err != nil:
				n := session.Explain(err, path)
				set.lost = append(set.lost, n.Headline)
			default:
				ranked, small = append(ranked, rank.Ranked{Picture: name, Outcome: out}), append(small, little)
			}
		}
		set.result = rank.Together(ranked)
		for _, at := range set.result.Deciding {
			shown, err := small[at].shown(j, engine, screen, set.result.Order, at)
			if err != nil {
				return func() { y.setEnded(nil, err) }
			}
			set.strips = append(set.strips, newDecidingStrip(y.work, set.result.Order[0].Pictures[at].Picture, shown))
		}
		return func() { y.setEnded(set, nil) }
	})
	y.show()
}

func (y *yardstick) setEnded(set *rankedSet, err error) {
	switch {
	case errors.Is(err, context.Canceled):
		y.progress(0, "Stopped.")
	case err != nil:
		y.progress(0, session.Explain(err, "").Headline)
	case len(set.result.Order) == 0:
		y.progress(0, "None of these pictures could be ranked.")
		y.together = set
	default:
		y.progress(0, "")
		y.together = set
	}
	y.fill()
	y.show()
}

// emptySet stands in place of the table for several pictures.
func (y *yardstick) emptySet(n int) string {
	switch {
	case y.together != nil && len(y.together.result.Order) == 0:
		return "None of these pictures could be ranked; the reasons stand below."
	case y.together != nil:
		return ""
	case y.run.busy():
		return "Every picture is measured in every way at full size; the table appears when all are done."
	case n == 0:
		return "Tick at least one paper, one intent, and with or without compensation."
	}
	return "Which paper serves " + count(len(y.several), "picture") + "? Tick papers and intents above, then press the button or Return."
}

// setColumns are the table's for several pictures.
func setColumns() []widget.Column {
	return []widget.Column{
		{Head: []string{"#"}, Help: "Place in the order that the rule below makes; = marks papers that are as good as the first.", Least: 34, Words: true},
		{Head: []string{"paper"}, Help: "Each picture stands on it in the best of its own ways.", Share: 3, Least: 196, Words: true},
		{Head: []string{"checks", "passed"}, Help: "How many checks of the rule pass, over all pictures.", Share: 1, Least: 90},
		{Head: []string{"pictures", "that pass all"}, Help: "Pictures of which no check fails on this paper.", Share: 1, Least: 110},
		{Head: []string{"mean", "ΔE00"}, Help: "The mean of the pictures’ mean ΔE00 between original and print, each picture counting alike.", Share: 1, Least: 70},
	}
}

func (s *rankedSet) rows() []widget.Row {
	var rows []widget.Row
	for i, p := range s.result.Order {
		n := len(p.Pictures)
		all := n * len(rank.Checks())
		r := widget.Row{Bold: i == 0 || p.AsGood, Cells: []string{fmt.Sprint(i + 1), p.Name,
			fmt.Sprintf("%d of %d", all-p.Failed, all), fmt.Sprintf("%d of %d", p.Whole, n), fmt.Sprintf("%.1f", p.Mean)}}
		if i > 0 && p.AsGood {
			r.Cells[0] = "="
		}
		rows = append(rows, r)
	}
	return rows
}

// words are the recommendation, what speaks against it, and the rule.
func (s *rankedSet) words() (why, against, rule string) {
	if s == nil {
		return "The paper that serves all the pictures best stands here when everything is measured, with the pictures that decide.", "", numbered(rank.Order(nil).Rule)
	}
	why = s.result.Reason
	if len(s.result.For) > 0 {
		why += "\nThe pictures that decide:\n" + lines(s.result.For)
	}
	against = lines(s.result.Against)
	if against == "" && len(s.result.Order) > 1 {
		against = "No picture is served better by another of these papers."
	}
	for _, l := range s.lost {
		against = strings.TrimPrefix(against+"\nNot ranked: "+l, "\n")
	}
	for i, l := range s.result.Rule {
		rule += session.Sentence(l)
		if i+1 < len(s.result.Rule) {
			rule += "\n"
		}
	}
	return why, against, rule
}

// lines are clauses that begin with a file's name, which stays as it is, a line each.
func lines(clauses []string) string {
	return session.Typeset(strings.Join(clauses, ".\n")) + strings.Repeat(".", min(len(clauses), 1))
}

// onPaper lists the pictures with their best way on the paper of a row, in the order given.
func (s *rankedSet) onPaper(row int) []fyne.CanvasObject {
	if s == nil || len(s.result.Order) == 0 {
		return nil
	}
	p := s.result.Order[max(row, 0)]
	var out []fyne.CanvasObject
	if len(s.strips) > 0 {
		out = append(out, heading("The pictures that decide"))
	}
	for _, strip := range s.strips {
		strip.compare(s.beside(max(row, 0)))
		out = append(out, strip.drawing)
	}
	out = append(out, heading("Each picture on "+p.Name))
	for _, v := range p.Pictures {
		line := v.Picture + " can’t be printed on it in any of these ways."
		if v.Way != nil {
			comp := "not compensated"
			if v.Way.Compensation {
				comp = "compensated"
			}
			line = fmt.Sprintf("%s: %s, %s; %d of %d checks", v.Picture, v.Way.Intent, comp, len(rank.Checks())-len(v.Way.Failed), len(rank.Checks()))
			for _, f := range v.Way.Failed {
				line += "; " + f
			}
			line += "."
		}
		out = append(out, layout.Prose(session.Typeset(line)))
	}
	return out
}

// beside returns the two papers that are shown beside each other where a row is chosen: the first,
// and the chosen one or else the first that is not as good.
func (s *rankedSet) beside(row int) (first, other int) {
	if row > 0 {
		return 0, row
	}
	for i, p := range s.result.Order {
		if i > 0 && !p.AsGood {
			return 0, i
		}
	}
	return 0, len(s.result.Order) - 1
}

// putSet puts the chosen row's paper on the active proof, or on a further sheet.
func (y *yardstick) putSet(further bool) {
	id := y.together.result.Order[y.table.Chosen].ID
	y.h.Do(append(y.sheetFor(further), session.SetPaper{ID: id}))
	_, n := y.h.State().Proof()
	y.foot.tell(fmt.Sprintf("Sheet %d now lies on %s. Esc shows the desk.", n+1, y.together.result.Order[y.table.Chosen].Name))
	y.show()
}
