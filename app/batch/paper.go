package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"

	"firstsheet/proof/paper"
)

// shelving is what a command line asks to be done with one paper of the library.
type shelving struct {
	library, add, restore string
	remove, gone          bool
	up, down              int
	// What is noted on its card, where its flag was given.
	name, group, note, printer, media, finish, date string
	given                                           map[string]bool
}

func paperCommand() command {
	return command{
		name: "paper", args: "ID [-name NAME] [-group GROUP] [-note TEXT] [-up N|-down N] [-remove] | -add FILE | -removed | -restore FOLDER",
		help: `Adds, renames, groups, orders and takes away papers of the library.

-name "" gives a paper its own name back. What is taken away can be brought back for
30 days: -removed lists it, -restore takes the folder that it names.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			var s shelving
			defineLibrary(f, &s.library)
			f.StringVar(&s.add, "add", "", "add the profile in `FILE`")
			f.StringVar(&s.restore, "restore", "", "bring back what was taken away as `FOLDER`")
			f.BoolVar(&s.gone, "removed", false, "list what can be brought back")
			f.BoolVar(&s.remove, "remove", false, "take the paper away")
			f.IntVar(&s.up, "up", 0, "`places` up the list")
			f.IntVar(&s.down, "down", 0, "`places` down the list")
			f.StringVar(&s.name, "name", "", "what you call the paper: `NAME`, in any script")
			f.StringVar(&s.group, "group", "", "the `GROUP` that it stands under")
			f.StringVar(&s.note, "note", "", "`TEXT` in place of its notes")
			f.StringVar(&s.printer, "printer", "", "the `PRINTER` that the profile was made on")
			f.StringVar(&s.media, "media", "", "the driver's media `SETTING`")
			f.StringVar(&s.finish, "finish", "", "the `SURFACE`, such as matte or pearl")
			f.StringVar(&s.date, "date", "", "the `DAY` the profile was made, as 2006-01-02")
			return func(_ context.Context, args []string, to streams) error {
				s.given = map[string]bool{}
				f.Visit(func(g *flag.Flag) { s.given[g.Name] = true })
				return s.run(args, to.out)
			}
		},
	}
}

func (s *shelving) run(args []string, out io.Writer) error {
	l := openLibrary(s.library)
	whole := 0
	for _, on := range []bool{s.add != "", s.restore != "", s.gone, len(args) == 1} {
		if on {
			whole++
		}
	}
	if whole != 1 || len(args) > 1 {
		return misused("name one paper, or give one of -add, -removed and -restore")
	}
	switch {
	case s.gone:
		for _, r := range l.Removed() {
			if _, err := fmt.Fprintf(out, "%s  %q\n", r.Name, r.Folder); err != nil {
				return err
			}
		}
		return nil
	case s.add != "":
		return told(out, "added")(l.Add(s.add))
	case s.restore != "":
		return told(out, "brought back")(l.Restore(s.restore))
	}
	return s.change(l, args[0], out)
}

func told(out io.Writer, done string) func(paper.Paper, error) error {
	return func(p paper.Paper, err error) error {
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(out, "%s %s: %s\n", done, p.ID, p.Name)
		return err
	}
}

// change does what is asked with one paper.
func (s *shelving) change(l *paper.Library, id string, out io.Writer) error {
	if s.remove {
		gone, err := l.Remove(id)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(out, "taken away: %s; bring it back by -restore %q\n", gone.Name, gone.Folder)
		return err
	}
	p, err := find(l, id)
	if err != nil {
		return err
	}
	card, noted := p.Card, false
	for flag, at := range map[string]struct {
		from string
		to   *string
	}{
		"name": {s.name, &card.Name}, "group": {s.group, &card.Group}, "note": {s.note, &card.Notes}, "printer": {s.printer, &card.Printer},
		"media": {s.media, &card.Media}, "finish": {s.finish, &card.Finish}, "date": {s.date, &card.Date},
	} {
		if s.given[flag] {
			*at.to, noted = at.from, true
		}
	}
	if noted {
		if err := l.SetCard(id, card); err != nil {
			return err
		}
	}
	steps := s.down - s.up
	if steps != 0 {
		if err := l.Move(id, steps); err != nil {
			return err
		}
	}
	if !noted && steps == 0 {
		return misused("say what is to be done with %q", id)
	}
	if p, err = find(l, id); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s  %s\n", p.ID, p.Name)
	return err
}

// find returns a paper of the library, not any file.
func find(l *paper.Library, id string) (paper.Paper, error) {
	papers, _ := l.List()
	for _, p := range papers {
		if p.ID == id {
			return p, nil
		}
	}
	if info, err := os.Stat(id); err == nil && !info.IsDir() {
		return paper.Paper{}, fmt.Errorf("%s is a file and none of the papers: 'batch paper -add %s' adds it", id, id)
	}
	return paper.Paper{}, &paper.UnknownError{Ref: id}
}
