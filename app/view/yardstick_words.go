package view

import (
	"fmt"
	"strings"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/rank"
)

const yardstickFoot = "A ranking weighs figures, not taste: the surface of a paper and the look you want have their own say. " +
	"Up and down choose a row, Return puts it on the active sheet; left and right explain the columns."

// yardstickColumns are the table's: place and way, then the figures of the ranking.
func yardstickColumns() []widget.Column {
	cols := []widget.Column{
		{Head: []string{"#"}, Help: "Place in the order that the rule below makes; = marks ways that are as good as the first.", Least: 34, Words: true},
		{Head: []string{"way to print"}, Help: "Paper, rendering intent, and whether black point compensation is on.", Share: 3, Least: 196, Words: true},
	}
	// The widest figure of each column, in bold.
	least := []float32{60, 72, 50, 54, 50, 56, 76, 76, 76, 94, 64}
	for i, c := range rank.Columns() {
		cols = append(cols, widget.Column{Head: c.Head, Help: c.Help, Share: 1, Least: least[i]})
	}
	return cols
}

// yardstickRows are the table's, the first way first.
func yardstickRows(m *measured) []widget.Row {
	var rows []widget.Row
	for i, p := range m.outcome.Verdict.Order {
		r := widget.Row{Cells: []string{fmt.Sprint(i + 1), wayName(m.way(i))}, Bold: i == 0 || p.AsGood}
		if i > 0 && p.AsGood {
			r.Cells[0] = "="
		}
		for _, c := range rank.Columns() {
			r.Cells = append(r.Cells, c.Cell(p))
		}
		rows = append(rows, r)
	}
	return rows
}

func headText(cols []widget.Column, c int) string {
	if c < 0 {
		return "Point at a heading, or reach it by the left and right keys, to read how its figure is defined."
	}
	return strings.Join(cols[c].Head, " ") + ": " + cols[c].Help
}

func wayName(w rank.Way) string {
	comp := "not compensated"
	if w.Compensation {
		comp = "compensated"
	}
	return fmt.Sprintf("%s, %s, %s", w.Name, w.Intent.Short(), comp)
}

func stepText(s rank.Step) string {
	return fmt.Sprintf("%d of %d: %s", s.Done+1, s.All, wayName(s.Next))
}

// startText is what the button says while n ways are ticked.
func startText(running bool, n int) string {
	switch {
	case running:
		return "Stop"
	case n == 1:
		return "Measure this one way"
	}
	return fmt.Sprintf("Measure these %d ways", n)
}

// emptyText stands in place of the table where it has no rows.
func emptyText(now session.State, have *measured, running bool, n int) string {
	switch {
	case now.Picture.Key == 0:
		return "No picture is open yet. A ranking is made for one picture: open it first."
	case have != nil && len(have.outcome.Verdict.Order) == 0:
		return "None of these ways can be printed; the reasons stand below."
	case have != nil:
		return ""
	case running:
		return "Every way is measured over the whole picture at full size; the table appears when all are done."
	case n == 0:
		return "Tick at least one paper, one intent, and with or without compensation."
	}
	return "Nothing is measured yet. Tick papers and intents above, then press the button or Return. " +
		"Each way is run over the whole picture at full size, and put in order by the rule below."
}

// verdictText tells the recommendation, what speaks against it and against the row that
// is chosen, with what could not be measured, and the rule.
func verdictText(m *measured, chosen int) (why, against, rule string) {
	why = "The way that the rule puts first stands here when everything is measured, with its reasons."
	if m == nil {
		return why, "", numbered(rank.Order(nil).Rule)
	}
	v := m.outcome.Verdict
	var lines []string
	if len(v.Order) > 0 {
		why = sentences(v.Why)
		lines = append(lines, sentences(v.Against))
		if lines[0] == "" {
			lines[0] = "Nothing in these figures: it passes every check, and no other way is clearly better in one of them."
		}
		if chosen > 0 {
			stand := "It passes every check, as the first does."
			if failed := v.Order[chosen].Failed; len(failed) > 0 {
				stand = "It fails: " + strings.Join(failed, "; ") + "."
			}
			lines = append(lines, fmt.Sprintf("Row %d, %s: %s", chosen+1, wayName(m.way(chosen)), stand))
		}
	}
	for _, r := range m.outcome.Refused {
		lines = append(lines, "Not measured: "+wayName(r.Way)+". "+session.Explain(r.Err, "").Headline)
	}
	return why, strings.Join(append(lines, m.left...), "\n"), numbered(v.Rule)
}

// sentences makes sentences of clauses.
func sentences(clauses []string) string {
	var out []string
	for _, c := range clauses {
		if c == "" {
			continue
		}
		r := []rune(c)
		out = append(out, strings.ToUpper(string(r[:1]))+string(r[1:])+".")
	}
	return strings.Join(out, " ")
}

// numbered puts a number before each check of the rule; its first line and its last
// ones are sentences of their own.
func numbered(rule []string) string {
	out := append([]string(nil), rule...)
	for i := 1; i <= len(rank.Checks()) && i < len(out); i++ {
		out[i] = fmt.Sprintf("%d  %s", i, out[i])
	}
	return strings.Join(out, "\n")
}
