// Package aside writes files that are complete or absent: under another name in
// the same folder first, renamed at the end. A crash in between leaves at most a
// hidden file that ends in .part, or a hidden folder.
package aside

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"
)

// Write has a new file beside path filled, brings it to the disk and renames it to
// path. When anything fails it is removed again, and a file that was there before
// stays as it was.
func Write(path string, fill func(*os.File) error) error {
	path, err := place(path)
	if err != nil {
		return err
	}
	return whole(path, fill, os.Rename)
}

// New is [Write] for a file that must not be there yet. It replaces none, not even one
// that appears meanwhile: the error is then fs.ErrExist.
func New(path string, fill func(*os.File) error) error { return whole(path, fill, link) }

// Holding fills a file with data, for Write and New.
func Holding(data []byte) func(*os.File) error {
	return func(f *os.File) error {
		_, err := f.Write(data)
		return err
	}
}

// place returns where a file that is called path is to lie: a link stays a link, what
// it points to is replaced.
func place(path string) (string, error) {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return "", errors.New("something that is no file is in the way")
	}
	return path, nil
}

// whole writes a file beside path and has it put there.
func whole(path string, fill func(*os.File) error, put func(from, to string) error) error {
	f, err := create(path)
	if err != nil {
		return err
	}
	err = fill(f)
	if err == nil {
		err = f.Sync() // without this a crash soon after could leave an empty file under the name
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = put(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}

// link moves a file without ever replacing another, also where the file system has no
// links.
func link(from, to string) error {
	err := os.Link(from, to)
	if err == nil {
		os.Remove(from) // what is left of it, Sweep takes away
		return nil
	}
	if errors.Is(err, fs.ErrExist) {
		return err
	}
	f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	f.Close()
	if err := os.Rename(from, to); err != nil {
		os.Remove(to)
		return err
	}
	return nil
}

// Sweep deletes what crashes have left of Write and New in a folder more than an hour
// ago: nothing takes so long to write.
func Sweep(dir string) {
	left, _ := filepath.Glob(filepath.Join(dir, ".*.part"))
	for _, path := range left {
		if info, err := os.Lstat(path); err == nil && time.Since(info.ModTime()) > time.Hour {
			os.Remove(path)
		}
	}
}

// create makes a new file with the permissions that path has, or those that
// a new file gets. os.CreateTemp would make it private.
func create(path string) (*os.File, error) {
	mode := os.FileMode(0o666)
	if info, err := os.Stat(path); err == nil {
		mode = info.Mode().Perm()
	}
	dir, base := filepath.Split(path)
	for try := 0; ; try++ {
		name := filepath.Join(dir, fmt.Sprintf(".%s.%08x.part", base, rand.Uint32()))
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
		if !os.IsExist(err) || try == 100 {
			return f, err
		}
	}
}
