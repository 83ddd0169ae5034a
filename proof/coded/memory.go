package coded

import "github.com/tetratelabs/wazero/experimental"

// memory is what a decoder works in. All of it is asked of the system at once, which gives
// it as it is touched: to grow later is to copy. Beyond it the decoder is told that there is no more.
type memory struct {
	most    uint64
	refused bool
	bytes   []byte
}

var _ experimental.LinearMemory = (*memory)(nil)

func newMemory(most uint64) *memory { return &memory{most: most, bytes: make([]byte, 0, most)} }

// Reallocate implements [experimental.LinearMemory].
func (m *memory) Reallocate(size uint64) []byte {
	if size > m.most {
		m.refused = true
		return nil
	}
	m.bytes = m.bytes[:size]
	return m.bytes
}

// Free implements [experimental.LinearMemory].
func (m *memory) Free() { m.bytes = nil }
