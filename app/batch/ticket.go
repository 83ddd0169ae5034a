package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/printfile"
	"firstsheet/proof/ticket"
)

func ticketCommand() command {
	return command{
		name: "ticket", args: "FILE.json [-photo PHOTO] [-pdf FILE.pdf] [-verdict good|usable|bad] [-notes TEXT] [-light TEXT]",
		help: `What a job ticket says, whether picture and profile are still the same, and notes on the print.

-pdf writes its page. -verdict, -notes and -light are noted in it, under today's date.
The picture is looked for where the ticket says, unless -photo names it.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			j := &ticketJob{}
			f.StringVar(&j.photo, "photo", "", "the picture to compare with: `PHOTO`")
			f.StringVar(&j.pdf, "pdf", "", "write the ticket's page to `FILE.pdf`")
			f.StringVar(&j.verdict, "verdict", "", "note how the print was judged: `good|usable|bad`")
			f.StringVar(&j.notes, "notes", "", "note what there is to say of it: `TEXT`")
			f.StringVar(&j.light, "light", "", "note the light it was judged in: `TEXT`")
			defineLibrary(f, &j.library)
			return j.run
		},
	}
}

type ticketJob struct{ photo, pdf, verdict, notes, light, library string }

func (j *ticketJob) run(ctx context.Context, args []string, s streams) error {
	switch {
	case len(args) != 1:
		return misused("one ticket is wanted, not %d", len(args))
	case j.pdf != "" && !strings.EqualFold(filepath.Ext(j.pdf), ".pdf"):
		return misused("-pdf is %q, which does not end in .pdf", j.pdf)
	}
	switch ticket.Verdict(j.verdict) {
	case "", ticket.Good, ticket.Usable, ticket.Bad:
	default:
		return misused("-verdict is %q, not good, usable or bad", j.verdict)
	}
	path := args[0]
	t, err := ticket.Open(path)
	if err != nil {
		return err
	}
	files := aside.Files{Keep: []string{t.Picture.Path}}
	defer files.Discard()
	outputs := []string{j.pdf}
	if j.noted(&t.Outcome) {
		outputs = append(outputs, path)
	} else {
		files.Keep = append(files.Keep, path)
	}
	for _, out := range outputs {
		if out == "" {
			continue
		}
		if err := files.Add(out, func(aside string) error { return t.Write(ctx, aside, nil) }); err != nil {
			return at(out, err)
		}
	}
	if err := errors.Join(j.tell(ctx, s.out, t), ctx.Err()); err != nil {
		return err
	}
	return files.Commit()
}

// noted puts what was given into the outcome and reports whether anything was.
func (j *ticketJob) noted(o *ticket.Outcome) bool {
	if j.verdict == "" && j.notes == "" && j.light == "" {
		return false
	}
	set := func(into *string, v string) {
		if v != "" {
			*into = v
		}
	}
	if j.verdict != "" {
		o.Verdict = ticket.Verdict(j.verdict)
	}
	set(&o.Notes, j.notes)
	set(&o.Light, j.light)
	o.Judged = time.Now().Format(time.DateOnly)
	return true
}

func (j *ticketJob) tell(ctx context.Context, w io.Writer, t ticket.Ticket) error {
	var b strings.Builder
	bpc := "off"
	if t.Job.Setup.BPC {
		bpc = "on"
	}
	fmt.Fprintf(&b, "%s on %s, %s, compensation %s, %s\n", t.Picture.Name, t.Paper.Name, t.Job.Setup.Intent, bpc, who(t.Job.Converts))
	fmt.Fprintf(&b, "%s: %d x %d pixels, %.1f x %.1f mm at %.0f ppi, made %s\n", t.File.Name, t.File.W, t.File.H, t.File.WidthMM, t.File.HeightMM, t.File.PPI, t.Made.Format(time.DateTime))
	for _, s := range t.Settings {
		fmt.Fprintf(&b, "set: %s\n", s)
	}
	for _, p := range t.Pins {
		fmt.Fprintf(&b, "pin %s: ΔE00 %.1f, %s\n", p.Name, p.DeltaE00, p.Words)
	}
	if o := t.Outcome; o.Judged != "" {
		light := ""
		if o.Light != "" {
			light = " in the light of " + o.Light
		}
		fmt.Fprintf(&b, "judged %s%s: %s\n", o.Judged, light, strings.Join(strings.Fields(string(o.Verdict)+" "+o.Notes), " "))
	}
	for _, c := range j.changes(ctx, t) {
		fmt.Fprintf(&b, "changed: %s\n", c)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func who(c printfile.Converter) string {
	if c == printfile.Here {
		return "converted here"
	}
	return "converted later"
}

// changes compares the ticket with what is there now.
func (j *ticketJob) changes(ctx context.Context, t ticket.Ticket) []string {
	path := j.photo
	if path == "" {
		path = t.Picture.Path
	}
	var list []string
	hash := ""
	if path != "" {
		var err error
		if hash, err = ticket.Hash(ctx, path); err != nil && ctx.Err() == nil {
			list = append(list, "The picture "+t.Picture.Name+" is not to be found: "+oneLine(aside.Bare(errors.Unwrap(err)))+".")
		}
	}
	var profile *proof.Profile
	if p, err := openLibrary(j.library).Resolve(t.Job.Setup.Paper); err == nil {
		profile = p.Profile
	}
	return append(list, t.Changes(hash, profile)...)
}
