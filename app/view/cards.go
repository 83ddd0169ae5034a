package view

import (
	"fyne.io/fyne/v2"

	"firstsheet/app/session"
)

// Place says where a card opens.
type Place uint8

const (
	// OverDesk lays the card over the desk; route line and bench stay in sight.
	OverDesk Place = iota
	// WholeWindow gives the card the whole window, for a room to read.
	WholeWindow
	// Projected gives the card the whole window without any frame: it has the screen to
	// itself, and is closed by Escape.
	Projected
)

// Card is something that opens over the desk: a lesson, a ranking, a view of the
// gamut, the help. To add one, write a file card_<name>.go in this package with a
// function that returns the Card, and add that function to Cards. Menu item,
// key, help line, frame with title and close button, Escape and the return of
// the keyboard to the desk come of themselves.
type Card struct {
	ID   string
	Name string // the menu item and the card's title
	Help string // one line for the help card
	// Key is the card's key, an initial of its own word that no command and no
	// other card has (a test looks); "" for none. With Ctrl it works together
	// with Ctrl alone.
	Key  string
	Ctrl bool
	// Menu is the menu that the card stands in, session.MenuCards where empty.
	Menu  string
	Place Place
	// Build makes the content when the card is opened. It may be called many
	// times; what it returns is dropped when the card is closed.
	Build func(h *Host) Built
}

// Built is an open card's content.
type Built struct {
	Content fyne.CanvasObject
	// Update is called after each change of State, on the drawing goroutine; nil
	// where the card does not care.
	Update func(now session.State)
	// Key is offered every key that is pressed while the card is open, before
	// the desk's own; it returns true for those it took. nil for none.
	Key func(e *fyne.KeyEvent) bool
	// Drop is offered the files that are dropped while the card is open; it returns true
	// for those it took. nil for none.
	Drop func(paths []string) bool
	// Close is called when the card is closed; a card cancels its own work here.
	Close func()
}

// Cards lists all cards in the order of the menu.
func Cards() []Card {
	return []Card{
		factsCard(),
		measureCard(),
		driftCard(),
		helpCard(),
		manualCard(),
		vergesCard(),
		yardstickCard(),
		kelvinCard(),
		lessonCard(),
		testStripCard(),
		causesCard(),
		checkCard(),
		printCard(),
	}
}
