package photo

import "bytes"

// lzwWriter compresses as TIFF 6.0 section 13 does: codes of 9 to 12 bits, most
// significant bit first, made longer one code earlier than elsewhere. The standard
// library's encoder is the other kind.
type lzwWriter struct {
	out   *bytes.Buffer
	bits  uint32 // waiting, the oldest on top
	n     uint   // how many
	width uint
	next  int // the code that the next new string gets
	last  int // code of the string so far, -1 before the first byte
	table []uint32
}

const (
	lzwClear = 256
	lzwEnd   = 257
	lzwFirst = 258
	// lzwLast is where the table is full. The code 4095 is not given away: readers
	// would want to make codes longer then.
	lzwLast = 4094

	// The table is a hash of string and byte: key in the upper 20 bits, code in the
	// lower 12. A prime nearly twice the number of codes.
	lzwSlots = 8191
)

func newLZW(out *bytes.Buffer) *lzwWriter {
	w := &lzwWriter{out: out, last: -1, width: 9, table: make([]uint32, lzwSlots)}
	w.clear()
	return w
}

// clear tells the reader to begin anew, and does so.
func (w *lzwWriter) clear() {
	w.put(lzwClear)
	clear(w.table)
	w.width, w.next = 9, lzwFirst
}

func (w *lzwWriter) put(code int) {
	w.bits = w.bits<<w.width | uint32(code)
	for w.n += w.width; w.n >= 8; w.n -= 8 {
		w.out.WriteByte(byte(w.bits >> (w.n - 8)))
	}
}

func (w *lzwWriter) Write(p []byte) (int, error) {
	for _, v := range p {
		if w.last < 0 {
			w.last = int(v)
			continue
		}
		key := uint32(w.last)<<8 | uint32(v)
		slot := key * 2654435761 >> 7 % lzwSlots
		for w.table[slot] != 0 && w.table[slot]>>12 != key {
			slot = (slot + 1) % lzwSlots
		}
		if e := w.table[slot]; e != 0 {
			w.last = int(e & 0xFFF)
			continue
		}
		w.put(w.last)
		w.last = int(v)
		w.table[slot] = key<<12 | uint32(w.next)
		w.grow()
	}
	return len(p), nil
}

// grow counts a new string.
func (w *lzwWriter) grow() {
	w.next++
	switch {
	case w.next >= lzwLast:
		w.clear()
	case w.next == 1<<w.width: // one code earlier than the reader knows
		w.width++
	}
}

// Close writes what is left.
func (w *lzwWriter) Close() error {
	if w.last >= 0 {
		w.put(w.last)
		w.grow()
	}
	w.put(lzwEnd)
	if w.n > 0 {
		w.out.WriteByte(byte(w.bits << (8 - w.n)))
	}
	return nil
}
