package view

import (
	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"
)

// field is a line of text that a person types. Escape leaves it, which the toolkit's
// own entry swallows.
type field struct {
	toolkit.Entry
	leave  func()
	gained func() // told when the keyboard comes to it
}

// newField returns a field. change is told each change, done that Return was pressed,
// leave that Escape was; each may be nil.
func newField(text string, change func(string), done func(string), leave func()) *field {
	f := &field{leave: leave}
	f.ExtendBaseWidget(f)
	f.SetText(text)
	f.OnChanged, f.OnSubmitted = change, done
	return f
}

// TypedKey implements fyne.Focusable.
func (f *field) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeyEscape && f.leave != nil {
		f.leave()
		return
	}
	f.Entry.TypedKey(e)
}

// FocusGained implements fyne.Focusable.
func (f *field) FocusGained() {
	f.Entry.FocusGained()
	if f.gained != nil {
		f.gained()
	}
}

// focusSoon gives the keyboard to a field, its cursor at the end, once the key that
// asked for it is over: else its letter would be typed into the field.
func focusSoon(h *Host, f *field) {
	go h.Session.Post(func() {
		if h.Window.Canvas().Overlays().Top() == nil {
			return // closed again meanwhile
		}
		f.CursorColumn = len([]rune(f.Text))
		h.Window.Canvas().Focus(f)
		f.Refresh()
	})
}
