package paper

import "strings"

// Detail says in one line, after the name, which paper this is: its surface, the media
// setting and the day it was made. Parts that are not known are left out.
func (p Paper) Detail() string {
	var parts []string
	for _, s := range []string{p.Card.Finish, p.Card.Media, p.Made()} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, ", ")
}

// Made returns the day the paper's profile was made, as 2006-01-02: the card's, or for
// an added paper that in the profile's header; "" where neither says one.
func (p Paper) Made() string {
	if p.Card.Date != "" || p.Builtin || p.Profile == nil || p.Profile.File() == nil {
		return p.Card.Date
	}
	if t, ok := p.Profile.File().Created(); ok {
		return t.Format("2006-01-02")
	}
	return ""
}

// tellApart puts behind the names that several papers share what they differ in: the
// media setting, else the day, else another word of their cards, else their IDs.
func tellApart(papers []Paper) {
	same := map[string][]int{}
	for i, p := range papers {
		key := strings.ToLower(strings.TrimSpace(p.Name))
		same[key] = append(same[key], i)
	}
	for _, at := range same {
		if len(at) < 2 {
			continue
		}
		mark := difference(papers, at)
		for _, i := range at {
			if m := mark(papers[i]); m != "" {
				papers[i].call(papers[i].Name + " (" + m + ")")
			}
		}
	}
}

// difference returns the first quality in which no two of some papers are alike.
func difference(papers []Paper, at []int) func(Paper) string {
	for _, quality := range []func(Paper) string{
		func(p Paper) string { return p.Card.Media },
		Paper.Made,
		func(p Paper) string { return p.Card.Printer },
		func(p Paper) string { return p.Card.Finish },
		func(p Paper) string { return p.Card.Condition },
	} {
		seen := map[string]bool{}
		for _, i := range at {
			seen[strings.ToLower(quality(papers[i]))] = true
		}
		if len(seen) == len(at) {
			return quality
		}
	}
	return func(p Paper) string { return p.ID }
}

// call names the paper and its profile.
func (p *Paper) call(name string) {
	p.Name = name
	p.Profile = p.Profile.Named(name)
}
