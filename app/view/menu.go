package view

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	toolkittheme "fyne.io/fyne/v2/theme"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
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

// dropped gives files to the open card, or to the desk.
func (c *openCard) dropped(files []fyne.URI) {
	var paths []string
	for _, f := range files {
		paths = append(paths, f.Path())
	}
	if c.built.Drop == nil || !c.built.Drop(paths) {
		dropped(c.w.h, files)
	}
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
	sh, n := h.State().Proof()
	if n < 0 {
		return
	}
	var items []*fyne.MenuItem
	for _, k := range slip.All() {
		items = append(items, slipItem(h, sh, k))
	}
	items = append(items, fyne.NewMenuItemSeparator(), secondSlip(h, sh))
	m := toolkit.NewPopUpMenu(fyne.NewMenu("", items...), h.Window.Canvas())
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(under)
	m.ShowAtPosition(at.AddXY(0, under.BaseWidget.Size().Height+2))
}

// slipItem offers a slip, with a menu of what it has to be told.
func slipItem(h *Host, sh session.Sheet, k slip.Slip) *fyne.MenuItem {
	store := h.Session.Store()
	it := fyne.NewMenuItem(session.Typeset(k.Name), nil)
	it.Checked = slices.Contains(sh.SlipIDs(), k.ID)
	pick := func(change func(*setup.Setup)) func() {
		return func() {
			set := sh.Setup
			set.Slips = k.ID
			change(&set)
			h.Do(session.SetSlip{Slip: set})
		}
	}
	option := func(name string, choose func()) {
		if it.ChildMenu == nil {
			it.ChildMenu = fyne.NewMenu("")
		}
		it.ChildMenu.Items = append(it.ChildMenu.Items, fyne.NewMenuItem(name, choose))
	}
	if k.NeedsSetting {
		p, _ := store.Paper(sh.Paper)
		for _, m := range p.Settings {
			option("the driver set to "+m.Name, pick(func(s *setup.Setup) { s.Setting = m.ID }))
		}
	}
	if k.NeedsPaper {
		for _, p := range store.Papers() {
			if p.ID != sh.Paper {
				option("the profile of "+p.Name, pick(func(s *setup.Setup) { s.Other = p.ID }))
			}
		}
	}
	if k.NeedsReads {
		for _, sp := range space.All() {
			option("numbers taken for "+sp.Name, pick(func(s *setup.Setup) { s.Reads = sp.ID }))
		}
	}
	if k.NeedsSecond {
		for _, i := range proof.Intents() {
			option("the second time "+i.Short(), pick(func(s *setup.Setup) { s.Second, s.Reads = i, "" }))
		}
	}
	if k.NeedsReads || k.NeedsSecond {
		option("numbers taken for a profile’s…", func() {
			askFile(h, profileEndings, "Taken for this", func(path string) { pick(func(s *setup.Setup) { s.Reads = path })() })
		})
	}
	if it.ChildMenu == nil {
		it.Action = pick(func(*setup.Setup) {}) // what it lacks, the refusal tells
	}
	return it
}

// secondSlip offers a second slip at the same time, where the first allows it.
func secondSlip(h *Host, sh session.Sheet) *fyne.MenuItem {
	first, second := "", ""
	switch ids := sh.SlipIDs(); len(ids) {
	case 0:
	case 1:
		first = ids[0]
	default:
		first, second = ids[0], ids[1]
	}
	both := fyne.NewMenuItem("and at the same time", nil)
	both.ChildMenu = fyne.NewMenu("")
	offer := func(name, id string) {
		it := fyne.NewMenuItem(name, func() {
			set := sh.Setup
			set.Slips = first
			if id != "" {
				set.Slips += "," + id
			}
			h.Do(session.SetSlip{Slip: set})
		})
		it.Checked = second == id
		both.ChildMenu.Items = append(both.ChildMenu.Items, it)
	}
	offer("nothing else", "")
	for _, k := range slip.All() {
		if k.ID == first || k.NeedsReads || k.NeedsPaper && sh.Other == "" {
			continue
		}
		offer(session.Typeset(k.Name), k.ID)
	}
	return both
}
