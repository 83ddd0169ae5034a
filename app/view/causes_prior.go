package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cause"
	"firstsheet/proof/words"
)

// causePrior has it said how likely each cause is before anything is looked at.
type causePrior struct {
	v     *causesView
	fold  *widget.Press
	reset *widget.Press
	about fyne.CanvasObject
	rows  []priorRow
	open  bool
}

type priorRow struct {
	id     string
	label  *widget.Prose
	choice *widget.Choice
}

// priorWords are the answers to how likely something is, and how many times as likely as
// usual each makes it (own choice: a step that shows, and no more than a judgement is worth).
var priorWords = []struct {
	text  string
	times float64
}{{"ruled out", 0}, {"rare", 1.0 / 4}, {"usual", 1}, {"often", 4}}

// usualWord is the one that changes nothing.
const usualWord = 2

const (
	priorFold   = "How likely before looking…  (L)"
	priorUnfold = "Fold this away  (L)"
)

func newCausePrior(v *causesView, c *layout.Column) *causePrior {
	p := &causePrior{v: v, about: layout.Caption("What you know of this printer and of who printed, before the print is looked at: the answer weighs both.")}
	p.fold = widget.NewPress(priorFold, p.turn)
	v.explain(c, p.fold, "Say what goes wrong here often, rarely or never; it counts in the answer, and the answer says so.")
	p.reset = widget.NewPress("All as usual", func() { clear(v.told.prior); p.changed() })
	v.explain(c, p.reset, "Each mistake as likely as another, a sound print somewhat likelier.")
	var texts []string
	for _, w := range priorWords {
		texts = append(texts, w.text)
	}
	for _, b := range cause.Beliefs() {
		r := priorRow{id: b.ID, label: layout.Caption(words.Capital(session.Typeset(b.Name)))}
		r.choice = widget.NewChoice(texts, usualWord, func(i int) {
			delete(v.told.prior, b.ID)
			if i != usualWord {
				v.told.prior[b.ID] = i
			}
			p.changed()
		})
		v.explain(c, r.choice, "How likely it is before looking: "+session.Typeset(b.Name)+". Rare is a quarter of the usual, often four times.")
		p.rows = append(p.rows, r)
	}
	p.show()
	return p
}

// objects are what the column shows of it.
func (p *causePrior) objects() []fyne.CanvasObject {
	objs := []fyne.CanvasObject{container.New(layout.Abreast{Gap: 8}, p.fold, p.reset)}
	if !p.open {
		return objs
	}
	objs = append(objs, p.about)
	for _, r := range p.rows {
		objs = append(objs, r.label, r.choice)
	}
	return objs
}

func (p *causePrior) turn() {
	p.open = !p.open
	p.show()
	p.v.answer.fill()
	if p.open {
		p.v.answer.column.Top(p.fold)
		return
	}
	p.v.answer.column.Reveal(p.fold)
}

func (p *causePrior) changed() {
	p.show()
	p.v.changed()
}

// show brings the choices to what was told.
func (p *causePrior) show() {
	p.fold.SetText(map[bool]string{false: priorFold, true: priorUnfold}[p.open])
	show(p.reset, len(p.v.told.prior) > 0)
	for _, r := range p.rows {
		i, told := p.v.told.prior[r.id]
		if !told {
			i = usualWord
		}
		r.choice.Set(i)
	}
}

// believed is the prior as it was told.
func (t *causeTold) believed() cause.Prior {
	p := cause.UsualPrior()
	for id, i := range t.prior {
		p = p.Times(id, priorWords[i].times)
	}
	return p
}
