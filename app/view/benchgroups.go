package view

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/overlay"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
)

const compensationHelp = "Black point compensation: the picture’s black becomes the paper’s black, and shadows keep their steps"

// makeRow makes the low row.
func (b *bench) makeRow() {
	b.paper = widget.NewPress("", func() { paperMenu(b.h, b.paper) })
	b.paper.Explain("The paper that the proof lies on. Press to choose another; A takes the next one.", b.h.Hint)
	names := []string{}
	for _, i := range proof.Intents() {
		names = append(names, i.Short())
	}
	b.intent = widget.NewChoice(names, 1, func(i int) { b.h.Do(session.SetIntent{Intent: proof.Intent(i)}) })
	b.intent.Explain("Rendering intent: how colours that the paper can’t reach are brought within its reach (I).", b.h.Hint)
	b.comp = widget.NewToggle("Compensation", true, func(on bool) { b.h.Do(session.SetBPC{On: on}) })
	b.white = widget.NewChoice([]string{"paper’s white", "screen’s white"}, 0, func(i int) { b.h.Do(session.SetWhite{White: whites[i]}) })
	b.white.Explain("Paper’s white: paper and ink as printed. Screen’s white: the paper’s white shown as white, as an eye used to it sees it (W).", b.h.Hint)
	b.idle = widget.NewText("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
	fold := func(f func(*session.Folds)) func(bool) {
		return func(bool) {
			s := b.h.State().Folds
			f(&s)
			b.h.Do(session.Unfold{Folds: s})
		}
	}
	b.foldMore = widget.NewToggle("More", false, fold(func(f *session.Folds) { f.Looking = !f.Looking }))
	b.foldMore.Explain("All papers, the picture’s numbers, reach bands and other ways of looking (L).", b.h.Hint)
	b.foldPin = widget.NewToggle("Pins", false, fold(func(f *session.Folds) { f.Pins = !f.Pins }))
	b.foldPin.Explain("The table of pins: each one’s colour on every sheet (T).", b.h.Hint)
}

// paperMenu offers the papers at hand.
func paperMenu(h *Host, under fyne.CanvasObject) {
	sh, _ := h.State().Proof()
	var lines []offer
	items, ids := paperItems(h.Session.Store(), sh.Paper, "")
	for i, it := range items {
		lines = append(lines, offer{Item: it, act: func() { h.Do(session.SetPaper{ID: ids[i]}) }})
	}
	lines = append(lines, offer{Item: widget.Item{Text: "This paper and others", Head: true}},
		doing(h, "What this paper is…", session.OpenCard{ID: "facts"}),
		doing(h, "Add a paper…", session.AskFor{Ask: session.AskPaper}))
	openMenu(h, under, lines)
}

func (b *bench) makePapers() {
	head := heading("Papers")
	add := widget.NewQuiet("add…", func() { b.h.Do(session.AskFor{Ask: session.AskPaper}) })
	add.Explain("Add a printer profile (.icc, .icm) to your papers; dropping one on the window does the same.", b.h.Hint)
	facts := widget.NewQuiet("facts", func() { b.h.Do(session.OpenCard{ID: "facts"}) })
	facts.Explain("What this paper is: white, black, size of its gamut, tables, and what is known of the stock.", b.h.Hint)
	b.papers = widget.NewList(func(i int) { b.h.Do(session.SetPaper{ID: b.ids[i]}) })
	b.papers.OnMove = func(i int) {
		if p, ok := b.h.Session.Store().Paper(b.ids[i]); ok {
			b.h.Hint(paperHint(p))
		}
	}
	b.papers.Explain("Your papers: arrows go through them, Return lays the proof on one (A: the next).", b.h.Hint)
	b.seek = widget.NewField("seek", nil)
	b.seek.OnChanged = func(string) { sh, _ := b.h.State().Proof(); b.updatePapers(b.h.State(), sh) }
	b.seek.OnSubmitted = func(string) { b.papers.Take() }
	b.seek.Explain("Words of a paper’s name, media setting or date: the list shows the papers that have them all.", b.h.Hint)
	b.groups[0] = container.New(freeLayout{fyne.NewSize(220, panelHeight), func(s fyne.Size) {
		set(head, 0, 0, 90, 24)
		set(add, s.Width-70, 0, 70, 26)
		set(facts, s.Width-138, 0, 64, 26)
		set(b.seek, 76, -3, s.Width-76-144, 32)
		set(b.papers, 0, headRow, s.Width, s.Height-headRow)
	}}, head, b.seek, facts, add, b.papers)
}

func (b *bench) makeNumbers() {
	head := heading("The picture’s numbers are")
	b.source = widget.NewPress("", func() { b.h.Do(session.AskFor{Ask: session.AskSource}) })
	b.source.Explain("Which space the picture’s numbers are in: what the file says, or where it says nothing, what is assumed (U).", b.h.Hint)
	b.notes = caption("", 6)
	b.groups[1] = container.New(freeLayout{fyne.NewSize(220, panelHeight), func(s fyne.Size) {
		set(head, 0, 0, s.Width, 24)
		set(b.source, 0, headRow, s.Width, 32)
		set(b.notes, 0, headRow+42, s.Width, s.Height-headRow-42)
	}}, head, b.source, b.notes)
}

func (b *bench) change(f func(*session.Looking)) {
	l := b.h.State().Looking
	f(&l)
	b.h.Do(session.SetLooking{Looking: l})
}

func (b *bench) makeLooking() {
	head := heading("Looking")
	for _, o := range overlay.Switched() {
		t := widget.NewToggle(o.Switch, false, func(on bool) {
			b.change(func(l *session.Looking) { l.Overlays = l.Overlays.With(o.ID, on) })
		})
		t.Explain(o.Help, b.h.Hint)
		b.overlays = append(b.overlays, overlaySwitch{o.ID, t})
	}
	from := widget.NewText("Out of reach from ΔE00", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	b.limit = widget.NewChoice([]string{"1", "2", "4", "8"}, 1, func(i int) {
		b.change(func(l *session.Looking) { l.Threshold = limits[i] })
	})
	b.limit.Explain("From which ΔE00 on a colour counts as out of reach: 1 is about just seen side by side, 2 is seen by most.", b.h.Hint)
	b.count = widget.NewToggle("Count the paper’s tint", false, func(on bool) { b.change(func(l *session.Looking) { l.CountWhite = on }) })
	b.count.Explain("Figures compare with the eye used to the paper’s white; ticked, the paper’s own tint counts as a difference.", b.h.Hint)
	b.tooBright = widget.NewToggle("Screen too bright", false, func(on bool) { b.change(func(l *session.Looking) { l.TooBright = on }) })
	b.tooBright.Explain("How dark prints seem beside this screen in this light; both are set on the card ‘Screen and light’.", b.h.Hint)
	b.key = widget.NewBandKey()
	objs := []fyne.CanvasObject{head, from, b.limit, b.count, b.tooBright, b.key}
	switches := []fyne.CanvasObject{b.count, b.tooBright}
	for i, o := range b.overlays {
		objs = append(objs, o.toggle)
		switches = slices.Insert(switches, i, fyne.CanvasObject(o.toggle))
	}
	b.groups[2] = container.New(freeLayout{fyne.NewSize(360, panelHeight), func(s fyne.Size) {
		kw := max(min(s.Width-236, 240), 150)
		x := s.Width - kw
		set(head, 0, 0, 90, 24)
		fw := widget.Least(from).Width
		set(b.limit, s.Width-112, 0, 112, 26)
		set(from, s.Width-120-fw, 3, fw, 22)
		for i, t := range switches {
			set(t, 0, headRow+float32(i)*26, x-12, 26)
		}
		set(b.key, x, headRow, kw, s.Height-headRow)
	}}, objs...)
}
