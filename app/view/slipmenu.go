package view

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// slipMenu opens the list of slips under the button. What cannot be made on this paper
// stands there too, with the reason, but can't be chosen.
func slipMenu(h *Host, under *widget.Press) {
	if m, ok := newSlips(h); ok {
		openMenu(h, under, m.items())
	}
}

// slips is what can go wrong with the active proof.
type slips struct {
	h     *Host
	state session.State
	sheet session.Sheet
	pic   *session.Picture
	paper session.Paper
}

func newSlips(h *Host) (*slips, bool) {
	s := h.State()
	sh, n := s.Proof()
	if n < 0 {
		return nil, false
	}
	m := &slips{h: h, state: s, sheet: sh, pic: h.Session.Store().Picture(s.Picture.Key)}
	m.paper, _ = h.Session.Store().Paper(sh.Paper)
	return m, true
}

// slipWay is one way to make a slip, with the set-up that it gives.
type slipWay struct {
	name string
	set  setup.Setup
}

func (m *slips) items() []*fyne.MenuItem {
	var items []*fyne.MenuItem
	for _, k := range slip.All() {
		items = append(items, m.slip(k)...)
	}
	return append(items, fyne.NewMenuItemSeparator(), m.second())
}

// slip offers a slip: the ways to make it in a menu of their own where there are several.
func (m *slips) slip(k slip.Slip) []*fyne.MenuItem {
	name, ways := session.Typeset(k.Name), m.ways(k)
	chosen := slices.Contains(m.sheet.SlipIDs(), k.ID)
	if k.NeedsSecond && m.presses() {
		return m.pressTwice(name, ways, chosen)
	}
	if len(ways) == 1 && ways[0].name == "" && !k.NeedsReads {
		ways[0].name = name
		items := m.way(ways[0])
		items[0].Checked = chosen
		return items
	}
	if why, all := m.allRefused(ways); all && !k.NeedsReads {
		return refused(name, why)
	}
	it := fyne.NewMenuItem(name, nil)
	it.Checked, it.ChildMenu = chosen, fyne.NewMenu("")
	for _, w := range ways {
		if w.name != "" {
			it.ChildMenu.Items = append(it.ChildMenu.Items, m.way(w)...)
		}
	}
	if k.NeedsReads || k.NeedsSecond {
		it.ChildMenu.Items = append(it.ChildMenu.Items, m.profileFile(k))
	}
	return []*fyne.MenuItem{it}
}

// pressTwice offers the second conversion for a printer of inks: first of all what its
// numbers may be taken for, the paper's own profile and those of the other papers at hand.
func (m *slips) pressTwice(name string, seconds []slipWay, chosen bool) []*fyne.MenuItem {
	const inSight = 4
	var items, more []*fyne.MenuItem
	for i, p := range m.alike() {
		set := m.with("twice")
		set.Reads = p.Path
		told := name + ", numbers taken for those of " + p.Name
		if p.ID == m.paper.ID {
			told = name + ", by this paper’s own profile"
		}
		its := m.way(slipWay{told, set})
		its[0].Checked = chosen && m.sheet.Reads == p.Path
		if i < inSight {
			items = append(items, its...)
		} else {
			more = append(more, its...)
		}
	}
	other := fyne.NewMenuItem(name+", otherwise", nil)
	other.ChildMenu = fyne.NewMenu("", more...)
	for _, w := range seconds {
		other.ChildMenu.Items = append(other.ChildMenu.Items, m.way(w)...)
	}
	k, _ := slip.ByID("twice")
	other.ChildMenu.Items = append(other.ChildMenu.Items, m.profileFile(k))
	return append(items, other)
}

// presses tells whether the paper takes other numbers than RGB.
func (m *slips) presses() bool { return m.paper.Profile != nil && m.paper.Profile.Channels() != 3 }

