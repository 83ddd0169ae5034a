package session

// Command describes one thing a person can do: its key, its menu item and its
// line on the help card all come from here, so they can't disagree.
type Command struct {
	ID   string
	Menu string // the menu it stands in
	Name string // the menu item, in plain words
	Help string // what it does, for the help card
	// Key is the key's name as the toolkit names it: "O", "Plus", "Left". A
	// letter is the initial of the word in Name that is ours.
	Key string
	// Ctrl is set where the key works only together with Ctrl.
	Ctrl bool
	// Held is set where it lasts as long as the key is held. From the menu it
	// stays until chosen again.
	Held bool
	// Act returns the action for the state at that moment, nil when there is
	// nothing to do.
	Act func(State) Action
	// Release returns the action of letting a held key go.
	Release func(State) Action
	// On tells whether a menu item carries a mark; nil where it never does.
	On func(State) bool
}

// The menus in their order.
const (
	MenuPicture = "Picture"
	MenuSheets  = "Sheets"
	MenuRoute   = "Route"
	MenuMoving  = "Moving"
	MenuLooking = "Looking"
	MenuPins    = "Pins"
	MenuCards   = "Cards"
	MenuHelp    = "Help"
)

// Menus lists the menus from left to right.
func Menus() []string {
	return []string{MenuPicture, MenuSheets, MenuRoute, MenuMoving, MenuLooking, MenuPins, MenuCards, MenuHelp}
}

// Papers is what commands need to know of the papers at hand.
type Papers interface {
	// Next returns the paper after id in the list, going round.
	Next(id string) string
	// First returns the first papers, for the ready-made desks.
	First() [MaxSheets]string
}
