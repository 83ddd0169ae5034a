package widget

import (
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	toolkit "fyne.io/fyne/v2/widget"
)

// Field is a text field that explains itself, that Tab always leaves and that
// Escape gives the keyboard back from.
type Field struct {
	toolkit.Entry
	// Hint is told through Tell while the mouse or the keyboard is on it.
	Hint string
	Tell func(string)
	// OnLeave is called when the keyboard leaves it, and on Return in a field of
	// one line.
	OnLeave func()
	focused bool
}

var _ desktop.Hoverable = (*Field)(nil)

// NewField returns a field of one line.
func NewField(placeholder string, leave func()) *Field {
	f := &Field{OnLeave: leave}
	f.PlaceHolder = placeholder
	f.OnSubmitted = func(string) { f.leave() }
	f.ExtendBaseWidget(f)
	return f
}

// NewNotes returns a field of several lines.
func NewNotes(placeholder string, rows int, leave func()) *Field {
	f := &Field{OnLeave: leave}
	f.PlaceHolder = placeholder
	f.MultiLine = true
	f.Wrapping = fyne.TextWrapWord
	f.SetMinRowsVisible(rows)
	f.ExtendBaseWidget(f)
	// The toolkit breaks a text at once, at the width that there is: at none it would try
	// and measure every letter.
	f.Resize(fyne.NewSize(300, 100))
	return f
}

// Explain sets the hint and where it is told.
func (f *Field) Explain(hint string, tell func(string)) { f.Hint, f.Tell = hint, tell }

// Put replaces the text where it is another; the cursor goes to its start.
func (f *Field) Put(s string) {
	if f.Text != s {
		f.SetText(s)
	}
}

func (f *Field) leave() {
	if f.OnLeave != nil {
		f.OnLeave()
	}
}

func (f *Field) tell(on bool) {
	if f.Tell == nil {
		return
	}
	if on {
		f.Tell(f.Hint)
	} else {
		f.Tell("")
	}
}

// AcceptsTab implements fyne.Tabbable: Tab goes on to the next control.
func (f *Field) AcceptsTab() bool { return false }

// TypedKey implements fyne.Focusable.
func (f *Field) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeyEscape {
		if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil {
			c.Unfocus()
		}
		return
	}
	if PassOn(f, e) {
		return
	}
	f.Entry.TypedKey(e)
}

// TypedShortcut implements fyne.Shortcutable.
func (f *Field) TypedShortcut(s fyne.Shortcut) {
	if !PassOnShortcut(f, s) {
		f.Entry.TypedShortcut(s)
	}
}

// PassOn gives a key that a text field has no use for, F1 to F12, to the window, and
// reports whether it did.
func PassOn(field fyne.CanvasObject, e *fyne.KeyEvent) bool {
	c := fyne.CurrentApp().Driver().CanvasForObject(field)
	if c == nil || c.OnTypedKey() == nil || len(e.Name) < 2 || e.Name[0] != 'F' || !unicode.IsDigit(rune(e.Name[1])) {
		return false
	}
	c.OnTypedKey()(e)
	return true
}

// PassOnShortcut gives a shortcut with Alt, of which a text field has none, to the window,
// and reports whether it did.
func PassOnShortcut(field fyne.CanvasObject, s fyne.Shortcut) bool {
	k, ok := s.(*desktop.CustomShortcut)
	if !ok || k.Modifier != fyne.KeyModifierAlt {
		return false
	}
	c, ok := fyne.CurrentApp().Driver().CanvasForObject(field).(fyne.Shortcutable)
	if ok {
		c.TypedShortcut(s)
	}
	return ok
}

// FocusGained implements fyne.Focusable.
func (f *Field) FocusGained() {
	f.focused = true
	f.Entry.FocusGained()
	f.tell(true)
}

// FocusLost implements fyne.Focusable.
func (f *Field) FocusLost() {
	was := f.focused
	f.focused = false
	f.Entry.FocusLost()
	f.tell(false)
	if was {
		f.leave()
	}
}

// MouseIn implements desktop.Hoverable.
func (f *Field) MouseIn(*desktop.MouseEvent) { f.tell(true) }

// MouseMoved implements desktop.Hoverable.
func (f *Field) MouseMoved(*desktop.MouseEvent) {}

// MouseOut implements desktop.Hoverable.
func (f *Field) MouseOut() { f.tell(false) }
