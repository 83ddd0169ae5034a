package setup

import (
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// Choices are what can be chosen wrongly: by what names a mistake may take the one for
// the other.
type Choices struct {
	Spaces   []string       // spaces or profiles that numbers may be taken for
	Papers   []string       // papers whose profile may be used
	Settings []string       // media settings that the driver may have
	Seconds  []proof.Intent // intents that a second converter may have
}

// AtHand returns the usual choices beside a right set-up: of the papers all but its own,
// the spaces as they are given, its paper's media settings, and a driver's usual intent,
// which is perceptual (common practice, no source). The error is the finder's.
func AtHand(right Setup, find Finder, papers, spaces []string) (Choices, error) {
	c := Choices{Spaces: spaces, Seconds: []proof.Intent{proof.Perceptual}}
	stock, err := find.Paper(right.Paper)
	if err != nil {
		return c, err
	}
	for _, p := range papers {
		if p != right.Paper {
			c.Papers = append(c.Papers, p)
		}
	}
	for _, s := range stock.Settings {
		c.Settings = append(c.Settings, s.ID)
	}
	return c, nil
}

// Ways returns a set-up with one more mistake, once for each way to make it: every
// combination of what the slip says that it needs, in the order of the choices. Where
// nothing is there to choose from, the plan of what is returned says what is missing.
func (c Choices) Ways(s Setup, mistake slip.Slip) []Setup {
	s.Slips = strings.Join(append(s.SlipIDs(), mistake.ID), ",")
	ways := []Setup{s}
	if mistake.NeedsReads {
		ways = each(ways, c.Spaces, func(s *Setup, v string) { s.Reads = v })
	}
	if mistake.NeedsPaper {
		ways = each(ways, c.Papers, func(s *Setup, v string) { s.Other = v })
	}
	if mistake.NeedsSetting {
		ways = each(ways, c.Settings, func(s *Setup, v string) { s.Setting = v })
	}
	if mistake.NeedsSecond {
		ways = each(ways, c.Seconds, func(s *Setup, v proof.Intent) { s.Second = v })
	}
	return ways
}

// each returns every set-up with every value; the set-ups as they are where there is none.
func each[V any](ways []Setup, values []V, put func(*Setup, V)) []Setup {
	if len(values) == 0 {
		return ways
	}
	var out []Setup
	for _, s := range ways {
		for _, v := range values {
			put(&s, v)
			out = append(out, s)
		}
	}
	return out
}

// How says in words in which way a mistake is made in a set-up, by what the slip says
// that it needs: "the numbers are taken for sRGB". It is "" where there is but one way.
func (s Setup) How(mistake slip.Slip, find Finder) string {
	var parts []string
	if mistake.NeedsReads && s.Reads != "" {
		name := s.Reads
		if p, err := find.Profile(s.Reads); err == nil {
			name = p.Name()
		}
		parts = append(parts, "the numbers are taken for "+name)
	}
	if mistake.NeedsPaper && s.Other != "" {
		name := s.Other
		if p, err := find.Paper(s.Other); err == nil {
			name = p.Name
		}
		parts = append(parts, "with the profile of "+name)
	}
	if mistake.NeedsSetting && s.Setting != "" {
		name := s.Setting
		if p, err := find.Paper(s.Paper); err == nil {
			if wrong, ok := p.Setting(s.Setting); ok {
				name = wrong.Name
			}
		}
		parts = append(parts, "the driver is set to "+name)
	}
	if mistake.NeedsSecond {
		told := "the driver’s intent is " + s.Second.Short()
		if s.Second == proof.Perceptual {
			told += ", as is usual"
		}
		parts = append(parts, told)
	}
	return strings.Join(parts, ", ")
}

// Chains runs plans; *proof.Engine does.
type Chains interface {
	Chain(proof.Plan) (*proof.Chain, error)
}

// Distinct returns those spaces whose numbers mean other colours than those of source:
// a profile by another name can say the same. What can't be found and what has other
// channels stays: it is refused, with the reason, where it is used.
func Distinct(e Chains, find Finder, source string, spaces []string) ([]string, error) {
	truth, err := find.Profile(source)
	if err != nil {
		return nil, err
	}
	is, err := probe(e, truth)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, ref := range spaces {
		p, err := find.Profile(ref)
		if err == nil && p.CheckSource() == nil && p.Channels() == truth.Channels() {
			got, err := probe(e, p)
			if err != nil {
				return nil, err
			}
			if slices.EqualFunc(is, got, func(a, b proof.Value) bool { return cie.DeltaE00(a.Original, b.Original) < 1 }) {
				continue
			}
		}
		out = append(out, ref)
	}
	return out, nil
}

// probe returns what a profile's numbers mean, every channel a quarter and three
// quarters full.
func probe(e Chains, p *proof.Profile) ([]proof.Value, error) {
	c, err := e.Chain(proof.Plan{Source: p, Screen: proof.SpaceProfile(space.SRGB())})
	if err != nil {
		return nil, err
	}
	defer c.Close()
	n := p.Channels()
	var src []float64
	for i := range 1 << n {
		for k := range n {
			src = append(src, 0.25+0.5*float64(i>>k&1))
		}
	}
	out := make([]proof.Value, 1<<n)
	err = c.Values(out, src)
	return out, err
}
