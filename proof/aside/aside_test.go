package aside

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
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

// What was left by a process that is no more goes at the next writing, what a living one
// is writing stays, and so does what is a person's own.
func TestSweep(t *testing.T) {
	gone := exec.Command("true")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	dead, living := fmt.Sprintf("-%08x-%x-", host(), gone.Process.Pid), fmt.Sprintf("-%08x-%x-", host(), os.Getppid())
	other := fmt.Sprintf("-%08x-1-", host()+1)
	for _, write := range []func(dir string) error{
		func(dir string) error { return Write(filepath.Join(dir, "new"), holding("new")) },
		func(dir string) error {
			var f Files
			add(t, &f, dir, "new")
			return f.Commit()
		},
	} {
		dir := folder(t, map[string]string{
			".a.icc" + dead + "0000abcd.part": "crashed", ".b.icc" + living + "0000abcd.part": "being written", "c.part": "a person's own",
			".d" + other + "0000abcd.part": "on another computer", ".e" + other + "0000abcd.part": "there, long ago",
		})
		for _, name := range []string{".firstsheet" + dead + "1", ".firstsheet" + living + "2", ".firstsheet-mine"} {
			if err := os.MkdirAll(filepath.Join(dir, name, "in"), 0o700); err != nil {
				t.Fatal(err)
			}
		}
		old := time.Now().Add(-25 * time.Hour)
		for _, name := range []string{".e" + other + "0000abcd.part", "c.part"} {
			if err := os.Chtimes(filepath.Join(dir, name), old, old); err != nil {
				t.Fatal(err)
			}
		}
		if err := write(dir); err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{".firstsheet" + living + "2", ".firstsheet-mine"} {
			if err := os.RemoveAll(filepath.Join(dir, name, "in")); err != nil {
				t.Error(err)
			}
			if err := os.Remove(filepath.Join(dir, name)); err != nil {
				t.Errorf("%s was swept away: %v", name, err)
			}
		}
		holds(t, dir, map[string]string{".b.icc" + living + "0000abcd.part": "being written", "c.part": "a person's own", ".d" + other + "0000abcd.part": "on another computer", "new": "new"})
	}
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

// While files are replaced there is never nothing under their names, and what is there
// is complete.
func TestTheNameIsNeverEmpty(t *testing.T) {
	dir := folder(t, map[string]string{"a": "new", "b": "new"})
	stop, done := make(chan struct{}), make(chan error, 1)
	go func() {
		var err error
		for err == nil {
			for _, name := range []string{"a", "b"} {
				text, e := os.ReadFile(filepath.Join(dir, name))
				if e != nil || string(text) != "new" {
					err = fmt.Errorf("%s held %q (%v) in between", name, text, e)
				}
			}
			select {
			case <-stop:
				done <- err
				return
			default:
			}
		}
		<-stop
		done <- err
	}()
	for range 300 {
		var f Files
		add(t, &f, dir, "a", "b")
		if err := f.Commit(); err != nil {
			t.Fatal(err)
		}
	}
	close(stop)
	if err := <-done; err != nil {
		t.Error(err)
	}
}

// The permissions of a file outlive its replacing, whatever the new content was
// written with.
func TestPermissionsAreKept(t *testing.T) {
	dir := folder(t, map[string]string{"a": "old", "b": "old"})
	for _, name := range []string{"a", "b"} {
		if err := os.Chmod(filepath.Join(dir, name), 0o662); err != nil { // more than masks leave
			t.Fatal(err)
		}
	}
	var f Files
	add(t, &f, dir, "a")
	if err := errors.Join(f.Commit(), Write(filepath.Join(dir, "b"), holding("new"))); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a", "b"} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Mode().Perm() != 0o662 {
			t.Errorf("%s: %v, %v", name, info.Mode(), err)
		}
	}
}

func TestWriteProtectedFilesStay(t *testing.T) {
	dir := folder(t, map[string]string{"a": "old"})
	path := filepath.Join(dir, "a")
	if err := os.Chmod(path, 0o444); err != nil {
		t.Fatal(err)
	}
	var f Files
	_, err := f.Claim(path)
	for _, err := range []error{err, Write(path, holding("new"))} {
		if !errors.Is(err, fs.ErrPermission) || !strings.Contains(err.Error(), "write-protected") {
			t.Errorf("%v, want that it is write-protected", err)
		}
	}
	f.Discard()
	holds(t, dir, map[string]string{"a": "old"})
}

// Two names of one file are one output, also before it is there.
func TestOneFileByTwoPaths(t *testing.T) {
	dir := folder(t, nil)
	for _, link := range [][2]string{{".", "folder"}, {"later", "dangling"}, {"round", "round"}} {
		if err := os.Symlink(link[0], filepath.Join(dir, link[1])); err != nil {
			t.Fatal(err)
		}
	}
	for _, two := range [][2]string{{"a", "folder/a"}, {"folder/folder/a", "a"}, {"later", "dangling"}, {"./a", "a"}} {
		var f Files
		if _, err := f.Claim(filepath.Join(dir, two[0])); err != nil {
			t.Fatal(err)
		}
		if _, err := f.Claim(dir + "/" + two[1]); err == nil || !strings.Contains(err.Error(), "two outputs") {
			t.Errorf("%v: %v", two, err)
		}
		f.Discard()
	}
	if err := Write(filepath.Join(dir, "dangling"), holding("new")); err != nil {
		t.Fatal(err)
	}
	if err := Write(filepath.Join(dir, "round"), holding("new")); err == nil {
		t.Error("a link to itself was written to")
	}
	if text, err := os.ReadFile(filepath.Join(dir, "later")); err != nil || string(text) != "new" {
		t.Errorf("through a link to what was not there: %q, %v", text, err)
	}
}

// A full disk names the file that was asked for, not the one aside.
func TestAFullDiskNamesTheFile(t *testing.T) {
	dir := folder(t, nil)
	path := filepath.Join(dir, "a")
	var f Files
	defer f.Discard()
	err := f.Add(path, func(aside string) error { return &fs.PathError{Op: "write", Path: aside, Err: syscall.ENOSPC} })
	if e, ok := errors.AsType[*Error](err); !ok || e.Path != path || !errors.Is(err, syscall.ENOSPC) || strings.Contains(err.Error(), folderStart) {
		t.Errorf("%v", err)
	}
}
