package view

import (
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/widget"
	"firstsheet/proof/paper"
)

// paperForm holds what is known of a paper, for reading and for writing.
type paperForm struct {
	name, group                              *widget.Field
	printer, media, finish, date, dry, notes *widget.Field
	black, condition                         *widget.Choice
	means                                    *widget.Prose
	listed                                   []fyne.CanvasObject // how the paper stands in the list
	objs                                     []fyne.CanvasObject // what is known of the stock
	relay                                    func()
}

// newPaperForm returns an empty form; changed is called when a field is left or a
// choice made.
func newPaperForm(l *leaf, c *layout.Column, changed func()) *paperForm {
	f := &paperForm{relay: c.Again}
	f.name = widget.NewField("as its profile calls it", changed)
	f.group = widget.NewField("none", changed)
	f.printer = widget.NewField("which printer, with which inks", changed)
	f.media = widget.NewField("as the driver calls it", changed)
	f.finish = widget.NewField("matte, pearl, gloss …", changed)
	f.date = widget.NewField("2006-01-02", changed)
	f.dry = widget.NewField("hours", changed)
	f.notes = widget.NewNotes("batch, quality setting, what went well …", 4, changed)
	f.black = wordChoice([]string{"not noted", "photo", "matte"}, changed)
	items := []string{"not noted"}
	items = append(items, paper.Conditions()...)
	f.condition = wordChoice(items, func() { f.tellCondition(); changed() })
	f.means = layout.Caption("")
	for _, e := range []struct {
		o    explained
		hint string
	}{
		{f.name, "What you call this paper. Left empty, it is called as its profile says. The profile itself is not written to."},
		{f.group, "Papers of one group stand together in the list: a printer, a mill, a purpose."},
		{f.printer, "The printer that the profile was made on. A profile holds for one printer and its inks."},
		{f.media, "The media setting: the kind of paper chosen in the printer’s driver. It decides how much ink is laid down, and a profile holds for one only."},
		{f.finish, "The surface. Matte sheets have a lighter black than pearl or gloss."},
		{f.black, "The black ink: photo black for pearl and gloss, matte black for matte sheets (common practice). The wrong one smears or looks grey."},
		{f.condition, "The measuring condition of ISO 13655: how much ultraviolet the instrument’s lamp had. Proofs agree with prints best under light of the same kind."},
		{f.date, "The day on which the profile was made, as year-month-day."},
		{f.dry, "How many hours a print dries before it is judged or measured: colours of fresh prints still move."},
		{f.notes, "Anything else. Kept beside the profile."},
	} {
		l.explain(c, e.o, e.hint)
	}
	f.listed = []fyne.CanvasObject{layout.Row("Your name", f.name), layout.Row("Group", f.group)}
	f.objs = []fyne.CanvasObject{
		layout.Row("Printer", f.printer), layout.Row("Media setting", f.media), layout.Row("Finish", f.finish), layout.Row("Black ink", f.black),
		layout.Row("Measured as", f.condition), container.New(layout.Indented{By: layout.LabelColumn}, f.means),
		layout.Row("Made on", f.date), layout.Row("Dries for", f.dry), layout.Row("Notes", f.notes),
	}
	f.tellCondition()
	return f
}

// wordChoice is a row of words that shows what was chosen.
func wordChoice(items []string, changed func()) *widget.Choice {
	var c *widget.Choice
	c = widget.NewChoice(items, 0, func(i int) {
		c.Set(i)
		if changed != nil {
			changed()
		}
	})
	return c
}

func (f *paperForm) tellCondition() {
	f.means.SetText(paper.ConditionMeans(paper.ConditionChoices()[f.condition.Chosen]))
	f.relay()
}

// put shows a card.
func (f *paperForm) put(c paper.Card) {
	f.name.Put(c.Name)
	f.group.Put(c.Group)
	f.printer.Put(c.Printer)
	f.media.Put(c.Media)
	f.finish.Put(c.Finish)
	f.date.Put(c.Date)
	hours := ""
	if c.DryHours > 0 {
		hours = strconv.FormatFloat(c.DryHours, 'g', -1, 64)
	}
	f.dry.Put(hours)
	f.notes.Put(c.Notes)
	f.black.Set(max(slices.Index(paper.BlackInkChoices(), c.BlackInk), 0))
	f.condition.Set(max(slices.Index(paper.ConditionChoices(), c.Condition), 0))
	f.tellCondition()
}

// card returns what is on the form, and what on it can't be as a sentence.
func (f *paperForm) card() (c paper.Card, trouble string) {
	trim := func(e *widget.Field) string { return strings.TrimSpace(e.Text) }
	c = paper.Card{Name: trim(f.name), Group: trim(f.group), Printer: trim(f.printer), Media: trim(f.media), Finish: trim(f.finish), Date: trim(f.date), Notes: trim(f.notes),
		BlackInk: paper.BlackInkChoices()[f.black.Chosen], Condition: paper.ConditionChoices()[f.condition.Chosen]}
	var ok bool
	if c.DryHours, ok = paper.HoursOf(f.dry.Text); !ok {
		return c, "The drying time ‘" + trim(f.dry) + "’ is no number of hours."
	}
	return c, paper.CardTrouble(c)
}
