package view

import (
	"fmt"
	"strings"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/words"
)

// paperItems are the papers that say each word of what is sought, group by group as the
// library has them, and the ID of each, "" for a group's heading. set is the chosen one.
func paperItems(papers []session.Paper, set, sought string) (items []widget.Item, ids []string) {
	group := ""
	for _, p := range papers {
		it := paperItem(p, p.ID == set)
		if !saysAll(strings.Join([]string{it.Text, it.Note, p.Card.Group, p.Card.Printer, p.Card.Notes}, " "), sought) {
			continue
		}
		if g := strings.TrimSpace(p.Card.Group); !strings.EqualFold(g, group) {
			group = g
			if g == "" {
				g = "other papers"
			}
			items, ids = append(items, widget.Item{Text: g, Head: true}), append(ids, "")
		}
		items, ids = append(items, it), append(ids, p.ID)
	}
	return items, ids
}

// paperItem is a paper's line in a list: its white and black, its name, and what else tells
// it from others: media setting and date, the finish where one of those is not noted.
func paperItem(p session.Paper, set bool) widget.Item {
	var notes []string
	for _, n := range []string{p.Card.Media, p.Card.Date, p.Card.Finish} {
		if n != "" && len(notes) < 2 {
			notes = append(notes, n)
		}
	}
	return widget.Item{Text: p.Name, Note: strings.Join(notes, " · "), White: seen(p.White()), Black: seen(p.Black()), Set: set}
}

// paperHint says what a paper is on one line, its notes' first line at the end.
func paperHint(p session.Paper) string {
	parts := []string{"white " + words.Lab(p.White()), "black L* " + words.Whole(p.Black().L)}
	for _, n := range []string{p.Card.Printer, p.Card.Media, p.Card.Date} {
		if n != "" {
			parts = append(parts, n)
		}
	}
	if note, _, _ := strings.Cut(strings.TrimSpace(p.Card.Notes), "\n"); note != "" {
		parts = append(parts, note)
	}
	return fmt.Sprintf("%s: %s.", strings.TrimSuffix(p.Name, "."), strings.TrimSuffix(strings.Join(parts, "; "), "."))
}
