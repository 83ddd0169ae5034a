package photo

import (
	"os"
	"testing"
	"time"
)

// A file that is written to while its rows are read is no picture: what came before and what
// comes after may belong to two.
func TestFileChangesMeanwhile(t *testing.T) {
	for name, change := range map[string]func(path string) error{
		"cut":        func(path string) error { return os.Truncate(path, 60) },
		"saved anew": func(path string) error { return os.Chtimes(path, time.Time{}, time.Now().Add(time.Minute)) },
	} {
		data := tiffSpec{order: le, w: 100, h: 64, bits: 16, samples: 3, photometric: tiffRGB, compression: tiffNone, rows: 8, data: noise(100*64*3, 16, 1)}.bytes()
		r := begun(t, data)
		if _, _, err := r.Rows(t.Context(), 0, 32); err != nil {
			t.Fatal(err)
		}
		if err := change(r.path); err != nil {
			t.Fatal(err)
		}
		_, _, err := r.Rows(t.Context(), 32, 64)
		wantKind(t, err, NotReadable, r.path)
		if err != nil && err.Error() != "photo: "+r.path+": not readable: it was changed while it was read" {
			t.Errorf("%s: %v", name, err)
		}
	}
}
