package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
)

// yardstickParts are the groups of the card that only its layout knows.
type yardstickParts struct {
	paperHead, intentHead, compHead fyne.CanvasObject
	papers                          *container.Scroll
	intents, comp                   *fyne.Container
	words                           *layout.Column
}

func (y *yardstick) built() Built {
	ticks := container.New(&tickRows{gap: 14})
	for _, t := range y.papers {
		ticks.Add(t)
	}
	p := yardstickParts{
		paperHead: heading("Papers"), intentHead: heading("Intents"), compHead: heading("Compensation"),
		papers:  container.NewVScroll(ticks),
		intents: container.New(&tickRows{gap: 14, columns: 2}, y.intents[0], y.intents[1], y.intents[2], y.intents[3]),
		comp:    container.New(&tickRows{gap: 14, columns: 1}, y.with, y.without),
		words:   layout.NewColumn(heading("Recommended"), y.why, heading("What speaks against it"), y.against, heading("The rule"), y.rules),
	}
	content := container.New(freeLayout{fyne.NewSize(860, 480), func(s fyne.Size) {
		y.layAsked(p, s)
		y.layOutcome(p, s)
	}}, p.paperHead, p.papers, p.intentHead, p.intents, p.compHead, p.comp, y.start, y.swapped, y.bar, y.said, y.table, y.empty,
		y.column, y.place, y.beside, p.words.Scroll, y.pictures.drawing, y.each.Scroll, y.foot.line)
	y.relay = func() {
		p.words.Again()
		y.each.Again()
	}
	return Built{Content: content, Update: func(session.State) { y.show() }, Close: y.work.close, Key: y.typed, Drop: y.dropped}
}

const (
	yardstickTop = 104 // how high the part is in which ways are ticked
	yardstickGap = 24
)

// layAsked sets the upper part: what is ticked, and the button that measures it.
func (y *yardstick) layAsked(p yardstickParts, s fyne.Size) {
	const head = 28
	const intents, comp, button = float32(236), float32(124), float32(210)
	x := float32(0)
	group := func(heading, o fyne.CanvasObject, w float32) {
		set(heading, x, 0, w, 24)
		set(o, x, head, w, yardstickTop-head)
		x += w + yardstickGap
	}
	group(p.paperHead, p.papers, s.Width-intents-comp-button-3*yardstickGap)
	group(p.intentHead, p.intents, intents)
	group(p.compHead, p.comp, comp)
	x = s.Width - button
	set(y.start, x, 2, button, 40)
	set(y.swapped, x, 47, button, 28)
	set(y.bar, x, 52, button, 12)
	set(y.said, x, 80, button, 40)
}

// layOutcome sets the table, beneath it the recommendation with the rule, and the ways as
// pictures.
func (y *yardstick) layOutcome(p yardstickParts, s fyne.Size) {
	foot := captionHeight(2)
	set(y.foot.line, 0, s.Height-foot, s.Width, foot)
	bottom := max(min((s.Height-yardstickTop)*0.42, 300), 210)
	low := s.Height - foot - 10 - bottom
	set(y.place, 0, low, 230, 30)
	set(y.beside, 0, low+34, 330, 30)
	w := max(s.Width*0.56, 420)
	p.words.Put(0, low+70, s.Width-w-yardstickGap, bottom-70)
	set(y.pictures.drawing, s.Width-w, low, w, bottom)
	y.each.Put(s.Width-w, low, w, bottom)
	column := captionHeight(2)
	set(y.column, 0, low-column-8, s.Width, column)
	set(y.table, 0, yardstickTop+14, s.Width, low-column-16-yardstickTop-14)
	set(y.empty, 0, yardstickTop+68, s.Width, 80)
}
