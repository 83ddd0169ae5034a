package view

import (
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
)

// rect is a part of the window, in units.
type rect struct{ x0, y0, x1, y1 float32 }

func (r rect) meet(o rect) rect {
	return rect{max(r.x0, o.x0), max(r.y0, o.y0), min(r.x1, o.x1), min(r.y1, o.y1)}
}

// sightOf finds what of the window an object can be seen through: the window itself, and
// all that scrolls around it.
func sightOf(o, what fyne.CanvasObject, clip rect) (rect, bool) {
	if !o.Visible() {
		return clip, false
	}
	if o == what {
		return clip, true
	}
	if s, ok := o.(*container.Scroll); ok {
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(s)
		clip = clip.meet(rect{at.X, at.Y, at.X + s.Size().Width, at.Y + s.Size().Height})
	}
	var parts []fyne.CanvasObject
	switch c := o.(type) {
	case *fyne.Container:
		parts = c.Objects
	case fyne.Widget:
		parts = test.WidgetRenderer(c).Objects()
	}
	for _, p := range parts {
		if r, ok := sightOf(p, what, clip); ok {
			return r, true
		}
	}
	return clip, false
}

// unseen says what of the thing that has the keyboard can't be seen, "" where all of it can,
// or as much as there is room for.
func (k hands) unseen() string {
	o, ok := k.canvas().Focused().(fyne.CanvasObject)
	if !ok {
		return ""
	}
	root := k.canvas().Content()
	if top := k.canvas().Overlays().Top(); top != nil {
		root = top
	}
	size := k.canvas().Size()
	clip, found := sightOf(root, o, rect{0, 0, size.Width, size.Height})
	if !found {
		return "it is not on the window"
	}
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
	seen := clip.meet(rect{at.X, at.Y, at.X + o.Size().Width, at.Y + o.Size().Height})
	w, h := seen.x1-seen.x0, seen.y1-seen.y0
	if w < min(o.Size().Width, clip.x1-clip.x0)-1 || h < min(o.Size().Height, clip.y1-clip.y0)-1 {
		return "only a part of it is in sight"
	}
	return ""
}

// called is how a control is called, for failures.
func called(o any) string {
	switch c := o.(type) {
	case *widget.Press:
		return "the button " + c.Text
	case *widget.Toggle:
		return "the switch " + c.Text
	case *widget.Choice:
		return "the choice " + strings.Join(c.Items, "/")
	case *widget.Field:
		return "the field " + c.PlaceHolder
	case *widget.PinRow:
		return "the pin " + c.Name
	case *widget.PaperRow:
		return "the paper " + c.Name
	}
	return strings.TrimPrefix(strings.TrimPrefix(fmt.Sprintf("%T", o), "*widget."), "*view.")
}

// tabTo goes on by the Tab key until the keyboard is on what is wanted.
func (k hands) tabTo(what string, is func(fyne.Focusable) bool) {
	k.t.Helper()
	for range 80 {
		k.press("Tab")
		if is(k.canvas().Focused()) {
			return
		}
	}
	k.t.Fatalf("Tab never comes to %s", what)
}

// Whatever takes the keyboard is in sight when it does, on every card and with all that
// unfolds, in a small window too; and the Tab key comes round again.
func TestTheKeyboardIsNeverOutOfSight(t *testing.T) {
	for _, size := range []fyne.Size{fyne.NewSize(1024, 700), fyne.NewSize(1600, 1000)} {
		w, q := real(t)
		w.win.Resize(size)
		settle(t, w, q)
		k := hands{t, w, q}
		for range 9 {
			w.h.Do(session.PutPin{X: 30, Y: 30})
		}
		round := func(where string) {
			t.Helper()
			k.canvas().Unfocus()
			k.press("Tab")
			first := k.canvas().Focused()
			if first == nil {
				return // nothing here takes the keyboard
			}
			for n := 0; ; n++ {
				if why := k.unseen(); why != "" {
					t.Errorf("%v, %s: the keyboard is on %s: %s", size, where, called(k.canvas().Focused()), why)
				}
				k.press("Tab")
				if k.canvas().Focused() == first {
					break
				}
				if n > 200 {
					t.Fatalf("%s: Tab does not come round", where)
				}
			}
		}
		for _, folds := range []session.Folds{{}, {Looking: true}, {Pins: true}, {Looking: true, Pins: true}} {
			w.h.Do(session.Unfold{Folds: folds})
			settle(t, w, q)
			round("the desk")
		}
		for _, c := range Cards() {
			w.h.Do(session.OpenCard{ID: c.ID})
			k.drain()
			round("card " + c.ID)
			w.h.Do(session.OpenCard{})
			k.drain()
		}
	}
}

