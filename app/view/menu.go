package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"firstsheet/app/session"
)

// menus is the main menu; every item comes from a command.
type menus struct {
	main  *fyne.MainMenu
	items []*fyne.MenuItem
	cmds  []session.Command
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
		name := c.Name
		if c.Key != "" && !c.Ctrl {
			name += "   " + KeyName(c)
		}
		it := fyne.NewMenuItem(name, func() {
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
		it.Shortcut = shortcut(c)
		g := groups[c.Menu]
		g.Items = append(g.Items, it)
		m.items, m.cmds = append(m.items, it), append(m.cmds, c)
	}
	quit := fyne.NewMenuItem("Quit", nil) // the toolkit knows how
	quit.IsQuit = true
	quit.Shortcut = &desktop.CustomShortcut{KeyName: fyne.KeyQ, Modifier: fyne.KeyModifierShortcutDefault}
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
