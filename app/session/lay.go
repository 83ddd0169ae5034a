package session

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"firstsheet/proof/desk"
	"firstsheet/proof/paper"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
)

// lay lays a saved desk. path is a picture to open in place of its own, "" for none.
func (s *Session) lay(d desk.Desk, path string) {
	d, gone := s.atHand(d)
	if screen, file := savedScreen(d); file != "" {
		s.Do(TakeProfile{Path: file})
	} else if screen != (Screen{}) {
		s.Do(SetScreen{screen})
	}
	s.Do(layDesk{d, path})
	if len(gone) > 0 {
		s.Do(Tell{Notice{Headline: "Not all papers of this desk are there any more: " + strings.Join(gone, ", ") + ".",
			Hint: "Their sheets lie on the first paper of the list now."}})
	}
}

// atHand puts sheets of papers that are gone on another, and names those.
func (s *Session) atHand(d desk.Desk) (desk.Desk, []string) {
	first := s.store.First()[0]
	var gone []string
	check := func(id *string) {
		if *id == "" {
			return
		}
		if _, ok := s.store.Paper(*id); !ok {
			if !slices.Contains(gone, *id) {
				gone = append(gone, *id)
			}
			*id = first
		}
	}
	d.Sheets = slices.Clone(d.Sheets)
	for i := range d.Sheets {
		check(&d.Sheets[i].Setup.Paper)
		check(&d.Sheets[i].Setup.Other)
	}
	return d, gone
}

// OpenTicket lays the desk as a job ticket says: the original beside the proof that was
// printed, with its pins and the print card's choices, and tells what has changed since.
func (s *Session) OpenTicket(path string) {
	s.run.work(func() {
		t, err := ticket.Open(path)
		if err != nil {
			s.run.post(func() { s.Do(Tell{Explain(err, path)}) })
			return
		}
		t.Picture.Path = besides(path, t.Picture)
		hash := ""
		if t.Picture.Path != "" {
			hash, _ = ticket.Hash(s.run.ctx, t.Picture.Path) // that it is missing is told when it is opened
		}
		s.run.post(func() { s.layTicket(t, hash) })
	})
}

// besides is where the picture of a ticket is: where the ticket says, or beside it.
func besides(path string, p ticket.Picture) string {
	if p.Path == "" || p.Name == "" {
		return p.Path
	}
	if _, err := os.Stat(p.Path); err == nil {
		return p.Path
	}
	if near := filepath.Join(filepath.Dir(path), filepath.Base(p.Name)); near != p.Path {
		if _, err := os.Stat(near); err == nil {
			return near
		}
	}
	return p.Path
}

func (s *Session) layTicket(t ticket.Ticket, hash string) {
	changes := s.Changes(t, hash)
	now := s.state.Saved("")
	d := desk.Desk{Picture: desk.Picture{Path: t.Picture.Path}, Active: 1, View: desk.View{Fit: true}, Looked: now.Looked, Print: t.Job}
	proof := t.Job.Setup
	original := proof
	original.Paper = ""
	d.Sheets = []desk.Sheet{{Setup: original}, {Setup: proof}}
	for _, p := range t.Pins {
		d.Pins = append(d.Pins, p.Pin)
	}
	if err := d.Check(); err != nil {
		s.Do(Tell{Explain(&ticket.FileError{Path: t.Picture.Name, Err: err}, "")})
		return
	}
	d, _ = s.atHand(d) // the changes say which paper is gone
	s.Do(layDesk{desk: d})
	n := Notice{Headline: "The desk lies as for the print of " + t.Made.Local().Format("2 January 2006") + ".",
		Hint: "Picture and profile are the same as then: the print can be made again."}
	if len(changes) > 0 {
		n.Headline += " Since then: " + strings.Join(changes, " ")
		n.Hint = "What prints now may not look like the print of that day. Make a test strip first."
	}
	s.Do(Tell{n})
}

// Changes says what has changed since a ticket was made, a sentence each; hash is the
// picture file's now, "" where there is none to compare.
func (s *Session) Changes(t ticket.Ticket, hash string) []string {
	p, ok := s.store.Paper(t.Job.Setup.Paper)
	var list []string
	if ok {
		list = t.Changes(hash, p.Profile)
	} else {
		list = t.Changes(hash, nil)
	}
	for i := range list {
		list[i] = Typeset(list[i])
	}
	return list
}

// converted looks whether the picture that was opened is a print's numbers already.
func (r *runner) converted(now State) {
	pic := r.s.store.Picture(now.Picture.Key)
	if pic == nil || pic.Source.Profile == nil {
		return
	}
	var papers []paper.Paper
	for _, p := range r.s.store.Papers() {
		papers = append(papers, p.Paper)
	}
	archive := r.s.Archive()
	r.work(func() {
		v, err := printfile.Converted(r.s.engine, pic.Source, papers)
		if err != nil {
			return
		}
		n, ok := convertedNotice(v), v.Converted
		if !ok && pic.Source.Origin == setup.Assumed {
			n, ok = r.printedBefore(pic, papers, archive)
		}
		if ok { // where it can't be told nothing is said: the route tells what is assumed
			r.post(func() { r.s.Do(convertedFound{now.Picture.Key, n}) })
		}
	})
}

// printedBefore looks whether a picture without a profile is the file of a print that was made
// here, and says of which.
func (r *runner) printedBefore(pic *Picture, papers []paper.Paper, archive *Archive) (Notice, bool) {
	if archive == nil {
		return Notice{}, false
	}
	small := pic.Levels[len(pic.Levels)-1] // as large as a ticket's pictures
	prints, _ := archive.Prints("")        // a ticket that can't be read is told where they are listed
	var nearest desk.Print
	least, of := 0.0, ""
	for _, k := range prints {
		i := slices.IndexFunc(papers, func(p paper.Paper) bool { return p.Profile.ID() == k.Paper.ProfileID })
		if i < 0 {
			continue
		}
		holds, deltaE00, err := k.Holds(r.s.engine, small, papers[i].Profile)
		if err == nil && holds && (of == "" || deltaE00 < least) {
			nearest, least, of = k, deltaE00, papers[i].Name
		}
	}
	if of == "" {
		return Notice{}, false
	}
	return Notice{
		Headline: Typeset(fmt.Sprintf("This picture looks like the print file of ‘%s’ for %s (%s), which has lost its profile. Then it is converted already.",
			nearest.Picture.Name, of, nearest.Made.Local().Format("2 Jan 2006"))),
		Hint: Typeset(fmt.Sprintf("Shown as %s’s numbers it looks like that proof, shown as sRGB not like the picture. If it is that file, open the picture as it was before, "+
			"or send this one to the printer as it is, on that paper, with colour handling off everywhere.", of)),
	}, true
}

// convertedNotice says what was found out about a picture that was converted before.
func convertedNotice(v printfile.Verdict) Notice {
	n := Notice{Failure: v.Certain, Headline: Typeset(v.Why)}
	if v.Certain {
		n.Hint = "Open the picture as it was before that conversion. If there is none, send this file to the printer as it is, on that paper, with colour handling off everywhere."
	} else {
		n.Hint = "This is a hint, no certainty: toned pictures can look the same. Ask where the file comes from, or open the picture as it was before."
	}
	return n
}

// convertedFound tells that a picture was converted for printing before.
type convertedFound struct {
	picture int
	notice  Notice
}

func (a convertedFound) reduce(s State) State {
	if a.picture != s.Picture.Key {
		return s
	}
	n := a.notice
	n.picture = a.picture
	if s.Notice.Failure {
		n.Hint += " " + s.Notice.Headline
	}
	return tell(s, n)
}
