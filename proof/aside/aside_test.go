package aside

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func holding(text string) func(*os.File) error { return Holding([]byte(text)) }

// folder returns a new folder with files and the text in each.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o640); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// holds checks what lies in a folder, hidden files too.
func holds(t *testing.T, dir string, want map[string]string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if _, ok := want[e.Name()]; !ok {
			t.Errorf("%s lies in the folder", e.Name())
		}
	}
	for name, text := range want {
		if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || string(got) != text {
			t.Errorf("%s holds %q (%v), want %q", name, got, err, text)
		}
	}
}

func TestWrite(t *testing.T) {
	dir := folder(t, map[string]string{"a": "old", "real": "old"})
	if err := os.Symlink("real", filepath.Join(dir, "link")); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a", "link", "new"} {
		if err := Write(filepath.Join(dir, name), holding("new")); err != nil {
			t.Fatal(err)
		}
	}
	holds(t, dir, map[string]string{"a": "new", "real": "new", "link": "new", "new": "new"})
	if info, _ := os.Lstat(filepath.Join(dir, "link")); info.Mode()&fs.ModeSymlink == 0 {
		t.Error("the link is no link any more")
	}
	if info, _ := os.Stat(filepath.Join(dir, "a")); info.Mode().Perm() != 0o640 {
		t.Errorf("its permissions became %v", info.Mode())
	}
	full := errors.New("full")
	err := Write(filepath.Join(dir, "a"), func(f *os.File) error { return errors.Join(holding("half")(f), full) })
	if !errors.Is(err, full) {
		t.Errorf("a failure is told as %v", err)
	}
	holds(t, dir, map[string]string{"a": "new", "real": "new", "link": "new", "new": "new"})
}

func TestNewReplacesNothing(t *testing.T) {
	dir := folder(t, map[string]string{"a": "old"})
	if err := New(filepath.Join(dir, "a"), holding("new")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("over a file: %v", err)
	}
	if err := New(filepath.Join(dir, "b"), holding("new")); err != nil {
		t.Error(err)
	}
	holds(t, dir, map[string]string{"a": "old", "b": "new"})
}

func TestSweep(t *testing.T) {
	dir := folder(t, map[string]string{".a.icc.0000abcd.part": "crashed", ".b.icc.0000abcd.part": "being written", "c.part": "a person's own"})
	old := time.Now().Add(-2 * time.Hour)
	for _, name := range []string{".a.icc.0000abcd.part", "c.part"} {
		if err := os.Chtimes(filepath.Join(dir, name), old, old); err != nil {
			t.Fatal(err)
		}
	}
	Sweep(dir)
	holds(t, dir, map[string]string{".b.icc.0000abcd.part": "being written", "c.part": "a person's own"})
}

func add(t *testing.T, f *Files, dir string, names ...string) {
	t.Helper()
	for _, n := range names {
		if err := f.Add(filepath.Join(dir, n), func(aside string) error { return os.WriteFile(aside, []byte("new"), 0o600) }); err != nil {
			t.Fatal(err)
		}
	}
}

// When one of several files cannot be moved to its place, those already there go
// back to what they were.
func TestCommitTakesBack(t *testing.T) {
	dir := folder(t, map[string]string{"a": "old"})
	var f Files
	add(t, &f, dir, "a", "b", "c")
	if err := os.Remove(f.list[2].aside); err != nil { // it is lost meanwhile
		t.Fatal(err)
	}
	c := filepath.Join(dir, "c")
	err := f.Commit()
	if e, ok := errors.AsType[*Error](err); !ok || e.Path != c || strings.Count(err.Error(), c) != 1 {
		t.Errorf("commit: %v", err)
	}
	holds(t, dir, map[string]string{"a": "old"})
}

// Fresh files replace none, also not one that has come since they were begun.
func TestFreshReplacesNothing(t *testing.T) {
	dir := folder(t, nil)
	f := Files{Fresh: true}
	add(t, &f, dir, "a", "b")
	if err := os.WriteFile(filepath.Join(dir, "b"), []byte("another's"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := f.Commit(); !errors.Is(err, fs.ErrExist) {
		t.Errorf("commit: %v", err)
	}
	holds(t, dir, map[string]string{"b": "another's"})
	add(t, &f, dir, "a")
	if err := f.Commit(); err != nil {
		t.Error(err)
	}
	holds(t, dir, map[string]string{"a": "new", "b": "another's"})
}

// What can't be is told before anything is written.
func TestClaim(t *testing.T) {
	dir := folder(t, map[string]string{"read": "old"})
	f := Files{Keep: []string{"", filepath.Join(dir, "read")}}
	add(t, &f, dir, "a")
	for name, says := range map[string]string{"read": "read in this very job", "a": "two outputs", ".": "no file"} {
		if _, err := f.Claim(filepath.Join(dir, name)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	f.Discard()
	holds(t, dir, map[string]string{"read": "old"})
}

// A folder that was made for files goes with them; one that holds any stays.
func TestFolder(t *testing.T) {
	for _, stays := range []bool{false, true} {
		dir := filepath.Join(t.TempDir(), "new")
		var f Files
		if err := f.Folder(dir); err != nil {
			t.Fatal(err)
		}
		add(t, &f, dir, "a")
		if stays {
			if err := f.Commit(); err != nil {
				t.Fatal(err)
			}
			holds(t, dir, map[string]string{"a": "new"})
			continue
		}
		f.Discard()
		if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("after all was discarded: %v", err)
		}
	}
}
