// Package aside writes files that are complete or absent: under another name in
// the same folder first, renamed at the end. A crash in between leaves at most a
// hidden file that ends in .part.
package aside

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// Write has a new file beside path filled, brings it to the disk and renames it to
// path. When anything fails it is removed again, and a file that was there before
// stays as it was.
func Write(path string, fill func(*os.File) error) (err error) {
	// A link stays a link: what it points to is replaced.
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return errors.New("something that is no file is in the way")
	}
	f, err := create(path)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := fill(f); err != nil {
		return err
	}
	// Without this a crash soon after could leave an empty file under the name.
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
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