// The three uses by the keyboard alone: which paper for this picture, why a print comes out
// wrong, which intent.
func TestThreeUsesByKeysAlone(t *testing.T) {
	w, q := real(t)
	w.win.Resize(fyne.NewSize(1280, 800))
	settle(t, w, q)
	k := hands{t, w, q}
	state := func() session.State { return w.h.State() }
	told := func(what string) {
		t.Helper()
		k.until(what, func() bool { s := state().Told().Text; return s != "" && s != "…" })
	}
	paperButton := func(f fyne.Focusable) bool { return f == fyne.Focusable(w.parts.bench.paper) }

	// Matte against pearl: the desk of two papers, the second one's paper from the list.
	k.press("Ctrl+2")
	settle(t, w, q)
	k.press("2")
	k.tabTo("the paper", paperButton)
	k.press("Return")
	if !w.h.covered() {
		t.Fatal("Return on the paper opens no list")
	}
	k.press("c", "Return") // Cotton Matte
	settle(t, w, q)
	s := state()
	if s.Count != 2 || s.Sheets[0].Paper != "pearl" || s.Sheets[1].Paper != "cotton" || w.h.covered() {
		t.Fatalf("the sheets lie on %s and %s", s.Sheets[0].Paper, s.Sheets[1].Paper)
	}
	told("a sentence that compares the papers")
	k.press("x")
	k.until("where they differ", func() bool { return state().DifferWords() != "" })
	k.press("Escape", "f")

	// Why it comes out orange: the right way beside the picture's numbers taken for sRGB.
	k.press("Ctrl+4")
	settle(t, w, q)
	k.tabTo("the slips", func(f fyne.Focusable) bool { return f == fyne.Focusable(w.parts.route.slip) })
	k.press("Return", "Home")
	k.press("Return") // wrong source space unfolds, the keyboard is on its first way
	k.press("Return")
	settle(t, w, q)
	s = state()
	if sh := s.Sheets[s.Active]; !sh.Wrong || sh.Slips != "wrongsource" || sh.Reads == "" {
		t.Fatalf("the active sheet has %+v", sh)
	}
	told("what the slip does")
	k.press("g")
	settle(t, w, q)
	if s = state(); s.Sheets[s.Active].Wrong {
		t.Error("G does not bring the right way back")
	}

	// Relative or perceptual: the desk of two intents, and a map of where they differ.
	k.press("Ctrl+3")
	settle(t, w, q)
	s = state()
	if s.Sheets[0].Intent != proof.RelativeColorimetric || s.Sheets[1].Intent != proof.Perceptual {
		t.Fatalf("the intents are %v and %v", s.Sheets[0].Intent, s.Sheets[1].Intent)
	}
	told("a sentence that compares the intents")
	k.press("F9")
	if !w.h.covered() {
		t.Fatal("F9 opens no menu of the sheet")
	}
	k.write("difference from sheet")
	k.press("Return")
	settle(t, w, q)
	if sh := state().Sheets[state().Active]; sh.Show != session.ShowDifference || sh.Against < 0 {
		t.Errorf("the active sheet shows %v against %d", sh.Show, sh.Against)
	}

	// What has no key of its own is in a menu, which F10 opens.
	menus := map[string]bool{}
	for _, m := range w.win.MainMenu().Items {
		for _, it := range m.Items {
			menus[it.Label] = true
		}
	}
	for _, c := range AllCommands(w.h) {
		if c.Key == "" && !menus[c.Name] {
			t.Errorf("%s has no key and stands in no menu", c.Name)
		}
	}
	var pressed []string
	for i, m := range session.Menus() {
		pressed = append(pressed, string(menuLetters[i])+" "+m)
	}
	for i, a := range pressed {
		if !strings.Contains(strings.ToUpper(a[2:]), a[:1]) {
			t.Errorf("Alt %s opens a menu without that letter", a)
		}
		for _, b := range pressed[:i] {
			if a[0] == b[0] {
				t.Errorf("Alt opens two menus: %s and %s", a, b)
			}
		}
	}
}
