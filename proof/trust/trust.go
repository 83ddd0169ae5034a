package trust

import (
	"context"
	"fmt"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/words"
)

// Verdict is what a finding comes to.
type Verdict uint8

// The verdicts, the better first.
const (
	Sound    Verdict = iota + 1
	Doubtful         // it can be printed by, with this in mind
	Unsound          // it will spoil prints
)

func (v Verdict) String() string {
	switch v {
	case Sound:
		return "sound"
	case Doubtful:
		return "look at it"
	case Unsound:
		return "unsound"
	}
	return fmt.Sprintf("Verdict(%d)", uint8(v))
}

// MarshalText writes the verdict as its word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Finding is the outcome of one check.
type Finding struct {
	ID      string  `json:"id"`
	Name    string  `json:"name"`
	Verdict Verdict `json:"verdict"`
	// Words is the verdict in a sentence or two, the figures in it.
	Words string `json:"words"`
	// Means says what the check is about.
	Means string `json:"means"`
	// Figures are in the units that their names end in.
	Figures map[string]float64 `json:"figures,omitempty"`
}

// Report is a whole check.
type Report struct {
	Verdict  Verdict   `json:"verdict"` // the worst of the findings
	Sentence string    `json:"sentence"`
	Findings []Finding `json:"findings"`
}

// Check checks a paper's profile; title is the name that it goes by, a file's or the
// person's, to be held against what it is. It takes about a second. A profile that can't
// serve as a paper is a finding, no error; the error is the context's, or a
// *proof.ProfileError where the profile can't be opened at all.
func Check(ctx context.Context, p *proof.Profile, title string) (Report, error) {
	var r Report
	kind := kindOf(p)
	if kind.Verdict == Unsound {
		return told([]Finding{kind}), nil
	}
	facts, err := paper.Inspect(ctx, p)
	if err != nil {
		return r, err
	}
	q, err := open(p, facts.TotalInk)
	if err != nil {
		return r, err
	}
	defer q.close()
	findings := []Finding{kind, nameOf(facts, title+" "+facts.Description), rulesOf(p), tablesOf(facts)}
	for _, check := range []func(context.Context, *opened, paper.Facts) (Finding, error){
		roundTrip, neutrals, steps, whiteOf, blackOf, inkOf,
	} {
		f, err := check(ctx, q, facts)
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return r, err
		}
		if f.ID != "" {
			findings = append(findings, f)
		}
	}
	return told(findings), nil
}

// told sums findings up.
func told(list []Finding) Report {
	r := Report{Verdict: Sound, Findings: list}
	var bad, doubtful []string
	for _, f := range list {
		r.Verdict = max(r.Verdict, f.Verdict)
		switch f.Verdict {
		case Unsound:
			bad = append(bad, f.Name)
		case Doubtful:
			doubtful = append(doubtful, f.Name)
		}
	}
	switch {
	case len(bad) > 0:
		r.Sentence = "Don’t print by this profile before you know why: " + words.List(bad) + "."
	case len(doubtful) > 0:
		r.Sentence = "It can be printed by, with an eye on: " + words.List(doubtful) + "."
	default:
		r.Sentence = "Nothing in this profile speaks against printing by it."
	}
	return r
}
