package photo

import (
	"bytes"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"testing"
)

// resident returns the memory that the system has given to this process, proc(5).
func resident(t *testing.T) int64 {
	t.Helper()
	text, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		t.Fatal(err)
	}
	var total, pages int64
	if _, err := fmt.Sscan(string(text), &total, &pages); err != nil {
		t.Fatal(err)
	}
	return pages * int64(os.Getpagesize())
}

// After opening a large picture its samples are held and nothing else: what the decoder
// had is the system's again.
func TestResidentMemoryFallsBack(t *testing.T) {
	const side = 1000 // blocks
	plane := bytes.Repeat([]byte{90}, side*side)
	data := flatJPEG(side, [][]byte{plane, plane, plane})
	debug.FreeOSMemory()
	before := resident(t)
	p := openBytes(t, data)
	held := int64(len(p.Pix8))
	if held != 3*64*side*side {
		t.Fatalf("%d samples", held)
	}
	if grown := resident(t) - before; grown > held+held/4 {
		t.Errorf("%d MB more are resident, of which the picture has %d", grown>>20, held>>20)
	}
	runtime.KeepAlive(p)
}
