//go:build !noheic

package coded

import (
	"errors"
	"testing"
)

// The decoder can reach nothing: all that it asks of the program is whether to go on.
func TestWhatTheDecoderAsksFor(t *testing.T) {
	c, err := compiled()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range c.module.ImportedFunctions() {
		if module, name, _ := f.Import(); module != "host" || name != "stopped" {
			t.Errorf("it imports %s.%s", module, name)
		}
	}
	if n := len(c.module.ImportedMemories()); n > 0 {
		t.Errorf("it imports %d memories", n)
	}
}

func TestRoomAndDamage(t *testing.T) {
	if _, err := NewDecoder(t.Context(), 100, 1000); !isRoom(err) {
		t.Errorf("a kilobyte: %v", err)
	}
	d, err := NewDecoder(t.Context(), 64*64, Memory(64*64, Halved, 8, 100))
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	if _, err := d.Decode(t.Context(), make([]byte, 10<<20)); !isRoom(err) {
		t.Errorf("ten megabytes: %v", err)
	}
	if e, ok := errors.AsType[*Error](func() error { _, err := d.Decode(t.Context(), []byte{0, 0, 0, 3, 0x40, 1, 2}); return err }()); !ok || e.Room {
		t.Errorf("no picture: %v", e)
	}
}

func isRoom(err error) bool {
	e, ok := errors.AsType[*Error](err)
	return ok && e.Room
}
