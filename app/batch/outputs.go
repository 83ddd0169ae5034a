package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// outputs are files that appear all together or not at all. Each is written into a
// new folder beside its place and moved there at the end; a file that was there
// before stays as it was when anything fails.
type outputs struct {
	// keep are files that are read and must not be written to; "" and what is no file
	// is passed over.
	keep  []string
	files []output
	dirs  []string
}

type output struct{ path, aside, before string }

const asidePattern = ".firstsheet-*"

// add has one file written. write gets a path of the same name in another folder.
func (o *outputs) add(path string, write func(aside string) error) error {
	aside, err := o.claim(path)
	if err != nil {
		return err
	}
	return write(aside)
}

// claim finds out whether a file can appear at path, and returns where it is to be
// written meanwhile: under the same name in a new folder.
func (o *outputs) claim(path string) (aside string, err error) {
	fail := func(err error) (string, error) { return "", fmt.Errorf("%s: %w", path, bare(err)) }
	for _, k := range o.keep {
		if sameFile(path, k) {
			return fail(errors.New("it is read in this very job; choose another name"))
		}
	}
	// A link stays a link: what it points to is replaced.
	final := filepath.Clean(path)
	if real, err := filepath.EvalSymlinks(path); err == nil {
		final = real
	}
	if info, err := os.Stat(final); err == nil && !info.Mode().IsRegular() {
		return fail(errors.New("something that is no file is in the way"))
	}
	for _, f := range o.files {
		if f.path == final {
			return fail(errors.New("two outputs cannot be one file"))
		}
	}
	dir, err := os.MkdirTemp(filepath.Dir(final), asidePattern)
	if err != nil {
		return fail(err)
	}
	o.dirs = append(o.dirs, dir)
	f := output{path: final, aside: filepath.Join(dir, filepath.Base(final)), before: filepath.Join(dir, "before")}
	o.files = append(o.files, f)
	return f.aside, nil
}

func sameFile(a, b string) bool {
	if b == "" {
		return false
	}
	ia, errA := os.Stat(a)
	ib, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(ia, ib)
}

// commit moves every file to its place.
func (o *outputs) commit() (err error) {
	defer o.discard()
	for i, f := range o.files {
		if err := f.place(); err != nil {
			for k := i - 1; k >= 0; k-- {
				err = errors.Join(err, o.files[k].takeBack())
			}
			return err
		}
	}
	return nil
}

func (f output) place() error {
	err := os.Rename(f.path, f.before)
	if err == nil || errors.Is(err, fs.ErrNotExist) {
		if err = os.Rename(f.aside, f.path); err != nil {
			_ = os.Rename(f.before, f.path) // there may have been none
		}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", f.path, bare(err))
	}
	return nil
}

func (f output) takeBack() error {
	err := os.Rename(f.before, f.path)
	if errors.Is(err, fs.ErrNotExist) {
		err = os.Remove(f.path)
	}
	return err
}

// discard removes everything that has not been moved to its place.
func (o *outputs) discard() {
	for _, d := range o.dirs {
		os.RemoveAll(d)
	}
	o.files, o.dirs = nil, nil
}

// bare takes the path out of an error that names another one.
func bare(err error) error {
	if e, ok := errors.AsType[*fs.PathError](err); ok {
		return e.Err
	}
	if e, ok := errors.AsType[*os.LinkError](err); ok {
		return e.Err
	}
	return err
}
