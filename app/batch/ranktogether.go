package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"firstsheet/proof/printrun"
	"firstsheet/proof/rank"
	"firstsheet/proof/setup"
)

// togetherReport is the file that -json writes for several photographs.
type togetherReport struct {
	Pictures []rankedReport `json:"pictures"`
	rank.Portfolio
	Caution string `json:"caution"`
}

// rankedReport is one of them, with its own ranking.
type rankedReport struct {
	Path   string          `json:"path"`
	Failed string          `json:"failed,omitempty"` // why it could not be ranked
	Source *sourceReport   `json:"source,omitempty"`
	Order  []rank.Place    `json:"order,omitempty"`
	Left   []refusedReport `json:"refused,omitempty"`
	Notes  []string        `json:"notes,omitempty"`
}

// together ranks papers for several photographs, one after the other so that one at a
// time is in memory.
func (j *rankJob) together(ctx context.Context, args []string, ask func(context.Context, string) (setup.Source, rank.Outcome, []string, error), s streams) error {
	if j.pins != "" {
		return misused("-pins are on one picture, and several are given")
	}
	photos, err := printrun.Photographs(args)
	if err != nil {
		return err
	}
	r := togetherReport{Caution: caution}
	var ranked []rank.Ranked
	var failed []string
	for i, path := range photos {
		fmt.Fprintf(s.out, "%d of %d: %s\n", i+1, len(photos), path)
		source, outcome, left, err := ask(ctx, path)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			fmt.Fprintln(s.err, oneLine(err))
			failed = append(failed, path)
			r.Pictures = append(r.Pictures, rankedReport{Path: path, Failed: oneLine(err)})
			continue
		}
		ranked = append(ranked, rank.Ranked{Picture: filepath.Base(path), Outcome: outcome})
		r.Pictures = append(r.Pictures, rankedReport{Path: path, Source: &sourceReport{source.Profile.Name(), source.Origin.String()},
			Order: outcome.Verdict.Order, Left: append(refusals(outcome), j.unusable...), Notes: append(append([]string{}, source.Picture.Notes...), append(source.Notes, left...)...)})
	}
	if len(ranked) == 0 {
		return fmt.Errorf("none of %d photographs could be ranked", len(photos))
	}
	r.Portfolio = rank.Together(ranked)
	if err := j.write(ctx, photos, r, func() error { return r.tell(s.out) }); err != nil {
		return err
	}
	if len(failed) > 0 {
		return fmt.Errorf("%d of %d photographs could not be ranked: %s", len(failed), len(photos), strings.Join(failed, ", "))
	}
	return nil
}

func (r togetherReport) tell(w io.Writer) error {
	var b strings.Builder
	for i, p := range r.Order {
		mark := ""
		if p.AsGood && i > 0 {
			mark = " (as good as the first)"
		}
		n := len(p.Pictures)
		all := n * len(rank.Checks())
		fmt.Fprintf(&b, "%d. %s%s\n   %d of %d checks pass, all of them in %d of %d pictures; mean ΔE00 %.2f\n", i+1, p.Name, mark, all-p.Failed, all, p.Whole, n, p.Mean)
		for _, s := range p.Pictures {
			if s.Way != nil {
				fmt.Fprintf(&b, "   %s: %s, %d of %d\n", s.Picture, s.Way.Name(), len(rank.Checks())-len(s.Way.Failed), len(rank.Checks()))
			}
		}
	}
	fmt.Fprintln(&b, r.Reason)
	for _, part := range []struct {
		title string
		lines []string
	}{{"decides", r.For}, {"against", r.Against}, {"rule", r.Rule}} {
		for _, line := range part.lines {
			fmt.Fprintf(&b, "%s: %s\n", part.title, line)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
