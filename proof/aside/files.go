package aside

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// Files are files that appear all together or not at all. Each is written into a new
// folder beside its place and moved there by Commit; a file that was there before
// stays as it was when anything fails, and is replaced as [Write] does it. Discard ends
// it in any case:
//
//	var f aside.Files
//	defer f.Discard()
//	err := f.Add(path, write)
//	...
//	err = f.Commit()
//
// Errors that name a file are *[Error].
type Files struct {
	// Keep are files that are read and must not be written to; "" and what is no file
	// is passed over.
	Keep []string
	// Fresh has Commit fail with fs.ErrExist instead of replacing a file.
	Fresh bool

	list []file
	dirs []string // with what is written meanwhile
	made []string // folders that were missing
}

type file struct{ path, aside, before string }

// Error says which file or folder an error is about.
type Error struct {
	Path string
	Err  error
}

func (e *Error) Error() string { return e.Path + ": " + e.Err.Error() }

// Unwrap returns the cause, in which no path is named any more.
func (e *Error) Unwrap() error { return e.Err }

func naming(path string, err error) error {
	if err == nil {
		return nil
	}
	return &Error{path, Bare(err)}
}

// Bare takes the path out of an error that names another one than a person knows.
func Bare(err error) error {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Err
	}
	if e, ok := errors.AsType[*fs.PathError](err); ok {
		return e.Err
	}
	if e, ok := errors.AsType[*os.LinkError](err); ok {
		return e.Err
	}
	return err
}

// Folder makes a folder for the files where it is missing. It goes again when nothing
// is put there.
func (f *Files) Folder(dir string) error {
	if _, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
		f.made = append(f.made, dir)
	}
	return naming(dir, os.MkdirAll(dir, 0o777))
}

// Add has one file written. write gets a path of the same name in another folder; where
// it fails with an error about a path, the error names the file that was asked for.
func (f *Files) Add(path string, write func(aside string) error) error {
	aside, err := f.Claim(path)
	if err != nil {
		return err
	}
	err = write(aside)
	if bare := Bare(err); bare != err {
		return naming(path, bare)
	}
	return err
}

// AddAll has several files written into another folder; write returns their paths
// there. They will appear in dir, which must be there, under the same names.
func (f *Files) AddAll(dir string, write func(aside string) ([]string, error)) error {
	aside, err := f.beside(dir)
	if err != nil {
		return naming(dir, err)
	}
	paths, err := write(aside)
	if err != nil {
		return err
	}
	for _, p := range paths {
		f.list = append(f.list, file{path: filepath.Join(dir, filepath.Base(p)), aside: p, before: p + ".before"})
	}
	return nil
}

// Claim finds out whether a file can appear at path, and returns where it is to be
// written meanwhile: under the same name in a new folder.
func (f *Files) Claim(path string) (aside string, err error) {
	for _, k := range f.Keep {
		if Same(path, k) {
			return "", naming(path, errors.New("it is read in this very job; choose another name"))
		}
	}
	final, err := place(filepath.Clean(path))
	if err != nil {
		return "", naming(path, err)
	}
	if slices.ContainsFunc(f.Paths(), func(other string) bool { return sameName(other, final) }) {
		return "", naming(path, errors.New("two outputs cannot be one file"))
	}
	dir, err := f.beside(filepath.Dir(final))
	if err != nil {
		return "", naming(path, err)
	}
	aside = filepath.Join(dir, filepath.Base(final))
	f.list = append(f.list, file{path: final, aside: aside, before: filepath.Join(dir, "before")})
	return aside, nil
}

// sameName tells whether two paths without links are one, also on systems whose names
// have no case.
func sameName(a, b string) bool {
	if runtime.GOOS == "windows" || runtime.GOOS == "darwin" {
		return strings.EqualFold(a, b)
	}
	return a == b
}

// beside returns a new folder in dir.
func (f *Files) beside(dir string) (string, error) {
	Sweep(dir)
	aside, err := os.MkdirTemp(dir, folderStart+tag()+"*")
	if err == nil {
		f.dirs = append(f.dirs, aside)
	}
	return aside, err
}

// Same tells whether two paths lead to one file.
func Same(a, b string) bool {
	ia, errA := os.Stat(a)
	ib, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(ia, ib)
}

// Paths returns the places of all files, in the order in which they were added.
func (f *Files) Paths() []string {
	var out []string
	for _, g := range f.list {
		out = append(out, g.path)
	}
	return out
}

// Commit moves every file to its place and discards the rest.
func (f *Files) Commit() error {
	defer f.Discard()
	for _, g := range f.list {
		if err := g.prepare(); err != nil {
			return naming(g.path, err)
		}
	}
	folders := map[string]bool{}
	for i, g := range f.list {
		err := g.place(f.Fresh)
		if err != nil {
			err = naming(g.path, err)
			for k := i - 1; k >= 0; k-- {
				err = errors.Join(err, f.list[k].takeBack())
			}
			return err
		}
		folders[filepath.Dir(g.path)] = true
	}
	for dir := range folders {
		if err := syncFolder(dir); err != nil {
			return naming(dir, err)
		}
	}
	return nil
}

// prepare brings a file to the disk, with the permissions of the one that it replaces.
func (g file) prepare() error {
	w, err := os.OpenFile(g.aside, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer w.Close()
	if old, err := os.Stat(g.path); err == nil {
		if err := w.Chmod(old.Mode().Perm()); err != nil && runtime.GOOS != "windows" {
			return err
		}
	}
	return w.Sync()
}

// place moves the file to its place, after keeping what is there under a second name. At
// no moment is nothing there.
func (g file) place(fresh bool) error {
	if fresh {
		return link(g.aside, g.path)
	}
	if err := keep(g.path, g.before); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return rename(g.aside, g.path)
}

// keep gives a file a second name, or copies it where the file system has no links.
func keep(path, before string) error {
	err := os.Link(path, before)
	if err == nil || errors.Is(err, fs.ErrNotExist) {
		return err
	}
	from, err := os.Open(path)
	if err != nil {
		return err
	}
	defer from.Close()
	to, err := os.OpenFile(before, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if info, e := from.Stat(); e == nil {
		_ = to.Chmod(info.Mode().Perm()) // it may have to come back
	}
	_, err = io.Copy(to, from)
	return errors.Join(err, to.Close())
}

func (g file) takeBack() error {
	err := rename(g.before, g.path)
	if errors.Is(err, fs.ErrNotExist) {
		err = os.Remove(g.path)
	}
	return err
}

// Discard removes everything that has not been moved to its place.
func (f *Files) Discard() {
	for _, d := range f.dirs {
		os.RemoveAll(d)
	}
	for _, d := range slices.Backward(f.made) {
		os.Remove(d) // only where it is empty
	}
	f.list, f.dirs, f.made = nil, nil, nil
}
