package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	toolkittheme "fyne.io/fyne/v2/theme"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
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

// openCard is the frame that an open card stands in.
type openCard struct {
	w     *Window
	box   *fyne.Container
	id    string
	built Built
	whole bool
}

func newOpenCard(w *Window) *openCard {
	c := &openCard{w: w, box: container.NewStack()}
	c.box.Hide()
	return c
}

func (c *openCard) update(now session.State) {
	if now.Card != c.id {
		c.shut()
		for _, card := range Cards() {
			if card.ID == now.Card {
				c.open(card)
			}
		}
	}
	if c.id != "" && c.built.Update != nil {
		c.built.Update(now)
	}
}

func (c *openCard) shut() {
	if c.id == "" {
		return
	}
	if c.built.Close != nil {
		c.built.Close()
	}
	c.id, c.built, c.whole = "", Built{}, false
	c.box.RemoveAll()
	c.box.Hide()
	c.w.cover()
	c.w.layout.Layout(nil, c.w.layout.size)
	canvas.Refresh(c.w.win.Content())
	if c.w.keys != nil {
		c.w.keys.card = nil
	}
	c.w.h.Hint("")
	c.w.h.Focus()
}

func (c *openCard) open(card Card) {
	c.id, c.whole = card.ID, card.Place == WholeWindow
	c.built = card.Build(c.w.h)
	ground := canvas.NewRectangle(widget.Color(theme.ColorGroup))
	ground.StrokeColor, ground.StrokeWidth = widget.Color(theme.ColorLine), 1
	title := widget.NewText(card.Name, toolkittheme.SizeNameHeadingText, toolkittheme.ColorNameForeground, true)
	shut := widget.NewPress("Close  (Esc)", c.w.h.Close)
	head := container.NewBorder(nil, nil, title, shut)
	// The ground swallows clicks, so that they do not fall through to the desk.
	wall := newWall(c.w.h)
	inner := container.New(freeLayout{fyne.NewSize(320, 120), func(s fyne.Size) {
		set(ground, 0, 0, s.Width, s.Height)
		set(wall, 0, 0, s.Width, s.Height)
		set(head, 20, 12, s.Width-40, 34)
		set(c.built.Content, 20, 58, s.Width-40, s.Height-58-14)
	}}, ground, wall, head, c.built.Content)
	c.box.Objects = []fyne.CanvasObject{inner}
	c.box.Show()
	c.w.cover()
	c.w.layout.Layout(c.w.win.Content().(*fyne.Container).Objects, c.w.layout.size)
	c.box.Refresh()
	// The box has never been painted, so that the toolkit knows no canvas for it
	// and would wait with painting until something else changes.
	canvas.Refresh(c.w.win.Content())
	if c.w.keys != nil {
		c.w.keys.card = c.built.Key
	}
	c.w.h.Focus()
}

// wall takes every click that nothing on the card takes.
type wall struct {
	toolkit.BaseWidget
	h *Host
}

func newWall(h *Host) *wall {
	w := &wall{h: h}
	w.ExtendBaseWidget(w)
	return w
}

func (w *wall) Tapped(*fyne.PointEvent)    { w.h.Focus() }
func (w *wall) Dragged(*fyne.DragEvent)    {}
func (w *wall) DragEnd()                   {}
func (w *wall) Scrolled(*fyne.ScrollEvent) {}
func (w *wall) CreateRenderer() fyne.WidgetRenderer {
	return toolkit.NewSimpleRenderer(container.NewWithoutLayout())
}

// slipMenu opens the list of slips under the button.
func slipMenu(h *Host, under *widget.Press) {
	s := h.State()
	sh, n := s.Proof()
	if n < 0 {
		return
	}
	store := h.Session.Store()
	var items []*fyne.MenuItem
	for _, k := range store.Slips() {
		it := fyne.NewMenuItem(k.Name, nil)
		it.Checked = sh.Slip.ID[0] == k.ID || sh.Slip.ID[1] == k.ID
		pick := func(change func(*session.Slip)) func() {
			return func() {
				slip := sh.Slip
				slip.ID = [2]string{k.ID}
				change(&slip)
				h.Do(session.SetSlip{Slip: slip})
			}
		}
		file := func() {
			askFile(h, profileEndings, "Taken for this", func(path string) {
				pick(func(sl *session.Slip) { sl.Reads = "file:" + path })()
			})
		}
		switch {
		case k.NeedsSetting:
			p, _ := store.Paper(sh.Paper)
			if len(p.Settings) == 0 {
				it.Action = pick(func(*session.Slip) {}) // the refusal tells why
				break
			}
			it.ChildMenu = fyne.NewMenu("")
			for _, set := range p.Settings {
				it.ChildMenu.Items = append(it.ChildMenu.Items, fyne.NewMenuItem("the driver set to "+set[1],
					pick(func(sl *session.Slip) { sl.Setting = set[0] })))
			}
		case k.NeedsPaper:
			it.ChildMenu = fyne.NewMenu("")
			for _, p := range store.Papers() {
				if p.ID != sh.Paper {
					it.ChildMenu.Items = append(it.ChildMenu.Items, fyne.NewMenuItem("the profile of "+p.Name,
						pick(func(sl *session.Slip) { sl.OtherPaper = p.ID })))
				}
			}
		case k.NeedsReads:
			it.ChildMenu = fyne.NewMenu("")
			for _, sp := range store.Spaces() {
				it.ChildMenu.Items = append(it.ChildMenu.Items, fyne.NewMenuItem("numbers taken for "+sp.Name,
					pick(func(sl *session.Slip) { sl.Reads = sp.ID })))
			}
			it.ChildMenu.Items = append(it.ChildMenu.Items, fyne.NewMenuItem("numbers taken for a profile’s…", file))
		case k.NeedsSecond:
			it.ChildMenu = fyne.NewMenu("")
			for i := session.Perceptual; i <= session.Absolute; i++ {
				it.ChildMenu.Items = append(it.ChildMenu.Items, fyne.NewMenuItem("the second time "+i.Name(),
					pick(func(sl *session.Slip) { sl.Second, sl.Reads = i, "" })))
			}
			it.ChildMenu.Items = append(it.ChildMenu.Items, fyne.NewMenuItem("numbers taken for a profile’s…", file))
		default:
			it.Action = pick(func(*session.Slip) {})
		}
		items = append(items, it)
	}
	// Two at once, where the first allows it.
	both := fyne.NewMenuItem("and at the same time", nil)
	both.ChildMenu = fyne.NewMenu("")
	none := fyne.NewMenuItem("nothing else", func() {
		slip := sh.Slip
		slip.ID[1] = ""
		h.Do(session.SetSlip{Slip: slip})
	})
	none.Checked = sh.Slip.ID[1] == ""
	both.ChildMenu.Items = append(both.ChildMenu.Items, none)
	for _, k := range store.Slips() {
		if k.ID == sh.Slip.ID[0] || k.NeedsReads || k.NeedsPaper && sh.Slip.OtherPaper == "" {
			continue
		}
		it := fyne.NewMenuItem(k.Name, func() {
			slip := sh.Slip
			slip.ID[1] = k.ID
			h.Do(session.SetSlip{Slip: slip})
		})
		it.Checked = sh.Slip.ID[1] == k.ID
		both.ChildMenu.Items = append(both.ChildMenu.Items, it)
	}
	items = append(items, fyne.NewMenuItemSeparator(), both)
	m := toolkit.NewPopUpMenu(fyne.NewMenu("", items...), h.Window.Canvas())
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(under)
	m.ShowAtPosition(at.AddXY(0, under.BaseWidget.Size().Height+2))
}
