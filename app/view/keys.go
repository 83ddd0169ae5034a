package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"firstsheet/app/session"
)

// AllCommands returns the session's commands and one for each card.
func AllCommands(h *Host) []session.Command {
	list := session.Commands(h.Session.Store())
	for _, c := range Cards() {
		menu := c.Menu
		if menu == "" {
			menu = session.MenuCards
		}
		list = append(list, session.Command{ID: "card-" + c.ID, Menu: menu, Name: c.Name, Help: c.Help, Key: c.Key, Ctrl: c.Ctrl,
			Act: func(session.State) session.Action { return session.OpenCard{ID: c.ID} },
			On:  func(s session.State) bool { return s.Card == c.ID }})
	}
	return list
}

// KeyName is a command's key as the help card writes it.
func KeyName(c session.Command) string {
	k := c.Key
	switch k {
	case "Left":
		k = "←"
	case "Right":
		k = "→"
	case "Up":
		k = "↑"
	case "Down":
		k = "↓"
	case "BackSpace":
		k = "Backspace"
	case "-":
		k = "−"
	}
	switch {
	case c.Ctrl:
		return "Ctrl " + k
	case c.Held:
		return "hold " + k
	}
	return k
}

// shortcut is a command's shortcut: it fires even where a text field has the keyboard,
// but undo and redo, which are the field's own there. Single letters have none, for
// there they are typed.
func shortcut(c session.Command) fyne.Shortcut {
	if c.Key == "" || !c.Ctrl {
		return nil
	}
	switch fyne.KeyName(c.Key) { // the driver calls these by names of their own
	case fyne.KeyZ:
		return &fyne.ShortcutUndo{}
	case fyne.KeyY:
		return &fyne.ShortcutRedo{}
	}
	m := fyne.KeyModifierShortcutDefault
	return &desktop.CustomShortcut{KeyName: fyne.KeyName(c.Key), Modifier: m}
}

// keyboard turns key events into actions.
type keyboard struct {
	h        *Host
	commands []session.Command
	card     func(*fyne.KeyEvent) bool // the open card's keys
	down     map[fyne.KeyName]bool
}

func newKeyboard(h *Host) *keyboard {
	return &keyboard{h: h, commands: AllCommands(h), down: map[fyne.KeyName]bool{}}
}

func modifier(k fyne.KeyName) bool {
	switch k {
	case desktop.KeyControlLeft, desktop.KeyControlRight, desktop.KeyAltLeft, desktop.KeyAltRight,
		desktop.KeySuperLeft, desktop.KeySuperRight:
		return true
	}
	return false
}

// chord tells whether a key that makes shortcuts is down: a letter is then no
// key of the desk.
func (k *keyboard) chord() bool {
	// The driver knows best: the release of a key that opened a menu is never heard here.
	if d, ok := fyne.CurrentApp().Driver().(desktop.Driver); ok {
		return d.CurrentKeyModifiers()&^fyne.KeyModifierShift != 0
	}
	for n, on := range k.down {
		if on && modifier(n) {
			return true
		}
	}
	return false
}

func (k *keyboard) attach(c fyne.Canvas) {
	c.SetOnTypedKey(k.typed)
	if d, ok := c.(desktop.Canvas); ok {
		d.SetOnKeyDown(k.pressed)
		d.SetOnKeyUp(k.released)
	}
}

// Release lets all held keys go: their release is never heard when the window
// loses the keyboard.
func (k *keyboard) release() {
	clear(k.down)
	if s := k.h.State(); s.Held != session.HeldNone || s.Looking.BandsHeld {
		k.h.Do(session.Hold{What: session.HeldNone})
		k.h.Do(session.HoldBands{On: false})
	}
}

func (k *keyboard) pressed(e *fyne.KeyEvent) {
	k.down[e.Name] = true
	if k.h.covered() || k.chord() || k.h.State().Card != "" {
		return
	}
	for _, c := range k.commands {
		if c.Held && !c.Ctrl && c.Key == string(e.Name) {
			k.h.Do(c.Act(k.h.State()))
		}
	}
}

func (k *keyboard) released(e *fyne.KeyEvent) {
	delete(k.down, e.Name)
	for _, c := range k.commands {
		if c.Held && c.Key == string(e.Name) && c.On(k.h.State()) {
			k.h.Do(c.Release(k.h.State()))
		}
	}
}

func (k *keyboard) typed(e *fyne.KeyEvent) {
	k.h.letter = len(e.Name) == 1
	defer func() { k.h.letter = false }()
	s := k.h.State()
	if s.Card != "" {
		if k.card != nil && k.card(e) {
			return
		}
		if e.Name == fyne.KeyEscape {
			k.h.Close()
			return
		}
	}
	name := string(e.Name)
	switch {
	case name == "=":
		name = "+"
	case e.Name == fyne.KeyEscape:
		k.h.Do(session.Hold{What: session.HeldNone})
		k.h.Do(session.HoldBands{On: false})
		k.h.Do(session.DismissNotice{})
		k.h.Do(session.SetBare{})
		return
	}
	if k.chord() {
		return
	}
	for _, c := range k.commands {
		if c.Key != name || c.Held || c.Ctrl {
			continue
		}
		if s.Card != "" && c.ID != "card-"+s.Card {
			continue // under an open card the desk's keys rest
		}
		k.h.Do(c.Act(s))
		return
	}
}
