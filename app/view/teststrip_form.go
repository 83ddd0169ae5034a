package view

import (
	"math"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkitlayout "fyne.io/fyne/v2/layout"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/slip"
	"firstsheet/proof/teststrip"
)

// testStripForm is what a person says of a strip: a column of ticks and numbers.
type testStripForm struct {
	h      *Host
	tell   func(string) // explains a control
	change func()       // told each change

	intents  [4]*widget.Toggle // by proof.Intent
	right    *widget.Toggle
	slips    []*widget.Toggle
	mistakes []slip.Slip // those of slips
	pins     []*widget.Toggle
	pinBox   *fyne.Container
	fields   map[string]*field
	measure  map[string]float64 // what was typed, NaN for no number
	label    *widget.Choice
	bare     bool // the file carries no profile

	side   *fyne.Container
	scroll *container.Scroll
}

// The measures that can be typed, in millimetres but for the resolution. The usual
// offcut is a strip across an A4 sheet.
var testStripMeasures = []struct {
	id, text, unit string
	usual          float64
}{
	{"ppi", "Print resolution", "ppi", 300},
	{"w", "A piece’s width", "mm", 22},
	{"h", "A piece’s height", "mm", 22},
	{"sheetw", "The offcut’s width", "mm", 210},
	{"sheeth", "The offcut’s height", "mm", 120},
	{"border", "Border the printer leaves", "mm", 4},
}

// intentHelp explains the intents, by proof.Intent.
var intentHelp = [4]string{
	"Perceptual: the whole picture is fitted into the paper’s reach, smoothly.",
	"Relative: colours in reach stay as they are, the others go to the edge; the paper’s white counts as white.",
	"Saturation: vivid colours stay vivid, whatever their hue; for charts, hardly for photographs.",
	"Absolute: as relative, but the picture’s white is printed onto the paper.",
}

// newTestStripForm returns the form; which chooses the paper.
func newTestStripForm(h *Host, which *widget.Press, tell func(string), change func()) *testStripForm {
	f := &testStripForm{h: h, tell: tell, change: change, fields: map[string]*field{}, measure: map[string]float64{}}
	f.side = container.New(stack{gap: 4}, heading("Paper of the offcut"), which)
	f.addWays()
	f.side.Add(heading("Pins"))
	f.pinBox = container.New(stack{gap: 4})
	f.side.Add(f.pinBox)
	f.side.Add(heading("Sizes"))
	for _, m := range testStripMeasures {
		f.measure[m.id] = m.usual
		f.side.Add(f.measureRow(m.id, m.text, m.unit, m.usual))
	}
	f.side.Add(heading("Profile in the file"))
	f.label = widget.NewChoice([]string{"the paper’s", "none"}, 0, func(i int) { f.bare = i == 1; f.label.Set(i) })
	f.label.Explain("The paper’s: programs that heed labels show the strip truly and have nothing to convert where they print to the same profile. "+
		"None: for ways of printing that take unlabelled files only. Conversion is to be off either way.", tell)
	f.label.OnFocus = func() { bringIntoSight(f.scroll, f.label) }
	f.side.Add(f.label)
	f.scroll = container.NewVScroll(container.New(toolkitlayout.NewCustomPaddedLayout(0, 0, 0, layout.ScrollRoom), f.side))
	return f
}

// addWays adds the ticks of intents and mistakes.
func (f *testStripForm) addWays() {
	f.side.Add(heading("Intents"))
	for i := range f.intents {
		in := proof.Intent(i)
		f.intents[i] = f.toggle(in.Short(), in == proof.RelativeColorimetric || in == proof.Perceptual, intentHelp[i])
		f.side.Add(f.intents[i])
	}
	f.side.Add(heading("Pieces"))
	f.right = f.toggle("as it should be", true, "Pieces converted once, by the paper’s own profile.")
	f.side.Add(f.right)
	for _, s := range slip.All() {
		if teststrip.OnStrip(s) {
			t := f.toggle(session.Typeset(s.Name), false, session.Typeset(s.Recognise))
			f.slips, f.mistakes = append(f.slips, t), append(f.mistakes, s)
			f.side.Add(t)
		}
	}
}

