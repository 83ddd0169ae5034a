package view

import (
	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/widget"
)

// field is a line of text that a person types. Escape leaves it, which the toolkit's
// own entry swallows.
type field struct {
	toolkit.Entry
	leave  func()
	onKey  func(*fyne.KeyEvent) bool // given each key first; it returns true for those it took
	gained func()                    // told when the keyboard comes to it
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
	if f.onKey != nil && f.onKey(e) {
		return
	}
	if !widget.PassOn(f, e) {
		f.Entry.TypedKey(e)
	}
}

// TypedShortcut implements fyne.Shortcutable.
func (f *field) TypedShortcut(s fyne.Shortcut) {
	if !widget.PassOnShortcut(f, s) {
		f.Entry.TypedShortcut(s)
	}
}

// FocusGained implements fyne.Focusable.
func (f *field) FocusGained() {
	f.Entry.FocusGained()
	if f.gained != nil {
		f.gained()
	}
}

// put replaces the text, the cursor at its end.
func (f *field) put(s string) {
	f.SetText(s)
	f.CursorColumn = len([]rune(s))
	f.Refresh()
}

// focusField gives the keyboard to a field, its cursor at the end: once the key that asked
// for it is over where that was a letter, which would else be typed into the field. Whole
// marks all of the text, so that what is typed or pasted takes its place.
func focusField(h *Host, f *field, whole bool) {
	take := func() {
		f.CursorColumn = len([]rune(f.Text))
		h.Window.Canvas().Focus(f)
		if whole {
			f.TypedShortcut(&fyne.ShortcutSelectAll{})
		}
		f.Refresh()
	}
	if !h.letter {
		take()
		return
	}
	go h.Session.Post(func() {
		if h.covered() { // not closed again meanwhile
			take()
		}
	})
}
