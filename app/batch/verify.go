package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"firstsheet/proof/aside"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
	"firstsheet/proof/words"
)

func verifyCommand() command {
	return command{
		name: "verify", args: "-measured FILE.cgats -paper ID|FILE [-list FILE] [-keep] [-since DAY] [-report FILE.json]",
		help: `How far a paper prints from what its profile says, by hue and by tone.

Print a chart made by target -verify, measure it, and give its list with -list. The
outcome is no pass or fail. Several readings are each told alone; -mean takes the mean
of those of one day. -keep notes them with the paper, -since compares with a reading
that was noted; drift lists those.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			var j verifying
			j.from.define(f)
			defineLibrary(f, &j.library)
			f.StringVar(&j.ref, "paper", "", "the paper: `ID|FILE`")
			f.StringVar(&j.report, "report", "", "write everything to `FILE.json`")
			f.StringVar(&j.day, "day", "", "the `DAY` of the measuring, as 2006-01-02; as the files say when left out")
			f.StringVar(&j.since, "since", "", "compare with the last reading noted on or before this `DAY`")
			f.BoolVar(&j.keep, "keep", false, "note the readings with the paper")
			f.BoolVar(&j.mean, "mean", false, "put several readings of one day together")
			return func(ctx context.Context, args []string, s streams) error {
				if len(args) > 0 {
					return misused("%q is one argument too many", args[0])
				}
				if j.ref == "" {
					return misused("-paper is missing")
				}
				for _, day := range []string{j.day, j.since} {
					if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
						return misused("%q is no day such as 2006-01-02", day)
					}
				}
				return j.run(ctx, s.out)
			}
		},
	}
}

// verifying is one command line.
type verifying struct {
	from                             measuredFlags
	library, ref, report, day, since string
	keep, mean                       bool
}

// verified is a reading in the report.
type verified struct {
	Day string `json:"day"`
	*chart.Verification
	Merged int                 `json:"merged,omitempty"`
	Since  *chart.Verification `json:"since,omitempty"`

	measured *chart.Measurements
}

func (j *verifying) run(ctx context.Context, out io.Writer) error {
	l := openLibrary(j.library)
	resolve := l.Resolve
	if j.keep {
		resolve = func(id string) (paper.Paper, error) { return find(l, id) }
	}
	p, err := resolve(j.ref)
	if err != nil {
		return err
	}
	list, err := j.verify(p)
	if err != nil {
		return err
	}
	if err := j.compare(l, p, list); err != nil {
		return err
	}
	files := aside.Files{Keep: append(j.from.files(), j.ref)}
	defer files.Discard()
	if j.report != "" {
		var whole any = list
		if len(list) == 1 {
			whole = list[0]
		}
		if err := files.Add(j.report, func(path string) error { return writeJSONFile(path, whole) }); err != nil {
			return err
		}
	}
	if err := errors.Join(tellAllVerified(out, list), ctx.Err()); err != nil {
		return err
	}
	if j.keep {
		for _, v := range list {
			if _, err := l.AddReading(p.ID, chart.Noted(v.measured, v.Verification, v.Day, v.Merged)); err != nil {
				return err
			}
		}
	}
	return files.Commit()
}

// verify verifies each reading alone, or where it was asked for the mean of those of
// one day.
func (j *verifying) verify(p paper.Paper) ([]verified, error) {
	taken, err := j.from.read()
	if err != nil {
		return nil, err
	}
	var list []verified
	for i, t := range taken {
		if j.day != "" {
			taken[i].Day = j.day
		}
		if !j.mean {
			list = append(list, verified{Day: taken[i].Day, measured: t.Measurements})
		}
	}
	if j.mean {
		if list, err = means(taken); err != nil {
			return nil, err
		}
	}
	for i, v := range list {
		found, err := chart.VerifyProfile(p.Profile.Data(), v.measured)
		if other, ok := errors.AsType[*chart.ChannelsError](err); ok {
			return nil, fmt.Errorf("%s: it was measured from %s numbers, and %s takes %d", j.from.Paths[0], other.Measured, p.Name, other.Takes)
		}
		if _, ok := errors.AsType[*chart.FormatError](err); ok {
			return nil, naming(j.from.Paths[0], err)
		}
		if err != nil {
			return nil, naming(j.ref, err)
		}
		list[i].Verification = found
	}
	return list, nil
}

// means puts the readings of each day together.
func means(taken []chart.Taken) (list []verified, err error) {
	byDay := map[string][]*chart.Measurements{}
	var days []string
	for _, t := range taken {
		if byDay[t.Day] == nil {
			days = append(days, t.Day)
		}
		byDay[t.Day] = append(byDay[t.Day], t.Measurements)
	}
	slices.Sort(days)
	for _, day := range days {
		v := verified{Day: day, measured: byDay[day][0]}
		if n := len(byDay[day]); n > 1 {
			v.Merged = n
			if v.measured, _, err = chart.Mean(byDay[day]); err != nil {
				return nil, err
			}
		}
		list = append(list, v)
	}
	return list, nil
}

// compare finds what has moved since the reading that was asked for.
func (j *verifying) compare(l *paper.Library, p paper.Paper, list []verified) error {
	if j.since == "" {
		return nil
	}
	noted, err := l.Readings(p.ID)
	if err != nil {
		return err
	}
	var before *paper.Reading
	for i, r := range noted {
		if r.Date <= j.since && len(r.Measured) > 0 {
			before = &noted[i]
		}
	}
	if before == nil {
		return fmt.Errorf("no reading of %s with its patches is noted on or before %s", p.ID, j.since)
	}
	for i, v := range list {
		if list[i].Since, err = chart.SinceProfile(p.Profile.Data(), chart.FromNoted(*before), v.measured, before.Date); err != nil {
			return naming(j.from.Paths[0], err)
		}
	}
	return nil
}

func tellAllVerified(w io.Writer, list []verified) error {
	var b strings.Builder
	for _, v := range list {
		if len(list) > 1 {
			fmt.Fprintf(&b, "Reading of %s\n", v.Day)
		}
		tellVerified(&b, v.Verification)
		if v.Since != nil {
			tellVerified(&b, v.Since)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func tellVerified(b *strings.Builder, v *chart.Verification) {
	for _, s := range v.Sentences {
		fmt.Fprintln(b, s)
	}
	for _, group := range [][]chart.Drift{v.ByTone, v.ByHue} {
		for _, d := range group {
			fmt.Fprintf(b, "%-14s %3d patches, mean %.2f, largest %.2f ΔE00, L* %s, C* %s\n", d.Name, d.Count, d.Mean, d.Max, words.Signed(d.Lightness), words.Signed(d.Chroma))
		}
	}
	for _, line := range append(append(append([]string(nil), v.Orders...), v.Notes...), v.Aids...) {
		fmt.Fprintf(b, "note: %s\n", line)
	}
}

func driftCommand() command {
	return command{
		name: "drift", args: "-paper ID [-json]",
		help: "The readings that were noted of a paper, by date, each verified alone by its profile.",
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			var library string
			defineLibrary(f, &library)
			ref := f.String("paper", "", "the paper: its `ID`")
			asJSON := f.Bool("json", false, "write JSON")
			return func(_ context.Context, args []string, s streams) error {
				if len(args) > 0 {
					return misused("%q is one argument too many", args[0])
				}
				if *ref == "" {
					return misused("-paper is missing")
				}
				l := openLibrary(library)
				p, err := find(l, *ref)
				if err != nil {
					return err
				}
				noted, err := l.Readings(p.ID)
				if err != nil {
					return err
				}
				return tellSeries(s.out, chart.Series(p.Profile.Data(), noted), *asJSON)
			}
		},
	}
}

func tellSeries(w io.Writer, list []chart.Point, asJSON bool) error {
	if asJSON {
		var all []verified
		for _, p := range list {
			all = append(all, verified{Day: p.Day, Verification: p.Found, Merged: p.Merged})
		}
		return writeJSON(w, all)
	}
	var b strings.Builder
	for _, p := range list {
		fmt.Fprintf(&b, "%s  %d patches, mean %.2f, largest %.2f ΔE00", p.Day, p.Found.All.Count, p.Found.All.Mean, p.Found.All.Max)
		for _, d := range p.Found.ByTone {
			fmt.Fprintf(&b, "; %s L* %s", d.Name, words.Signed(d.Lightness))
		}
		fmt.Fprintln(&b)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