// alike returns the papers at hand that take as many channels as this one, itself first.
func (m *slips) alike() []session.Paper {
	var list []session.Paper
	for _, p := range m.h.Session.Store().Papers() {
		if p.Path != "" && p.Profile.Channels() == m.paper.Profile.Channels() {
			list = append(list, p)
		}
	}
	slices.SortStableFunc(list, func(a, b session.Paper) int {
		return cmp.Compare(btoi(a.ID != m.paper.ID), btoi(b.ID != m.paper.ID))
	})
	return list
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// with returns the sheet's set-up with one slip in place of its own.
func (m *slips) with(id string) setup.Setup {
	set := m.sheet.Setup
	set.Slips = id
	return set
}

// ways lists the ways to make a slip by what it has to be told; one without a name where
// it has to be told nothing, or nothing is at hand that it could be told.
func (m *slips) ways(k slip.Slip) (list []slipWay) {
	add := func(name string, change func(*setup.Setup)) {
		set := m.with(k.ID)
		change(&set)
		list = append(list, slipWay{name, set})
	}
	if k.NeedsSetting {
		for _, s := range m.paper.Settings {
			add("the driver set to "+s.Name, func(set *setup.Setup) { set.Setting = s.ID })
		}
	}
	if k.NeedsPaper {
		for _, p := range m.h.Session.Store().Papers() {
			if p.ID != m.sheet.Paper {
				add("the profile of "+p.Name, func(set *setup.Setup) { set.Other = p.ID })
			}
		}
	}
	if k.NeedsReads {
		for _, n := range m.misread() {
			add("numbers taken for "+n.name, func(set *setup.Setup) { set.Reads = n.ref })
		}
	}
	if k.NeedsSecond {
		for _, i := range proof.Intents() {
			add("the second time "+i.Short(), func(set *setup.Setup) {
				set.Second = i
				if !m.presses() {
					set.Reads = ""
				}
			})
		}
	}
	if len(list) == 0 {
		add("", func(*setup.Setup) {})
	}
	return list
}

// reading is what numbers may be taken for: a built-in space, or a paper's profile.
type reading struct{ name, ref string }

// misread lists what the picture's numbers may be taken for wrongly.
func (m *slips) misread() (list []reading) {
	own := m.state.Picture
	if own.Channels == 3 {
		for _, sp := range space.All() {
			if sp.ID != own.Assumed && (own.Assumed != "" || sp.Name != own.Named) {
				list = append(list, reading{sp.Name, sp.ID})
			}
		}
		return list
	}
	for _, p := range m.h.Session.Store().Papers() {
		if p.Path != "" && p.Profile.Channels() == own.Channels && p.Path != own.Assumed {
			list = append(list, reading{p.Name, p.Path})
		}
	}
	return list
}

// profileFile offers a profile file for what the numbers are taken for.
func (m *slips) profileFile(k slip.Slip) *fyne.MenuItem {
	return fyne.NewMenuItem("numbers taken for a profile’s…", func() {
		askFile(m.h, profileFiles, "Taken for this", func(path string) {
			set := m.with(k.ID)
			set.Reads = path
			m.choose(set)
		})
	})
}

func (m *slips) choose(set setup.Setup) { m.h.Do(session.SetSlip{Slip: set}) }

// why says why a set-up can't be run, "" where it can.
func (m *slips) why(set setup.Setup) string {
	sh := m.sheet
	sh.Setup, sh.Wrong = set, true
	if _, err := m.h.Session.Engine().Plan(m.pic, m.state.Setup(sh)); err != nil {
		return session.Explain(err, "").Headline
	}
	return ""
}

// way offers one way to make a slip.
func (m *slips) way(w slipWay) []*fyne.MenuItem {
	if why := m.why(w.set); why != "" {
		return refused(w.name, why)
	}
	return []*fyne.MenuItem{fyne.NewMenuItem(w.name, func() { m.choose(w.set) })}
}

// allRefused tells whether none of the ways can be run, and why the first can't.
func (m *slips) allRefused(ways []slipWay) (why string, all bool) {
	for i, w := range ways {
		reason := m.why(w.set)
		if reason == "" {
			return "", false
		}
		if i == 0 {
			why = reason
		}
	}
	return why, true
}

// reasonWidth is the width of the lines that tell why something can't be chosen.
const reasonWidth = 430

// refused is an item that can't be chosen, with the reason on the lines beneath it: an
// item of the toolkit's menu has one line.
func refused(name, why string) []*fyne.MenuItem {
	lines := widget.Wrap(why, reasonWidth, widget.Size(toolkittheme.SizeNameText), fyne.TextStyle{}, 4)
	items := []*fyne.MenuItem{fyne.NewMenuItem(name+" – not here:", nil)}
	for _, l := range lines {
		items = append(items, fyne.NewMenuItem("        "+l, nil))
	}
	for _, it := range items {
		it.Disabled = true
	}
	return items
}

// second offers a second slip at the same time, where the first allows it.
func (m *slips) second() *fyne.MenuItem {
	first, second := "", ""
	switch ids := m.sheet.SlipIDs(); len(ids) {
	case 0:
	case 1:
		first = ids[0]
	default:
		first, second = ids[0], ids[1]
	}
	both := fyne.NewMenuItem("and at the same time", nil)
	both.ChildMenu = fyne.NewMenu("")
	offer := func(name, id string) {
		set := m.with(first)
		if id != "" {
			set.Slips += "," + id
		}
		items := m.way(slipWay{name, set})
		items[0].Checked = second == id
		both.ChildMenu.Items = append(both.ChildMenu.Items, items...)
	}
	offer("nothing else", "")
	for _, k := range slip.All() {
		if k.ID == first || k.NeedsReads || k.NeedsPaper && m.sheet.Other == "" {
			continue
		}
		offer(session.Typeset(k.Name), k.ID)
	}
	return both
}
