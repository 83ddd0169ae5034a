package view

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// slipMenu opens the list of slips under the button. What cannot be made on this paper
// stands there too, with the reason, but can't be chosen.
func slipMenu(h *Host, under fyne.CanvasObject) {
	if m, ok := newSlips(h); ok {
		openMenu(h, under, m.lines())
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

func (m *slips) lines() []offer {
	var lines []offer
	for _, k := range slip.All() {
		lines = append(lines, m.slip(k))
	}
	return append(lines, m.second())
}

// slip offers a slip: the ways to make it unfold beneath where there are several.
func (m *slips) slip(k slip.Slip) offer {
	name, ways := session.Typeset(k.Name), m.ways(k)
	if len(ways) == 1 && ways[0].name == "" && !k.NeedsReads {
		l := m.way(slipWay{name, ways[0].set})
		l.Set = m.chosen(k)
		return l
	}
	if why, all := m.allRefused(ways); all && !k.NeedsReads {
		return offer{Item: widget.Item{Text: name, Under: why, Off: true}}
	}
	// For a printer of inks the paper's own profile comes first, and is seen at once.
	l := offer{Item: widget.Item{Text: name, Set: m.chosen(k)}, open: m.chosen(k) || k.NeedsSecond && m.presses()}
	for _, w := range ways {
		if w.name != "" {
			l.sub = append(l.sub, m.way(w))
		}
	}
	if k.NeedsReads || k.NeedsSecond {
		l.sub = append(l.sub, m.profileFile(k))
	}
	return l
}

func (m *slips) chosen(k slip.Slip) bool { return slices.Contains(m.sheet.SlipIDs(), k.ID) }

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
	set.Slips, set.Mishap = id, ""
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
	if k.NeedsSecond && m.presses() {
		for _, p := range m.alike() {
			name := "numbers taken for those of " + p.Name
			if p.ID == m.paper.ID {
				name = "by this paper’s own profile"
			}
			add(name, func(set *setup.Setup) { set.Reads = p.Path })
		}
	}
	if k.NeedsSecond {
		for _, i := range proof.Intents() {
			add("the second time "+i.Short(), func(set *setup.Setup) {
				set.Second = i
				switch {
				case !m.presses():
					set.Reads = ""
				case !m.chosen(k):
					set.Reads = m.paper.Path
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
func (m *slips) profileFile(k slip.Slip) offer {
	return offer{Item: widget.Item{Text: "numbers taken for a profile’s…"}, act: func() {
		askFile(m.h, profileFiles, "Taken for this", func(path string) {
			set := m.with(k.ID)
			set.Reads = path
			m.choose(set)
		})
	}}
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

// way offers one way to make a slip; what can't be run says why.
func (m *slips) way(w slipWay) offer {
	now := m.sheet.Setup
	l := offer{Item: widget.Item{Text: w.name, Under: m.why(w.set), Set: w.set == now}, act: func() { m.choose(w.set) }}
	l.Off = l.Under != ""
	return l
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

// second offers a second slip at the same time, where the first allows it.
func (m *slips) second() offer {
	first, second := "", ""
	switch ids := m.sheet.SlipIDs(); len(ids) {
	case 0:
	case 1:
		first = ids[0]
	default:
		first, second = ids[0], ids[1]
	}
	both := offer{Item: widget.Item{Text: "and at the same time"}}
	offer := func(name, id string) {
		set := m.with(first)
		if id != "" {
			set.Slips += "," + id
		}
		l := m.way(slipWay{name, set})
		l.Set = second == id
		both.sub = append(both.sub, l)
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
