package photo

import (
	"bytes"
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