func (f *testStripForm) toggle(text string, on bool, help string) *widget.Toggle {
	var t *widget.Toggle
	t = widget.NewToggle(text, on, func(on bool) {
		t.Set(on)
		f.change()
	})
	t.Explain(help, f.tell)
	t.OnFocus = func() { bringIntoSight(f.scroll, t) }
	return t
}

// measureRow is the line of one measure.
func (f *testStripForm) measureRow(id, text, unit string, usual float64) fyne.CanvasObject {
	value := newField(strconv.FormatFloat(usual, 'f', -1, 64), func(s string) { f.typeMeasure(id, s) },
		func(string) { f.h.Focus() }, func() { f.h.Focus() })
	f.fields[id] = value
	name := widget.NewText(text, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	in := widget.NewText(unit, toolkittheme.SizeNameText, theme.ColorQuiet, false)
	row := container.New(freeLayout{fyne.NewSize(260, 38), func(s fyne.Size) {
		set(name, 0, 8, s.Width-130, 22)
		set(value, s.Width-126, 0, 82, 36)
		set(in, s.Width-36, 8, 36, 22)
	}}, name, value, in)
	value.gained = func() { bringIntoSight(f.scroll, row) }
	return row
}

// typeMeasure takes a number as it is typed; what is none yet is told and changes
// nothing.
func (f *testStripForm) typeMeasure(id, s string) {
	x, err := strconv.ParseFloat(strings.TrimSpace(strings.ReplaceAll(s, ",", ".")), 64)
	if err != nil || !(x >= 0) || x > 1e5 {
		x = math.NaN()
	}
	f.measure[id] = x
	f.change()
}

// complaint says which measure is none, "" where all are.
func (f *testStripForm) complaint() string {
	for _, m := range testStripMeasures {
		if x := f.measure[m.id]; math.IsNaN(x) || x <= 0 && m.id != "border" {
			return "‘" + m.text + "’ is no size: type a number of " + map[string]string{"mm": "millimetres", "ppi": "pixels per inch"}[m.unit] + "."
		}
	}
	return ""
}

// listPins makes the pins' ticks; the first four are on.
func (f *testStripForm) listPins(pins []pin.Pin) {
	was := map[string]bool{}
	for _, t := range f.pins {
		was[t.Text] = t.On
	}
	f.pins = nil
	f.pinBox.RemoveAll()
	for i, p := range pins {
		on, known := was[p.Name]
		if !known {
			on = i < 4
		}
		t := f.toggle(p.Name, on, "Pieces of the picture round this pin.")
		f.pins = append(f.pins, t)
		f.pinBox.Add(t)
	}
	if len(pins) == 0 {
		f.pinBox.Add(widget.NewText("none yet: K proposes some on the desk", toolkittheme.SizeNameText, theme.ColorQuiet, false))
	}
	f.side.Refresh()
	f.scroll.Refresh()
}

// fill puts what is ticked into a wish: relative first, for it is what a print is
// usually compared with.
func (f *testStripForm) fill(w teststrip.Wish) teststrip.Wish {
	w.AsItShouldBe, w.Intents, w.Mistakes = f.right.On, nil, nil
	for _, i := range []proof.Intent{proof.RelativeColorimetric, proof.Perceptual, proof.Saturation, proof.AbsoluteColorimetric} {
		if f.intents[i].On {
			w.Intents = append(w.Intents, i)
		}
	}
	for k, t := range f.slips {
		if t.On {
			w.Mistakes = append(w.Mistakes, f.mistakes[k])
		}
	}
	return w
}

// ticked are those of the pins that are on.
func (f *testStripForm) ticked(pins []pin.Pin) []pin.Pin {
	var out []pin.Pin
	for i, t := range f.pins {
		if t.On {
			out = append(out, pins[i])
		}
	}
	return out
}

// typed scrolls by keys.
func (f *testStripForm) typed(e *fyne.KeyEvent) bool {
	page := f.scroll.Size().Height * 0.8
	by, ok := map[fyne.KeyName]float32{fyne.KeyDown: 60, fyne.KeyUp: -60, fyne.KeyPageDown: page, fyne.KeyPageUp: -page}[e.Name]
	if ok {
		f.scroll.Offset.Y = min(max(f.scroll.Offset.Y+by, 0), max(f.side.MinSize().Height-f.scroll.Size().Height, 0))
		f.scroll.Refresh()
	}
	return ok
}
