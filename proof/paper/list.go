package paper

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/aside"
)

// List returns all papers and the files of the folder that cannot be used. They come in
// the person's own order and by groups, else the built-in ones first and then the added
// ones by name. No two have one name. A paper whose card alone is broken is listed with
// an empty card and its card as a problem.
func (l *Library) List() ([]Paper, []Problem) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.list()
}

func (l *Library) list() (papers []Paper, problems []Problem) {
	withCard := func(p Paper, path string) {
		if l.dir != "" {
			switch card, err := readCard(path); {
			case err == nil:
				p.Card = card
				if card.Name != "" {
					p.call(card.Name)
				}
			case !errors.Is(err, fs.ErrNotExist):
				problems = append(problems, Problem{path, err})
			}
		}
		papers = append(papers, p)
	}
	taken := map[string]bool{}
	for _, p := range l.builtin {
		taken[p.ID] = true
		withCard(p, filepath.Join(l.dir, p.ID+".builtin"+cardEnding))
	}
	if l.dir == "" {
		return papers, problems
	}
	order, err := l.order()
	if err != nil {
		problems = append(problems, Problem{filepath.Join(l.dir, orderFile), err})
	}
	entries, err := os.ReadDir(l.dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		problems = append(problems, Problem{l.dir, &FileError{l.dir, NotReadable, aside.Bare(err)}})
	}
	present := map[string]bool{}
	added := len(papers)
	for _, e := range entries {
		name := e.Name()
		if !isProfile(name) {
			continue
		}
		present[name] = true
		path := filepath.Join(l.dir, name)
		profile, err := l.read(name)
		if err != nil {
			problems = append(problems, Problem{path, err})
			continue
		}
		// A file put there by hand may be called like another paper: then its whole
		// name is its ID.
		id := stem(name)
		if taken[id] {
			id = name
		}
		taken[id] = true
		withCard(Paper{ID: id, Name: profile.Name(), Profile: profile, Path: path}, path+cardEnding)
	}
	for name := range l.seen {
		if !present[name] {
			delete(l.seen, name)
		}
	}
	slices.SortStableFunc(papers[added:], func(a, b Paper) int {
		if c := strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	tellApart(papers)
	sorted(papers, order)
	return papers, problems
}

// read returns the profile of a file in the folder, anew only when the file has
// changed since. The caller holds mu.
func (l *Library) read(name string) (*proof.Profile, error) {
	path := filepath.Join(l.dir, name)
	info, err := os.Stat(path)
	if err == nil {
		if s, ok := l.seen[name]; ok && s.size == info.Size() && s.time.Equal(info.ModTime()) {
			return s.profile, s.err
		}
	}
	profile, err := ReadProfile(path)
	if err == nil {
		if err = profile.CheckPaper(); err != nil {
			profile, err = nil, naming(path, err)
		}
	}
	if info != nil {
		l.seen[name] = seen{info.Size(), info.ModTime(), profile, err}
	}
	return profile, err
}
