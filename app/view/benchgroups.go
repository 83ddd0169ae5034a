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

func (b *bench) makePaper() {
	head := heading("Paper")
	add := widget.NewQuiet("add…", func() { b.h.Do(session.AskFor{Ask: session.AskPaper}) })
	add.Explain("Add a printer profile (.icc, .icm) to your papers; dropping one on the window does the same.", b.h.Hint)
	facts := widget.NewQuiet("facts", func() { b.h.Do(session.OpenCard{ID: "facts"}) })
	facts.Explain("What this paper is: white, black, size of its gamut, tables, and what is known of the stock.", b.h.Hint)
	b.papers = container.New(stack{gap: 2})
	b.scroll = container.NewVScroll(b.papers)
	b.cols[0] = container.New(freeLayout{fyne.NewSize(220, benchHeight), func(s fyne.Size) {
		set(head, 0, 3, 90, 24)
		set(add, s.Width-70, 0, 70, 28)
		set(facts, s.Width-138, 0, 64, 28)
		set(b.scroll, 0, headRow+2, s.Width, s.Height-headRow-2)
	}}, head, add, facts, b.scroll)
}

func (b *bench) makeConversion() {
	head := heading("Conversion")
	names := []string{}
	for _, i := range proof.Intents() {
		names = append(names, i.Short())
	}
	b.intent = widget.NewChoice(names, 1, func(i int) { b.h.Do(session.SetIntent{Intent: proof.Intent(i)}) })
	b.intent.Explain("Rendering intent: how colours that the paper can’t reach are brought within its reach.", b.h.Hint)
	b.comp = widget.NewToggle("Black point compensation", true, func(on bool) { b.h.Do(session.SetBPC{On: on}) })
	b.comp.Explain("Black point compensation: the picture’s black becomes the paper’s black, and shadows keep their steps.", b.h.Hint)
	b.idle = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	label := widget.NewText("Shown with", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	b.white = widget.NewChoice([]string{"paper’s white", "screen’s white"}, 0, func(i int) { b.h.Do(session.SetWhite{White: whites[i]}) })
	b.white.Explain("Paper’s white: paper and ink as printed. Screen’s white: the paper’s white shown as white, as an eye used to it sees it.", b.h.Hint)
	numbers := widget.NewText("Numbers are", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	b.source = widget.NewPress("", func() { b.h.Do(session.AskFor{Ask: session.AskSource}) })
	b.source.Explain("Which space the picture’s numbers are in: what the file says, or where it says nothing, what is assumed.", b.h.Hint)
	b.cols[1] = container.New(freeLayout{fyne.NewSize(360, benchHeight), func(s fyne.Size) {
		set(head, 0, 3, 160, 24)
		y := float32(headRow + 2)
		set(b.intent, 0, y, s.Width, 32)
		cw := b.comp.MinSize().Width + 4
		set(b.comp, 0, y+35, cw, 30)
		ih := b.idle.HeightFor(s.Width - cw - 10)
		set(b.idle, cw+10, y+35+(30-ih)/2, s.Width-cw-10, ih)
		const lw = 102
		set(label, 0, y+73, lw, 22)
		set(b.white, lw, y+68, s.Width-lw, 32)
		set(numbers, 0, y+108, lw, 22)
		set(b.source, lw, y+104, s.Width-lw, 30)
	}}, head, b.intent, b.comp, b.idle, label, b.white, numbers, b.source)
}

func (b *bench) change(f func(*session.Looking)) {
	l := b.h.State().Looking
	f(&l)
	b.h.Do(session.SetLooking{Looking: l})
}

func (b *bench) makeLooking() {
	head := heading("Looking")
	for _, o := range overlay.All() {
		if o.Switch == "" {
			continue
		}
		t := widget.NewToggle(o.Switch, false, func(on bool) {
			b.change(func(l *session.Looking) { l.Overlays = l.Overlays.With(o.ID, on) })
		})
		t.Explain(o.Help, b.h.Hint)
		b.overlays = append(b.overlays, overlaySwitch{o.ID, t})
	}
	from := widget.NewText("from", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	b.limit = widget.NewChoice([]string{"1", "2", "4", "8"}, 1, func(i int) {
		b.change(func(l *session.Looking) { l.Threshold = limits[i] })
	})
	b.limit.Explain("From which ΔE00 on a colour counts as out of reach; 2 is about what an eye sees side by side.", b.h.Hint)
	b.count = widget.NewToggle("Count white", false, func(on bool) { b.change(func(l *session.Looking) { l.CountWhite = on }) })
	b.count.Explain("Figures compare with the eye used to the paper’s white; ticked, the paper’s own tint counts as a difference.", b.h.Hint)
	b.tooBright = widget.NewToggle("Bright screen", false, func(on bool) { b.change(func(l *session.Looking) { l.TooBright = on }) })
	b.tooBright.Explain("How dark prints seem beside a screen of 160 cd/m² in a light of 315 lx: the look is 0.63 times as bright.", b.h.Hint)
	b.key = widget.NewBandKey()
	objs := []fyne.CanvasObject{head, from, b.limit, b.count, b.tooBright, b.key}
	for _, o := range b.overlays {
		objs = append(objs, o.toggle)
	}
	b.cols[2] = container.New(freeLayout{fyne.NewSize(300, benchHeight), func(s fyne.Size) {
		kw := max(min(s.Width-176, 220), 140)
		x := min(s.Width-kw, 200)
		w := x - 8
		set(head, 0, 3, 90, 24)
		y := float32(headRow + 2)
		switches := []fyne.CanvasObject{b.count, b.tooBright}
		for i := range b.overlays {
			switches = slices.Insert(switches, i, fyne.CanvasObject(b.overlays[i].toggle))
		}
		for i, t := range switches {
			set(t, 0, y+float32(i)*34.4, w, 30)
		}
		set(from, x, 4, 40, 22)
		set(b.limit, x+42, 0, kw-42, 28)
		set(b.key, x, headRow+2, kw, s.Height-headRow-2)
	}}, objs...)
}

func (b *bench) makeFolds() {
	head := heading("Unfold")
	fold := func(f func(*session.Folds)) func(bool) {
		return func(bool) {
			s := b.h.State().Folds
			f(&s)
			b.h.Do(session.Unfold{Folds: s})
		}
	}
	b.foldLooking = widget.NewToggle("Looking", false, fold(func(f *session.Folds) { f.Looking = !f.Looking }))
	b.foldLooking.Explain("Reach bands and other ways of looking (L).", b.h.Hint)
	b.foldPins = widget.NewToggle("Pins", false, fold(func(f *session.Folds) { f.Pins = !f.Pins }))
	b.foldPins.Explain("The table of pins: each one’s colour on every sheet (T).", b.h.Hint)
	help := widget.NewPress("Keys", func() { b.h.Do(session.OpenCard{ID: "help"}) })
	help.Explain("All keys and what they do (H).", b.h.Hint)
	b.cols[3] = container.New(freeLayout{fyne.NewSize(foldWidth, benchHeight), func(s fyne.Size) {
		set(head, 0, 3, 100, 24)
		set(b.foldLooking, 0, headRow+3, s.Width, 30)
		set(b.foldPins, 0, headRow+37, s.Width, 30)
		set(help, 0, headRow+2+103, s.Width, 30)
	}}, head, b.foldLooking, b.foldPins, help)
}
