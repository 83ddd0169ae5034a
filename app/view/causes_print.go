package view

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cause"
	"firstsheet/proof/pin"
)

// causePrint is the card's second column: what the bad print looks like, told in one way
// or in several.
type causePrint struct {
	v      *causesView
	column *layout.Column
	way    way
	which  *widget.Choice
	counts [ways]*widget.Toggle
	panels [ways]causePanel
	at     int // the pin spoken of; -1 for the whole print
	none   []fyne.CanvasObject
}

// causePanel is what one way is told by.
type causePanel interface {
	objects() []fyne.CanvasObject
	// listPins follows other pins, show what was told, update the window's state.
	listPins()
	show()
	update(session.State)
	typed(e *fyne.KeyEvent) bool
}

// wayHelp says of each way what it is good for.
var wayHelp = [ways]string{
	"Turn each pin’s right field until it looks like the print. Four pins at least, dark and vivid ones among them.",
	"Choose words for the print or for single pins.",
	"Colours that an instrument read off the print: the surest.",
	"A photo or scan of the print: it is laid onto the picture and compared region by region.",
}

func newCausePrint(v *causesView) *causePrint {
	p := &causePrint{v: v, column: layout.NewColumn()}
	p.which = widget.NewChoice(wayNames[:], 0, func(i int) { p.choose(way(i)) })
	v.explain(p.column, p.which, "How you tell what the print looks like; 1 to 4 choose. What was told in several ways counts together.")
	for w := range ways {
		p.counts[w] = widget.NewToggle("", true, func(on bool) {
			v.told.without[w] = !on
			v.changed()
		})
		v.explain(p.column, p.counts[w], "Ticked: it counts towards the answer. Clear it to see what the rest says alone.")
	}
	propose := widget.NewPress("Propose pins  (K)", func() { v.h.Do(session.ProposePins{}) })
	v.explain(p.column, propose, "Put pins on the picture’s own key colours: vivid, skin-like, neutral, darkest and lightest with texture.")
	p.none = []fyne.CanvasObject{layout.Prose("The picture has no pins yet. They mark the places that are compared with the print."),
		container.New(layout.Abreast{Gap: 8}, propose)}
	p.panels = [ways]causePanel{newCauseEye(p), newCauseWords(p), newCauseMeasured(p), newCausePhoto(p)}
	p.choose(byEye)
	return p
}

// choose shows another way's panel.
func (p *causePrint) choose(w way) {
	p.way = w
	p.which.Set(int(w))
	if w != inWords {
		p.at = max(p.at, 0)
	}
	p.panels[w].show()
	p.fill()
	p.column.Turn(-1e6)
}

func (p *causePrint) fill() {
	objs := []fyne.CanvasObject{heading("2   What the bad print looks like"), p.which, layout.Caption(wayHelp[p.way])}
	if (p.way == byEye || p.way == inWords) && p.v.of.n == 0 {
		objs = append(objs, p.none...)
	} else {
		objs = append(objs, p.panels[p.way].objects()...)
	}
	objs = append(objs, heading("What counts"))
	told := false
	for _, t := range p.counts {
		told = told || t.Visible()
		objs = append(objs, t)
	}
	if !told {
		objs = append(objs, layout.Caption("Nothing has been told yet."))
	}
	p.column.Fill(objs...)
}

// what a piece of each way is called.
var wayPieces = [ways]string{"pin", "word", "place", "region"}

// show brings everything to what was told.
func (p *causePrint) show() {
	for w, t := range p.counts {
		n := p.v.told.counts(way(w), p.v.pins())
		text := wayNames[w] + ": " + count(n, wayPieces[w])
		switch {
		case way(w) == byMeasure && p.v.told.file.sheet:
			text = fmt.Sprintf("check sheet: %d patches", n)
		case way(w) != byMeasure && p.v.told.asksOfSheet():
			text += ", aside while the check sheet counts"
		}
		t.Text = text
		t.On = !p.v.told.without[w]
		show(t, n > 0)
		t.Refresh()
	}
	for _, panel := range p.panels {
		panel.show()
	}
	p.fill()
}

func (p *causePrint) listPins() {
	p.at = min(p.at, p.v.of.n-1)
	if p.way != inWords {
		p.at = max(p.at, 0)
	}
	for _, panel := range p.panels {
		panel.listPins()
	}
	p.show()
}

func (p *causePrint) update(now session.State) {
	for _, panel := range p.panels {
		panel.update(now)
	}
}

func (p *causePrint) typed(e *fyne.KeyEvent) bool {
	ways := []fyne.KeyName{fyne.Key1, fyne.Key2, fyne.Key3, fyne.Key4}
	if w := slices.Index(ways, e.Name); w >= 0 {
		p.choose(way(w))
		return true
	}
	if e.Name == fyne.KeyK && p.v.of.n == 0 {
		p.v.h.Do(session.ProposePins{})
		return true
	}
	return p.panels[p.way].typed(e)
}

// fileRow is a field for a file's name with a button beside it. Once it has a name the
// keyboard is the card's again.
func (p *causePrint) fileRow(f *widget.Field, browse *widget.Press, take func(path string)) *fyne.Container {
	f.OnSubmitted = func(s string) {
		p.v.h.Focus()
		take(strings.TrimSpace(s))
	}
	name := widget.NewText("File", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	return container.New(layout.Labelled{Column: 44}, name, f, browse)
}

// pin is the pin spoken of, and whether it is one.
func (p *causePrint) pin() (pin.Pin, bool) {
	if p.at < 0 || p.at >= p.v.of.n {
		return pin.Pin{}, false
	}
	return p.v.of.pins[p.at], true
}

// right is what the right print looks like at the pin spoken of, and whether that is
// known yet.
func (p *causePrint) right() (cause.Spot, bool) {
	if p.at < 0 || p.at >= len(p.v.at.pins) || !p.v.ready {
		return cause.Spot{}, false
	}
	return p.v.at.pins[p.at], true
}

// step takes the next pin, going round; words begin with the whole print.
func (p *causePrint) step() {
	least := 0
	if p.way == inWords {
		least = -1
	}
	if p.at++; p.at >= p.v.of.n {
		p.at = least
	}
	p.show()
}

// revealPin scrolls to the pin that is turned by eye.
func (p *causePrint) revealPin() { p.panels[byEye].(*causeEye).reveal() }

// take takes colours that were read from a file, in place of those before.
func (p *causePrint) take(f readFile, sigma int) {
	p.v.told.file, p.v.told.sigma, p.v.told.without[byMeasure] = f, sigma, false
	p.v.changed()
}
