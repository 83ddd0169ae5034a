package cause

import (
	"errors"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/mishap"
	"firstsheet/proof/paper"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// hypothesis is one way in which the print may have come about.
type hypothesis struct {
	slips  []string // IDs, in the order of slip.All; of a mishap its own
	set    setup.Setup
	plan   proof.Plan
	mishap *mishap.Mishap // nil for a set-up without one
	prior  float64
	// unseen says that the evidence is blind to what is wrong: it lies in how the
	// print is looked at.
	unseen bool
}

// cause names the slips of a hypothesis: those of one cause have it in common.
func (h *hypothesis) cause() string { return strings.Join(h.slips, ",") }

// second reports whether the second converter's intent counts.
func (h *hypothesis) second() bool {
	for _, id := range h.slips {
		if s, ok := slip.ByID(id); ok && s.NeedsSecond {
			return true
		}
	}
	return false
}

// right strips a set-up of mistakes and of all that is about the screen.
func right(s setup.Setup) setup.Setup {
	return setup.Setup{Source: s.Source, Paper: s.Paper, Intent: s.Intent, BPC: s.BPC}
}

// hypotheses lists all, the right route first. Set-ups that cannot be are left out.
func (c Case) hypotheses() ([]*hypothesis, error) {
	prior := c.prior()
	if err := prior.check(); err != nil {
		return nil, err
	}
	c.Find = &memory{find: c.Find, papers: c.Papers}
	base := right(c.Setup)
	plan, err := base.Plan(c.Find)
	if err != nil {
		return nil, err
	}
	stock, err := c.Find.Paper(base.Paper)
	if err != nil {
		return nil, err
	}
	all := []*hypothesis{{set: base, plan: plan, prior: prior[rightID]}}
	o := c.options(base, plan, stock)
	slips := slip.All()
	for _, s := range slips {
		some, err := c.made(o.single(base, s), s)
		if err != nil {
			return nil, err
		}
		all = append(all, share(some, prior[s.ID])...)
	}
	var pairs [][]*hypothesis
	for i, s := range slips {
		for _, t := range slips[i+1:] {
			some, err := c.made(o.pair(base, s, t), s, t)
			if err != nil {
				return nil, err
			}
			if len(some) > 0 {
				pairs = append(pairs, some)
			}
		}
	}
	for _, some := range pairs {
		all = append(all, share(some, prior[pairsID]/float64(len(pairs)))...)
	}
	mishaps := mishap.Of(stock)
	kinds := map[mishap.Kind]int{}
	for _, m := range mishaps {
		kinds[m.Kind]++
	}
	for _, m := range mishaps {
		h := &hypothesis{slips: []string{m.Cause}, set: base, plan: plan, mishap: &m, unseen: m.InLight, prior: prior[string(m.Kind)] / float64(kinds[m.Kind])}
		h.set.Mishap, h.plan.Mishap = m.ID, &m.Mishap
		all = append(all, h)
	}
	return all, nil
}

func (c Case) prior() Prior {
	if c.Prior != nil {
		return c.Prior
	}
	return UsualPrior()
}

// share gives each of a cause's set-ups an even part.
func share(some []*hypothesis, part float64) []*hypothesis {
	for _, h := range some {
		h.prior = part / float64(len(some))
	}
	return some
}

// made returns the set-ups that can be, as hypotheses.
func (c Case) made(sets []setup.Setup, slips ...slip.Slip) ([]*hypothesis, error) {
	var out []*hypothesis
	var ids []string
	unseen := false
	for _, s := range slips {
		ids = append(ids, s.ID)
		unseen = unseen || s.OnScreen
	}
	for _, s := range sets {
		s.Slips = strings.Join(ids, ",")
		plan, err := s.Plan(c.Find)
		if errors.Is(err, proof.ErrPlan) {
			continue // such a mistake cannot be made here
		}
		if err != nil {
			return nil, err
		}
		out = append(out, &hypothesis{slips: ids, set: s, plan: plan, unseen: unseen})
	}
	return out, nil
}

// options are what can be chosen wrongly.
type options struct {
	spaces []string // the source's own left out
	second []proof.Intent
	own    []string // the paper's own profile, where it has a name
	papers []string // the right one left out
	kinds  []string // media settings
}

func (c Case) options(base setup.Setup, plan proof.Plan, stock paper.Paper) options {
	o := options{second: []proof.Intent{proof.Perceptual, proof.RelativeColorimetric, proof.Saturation}}
	for _, s := range space.All() {
		if proof.SpaceProfile(s).ID() != plan.Source.ID() {
			o.spaces = append(o.spaces, s.ID)
		}
	}
	for _, p := range c.Papers {
		if p.Profile.ID() == stock.Profile.ID() {
			continue
		}
		o.papers = append(o.papers, p.ID)
		// Inks are only taken for other inks.
		if p.Path != "" && p.Profile.Channels() != 3 && p.Profile.ID() != plan.Source.ID() {
			o.spaces = append(o.spaces, p.Path)
		}
	}
	if stock.Path != "" {
		o.own = []string{stock.Path}
	}
	for _, s := range stock.Settings {
		o.kinds = append(o.kinds, s.ID)
	}
	return o
}

// single returns the base with every combination of what the slip needs. What a
// second converter takes numbers for may be any space, its own guess first, and what
// they truly are last.
func (o options) single(base setup.Setup, s slip.Slip) []setup.Setup {
	reads := o.spaces
	if s.NeedsSecond {
		reads = slices.Concat([]string{""}, reads, o.own)
	}
	return o.fill([]setup.Setup{base}, reads, s)
}

// pair returns the base with every combination of what two slips need. A space that
// is told belongs to the one that must be told one.
func (o options) pair(base setup.Setup, s, t slip.Slip) []setup.Setup {
	sets := []setup.Setup{base}
	for _, one := range []slip.Slip{s, t} {
		reads := []string{""}
		if one.NeedsReads {
			reads = o.spaces
		} else if s.NeedsReads || t.NeedsReads {
			reads = nil // the other one's stands
		}
		sets = o.fill(sets, reads, one)
	}
	return sets
}

func (o options) fill(sets []setup.Setup, reads []string, s slip.Slip) []setup.Setup {
	if (s.NeedsReads || s.NeedsSecond) && reads != nil {
		sets = each(sets, reads, func(t *setup.Setup, v string) { t.Reads = v })
	}
	if s.NeedsSecond {
		sets = each(sets, o.second, func(t *setup.Setup, v proof.Intent) { t.Second = v })
	}
	if s.NeedsPaper {
		sets = each(sets, o.papers, func(t *setup.Setup, v string) { t.Other = v })
	}
	if s.NeedsSetting {
		sets = each(sets, o.kinds, func(t *setup.Setup, v string) { t.Setting = v })
	}
	return sets
}

func each[V any](sets []setup.Setup, values []V, put func(*setup.Setup, V)) []setup.Setup {
	var out []setup.Setup
	for _, v := range values {
		for _, s := range sets {
			put(&s, v)
			out = append(out, s)
		}
	}
	return out
}

// memory is a finder that looks for each thing once: hundreds of set-ups name the
// same few.
type memory struct {
	find     setup.Finder
	papers   []paper.Paper
	profiles map[string]*proof.Profile
}

// Profile implements [setup.Finder].
func (m *memory) Profile(ref string) (*proof.Profile, error) {
	if p, ok := m.profiles[ref]; ok {
		return p, nil
	}
	p, err := m.find.Profile(ref)
	if err != nil {
		return nil, err
	}
	if m.profiles == nil {
		m.profiles = map[string]*proof.Profile{}
	}
	m.profiles[ref] = p
	return p, nil
}

// Paper implements [setup.Finder].
func (m *memory) Paper(ref string) (paper.Paper, error) {
	for _, p := range m.papers {
		if p.ID == ref {
			return p, nil
		}
	}
	p, err := m.find.Paper(ref)
	if err == nil {
		m.papers = append(slices.Clip(m.papers), p)
	}
	return p, err
}
