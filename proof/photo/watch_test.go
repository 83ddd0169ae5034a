package photo

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"
)

const testSettle = 60 * time.Millisecond

// watchFiles starts a watcher with short times. calls receives the paths.
func watchFiles(t *testing.T, settle, poll time.Duration, paths ...string) (calls chan string) {
	t.Helper()
	calls = make(chan string, 100)
	w := &watcher{changed: func(p string) { calls <- p }, settle: settle, poll: poll}
	ctx, cancel := context.WithCancel(context.Background())
	done, err := w.start(ctx, paths)
	if err != nil {
		cancel()
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cancel()
		select {
		case <-done:
		case <-time.After(20 * time.Second):
			t.Error("the watcher does not end with its context")
		}
	})
	return calls
}

func expect(t *testing.T, what string, calls chan string, path string) {
	t.Helper()
	select {
	case got := <-calls:
		if got != path {
			t.Errorf("%s: %q was reported, want %q", what, got, path)
		}
	case <-time.After(20 * time.Second):
		t.Errorf("%s: nothing was reported", what)
	}
}

func expectNone(t *testing.T, what string, calls chan string) {
	t.Helper()
	select {
	case got := <-calls:
		t.Errorf("%s: %q was reported", what, got)
	case <-time.After(4 * testSettle):
	}
}

func put(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestWatch(t *testing.T) {
	const never = time.Hour // events alone
	dir := t.TempDir()
	a, b, other := filepath.Join(dir, "a.tif"), filepath.Join(dir, "b.icc"), filepath.Join(dir, "other")
	put(t, a, "one")
	put(t, b, "one")
	calls := watchFiles(t, testSettle, never, a, b)

	put(t, a, "two, longer")
	expect(t, "written in place", calls, a)
	expectNone(t, "once is enough", calls)

	put(t, other, "something")
	expectNone(t, "another file", calls)

	aside := filepath.Join(dir, ".aside")
	put(t, aside, "three, renamed over it")
	if err := os.Rename(aside, b); err != nil {
		t.Fatal(err)
	}
	expect(t, "renamed over", calls, b)

	// And once more: the first replacement must not have ended the watch.
	put(t, aside, "four")
	if err := os.Rename(aside, b); err != nil {
		t.Fatal(err)
	}
	expect(t, "renamed over again", calls, b)

	// A replacement may have the size and the time of what it replaces.
	info, err := os.Stat(b)
	if err != nil {
		t.Fatal(err)
	}
	put(t, aside, "FOUR")
	if err := os.Chtimes(aside, info.ModTime(), info.ModTime()); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(aside, b); err != nil {
		t.Fatal(err)
	}
	expect(t, "replaced by its like", calls, b)

	// Some programs remove the file first.
	if err := os.Remove(a); err != nil {
		t.Fatal(err)
	}
	expectNone(t, "removed", calls)
	put(t, a, "back")
	expect(t, "back again", calls, a)

	// Rights and dates of access are not its contents.
	if err := os.Chmod(a, 0o644); err != nil {
		t.Fatal(err)
	}
	expectNone(t, "rights", calls)
}

// A file that grows in steps is reported once, when it is whole.
func TestWatchGrowing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.png")
	put(t, path, "before")
	// Long, so that a busy machine does not make a pause of a piece's write.
	const settle = 600 * time.Millisecond
	calls := watchFiles(t, settle, time.Hour, path)
	f, err := os.Create(path) // cut to nothing
	if err != nil {
		t.Fatal(err)
	}
	time.Sleep(settle * 3 / 2) // a slow program: an empty file is no picture yet
	for range 8 {
		if _, err := f.WriteString("another piece of it "); err != nil {
			t.Fatal(err)
		}
		time.Sleep(20 * time.Millisecond)
	}
	select {
	case <-calls:
		t.Error("reported while it was still growing")
	default:
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	expect(t, "whole", calls, path)
	expectNone(t, "once", calls)
}

// Without events, as on a share, the files are looked at now and then.
func TestWatchPolls(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.png")
	w := &watcher{changed: func(string) {}, settle: testSettle, poll: testSettle / 2}
	calls := make(chan string, 10)
	w.changed = func(p string) { calls <- p }
	w.files = []*watched{{path: path}}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); w.loop(ctx, nil) }()
	put(t, path, "there now")
	expect(t, "appeared", calls, path)
	put(t, path, "and changed")
	expect(t, "changed", calls, path)
	cancel()
	<-done
}

// What a link points to may lie in another folder.
func TestWatchLink(t *testing.T) {
	real, link := filepath.Join(t.TempDir(), "real.tif"), filepath.Join(t.TempDir(), "link.tif")
	put(t, real, "one")
	if err := os.Symlink(real, link); err != nil {
		t.Fatal(err)
	}
	calls := watchFiles(t, testSettle, time.Hour, link)
	put(t, real, "two, longer")
	expect(t, "the target was written", calls, link)
}

func TestWatchRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "no folder", "a.tif")
	_, err := Watch(t.Context(), []string{path}, func(string) {})
	wantKind(t, err, NotFound, filepath.Dir(path))
	// The file itself may come later.
	ctx, cancel := context.WithCancel(t.Context())
	done, err := Watch(ctx, []string{filepath.Join(t.TempDir(), "later.tif")}, func(string) {})
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	<-done
}
