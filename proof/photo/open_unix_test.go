//go:build unix

package photo

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// A pipe is no picture, and to open one would wait for its other end.
func TestPipe(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pipe.jpg")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() {
		_, err := Open(t.Context(), path)
		done <- err
	}()
	select {
	case err := <-done:
		wantKind(t, err, NotReadable, path)
	case <-time.After(5 * time.Second):
		t.Fatal("Open waits")
	}
}

// A file without the right to read it. Root may read everything, so the same is
// also asked of a file whose reading fails.
func TestUnreadable(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.jpg")
	if err := os.WriteFile(path, []byte("\xff\xd8\xff"), 0); err != nil {
		t.Fatal(err)
	}
	_, err := Open(t.Context(), path)
	if os.Geteuid() == 0 {
		wantKind(t, err, Damaged, path)
	} else {
		wantKind(t, err, NotReadable, path)
	}
	if self := "/proc/self/mem"; exists(self) { // nothing is mapped at 0
		_, err := Open(t.Context(), self)
		wantKind(t, err, NotReadable, self)
	}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
