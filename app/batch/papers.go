package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"firstsheet/proof/aside"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
)

func papersCommand() command {
	return command{
		name: "papers", args: "[-json] [-write DIR] [-check ID|FILE]",
		help: `The built-in and added papers, and what each is; -write puts the built-in ones into a folder as profiles.

-check says of one profile, a paper's or any file's, whether it can be trusted: what it
is, its tables, there and back, greys, steps, white, black and ink, each with a verdict.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			asJSON := f.Bool("json", false, "write JSON")
			write := f.String("write", "", "put the built-in papers into `DIR` as DIR/ID.icc")
			check := f.String("check", "", "check the profile of `ID|FILE`")
			var library string
			defineLibrary(f, &library)
			return func(ctx context.Context, args []string, s streams) error {
				if len(args) > 0 {
					return misused("%q is one argument too many", args[0])
				}
				if *check != "" {
					if *write != "" {
						return misused("-check and -write are two jobs")
					}
					return checkProfile(ctx, openLibrary(library), *check, *asJSON, s.out)
				}
				papers, problems := openLibrary(library).List()
				list, problems := inspectAll(ctx, papers, problems)
				if err := ctx.Err(); err != nil {
					return err
				}
				var files aside.Files
				defer files.Discard()
				if *write != "" {
					if err := writePapers(&files, *write, papers); err != nil {
						return err
					}
				}
				tell := papersText
				if *asJSON {
					tell = papersJSON
				}
				if err := errors.Join(tell(s.out, list, problems), ctx.Err()); err != nil {
					return err
				}
				return files.Commit()
			}
		},
	}
}

// described is a paper as it is listed.
type described struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	Builtin bool   `json:"builtin"`
	Path    string `json:"path,omitempty"`
	Profile string `json:"profile_id"`
	paper.Facts
	// White and Black stand in for those of Facts: L*, a*, b*.
	White    triple           `json:"white"`
	Black    triple           `json:"black"`
	Card     paper.Card       `json:"card"`
	Settings []settingSummary `json:"wrong_media_settings,omitempty"`
}

type settingSummary struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// triple is a Lab colour in JSON.
type triple [3]float64

// String gives one decimal, and no minus before a nought.
func (t triple) String() string {
	for i := range t {
		t[i] = math.Round(t[i]*10)/10 + 0
	}
	return fmt.Sprintf("%.1f, %.1f, %.1f", t[0], t[1], t[2])
}

func lab(c cie.Lab) triple { return triple{c.L, c.A, c.B} }

// inspectAll finds what each paper is. One that cannot be used becomes a problem.
func inspectAll(ctx context.Context, papers []paper.Paper, problems []paper.Problem) ([]described, []paper.Problem) {
	var list []described
	for _, p := range papers {
		facts, err := paper.Inspect(ctx, p.Profile)
		if err != nil {
			problems = append(problems, paper.Problem{Path: p.Path, Err: err})
			continue
		}
		d := described{
			ID: p.ID, Name: p.Name, Builtin: p.Builtin, Path: p.Path, Profile: p.Profile.ID(), Facts: facts,
			White: lab(facts.White), Black: lab(facts.Black), Card: p.Card,
		}
		for _, s := range p.Settings {
			d.Settings = append(d.Settings, settingSummary{s.ID, s.Name})
		}
		list = append(list, d)
	}
	return list, problems
}

// writePapers has the built-in papers appear in a folder.
func writePapers(out *aside.Files, dir string, papers []paper.Paper) error {
	if err := out.Folder(dir); err != nil {
		return err
	}
	for _, p := range papers {
		if !p.Builtin {
			continue
		}
		data := p.Profile.Data()
		if err := out.Add(filepath.Join(dir, p.ID+".icc"), func(path string) error {
			return os.WriteFile(path, data, 0o666)
		}); err != nil {
			return err
		}
	}
	return nil
}

func papersJSON(w io.Writer, list []described, problems []paper.Problem) error {
	type problem struct {
		Path   string `json:"path"`
		Reason string `json:"reason"`
	}
	all := struct {
		Papers   []described `json:"papers"`
		Problems []problem   `json:"problems,omitempty"`
	}{Papers: list}
	for _, p := range problems {
		all.Problems = append(all.Problems, problem{p.Path, p.Err.Error()})
	}
	return writeJSON(w, all)
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

func papersText(w io.Writer, list []described, problems []paper.Problem) error {
	var b strings.Builder
	for _, d := range list {
		origin := "built in"
		if !d.Builtin {
			origin = d.Path
		}
		fmt.Fprintf(&b, "%s  %s (%s)\n", d.ID, d.Name, origin)
		fmt.Fprintf(&b, "    %s, %d channels, ICC version %s\n", d.Space, d.Channels, d.Version)
		fmt.Fprint(&b, "    ")
		factsText(&b, d.Facts)
		fmt.Fprintf(&b, "    %s\n", intentsText(d.Intents))
		if c := cardText(d.Card); c != "" {
			fmt.Fprintf(&b, "    %s\n", c)
		}
		for _, a := range d.Assumed {
			fmt.Fprintf(&b, "    note: %s\n", a)
		}
		for _, s := range d.Settings {
			fmt.Fprintf(&b, "    wrong media setting %s: %s\n", s.ID, s.Name)
		}
	}
	for _, p := range problems {
		fmt.Fprintf(&b, "cannot be used: %s: %s\n", p.Path, oneLine(p.Err))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// factsText writes the figures that are told of every profile.
func factsText(b *strings.Builder, f paper.Facts) {
	fmt.Fprintf(b, "white %s; black %s; gamut %.0f cubic Lab units", lab(f.White), lab(f.Black), f.Volume)
	if f.TotalInk > 0 {
		fmt.Fprintf(b, "; total ink %.0f %%", f.TotalInk*100)
	}
	fmt.Fprintln(b)
}

func intentsText(intents []paper.IntentFacts) string {
	var parts []string
	for _, i := range intents {
		switch {
		case i.Into == "":
			parts = append(parts, i.Intent+" by the curve")
		case i.StandIn:
			parts = append(parts, i.Intent+" has none, "+string(i.Into)+" stands in")
		case i.SameAs != "":
			parts = append(parts, i.Intent+" the same as "+i.SameAs)
		default:
			parts = append(parts, i.Intent+" its own")
		}
	}
	return "tables: " + strings.Join(parts, "; ")
}

func cardText(c paper.Card) string {
	var parts []string
	add := func(format, value string) {
		if value != "" {
			parts = append(parts, fmt.Sprintf(format, value))
		}
	}
	add("group %s", c.Group)
	add("printer %s", c.Printer)
	add("media setting %s", c.Media)
	add("%s black", c.BlackInk)
	add("measured under %s", c.Condition)
	add("made on %s", c.Date)
	if c.DryHours > 0 {
		parts = append(parts, fmt.Sprintf("dries %g h", c.DryHours))
	}
	add("%s", strings.Join(strings.Fields(c.Notes), " "))
	return strings.Join(parts, "; ")
}
