package view

import (
	"sync"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
)

// Host is what a card or a part of the window gets: the session to read State
// from and to send Actions to, and the window for dialogs.
//
//	h.State()              what the window shows
//	h.Do(session.Fit{})    send an action
//	h.Session.Store()      papers, slips, spaces, the picture's pixels
//	h.Session.Engine()     the engine; call it from a goroutine of your own ...
//	h.Session.Post(f)      ... and come back to the drawing goroutine by this
//	h.Hint("...")          the line at the foot of the window
type Host struct {
	Session *session.Session
	Window  fyne.Window
	hint    func(string)
	kept    map[string]any
	asked   func(session.Ask) fyne.CanvasObject
	// dropping is given what is dropped while a dialog lies in front; nil for none.
	dropping func(paths []string)
	// letter is set while a key is handled whose letter is typed next.
	letter bool
	// sheetMenu opens the active sheet's own menu.
	sheetMenu func()
	jobs      sync.WaitGroup // the work of all cards
}

// State returns what the window shows.
func (h *Host) State() session.State { return h.Session.State() }

// Do sends an action.
func (h *Host) Do(a session.Action) { h.Session.Do(a) }

// Hint shows a sentence in the line at the foot of the window; "" takes it away.
func (h *Host) Hint(s string) {
	if h.hint != nil {
		h.hint(s)
	}
}

// askedAt returns the part of the window that a question belongs to.
func (h *Host) askedAt(a session.Ask) fyne.CanvasObject {
	if h.asked != nil {
		return h.asked(a)
	}
	return h.Window.Content()
}

// Keep stores what a card wants to find again when it is next opened, such as the
// outcome of a long computation.
func (h *Host) Keep(card string, v any) {
	if h.kept == nil {
		h.kept = map[string]any{}
	}
	h.kept[card] = v
}

// Kept returns what the card has stored, or nil.
func (h *Host) Kept(card string) any { return h.kept[card] }

// Close closes the open card.
func (h *Host) Close() { h.Do(session.OpenCard{}) }

// Focus gives the keyboard back to the desk. Call it after a toolkit control
// (an entry, a select) has done its work; our own controls do it themselves.
func (h *Host) Focus() { h.Window.Canvas().Unfocus() }
