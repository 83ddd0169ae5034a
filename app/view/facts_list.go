package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/paper"
)

// move puts the paper further up or down the list.
func (p *paperLeaf) move(steps int) {
	id := p.id
	p.h.Session.Shelve(func(s session.Shelf) error { return s.MovePaper(id, steps) }, func(err error) {
		if err != nil {
			p.say("It could not be moved: " + paperTold(err))
			return
		}
		p.h.Session.PapersChanged("", session.Notice{})
		p.say(placeInList(p.h.Session.Store().Papers(), id))
	})
}

// placeInList says between which papers one stands.
func placeInList(list []session.Paper, id string) string {
	for i, q := range list {
		switch {
		case q.ID != id:
		case len(list) == 1:
			return ""
		case i == 0:
			return "It stands first in your list, before ‘" + list[1].Name + "’."
		case i == len(list)-1:
			return "It stands last in your list, after ‘" + list[i-1].Name + "’."
		default:
			return "It stands after ‘" + list[i-1].Name + "’ and before ‘" + list[i+1].Name + "’."
		}
	}
	return ""
}

// takeAway removes the paper; it can be brought back.
func (p *paperLeaf) takeAway() {
	if p.id == "" || p.paper.Builtin {
		return
	}
	p.keep()
	id, name := p.id, p.name
	use := p.h.Session.Store().Next(id)
	p.h.Session.Shelve(func(s session.Shelf) error {
		_, err := s.RemovePaper(id)
		return err
	}, func(err error) {
		if err != nil {
			p.say("It could not be taken away: " + paperTold(err))
			return
		}
		if p.id == id {
			p.id = "" // nothing is kept of it any more
		}
		if p.h.Window.Canvas().Focused() == p.remove {
			p.h.Focus() // the button may go with its paper, and a second Return must not take the next one
		}
		p.h.Do(session.PaperGone{ID: id, Use: use})
		p.h.Session.PapersChanged("", session.Notice{Headline: "‘" + name + "’ is no longer among your papers.", Hint: "It can be brought back on the card ‘About this paper’ for 30 days."})
	})
}

// showGone lists the papers that can be brought back.
func (p *paperLeaf) showGone() {
	p.recalling.start(func(job) func() {
		list := p.h.Session.Engine().Removed()
		return func() {
			p.gone.Objects = nil
			for _, r := range list {
				p.gone.Add(p.goneLine(r))
			}
			p.right.Again()
		}
	})
}

func (p *paperLeaf) goneLine(r paper.Removed) fyne.CanvasObject {
	back := widget.NewPress("Bring ‘"+r.Name+"’ back", func() { p.bringBack(r) })
	p.explain(p.right, back, "It was taken away on "+r.When.Local().Format("2 January 2006, 15:04")+" and comes back with all that was noted of it.")
	return container.New(layout.Abreast{}, back)
}

func (p *paperLeaf) bringBack(r paper.Removed) {
	var q session.Paper
	p.h.Session.Shelve(func(s session.Shelf) (err error) {
		q, err = s.RestorePaper(r.Folder)
		return err
	}, func(err error) {
		if err != nil {
			p.say("‘" + r.Name + "’ could not be brought back: " + paperTold(err))
			return
		}
		p.h.Session.PapersChanged(q.ID, session.Notice{Headline: "‘" + q.Name + "’ is among your papers again, and the proof lies on it."})
	})
}
