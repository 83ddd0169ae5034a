package photo

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func TestSaveIsCompleteOrAbsent(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.pdf")
	if err := os.WriteFile(path, []byte("before"), 0o600); err != nil {
		t.Fatal(err)
	}
	fails := errors.New("no room")
	if err := Save(context.Background(), path, nil, filling(fails)); !errors.Is(err, fails) {
		t.Errorf("failing: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := Save(ctx, path, nil, filling(nil)); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	var no *Error
	if err := Save(context.Background(), path, []string{path}, filling(nil)); !errors.As(err, &no) {
		t.Errorf("over the original: %v", err)
	}
	if err := Save(context.Background(), filepath.Join(dir, "none", "a.pdf"), nil, filling(nil)); !errors.As(err, &no) {
		t.Errorf("no such folder: %v", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "before" {
		t.Errorf("the file that was there is now %q", got)
	}
	if list, _ := os.ReadDir(dir); len(list) != 1 {
		t.Errorf("left behind: %v", list)
	}
	if err := Save(context.Background(), path, nil, filling(nil)); err != nil {
		t.Error(err)
	}
	if got, _ := os.ReadFile(path); string(got) != "after" {
		t.Errorf("the file is %q", got)
	}
}

func filling(err error) func(*os.File) error {
	return func(w *os.File) error {
		if _, e := w.WriteString("after"); e != nil {
			return e
		}
		return err
	}
}
