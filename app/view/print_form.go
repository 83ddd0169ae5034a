package view

import (
	"fyne.io/fyne/v2"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
)

// printKept is what the card remembers beside the job.
type printKept struct {
	Unit      lengthUnit
	Kind      int // of printKinds
	JSON, PDF bool
	Slides    bool // dragging moves the picture in its frame
}

// printKinds are the files that a print can be.
var printKinds = []struct{ name, ending string }{{"TIFF", ".tif"}, {"PNG", ".png"}, {"JPEG", ".jpg"}}

func keptPrint(h *Host) printKept {
	if k, ok := h.Kept("print").(printKept); ok {
		return k
	}
	return printKept{JSON: true, PDF: true}
}

// printForm is the column of choices of the print card. What it shows is State's job; each
// change goes there at once.
type printForm struct {
	h       *Host
	tell    func(string)
	changed func() // told where something beside the job has changed, or a complaint

	kept   printKept
	bad    map[string]string // what was typed that is none, by field
	column *layout.Column
	of     *widget.Prose

	choices []choiceOf
	fields  []fieldOf
	sheets  *widget.Press
}

// choiceOf is a choice together with the part of the job that it shows and sets.
type choiceOf struct {
	c    *widget.Choice
	show func(j printfile.Job) int
}

// fieldOf is a field likewise.
type fieldOf struct {
	f    *widget.Field
	name string
	show func(j printfile.Job) string
}

func newPrintForm(h *Host, tell func(string), changed func()) *printForm {
	f := &printForm{h: h, tell: tell, changed: changed, kept: keptPrint(h), bad: map[string]string{}, column: layout.NewColumn()}
	f.of = layout.Prose("")
	objs := []fyne.CanvasObject{f.of}
	objs = append(objs, f.converterRows()...)
	objs = append(objs, f.sizeRows()...)
	objs = append(objs, f.pictureRows()...)
	objs = append(objs, f.fileRows()...)
	f.column.Fill(objs...)
	return f
}

// explain gives a control its hint and keeps it in sight while it is used.
func (f *printForm) explain(o explained, hint string) {
	o.Explain(hint, func(s string) {
		if focus, ok := o.(fyne.Focusable); ok && s != "" && f.h.Window.Canvas().Focused() == focus {
			f.column.Reveal(o)
		}
		f.tell(s)
	})
}

// choice is a choice of a part of the job.
func (f *printForm) choice(items []string, hint string, show func(printfile.Job) int, take func(*printfile.Job, int)) *widget.Choice {
	c := widget.NewChoice(items, 0, func(i int) {
		j := f.h.State().Print
		take(&j, i)
		f.set("", j)
	})
	f.explain(c, hint)
	f.choices = append(f.choices, choiceOf{c, show})
	return c
}

// field is a field of a part of the job; take returns what is wrong with what was typed.
func (f *printForm) field(name, hint string, show func(printfile.Job) string, take func(*printfile.Job, string) string) *widget.Field {
	w := widget.NewField("", nil)
	w.OnChanged = func(s string) {
		j := f.h.State().Print
		if s == show(j) {
			f.complain(name, "")
			return // shown, not typed
		}
		if no := take(&j, s); no != "" {
			f.complain(name, no)
			return
		}
		f.set(name, j)
	}
	w.OnLeave = f.show
	w.OnSubmitted = func(string) { f.h.Focus() }
	w.PlaceHolder = map[string]string{"length": "as the sheet lets", "sheet": "none", "margins": "0", "cut": "0", "shift right": "0", "shift down": "0", "border": "0",
		"ppi": "the picture’s own pixels", "distance": "the usual distance", "quality": "98"}[name]
	f.explain(w, hint)
	f.fields = append(f.fields, fieldOf{w, name, show})
	return w
}

// length is a field of a length.
func (f *printForm) length(name, hint string, signed bool, show func(printfile.Job) float64, take func(*printfile.Job, float64)) *widget.Field {
	return f.field(name, hint, func(j printfile.Job) string {
		if show(j) == 0 {
			return ""
		}
		return f.kept.Unit.figure(show(j))
	}, func(j *printfile.Job, s string) string {
		mm, ok := f.kept.Unit.parse(s, signed)
		if !ok {
			return "‘" + s + "’ is no length (" + name + "): type a number of " + lengthUnits[f.kept.Unit] + ", or one with its unit such as 40cm."
		}
		take(j, mm)
		return ""
	})
}

// set makes a job the card's, or says why it can't be.
func (f *printForm) set(name string, j printfile.Job) {
	j.Setup = setup.Setup{Paper: "any"}
	if err := j.Check(); err != nil {
		f.complain(name, session.Explain(err, "").Headline)
		return
	}
	delete(f.bad, name)
	f.h.Keep("print", f.kept)
	f.h.Do(session.SetPrint{Job: j})
	f.show()
	f.changed()
}

func (f *printForm) complain(name, no string) {
	if f.bad[name] == no {
		return
	}
	if f.bad[name] = no; no == "" {
		delete(f.bad, name)
	}
	f.changed()
}

// complaint is what is wrong with what was typed, "" where nothing is.
func (f *printForm) complaint() string {
	for _, o := range f.fields {
		if no := f.bad[o.name]; no != "" {
			return no
		}
	}
	return f.bad[""]
}

// show shows State's job. A field that is being typed into stays as it is.
func (f *printForm) show() {
	j := f.h.State().Print
	for _, o := range f.choices {
		o.c.Set(o.show(j))
	}
	focused := f.h.Window.Canvas().Focused()
	for _, o := range f.fields {
		if focused != fyne.Focusable(o.f) && f.bad[o.name] == "" {
			o.f.Put(o.show(j))
		}
	}
}
