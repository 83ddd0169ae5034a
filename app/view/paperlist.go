package view

import (
	"fmt"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/words"
)

// paperItems are the papers that say each word of what is sought, group by group as the
// library has them, and the ID of each, "" for a heading. set is the chosen one. At the
// end come the files of the papers' folder that can't be used, with the reason.
func paperItems(store *session.Store, set, sought string) (items []widget.Item, ids []string) {
	group := ""
	for _, p := range store.Papers() {
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
	if unfit := store.Unusable(); len(unfit) > 0 && sought == "" {
		items, ids = append(items, widget.Item{Text: "in the folder, but not usable", Head: true}), append(ids, "")
		for _, f := range unfit {
			items = append(items, widget.Item{Text: filepath.Base(f.Path), Under: session.Explain(f.Err, f.Path).Headline, Off: true})
			ids = append(ids, "")
		}
	}
	return items, ids
}

// tellUnusable tells of the files in the papers' folder that can't be used, once until
// they are others.
func tellUnusable(h *Host) {
	var names []string
	unfit := h.Session.Store().Unusable()
	for _, f := range unfit {
		names = append(names, filepath.Base(f.Path))
	}
	all, kept := strings.Join(names, "|"), fyne.CurrentApp().Preferences()
	if all == kept.String(unusableTold) {
		return
	}
	kept.SetString(unusableTold, all)
	switch len(unfit) {
	case 0:
	case 1:
		n := session.Explain(unfit[0].Err, unfit[0].Path)
		h.Do(session.Tell{Notice: session.Notice{Headline: "A file in your papers’ folder can’t be used. " + n.Headline, Hint: n.Hint}})
	default:
		h.Do(session.Tell{Notice: session.Notice{Headline: fmt.Sprintf("%d files in your papers’ folder can’t be used: %s.", len(unfit), strings.Join(names, ", ")),
			Hint: "Each stands with the reason at the end of the list of papers."}})
	}
}

// unusableTold is the preference that holds which files were told of.
const unusableTold = "unusable papers told"

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
