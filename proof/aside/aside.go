// Package aside writes files that are complete or absent: under another name in
// the same folder first, brought to the disk, renamed at the end. Where there was a file,
// there is one at every moment: the old one or the new. A crash in between leaves a
// hidden file that ends in .part, or a hidden folder; the next writing in that folder
// takes both away.
package aside

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
)

// Write has a new file beside path filled, brings it to the disk and renames it to
// path. When anything fails it is removed again, and a file that was there before
// stays as it was. The new file has the permissions of the old one; one that is
// write-protected is not replaced: the error is then fs.ErrPermission.
func Write(path string, fill func(*os.File) error) error {
	path, err := place(path)
	if err != nil {
		return err
	}
	return whole(path, fill, rename)
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
	path, err := resolve(path)
	if err != nil {
		return "", err
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return path, nil
	case err != nil:
		return "", err
	case !info.Mode().IsRegular():
		return "", errors.New("something that is no file is in the way")
	}
	// Renaming over it would need no permission to write to it.
	protected := fmt.Errorf("the file there is write-protected: %w", fs.ErrPermission)
	if info.Mode().Perm()&0o222 == 0 {
		return "", protected
	}
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	switch {
	case errors.Is(err, fs.ErrPermission):
		return "", protected
	case held(err):
		return "", errors.New("another program has that file open: close it there first")
	case err == nil:
		f.Close()
	}
	return path, nil
}

// mostLinks is how many links may lead from one to the next, as on Linux.
const mostLinks = 40

// resolve returns the path without links, of a file that need not be there yet.
func resolve(path string) (string, error) {
	for range mostLinks {
		real, err := filepath.EvalSymlinks(path)
		if err == nil {
			return real, nil
		}
		dir, err := filepath.EvalSymlinks(filepath.Dir(path))
		if err != nil {
			return path, nil // there is no such folder; writing says so
		}
		path = filepath.Join(dir, filepath.Base(path))
		to, err := os.Readlink(path)
		if err != nil {
			return path, nil
		}
		if !filepath.IsAbs(to) { // a link to what is not there
			to = filepath.Join(dir, to)
		}
		path = to
	}
	return "", errors.New("links lead round in a circle")
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
		return err
	}
	return syncFolder(filepath.Dir(path))
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
	if err := rename(from, to); err != nil {
		os.Remove(to)
		return err
	}
	return nil
}

// syncFolder brings the names in a folder to the disk, where the system can.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" { // its folders can't be opened for it
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return nil // a folder that may be written to and not read
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, errors.ErrUnsupported) {
		return err
	}
	return nil
}

// longestStem keeps a name with its tag below the 255 bytes that file systems take.
const longestStem = 200

// create makes a new file with the permissions that path has, or those that
// a new file gets. os.CreateTemp would make it private.
func create(path string) (*os.File, error) {
	dir, base := filepath.Split(path)
	Sweep(dir)
	mode, old := os.FileMode(0o666), false
	if info, err := os.Stat(path); err == nil {
		mode, old = info.Mode().Perm(), true
	}
	for try := 0; ; try++ {
		name := filepath.Join(dir, fmt.Sprintf(".%s%s%08x%s", base[:min(len(base), longestStem)], tag(), rand.Uint32(), partEnding))
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
		if err == nil && old {
			err = f.Chmod(mode) // what the process's mask had taken off
			if err != nil {
				f.Close()
				os.Remove(name)
			}
		}
		if !os.IsExist(err) || try == 100 {
			return f, err
		}
	}
}
