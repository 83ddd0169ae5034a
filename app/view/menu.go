package view

import (
	"runtime"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"firstsheet/app/session"
)

// menus is the main menu; every item comes from a command.
type menus struct {
	main  *fyne.MainMenu
	items []*fyne.MenuItem
	cmds  []session.Command
	quit  *fyne.MenuItem
}

func newMenus(h *Host) *menus {
	m := &menus{}
	groups := map[string]*fyne.Menu{}
	var list []*fyne.Menu
	for _, name := range session.Menus() {
		g := fyne.NewMenu(name)
		groups[name] = g
		list = append(list, g)
	}
	for _, c := range AllCommands(h) {
		it := fyne.NewMenuItem(c.Name, func() {
			if h.covered() {
				return // a shortcut: one dialog at a time, and what is beneath rests
			}
			s := h.State()
			if c.Held && c.On(s) {
				h.Do(c.Release(s))
				return
			}
			h.Do(c.Act(s))
		})
		if c.Key != "" {
			giveKey(it, KeyName(c), shortcut(c))
		}
		g := groups[c.Menu]
		g.Items = append(g.Items, it)
		m.items, m.cmds = append(m.items, it), append(m.cmds, c)
	}
	quit := fyne.NewMenuItem("Quit", nil) // the toolkit knows how
	quit.IsQuit = true
	giveKey(quit, "Ctrl Q", quitKeys())
	m.quit = quit
	groups[session.MenuPicture].Items = append(groups[session.MenuPicture].Items, fyne.NewMenuItemSeparator(), quit)
	var full []*fyne.Menu
	for _, g := range list {
		if len(g.Items) > 0 {
			full = append(full, g)
		}
	}
	m.main = fyne.NewMainMenu(full...)
	m.update(h.State())
	return m
}

// giveKey gives an item its key, nil for a letter that is typed. The name tells it: the toolkit
// would set it in a fifth of the ink's strength, at 1.6:1. Where the system itself draws the
// menus it tells it well.
func giveKey(it *fyne.MenuItem, name string, s fyne.Shortcut) {
	if s != nil && runtime.GOOS == "darwin" {
		it.Shortcut = s
		return
	}
	it.Label += "   " + name
	if c, is := s.(*desktop.CustomShortcut); is { // undo and redo are a text field's first
		it.Shortcut = unseen{c.ShortcutName()}
	}
}

// unseen is a shortcut that works and is not drawn.
type unseen struct{ name string }

// ShortcutName implements fyne.Shortcut.
func (u unseen) ShortcutName() string { return u.name }

// attach has the window answer the keys of all items too: while only the sheets are shown
// there is no menu bar to do it, and undo and redo never reach the menu.
func (m *menus) attach(c fyne.Canvas, resting func() bool) {
	for i, cmd := range m.cmds {
		if s := shortcut(cmd); s != nil {
			c.AddShortcut(s, func(fyne.Shortcut) {
				if !resting() {
					m.items[i].Action()
				}
			})
		}
	}
	c.AddShortcut(quitKeys(), func(fyne.Shortcut) { m.quit.Action() })
}

// quitKeys is the shortcut that ends the program.
func quitKeys() fyne.Shortcut {
	return &desktop.CustomShortcut{KeyName: fyne.KeyQ, Modifier: fyne.KeyModifierShortcutDefault}
}

// update sets the marks; the menu is only drawn anew where one has changed.
func (m *menus) update(s session.State) {
	for i, c := range m.cmds {
		if c.On == nil {
			continue
		}
		// Read when the menu is next opened.
		m.items[i].Checked = c.On(s)
	}
}

// openMenus opens the menu bar at menu n: arrows move in it, Return takes, Escape closes.
// Where the system itself keeps the menus, it has keys of its own for them.
func openMenus(h *Host, n int) {
	bar, ok := h.Window.Canvas().(interface {
		ToggleMenu()
		DismissMenu() bool
	})
	if !ok || h.covered() {
		return
	}
	if h.State().Bare { // the bar comes back first: posted, for a change of the window is too
		h.Session.Post(func() {
			h.Do(session.SetBare{})
			h.Session.Post(func() { openMenus(h, n) })
		})
		return
	}
	bar.DismissMenu()
	bar.ToggleMenu()
	for range n {
		h.Window.Canvas().FocusNext()
	}
}

// menuLetters open the menus together with Alt, in their order: each one's first letter,
// another where a menu before it has that.
const menuLetters = "PSRMLICH"

// menuKeys has Alt with a letter open a menu.
func menuKeys(h *Host, c fyne.Canvas) {
	for n, letter := range menuLetters {
		c.AddShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyName(letter), Modifier: fyne.KeyModifierAlt},
			func(fyne.Shortcut) { openMenus(h, n) })
	}
}
