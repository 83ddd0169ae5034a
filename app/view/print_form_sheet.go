package view

import (
	"strings"

	"fyne.io/fyne/v2"

	"firstsheet/app/layout"
	"firstsheet/app/widget"
	"firstsheet/proof/printfile"
)

func (f *printForm) sizeRows() []fyne.CanvasObject {
	unit := f.choice(lengthUnits, "The unit that lengths are shown in. A length may be typed with a unit of its own: 40cm, 15.75in.",
		func(printfile.Job) int { return int(f.kept.Unit) },
		func(_ *printfile.Job, i int) { f.kept.Unit = lengthUnit(i); f.bad = map[string]string{} })
	by := f.choice([]string{"a length", "fit sheet", "fill sheet"},
		"How large: by the length of an edge; as large as the sheet’s margins let; or filling them, with what has not the sheet’s shape cut off.",
		func(j printfile.Job) int {
			return map[printfile.SizeBy]int{printfile.FitSheet: 1, printfile.FillSheet: 2}[j.Size.By]
		},
		func(j *printfile.Job, i int) {
			was := j.Size.Length
			if was == 0 {
				was = 300
			}
			j.Size = []printfile.Size{{By: printfile.LongEdge, Length: was}, {By: printfile.FitSheet, Length: was}, {By: printfile.FillSheet, Length: was}}[i]
			if i > 0 {
				j.ShiftX, j.ShiftY = 0, 0 // there is no room to be moved in
			}
			if i > 0 && j.Sheet.None() {
				j.Sheet, _ = printfile.ParseSheet("A4")
			}
			if i == 2 && j.Sheet.Roll() {
				j.Size.By = printfile.FitSheet
			}
		})
	edge := f.choice([]string{"long edge", "short edge"}, "Which edge of the picture the length is of, its border aside.",
		func(j printfile.Job) int {
			if j.Size.By == printfile.ShortEdge {
				return 1
			}
			return 0
		},
		func(j *printfile.Job, i int) {
			by := []printfile.SizeBy{printfile.LongEdge, printfile.ShortEdge}[i]
			j.Size = printfile.Size{By: by, Length: max(j.Size.Length, 1)}
		})
	length := f.length("length", "The length of that edge, border aside. Typing one chooses ‘a length’.", false,
		func(j printfile.Job) float64 { return j.Size.Length },
		func(j *printfile.Job, mm float64) {
			if j.Size.By != printfile.ShortEdge {
				j.Size.By = printfile.LongEdge
			}
			j.Size.Length = mm
		})
	sheet := f.field("sheet", "The sheet by its name (A4, A3+, Letter …), by its size (300x400mm, 12x16in), a roll (roll 610mm), or empty for none.",
		func(j printfile.Job) string { return j.Sheet.Name },
		func(j *printfile.Job, s string) string {
			if strings.TrimSpace(s) == "" {
				setSheet(j, printfile.Sheet{})
				return ""
			}
			k, err := printfile.ParseSheet(s)
			if err != nil {
				return "‘" + s + "’ is no sheet: type a name such as A4, A3+ or Letter, a size such as 300x400mm, or roll 610mm."
			}
			setSheet(j, k)
			return ""
		})
	f.sheets = widget.NewPress("all…", f.sheetMenu)
	f.explain(f.sheets, "Choose the sheet from a list.")
	lies := f.choice([]string{"as picture", "upright", "across"}, "How the sheet lies: turned as the picture is, its narrow edge on top, or turned by a quarter.",
		func(j printfile.Job) int { return int(j.Sheet.Feed) },
		func(j *printfile.Job, i int) { j.Sheet.Feed = printfile.Feed(i) })
	margins := f.field("margins", "What stays white at the sheet’s edges: one length for all, or four, for left, top, right and bottom.",
		func(j printfile.Job) string { return f.kept.Unit.margins(j.Sheet.Margins) },
		func(j *printfile.Job, s string) string {
			m, ok := f.kept.Unit.parseMargins(s)
			if !ok {
				return "‘" + s + "’ are no margins: type one length, or four for left, top, right and bottom."
			}
			j.Sheet.Margins = m
			return ""
		})
	right := f.length("shift right", "How far the print lies to the right of the margins’ middle; with a minus to the left.", true,
		func(j printfile.Job) float64 { return j.ShiftX }, func(j *printfile.Job, mm float64) { j.ShiftX = mm })
	down := f.length("shift down", "How far the print lies below the margins’ middle; with a minus above it.", true,
		func(j printfile.Job) float64 { return j.ShiftY }, func(j *printfile.Job, mm float64) { j.ShiftY = mm })
	border := f.length("border", "Bare paper round the picture that is part of the file: the next program then can’t place it wrongly.", false,
		func(j printfile.Job) float64 { return j.Border }, func(j *printfile.Job, mm float64) { j.Border = mm })
	return []fyne.CanvasObject{heading("Size and sheet"), layout.Row("Unit", unit), layout.Row("Printed", by), layout.Row("Length", length), layout.Row("Of the", edge),
		layout.Row("Sheet", sheet, f.sheets), layout.Row("Lies", lies), layout.Row("Margins", margins), layout.Row("Moved right", right), layout.Row("Moved down", down),
		layout.Row("Border", border)}
}

// setSheet changes the sheet and keeps its margins; what needs a sheet's shape becomes
// what does not.
func setSheet(j *printfile.Job, k printfile.Sheet) {
	k.Margins, k.Feed = j.Sheet.Margins, j.Sheet.Feed
	if k.None() {
		k.Margins, k.Feed = printfile.Margins{}, 0
		if j.Size.By == printfile.FitSheet || j.Size.By == printfile.FillSheet {
			j.Size.By = printfile.LongEdge
			if j.Size.Length == 0 {
				j.Size.Length = 300
			}
		}
	}
	if k.Roll() && j.Size.By == printfile.FillSheet {
		j.Size.By = printfile.FitSheet
	}
	j.Sheet = k
}

// sheetMenu offers all sheets that have a name.
func (f *printForm) sheetMenu() {
	now := f.h.State().Print.Sheet.Name
	item := func(k printfile.Sheet, text, size string) offer {
		return offer{Item: widget.Item{Text: text, Note: size, Set: k.Name == now}, act: func() {
			j := f.h.State().Print
			setSheet(&j, k)
			f.set("sheet", j)
		}}
	}
	groups := []offer{item(printfile.Sheet{}, "no sheet: the file alone", "")}
	group := func(name string, belongs func(printfile.Sheet) bool) {
		g := offer{Item: widget.Item{Text: name}}
		for _, k := range printfile.Sheets() {
			if belongs(k) {
				size := ""
				if !k.Roll() {
					size = f.kept.Unit.area(printfile.Rect{W: k.W, H: k.H})
				}
				l := item(k, k.Name, size)
				g.sub, g.open = append(g.sub, l), g.open || l.Set
			}
		}
		groups = append(groups, g)
	}
	iso := func(letter string) func(printfile.Sheet) bool {
		return func(k printfile.Sheet) bool { return strings.HasPrefix(k.Name, letter) }
	}
	group("A sizes", iso("A"))
	group("B sizes", iso("B"))
	group("sizes in inches", func(k printfile.Sheet) bool { return !k.Roll() && !iso("A")(k) && !iso("B")(k) })
	group("rolls", printfile.Sheet.Roll)
	openMenu(f.h, f.sheets, groups)
}
