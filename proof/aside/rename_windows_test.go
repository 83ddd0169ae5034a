package aside

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// A file that another program looks at for a moment is replaced when it is done; one that
// it keeps open stays as it was.
func TestReplacingWaitsForOthers(t *testing.T) {
	dir, err := os.MkdirTemp("", "aside")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "a")
	defer os.Remove(dir)
	defer os.Remove(path)
	for _, c := range []struct {
		open time.Duration
		want string
	}{{300 * time.Millisecond, "new"}, {patience + 2*time.Second, "old"}} {
		if err := os.WriteFile(path, []byte("old"), 0o666); err != nil {
			t.Fatal(err)
		}
		other, err := os.Open(path) // others may read and write, and not delete
		if err != nil {
			t.Fatal(err)
		}
		closed := time.AfterFunc(c.open, func() { other.Close() })
		err = Write(path, Holding([]byte("new")))
		if closed.Stop() {
			other.Close()
		}
		text, _ := os.ReadFile(path)
		if string(text) != c.want || (err == nil) != (c.want == "new") {
			t.Errorf("open for %v: %q, %v", c.open, text, err)
		}
		names, _ := os.ReadDir(dir)
		if len(names) != 1 {
			t.Errorf("open for %v: %d files in the folder", c.open, len(names))
		}
	}
}
