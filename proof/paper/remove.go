package paper

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"firstsheet/proof/aside"
)

const (
	// removedFolder holds what was taken away, a folder for each paper.
	removedFolder = "removed"
	removedStamp  = "20060102-150405.000"
	// keptRemoved is how long a paper that was taken away can be brought back.
	keptRemoved = 30 * 24 * time.Hour
)

// Removed is a paper that was taken away and can still be brought back.
type Removed struct {
	// Folder names it; Name is what it was called.
	Folder, Name string
	When         time.Time
}

// Remove takes an added paper away, with its card and readings. For 30 days
// [Library.Restore] brings it back. Built-in papers stay.
func (l *Library) Remove(id string) (Removed, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	p, err := l.find(id)
	if err != nil {
		return Removed{}, err
	}
	if p.Builtin {
		return Removed{}, fmt.Errorf("paper: %q comes with the program and cannot be removed", id)
	}
	l.sweepRemoved()
	now := time.Now().UTC()
	gone := Removed{Folder: now.Format(removedStamp) + " " + filepath.Base(p.Path), Name: p.Name, When: now}
	dir := filepath.Join(l.dir, removedFolder, gone.Folder)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return Removed{}, &FileError{dir, NotWritable, aside.Bare(err)}
	}
	// The profile first: what a crash leaves lying is found again when it comes back.
	moved, err := moveAll(l.dir, dir, belongings(filepath.Base(p.Path)))
	if err != nil {
		_, _ = moveAll(dir, l.dir, moved)
		_ = os.Remove(dir)
		return Removed{}, &FileError{p.Path, NotWritable, aside.Bare(err)}
	}
	return gone, nil
}

// belongings are the names of what lies in the folder for an added paper, the profile
// first.
func belongings(profile string) []string {
	return []string{profile, profile + cardEnding, profile + oldReadings, profile + readingsEnding}
}

// moveAll moves what there is of some names from one folder to another and returns
// those that it has moved.
func moveAll(from, to string, names []string) (moved []string, err error) {
	for _, name := range names {
		err := os.Rename(filepath.Join(from, name), filepath.Join(to, name))
		switch {
		case err == nil:
			moved = append(moved, name)
		case !errors.Is(err, fs.ErrNotExist):
			return moved, err
		}
	}
	return moved, nil
}

// Removed returns the papers that can be brought back, those taken away last first.
func (l *Library) Removed() []Removed {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.removed()
}

func (l *Library) removed() (out []Removed) {
	if l.dir == "" {
		return nil
	}
	entries, _ := os.ReadDir(filepath.Join(l.dir, removedFolder))
	for _, e := range slices.Backward(entries) {
		stamp, file, _ := strings.Cut(e.Name(), " ")
		when, err := time.Parse(removedStamp, stamp)
		if err != nil || !isProfile(file) {
			continue
		}
		r := Removed{Folder: e.Name(), Name: stem(file), When: when}
		path := filepath.Join(l.dir, removedFolder, e.Name(), file)
		if p, err := ReadProfile(path); err == nil {
			r.Name = p.Name()
		}
		if c, err := readCard(path + cardEnding); err == nil && c.Name != "" {
			r.Name = c.Name
		}
		out = append(out, r)
	}
	return out
}

// Restore brings a paper back that was taken away, under the ID that it had unless
// another has that now. The error is an *UnknownError where there is none of that
// folder, a *DuplicateError where the same profile is there again, a *FileError, or a
// *proof.ProfileError.
func (l *Library) Restore(folder string) (Paper, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	_, file, ok := strings.Cut(folder, " ")
	dir := filepath.Join(l.dir, removedFolder, folder)
	if !ok || l.dir == "" || !isProfile(file) || folder != filepath.Base(folder) {
		return Paper{}, &UnknownError{folder}
	}
	profile, err := ReadProfile(filepath.Join(dir, file))
	if err != nil {
		return Paper{}, err
	}
	papers, _ := l.list()
	for _, p := range papers {
		if p.Profile.ID() == profile.ID() {
			return Paper{}, &DuplicateError{p}
		}
	}
	final := file
	if _, err := os.Lstat(filepath.Join(l.dir, file)); err == nil {
		final = freeName(stem(file), papers, l.dir) + filepath.Ext(file)
	}
	from, to := belongings(file), belongings(final)
	for i := range from {
		err := os.Rename(filepath.Join(dir, from[i]), filepath.Join(l.dir, to[i]))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return Paper{}, &FileError{filepath.Join(l.dir, to[i]), NotWritable, aside.Bare(err)}
		}
	}
	_ = os.Remove(dir)
	papers, _ = l.list()
	for _, p := range papers {
		if p.Path == filepath.Join(l.dir, final) {
			return p, nil
		}
	}
	return Paper{}, &UnknownError{folder}
}

// sweepRemoved deletes for good what was taken away too long ago.
func (l *Library) sweepRemoved() {
	for _, r := range l.removed() {
		if time.Since(r.When) > keptRemoved {
			_ = os.RemoveAll(filepath.Join(l.dir, removedFolder, r.Folder))
		}
	}
}
