package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
)

// front is what belongs to the dialog in front of the window; every field may be nil.
type front struct {
	drop   func(paths []string)      // given the files that are dropped on the window meanwhile
	key    func(*fyne.KeyEvent) bool // given the keys that the control they were typed into has no use for
	closed func()                    // told that the dialog has gone
}

// front gives a dialog the keyboard: Escape closes it wherever in it the keyboard is, which
// the toolkit does not do of itself, and what was there before comes back afterwards.
func (h *Host) front(d dialog.Dialog, f front) {
	c := h.Window.Canvas()
	keys, drop := c.OnTypedKey(), h.dropping
	h.dropping = f.drop
	c.SetOnTypedKey(func(e *fyne.KeyEvent) {
		switch {
		case e.Name == fyne.KeyEscape:
			d.Hide()
		case f.key != nil:
			f.key(e)
		}
	})
	d.SetOnClosed(func() {
		c.SetOnTypedKey(keys)
		h.dropping = drop
		h.Focus()
		if f.closed != nil {
			f.closed()
		}
	})
}

// covered tells whether a dialog or a menu lies over the window. Then what is beneath
// rests: only one lies there at a time.
func (h *Host) covered() bool { return h.Window.Canvas().Overlays().Top() != nil }
