package view

import (
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/paper"
	"firstsheet/proof/trust"
)

// factsCard tells what the chosen paper is and keeps what is known of it.
func factsCard() Card {
	return Card{ID: "facts", Name: "About this paper", Key: "Q", Menu: session.MenuRoute, Place: WholeWindow,
		Help:  "question the paper: its white, black, gamut, tables, and what is known of the stock, to read and to write",
		Build: func(h *Host) Built { return newPaperLeaf(h).built() }}
}

// paperLeaf is the open card of a paper.
type paperLeaf struct {
	*leaf
	form *paperForm
	past *lane // reads what was kept of the paper

	recalling *lane                   // finds what was taken away
	checking  *lane                   // checks the profile
	checked   map[string]trust.Report // by the profile's ID and the paper's name

	id    string
	name  string
	paper session.Paper
	first paper.Card // as it was when the card was opened
	sent  paper.Card // as it was last sent to be kept

	sentName string

	state        *widget.Prose
	back, remove *widget.Press
	gone         *fyne.Container // the papers that were taken away
	library      int
}

const paperRest = "What is noted here is kept as a field is left, beside the profile among your papers. A: the next paper of the list. " +
	"The swatch shows white and black as on an sRGB screen."

func newPaperLeaf(h *Host) *paperLeaf {
	p := &paperLeaf{leaf: newLeaf(h, 0.5, paperRest), library: -1}
	p.past, p.recalling, p.checking = p.work.lane(), p.work.lane(), p.work.lane()
	p.checked = map[string]trust.Report{}
	p.form = newPaperForm(p.leaf, p.right, p.keep)
	p.state = layout.Caption("")
	p.back = widget.NewPress("Take back", p.takeBack)
	p.remove = widget.NewPress("Take it away", p.takeAway)
	up := widget.NewPress("↑", func() { p.move(-1) })
	down := widget.NewPress("↓", func() { p.move(1) })
	p.gone = container.New(&layout.Flow{Gap: 7})
	next := widget.NewPress("Next paper", p.next)
	verify := widget.NewPress("Verify its profile…", func() { h.Do(session.OpenCard{ID: "drift"}) })
	measure := widget.NewPress("New from measurements…", func() { h.Do(session.OpenCard{ID: "measure"}) })
	p.explain(p.right, p.back, "Everything noted of this paper as it was when the card was opened.")
	p.explain(p.right, p.remove, "Take this paper with all that was noted of it from your papers. It can be brought back here for 30 days; the file that you once added stays where it was.")
	p.explain(p.right, up, "One place up in the list of papers. At the top of a group the whole group moves.")
	p.explain(p.right, down, "One place down in the list of papers. At the end of a group the whole group moves.")
	p.explain(p.right, next, "The next paper of the list (A).")
	p.explain(p.right, verify, "Print a small page, measure it, and see how far the paper has moved from its profile.")
	p.explain(p.right, measure, "Make a new profile from a printed and measured chart.")
	place := widget.NewText("Place in the list", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	objs := append([]fyne.CanvasObject{heading("In your list")}, p.form.listed...)
	objs = append(objs, container.New(layout.Labelled{Column: layout.LabelColumn}, place, container.New(layout.Abreast{Gap: 8}, up, down, p.remove)),
		p.gone, heading("What is known of the stock"))
	objs = append(append(objs, p.form.objs...), p.state, container.New(layout.Abreast{Gap: 8}, p.back, next, verify, measure))
	p.right.Fill(objs...)
	p.update(h.State())
	return p
}

func (p *paperLeaf) built() Built {
	return Built{Content: p.content, Update: p.update, Key: func(e *fyne.KeyEvent) bool {
		if e.Name == fyne.KeyA {
			p.next()
			return true
		}
		return p.typed(e)
	}, Close: func() {
		p.keep()
		p.id = "" // what comes of it later is told by the window
		p.work.close()
	}}
}

func (p *paperLeaf) next() {
	p.h.Do(session.SetPaper{ID: p.h.Session.Store().Next(p.id)})
}

func (p *paperLeaf) update(now session.State) {
	sh, _ := now.Proof()
	other := sh.Paper != p.id
	if !other && now.Library == p.library {
		return
	}
	if p.id != "" && other {
		p.keep()
	}
	p.library = now.Library
	p.showGone()
	q, ok := p.h.Session.Store().Paper(sh.Paper)
	p.paper = q
	if !ok {
		p.left.Fill(layout.Prose("This paper is no longer among your papers."))
		return
	}
	p.showFacts()
	p.name = q.Name
	if other {
		p.id = sh.Paper
		p.first = cardOf(p.h.Session.Engine(), p.id)
		p.sent, p.sentName = p.first, p.first.Name
		p.form.put(p.first)
		p.say("")
		show(p.remove, !q.Builtin)
		p.right.Again()
	}
}

// cardOf returns what is noted of a paper at this moment: the list of papers learns of
// a note only after it was kept.
func cardOf(shelf session.Shelf, id string) paper.Card {
	for _, p := range shelf.Papers() {
		if p.ID == id {
			return p.Card
		}
	}
	return paper.Card{}
}

// showFacts fills the left column.
func (p *paperLeaf) showFacts() {
	objs := []fyne.CanvasObject{paperHead(p.paper)}
	from := "It comes with the program."
	if !p.paper.Builtin {
		from = "Added by you: " + p.paper.Path
	}
	objs = append(objs, layout.Caption(from))
	if p.paper.Facts == nil {
		objs = append(objs, layout.Prose("The profile is being studied …"))
	} else {
		for _, f := range paper.FactLines(*p.paper.Facts) {
			objs = append(objs, factLine(f))
		}
	}
	past, check := container.New(&layout.Flow{Gap: 7}), container.New(&layout.Flow{Gap: 7})
	objs = slices.Insert(objs, 2, fyne.CanvasObject(check))
	p.left.Fill(append(objs, past)...)
	p.check(check)
	readReadings(p.past, p.paper.ID, func(shown []fyne.CanvasObject) {
		past.Objects = shown
		p.left.Again()
	})
}

func (p *paperLeaf) say(s string) {
	p.state.SetText(s)
	p.right.Again()
}

// keep has what is on the form kept, where it is another than before.
func (p *paperLeaf) keep() {
	if p.id == "" {
		return
	}
	c, trouble := p.form.card()
	switch {
	case trouble != "":
		p.say("Not kept yet: " + trouble)
		p.notKept(p.name, trouble)
		return
	case c == p.sent:
		if strings.HasPrefix(p.state.Text, "Not kept yet") {
			p.say("")
		}
		return
	}
	p.sent = c
	p.say("")
	id, name, renamed := p.id, p.name, c.Name != p.sentName
	p.sentName = c.Name
	p.h.Session.Shelve(func(s session.Shelf) error { return s.SetCard(id, c) }, func(err error) {
		if err != nil {
			told := paperTold(err)
			if p.id == id {
				p.sent = paper.Card{Notes: "\x00"} // equal to nothing: it is tried again
				p.say("Not kept: " + told)
			}
			p.notKept(name, told)
			return
		}
		if p.id == id {
			p.say("Kept with the paper.")
		}
		p.h.Session.PapersChanged("", session.Notice{})
		if renamed {
			p.h.Do(session.PapersSavedAnew{}) // routes and sentences speak of it by name
		}
	})
}

// notKept tells it in the window, for the card may be closed by then.
func (p *paperLeaf) notKept(name, why string) {
	p.h.Do(session.Tell{Notice: session.Notice{Failure: true, Headline: "What was noted of ‘" + name + "’ is not kept.", Hint: why}})
}

func (p *paperLeaf) takeBack() {
	p.form.put(p.first)
	p.keep()
}
