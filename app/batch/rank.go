package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/rank"
	"firstsheet/proof/setup"
)

func rankCommand() command {
	return command{
		name: "rank", args: "PHOTO... -papers a,b,.. [-intents ..] [-bpc ..] [-pins FILE.json] [-json FILE]",
		help: `Papers, intents and compensation compared for a photograph, by a rule that is shown.
For several, or folders of them: which paper serves them all, and which pictures decide.

The figures are over the whole picture at full size. Pins are a JSON list of objects
with name, x, y and radius, in fractions of the picture. Of several photographs one that
fails is named, the others are ranked, and the command ends with 1.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			j := &rankJob{}
			f.StringVar(&j.papers, "papers", "", "papers joined by commas: `ID|FILE,..`")
			f.StringVar(&j.intents, "intents", "perceptual,relative", "rendering intents joined by commas")
			f.StringVar(&j.bpc, "bpc", "on,off", "compensation: `on|off|on,off`")
			f.StringVar(&j.source, "source", "", "what the numbers are: `"+strings.Join(spaceIDs(), "|")+"|FILE`; what the file says when left out")
			f.StringVar(&j.pins, "pins", "", "pins on the picture, `FILE.json`")
			f.StringVar(&j.out, "json", "", "write everything to `FILE`")
			defineLibrary(f, &j.library)
			return j.run
		},
	}
}

type rankJob struct {
	papers, intents, bpc, source, pins, out, library string

	found    map[string]paper.Paper
	unusable []refusedReport // papers whose profiles cannot be
}

// rankReport is the file that -json writes.
type rankReport struct {
	Picture pictureReport   `json:"picture"`
	Source  sourceReport    `json:"source"`
	Order   []rank.Place    `json:"order"`
	Reason  string          `json:"reason"`
	Why     []string        `json:"why"`
	Against []string        `json:"against"`
	Rule    []string        `json:"rule"`
	Refused []refusedReport `json:"refused"`
	Notes   []string        `json:"notes"`
	Caution string          `json:"caution"`
}

type refusedReport struct {
	Paper  string `json:"paper"`
	Intent string `json:"intent"` // "" for all
	BPC    bool   `json:"black_point_compensation"`
	Reason string `json:"reason"`
}

func (j *rankJob) run(ctx context.Context, args []string, s streams) error {
	if len(args) == 0 {
		return misused("a photograph is missing")
	}
	intents, compensation, err := j.crossed()
	if err != nil {
		return err
	}
	papers, err := j.candidates()
	if err != nil {
		return err
	}
	engine := proof.NewEngine()
	defer engine.Close()
	ask := func(ctx context.Context, photo string) (setup.Source, rank.Outcome, []string, error) {
		source, pins, err := j.read(ctx, photo)
		if err != nil {
			return source, rank.Outcome{}, nil, err
		}
		question := rank.Question{
			Picture: proof.NewPicture(source.Pixels(), source.Picture.Alpha), Pins: pins,
			Papers: papers, Intents: intents, Compensation: compensation,
			Plan: func(w rank.Way) (proof.Plan, error) {
				set := setup.Usual(w.Paper)
				set.Intent, set.BPC = w.Intent, w.Compensation
				return set.Plan(j.finder(source.Profile))
			},
		}
		outcome, left, err := question.Answer(ctx, engine, nil)
		if err == nil && len(outcome.Verdict.Order) == 0 && len(outcome.Refused) > 0 {
			err = outcome.Refused[0].Err
		}
		return source, outcome, left, naming(photo, err)
	}
	if info, err := os.Stat(args[0]); len(args) > 1 || err == nil && info.IsDir() {
		return j.together(ctx, args, ask, s)
	}
	source, outcome, left, err := ask(ctx, args[0])
	if err != nil {
		return err
	}
	pic := source.Picture
	r := rankReport{
		Picture: pictureReport{args[0], pic.Format, pic.W, pic.H, pic.Channels, pic.Depth, pic.Alpha != nil},
		Source:  sourceReport{source.Profile.Name(), source.Origin.String()},
		Order:   outcome.Verdict.Order, Reason: outcome.Verdict.Reason, Why: outcome.Verdict.Why, Against: outcome.Verdict.Against, Rule: outcome.Verdict.Rule,
		Refused: append(refusals(outcome), j.unusable...), Notes: append(append(append([]string{}, pic.Notes...), source.Notes...), left...), Caution: caution,
	}
	return j.write(ctx, args, r, func() error { return r.tell(s.out) })
}

func refusals(o rank.Outcome) []refusedReport {
	out := []refusedReport{}
	for _, w := range o.Refused {
		out = append(out, refusedReport{w.Name, w.Intent.Short(), w.Compensation, oneLine(w.Err)})
	}
	return out
}

// write tells the outcome and writes the report where one is asked for.
func (j *rankJob) write(ctx context.Context, photos []string, report any, tell func() error) error {
	files := aside.Files{Keep: append(append([]string{j.source, j.pins}, photos...), strings.Split(j.papers, ",")...)}
	defer files.Discard()
	if j.out != "" {
		if err := files.Add(j.out, func(path string) error { return writeJSONFile(path, report) }); err != nil {
			return err
		}
	}
	if err := errors.Join(tell(), ctx.Err()); err != nil {
		return err
	}
	return files.Commit()
}

// crossed returns what the papers are crossed with.
func (j *rankJob) crossed() (intents []proof.Intent, compensation []bool, err error) {
	for _, word := range listed(j.intents) {
		i, err := proof.ParseIntent(word)
		if err != nil {
			return nil, nil, misused("-intents names %q, which is none of perceptual, relative, saturation, absolute", word)
		}
		if slices.Contains(intents, i) {
			return nil, nil, misused("-intents names %s twice", word)
		}
		intents = append(intents, i)
	}
	for _, word := range listed(j.bpc) {
		on, err := onOff("bpc", word)
		if err != nil {
			return nil, nil, err
		}
		if slices.Contains(compensation, on) {
			return nil, nil, misused("-bpc names %s twice", word)
		}
		compensation = append(compensation, on)
	}
	if len(intents) == 0 || len(compensation) == 0 {
		return nil, nil, misused("-intents and -bpc must name something")
	}
	return intents, compensation, nil
}

// listed splits a list at its commas.
func listed(list string) (out []string) {
	for _, w := range strings.Split(list, ",") {
		if w = strings.TrimSpace(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}

// candidates finds the papers.
func (j *rankJob) candidates() ([]rank.Paper, error) {
	library := openLibrary(j.library)
	j.found = map[string]paper.Paper{}
	var out []rank.Paper
	var failure error
	for _, ref := range listed(j.papers) {
		if _, twice := j.found[ref]; twice {
			return nil, misused("-papers names %s twice", ref)
		}
		p, err := library.Resolve(ref)
		if _, bad := errors.AsType[*proof.ProfileError](err); bad {
			j.unusable = append(j.unusable, refusedReport{Paper: ref, Reason: oneLine(err)})
			failure = err
			continue
		}
		if err != nil {
			return nil, err
		}
		j.found[ref] = p
		out = append(out, rank.Paper{ID: ref, Name: p.Name, Forced: p.Profile.ForcesBPC})
	}
	switch {
	case len(out) == 0 && failure != nil:
		return nil, failure
	case len(out) == 0:
		return nil, misused("-papers is missing")
	}
	return out, nil
}

// read reads a picture and the pins.
func (j *rankJob) read(ctx context.Context, photo string) (source setup.Source, pins []pin.Pin, err error) {
	// The pins first: what is wrong with them should not wait for a large picture.
	if pins, err = readPins(j.pins); err != nil {
		return source, nil, err
	}
	source, err = openPhoto(ctx, photo, j.source)
	return source, pins, err
}

// openPhoto reads a picture and finds what its numbers are; given is "" for what it
// says itself.
func openPhoto(ctx context.Context, path, given string) (setup.Source, error) {
	pic, err := photo.Open(ctx, path)
	if err != nil {
		return setup.Source{}, err
	}
	source, err := sourceOf(pic, given)
	return source, naming(path, err)
}

// sourceOf finds what a picture's numbers are: given names a profile or is empty.
func sourceOf(pic *photo.Picture, given string) (setup.Source, error) {
	profile, err := namedProfile(given)
	if err != nil {
		return setup.Source{}, err
	}
	return setup.SourceOf(pic, profile)
}

// openUntagged is openPhoto for one picture of many, which is untagged where it does not
// say itself what its numbers are.
func openUntagged(ctx context.Context, path, untagged string) (setup.Source, error) {
	pic, err := photo.Open(ctx, path)
	if err != nil {
		return setup.Source{}, err
	}
	profile, err := namedProfile(untagged)
	if err != nil {
		return setup.Source{}, err
	}
	source, err := setup.SourceOr(pic, profile)
	return source, naming(path, err)
}

// namedProfile finds what a flag names, nil for "".
func namedProfile(ref string) (*proof.Profile, error) {
	if ref == "" {
		return nil, nil
	}
	return setup.Files{}.Profile(ref)
}

// rankFinder finds papers that were opened before.
type rankFinder struct {
	setup.Files
	papers map[string]paper.Paper
}

func (f rankFinder) Paper(ref string) (paper.Paper, error) { return f.papers[ref], nil }

func (j *rankJob) finder(picture *proof.Profile) setup.Finder {
	return rankFinder{setup.Files{Picture: picture}, j.found}
}

func (r rankReport) tell(w io.Writer) error {
	var b strings.Builder
	for i, p := range r.Order {
		f := p.Figures
		mark := ""
		if p.AsGood && i > 0 {
			mark = " (as good as the first)"
		}
		fmt.Fprintf(&b, "%d. %s%s\n", i+1, p.Name(), mark)
		fmt.Fprintf(&b, "   out of reach %.1f %%, darker than the paper %.1f %%, ΔE00 mean %.2f, 95th percentile %.2f, shadow steps %d of %d, highlight steps %d of %d\n",
			f.Out*100, f.Darker*100, f.Mean, f.P95, f.Shadows.Kept, f.Shadows.Steps, f.Highlights.Kept, f.Highlights.Steps)
	}
	if r.Reason != "" {
		fmt.Fprintln(&b, r.Reason)
	}
	for _, part := range []struct {
		title string
		lines []string
	}{{"why", r.Why}, {"against", r.Against}, {"rule", r.Rule}, {"note", r.Notes}} {
		for _, line := range part.lines {
			fmt.Fprintf(&b, "%s: %s\n", part.title, line)
		}
	}
	for _, w := range r.Refused {
		name := w.Paper
		if w.Intent != "" {
			name += ", " + w.Intent
		}
		fmt.Fprintf(&b, "left out: %s: %s\n", name, w.Reason)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
