package photo

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"testing"
)

// taken returns the memory for values that the process has taken from the system and not
// given back, in bytes. The race detector's own is not among it.
func taken() int64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapSys - m.HeapReleased)
}

// After opening a large picture its samples are held and nothing else: what the decoder
// had is the system's again.
func TestMemoryFallsBack(t *testing.T) {
	const side = 1000 // blocks
	plane := bytes.Repeat([]byte{90}, side*side)
	data := flatJPEG(side, [][]byte{plane, plane, plane})
	debug.FreeOSMemory()
	before := taken()
	p := openBytes(t, data)
	held := int64(len(p.Pix8))
	if held != 3*64*side*side {
		t.Fatalf("%d samples", held)
	}
	if grown := taken() - before; grown > held+held/4 {
		t.Errorf("%d MB more are taken, of which the picture has %d", grown>>20, held>>20)
	}
	runtime.KeepAlive(p)
}

// A file is held once: reading it takes no second buffer at its end.
func TestReadingHoldsTheFileOnce(t *testing.T) {
	const size = 32 << 20
	path := filepath.Join(t.TempDir(), "large")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(f.Truncate(size), f.Close()); err != nil {
		t.Fatal(err)
	}
	most := allocated(func() {
		data, err := readFile(t.Context(), path, defaultLimits())
		if err != nil || len(data) != size {
			t.Errorf("%d bytes, %v", len(data), err)
		}
	})
	if most > size+size/8 {
		t.Errorf("%d MB were allocated for a file of %d", most>>20, size>>20)
	}
}
