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

// causeWords has words chosen for the whole print or for a pin.
type causeWords struct {
	p     *causePrint
	place *widget.Press
	words *fyne.Container
	hues  *fyne.Container
	box   *fyne.Container
}

// sayable are the words that need no hue.
var sayable = []struct {
	word cause.Word
	text string
	// against cannot be said at the same time.
	against []cause.Word
}{
	{cause.Darker, "too dark", []cause.Word{cause.Lighter, cause.Right}},
	{cause.Lighter, "too light", []cause.Word{cause.Darker, cause.Right}},
	{cause.Duller, "too dull", []cause.Word{cause.Vivider, cause.Right}},
	{cause.Vivider, "too vivid", []cause.Word{cause.Duller, cause.Right}},
	{cause.NoShadows, "no shadow detail", []cause.Word{cause.Right}},
	{cause.Right, "as it should be", []cause.Word{cause.Darker, cause.Lighter, cause.Duller, cause.Vivider, cause.NoShadows, cause.Turned}},
}

func newCauseWords(p *causePrint) *causeWords {
	w := &causeWords{p: p}
	w.place = widget.NewPress("", p.step)
	p.v.explain(p.column, w.place, "What the words are about; N takes the next pin.")
	w.words = container.New(layout.Even{Columns: 2, Gap: 8})
	w.hues = container.New(layout.Even{Columns: 1})
	w.box = container.New(layout.Abreast{}, w.place)
	return w
}

func (w *causeWords) objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{w.box, w.words, layout.Caption("Its hue, against the right proof:"), w.hues}
}

// of is the place that is spoken of.
func (w *causeWords) of() spotted {
	if p, ok := w.p.pin(); ok {
		return spottedBy(p)
	}
	return wholePrint
}

func (w *causeWords) listPins()            {}
func (w *causeWords) update(session.State) {}

// show lists the words for the place spoken of.
func (w *causeWords) show() {
	if w.p.way != inWords {
		return
	}
	v := w.p.v
	about := "About the whole print  (N: a pin)"
	if p, ok := w.p.pin(); ok {
		about = "About " + words.The(p.Name) + "  (N: next)"
	}
	w.place.SetText(about)
	var list, hues []fyne.CanvasObject
	for _, s := range sayable {
		if s.word == cause.NoShadows && w.of() != wholePrint {
			continue
		}
		list = append(list, w.toggle(s.text, saying{of: w.of(), word: s.word}, s.against))
	}
	for h := range words.Magenta + 1 {
		if text := w.hueText(h); text != "" {
			hues = append(hues, w.toggle(text, saying{of: w.of(), word: cause.Turned, hue: h}, []cause.Word{cause.Turned, cause.Right}))
		}
	}
	w.keep(w.words, list)
	w.keep(w.hues, hues)
	w.hues.Layout = layout.Even{Columns: 2, Gap: 8}
	if w.of() != wholePrint {
		w.hues.Layout = layout.Even{Columns: 1}
	}
	v.print.column.Again()
}

// keep brings a list's toggles to new ones, in place where they are as many: the
// keyboard stays where it is.
func (w *causeWords) keep(box *fyne.Container, now []fyne.CanvasObject) {
	if len(box.Objects) != len(now) {
		box.Objects = now
		return
	}
	for i, o := range now {
		was, is := box.Objects[i].(*widget.Toggle), o.(*widget.Toggle)
		was.Text, was.On, was.OnChange = is.Text, is.On, is.OnChange
		was.Refresh()
	}
}

// hueText is how a turn to a hue is said of the place, "" where it is its own hue.
func (w *causeWords) hueText(h words.Hue) string {
	right, ok := w.p.right()
	switch {
	case !ok:
		return "a tinge of " + h.String()
	case right.Lab.Chroma() >= words.NamedChroma && words.HueOf(right.Lab) == h:
		return ""
	}
	return h.String() + " rather than " + words.Name(right.Lab)
}

func (w *causeWords) toggle(text string, s saying, against []cause.Word) *widget.Toggle {
	t := widget.NewToggle(text, w.p.v.told.said[s], func(on bool) { w.say(s, on, against) })
	w.p.v.explain(w.p.column, t, "Ticked: the print looks so beside the right proof.")
	return t
}

// say takes a word, or takes it back; what speaks against it goes.
func (w *causeWords) say(s saying, on bool, against []cause.Word) {
	said := w.p.v.told.said
	if !on {
		delete(said, s)
	} else {
		for other := range said {
			for _, word := range against {
				if other.of == s.of && other.word == word {
					delete(said, other)
				}
			}
		}
		said[s] = true
	}
	w.p.v.changed()
}

func (w *causeWords) typed(e *fyne.KeyEvent) bool {
	if e.Name == fyne.KeyN {
		w.p.step()
		return true
	}
	return false
}
