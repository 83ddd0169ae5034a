package view

import (
	"slices"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

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
	openMenu(h, under, items)
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
		own := h.State().Picture
		for _, sp := range space.All() {
			if sp.ID == own.Assumed || own.Assumed == "" && sp.Name == own.Named {
				continue // that would be no mistake
			}
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
