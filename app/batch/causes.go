package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/cause"
	"firstsheet/proof/setup"
)

func causesCommand() command {
	return command{
		name: "causes", args: "-source SPACE -paper ID|FILE -intent I -bpc on|off -observed FILE.csv [-sigma X] [-json FILE]",
		help: `What explains a bad print, from colours read off it.

-source, -paper, -intent and -bpc are how the print was meant to be made. -observed is
a table with a header and the columns pin, c1, c2, c3 (numbers of the original, 0 to
255; c4 where it has four), L, a, b (the print, D50, relative to the paper's white).
The causes are slips as values takes them, none for the right route, and faults that
are no slip. Their probabilities hold if one of them is the true one.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			// What is not asked for stands as a set-up usually has it.
			j := &causesJob{flags: setupFlags{white: "screen", slips: "none", second: "perceptual"}}
			spaces := strings.Join(spaceIDs(), "|")
			f.StringVar(&j.flags.source, "source", "", "what the numbers are: `"+spaces+"|FILE`")
			f.StringVar(&j.flags.paper, "paper", "", "the paper that was printed on: `ID|FILE`")
			f.StringVar(&j.flags.intent, "intent", "relative", "the intent that was meant: `perceptual|relative|saturation|absolute`")
			f.StringVar(&j.flags.bpc, "bpc", "on", "black point compensation as it was meant: `on|off`")
			f.StringVar(&j.observed, "observed", "", "the colours read, `FILE.csv`")
			f.Float64Var(&j.sigma, "sigma", cause.UsualSpread, "standard deviation of a reading in each of L*, a* and b*")
			f.StringVar(&j.out, "json", "", "write the answer to `FILE`")
			defineLibrary(f, &j.flags.library)
			return j.run
		},
	}
}

type causesJob struct {
	flags         setupFlags
	observed, out string
	sigma         float64
}

func (j *causesJob) run(ctx context.Context, args []string, s streams) error {
	if len(args) > 0 {
		return misused("%q is one argument too many", args[0])
	}
	if j.flags.source == "" {
		return misused("-source is missing")
	}
	if j.observed == "" {
		return misused("-observed is missing")
	}
	if !(j.sigma >= cause.MinSpread && j.sigma <= cause.MaxSpread) {
		return misused("-sigma is %g, not within %g to %g", j.sigma, cause.MinSpread, cause.MaxSpread)
	}
	set, err := j.flags.setup()
	if err != nil {
		return err
	}
	library := openLibrary(j.flags.library)
	files := setup.Files{Library: library}
	source, err := files.Profile(set.Source)
	if err != nil {
		return err
	}
	text, err := readText(j.observed)
	if err != nil {
		return err
	}
	spots, err := cause.ReadTable(bytes.NewReader(text), source.Channels())
	if err != nil {
		return naming(j.observed, err)
	}
	papers, _ := library.List() // one broken file hides no other; papers lists it
	engine := proof.NewEngine()
	defer engine.Close()
	answer, err := cause.Find(ctx, engine, cause.Case{Setup: set, Find: files, Papers: papers},
		cause.Measured{Spots: spots, Sigma: j.sigma})
	if e, wrong := errors.AsType[*cause.EvidenceError](err); wrong {
		return fmt.Errorf("%s: %s", j.observed, e.Reason)
	}
	if err != nil {
		return err
	}
	out := aside.Files{Keep: []string{j.observed, j.flags.source, j.flags.paper}}
	defer out.Discard()
	if j.out != "" {
		if err := out.Add(j.out, func(aside string) error { return writeJSONFile(aside, reportCauses(answer)) }); err != nil {
			return err
		}
	}
	if err := errors.Join(tellCauses(s.out, answer), ctx.Err()); err != nil {
		return err
	}
	return out.Commit()
}

// causesReport is the file that -json writes.
type causesReport struct {
	Verdict   string        `json:"verdict"`
	Explained bool          `json:"explained"`
	Causes    []causeReport `json:"causes"`
	// Tied are groups of causes that cannot be told apart, each by its slips joined by
	// commas, none for the right route.
	Tied     [][]string `json:"tied"`
	Unseen   []string   `json:"unseen"`
	Next     string     `json:"next"`
	NextBits float64    `json:"next_bits"`
	Cautions []string   `json:"cautions"`
}

type causeReport struct {
	Slips       []string `json:"slips"`
	Name        string   `json:"name"`
	Probability float64  `json:"probability"`
	MeanDE00    float64  `json:"mean_dE00"`
	// Separation is how far it predicts from the likeliest other cause, root mean
	// square over the pins, in standard deviations.
	Separation float64         `json:"separation"`
	Prevent    string          `json:"prevent,omitempty"`
	Variants   []variantReport `json:"variants"`
}

type variantReport struct {
	Slips          []string `json:"slips"`
	Detail         string   `json:"detail,omitempty"`
	Probability    float64  `json:"probability"`
	MeanDE00       float64  `json:"mean_dE00"`
	Reads          string   `json:"reads,omitempty"`
	Second         string   `json:"second,omitempty"`
	OtherPaper     string   `json:"otherpaper,omitempty"`
	Setting        string   `json:"setting,omitempty"`
	ChangesNothing bool     `json:"changes_nothing,omitempty"`
}

// leastVariant is the probability below which a variant is not listed, unless it is
// its cause's first.
const leastVariant = 1e-3

func reportCauses(a cause.Answer) causesReport {
	r := causesReport{
		Verdict: a.Verdict, Explained: a.Explained, Causes: []causeReport{}, Tied: a.Tied, Unseen: a.Unseen,
		Next: a.Next.Text, NextBits: a.Next.Bits, Cautions: a.Cautions,
	}
	for _, c := range a.Causes {
		one := causeReport{
			Slips: c.Slips, Name: c.Name, Probability: c.Probability, MeanDE00: c.MeanDeltaE00,
			Separation: c.Apart, Prevent: c.Prevent,
		}
		for i, v := range c.Variants {
			if i > 0 && v.Probability < leastVariant {
				continue
			}
			out := variantReport{
				Slips: v.Slips, Detail: v.Detail, Probability: v.Probability, MeanDE00: v.MeanDeltaE00,
				Reads: v.Setup.Reads, OtherPaper: v.Setup.Other, Setting: v.Setup.Setting, ChangesNothing: v.ChangesNothing,
			}
			if v.NeedsSecond {
				out.Second = v.Setup.Second.Short()
			}
			one.Variants = append(one.Variants, out)
		}
		r.Causes = append(r.Causes, one)
	}
	return r
}

// tellCauses sums up for whoever sits at the terminal.
func tellCauses(w io.Writer, a cause.Answer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", a.Verdict)
	const most = 5
	for i, c := range a.Causes[:min(most, len(a.Causes))] {
		if i > 0 && c.Probability < leastVariant {
			break
		}
		detail := ""
		if d := c.Variants[0].Detail; d != "" {
			detail = " (" + d + ")"
		}
		fmt.Fprintf(&b, "%5.1f %%  %s%s, ΔE00 %.1f on average\n", 100*c.Probability, c.Name, detail, c.MeanDeltaE00)
	}
	fmt.Fprintf(&b, "next: %s\n", a.Next.Text)
	for _, n := range a.Cautions {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
