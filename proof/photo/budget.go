package photo

import (
	"bytes"
	"encoding/binary"
	"runtime"
	"runtime/debug"
)

// A decoding has a budget as a whole: parts that are each within their own limits may not
// add up to more than this.
const (
	// MaxMemory is the most that one decoding holds at a time: the file, what its decoder
	// makes, the samples, and these once more while they are turned. 200 megapixels of 8
	// bits stay within it in every format, of 16 bits as TIFF and PNG.
	MaxMemory = 2 << 30

	// Blocks of a TIFF together unpack to at most blocksShare times the samples of the
	// picture and blocksSlack: tiles stick out of small pictures, and no more.
	blocksShare = 2
	blocksSlack = 64 << 20

	// maxTables is the most that tables of a JPEG have, here kept apart for all blocks of a
	// TIFF: four quantisation tables of 16 bits and eight Huffman tables (T.81, B.2.4) are
	// 2,728 bytes.
	maxTables = 16 << 10

	// scansOfBlocks is how often a JPEG's scans may visit each block; encoders make about
	// ten scans, most of them of one channel. The product is bounded too, except by
	// the file's own bytes: a visit that adds something costs bits.
	scansOfBlocks = 20
	mostVisits    = 24 << 20
	visitsPerByte = 4
	// in a TIFF, whose blocks should have one scan each (Technical Note 2)
	scansOfTIFF = 4

	// jpegBuffers is what the decoder of a JPEG may hold beside coefficients: some rows, of
	// 65535 pixels at most.
	jpegBuffers = 16 << 20

	// plainPixels a byte is what no photograph comes near, beyond plainSlack pixels: a byte
	// of a blank page in DEFLATE stands for 1,032 at most. Only formats whose codes
	// can have no bits at all promise more.
	plainPixels = 4096
	plainSlack  = 16 << 20

	// collectFrom is the size from which on what a decoder has left is given back at once
	// and not when memory is short.
	collectFrom = 64 << 20
)

// room refuses a decoding that would hold more memory than one may. It is asked before
// anything is allocated.
func (l limits) room(bytes int64, w, h int) error {
	most := l.memory
	if most == 0 {
		most = MaxMemory
	}
	if bytes > most {
		return tooLarge("%d x %d pixels of this kind take %d MB to open; at most %d are taken. Save it with 8 bits a channel, as TIFF, or smaller", w, h, bytes>>20, most>>20)
	}
	return nil
}

// admit is room for a picture that takes so much memory as a whole, and beside the strips that
// are under way so much by rows, with so many bytes for a pixel of a strip.
func (l limits) admit(whole, byRows int64, w, h, pixel int) error {
	if l.rows == 0 {
		return l.room(whole, w, h)
	}
	strips := int64(2*runtime.GOMAXPROCS(0)) * int64(min(h, bandUnit))
	return l.room(byRows+strips*int64(w)*int64(pixel), w, h)
}

// tooPlain refuses more pixels than so few bytes would hold of any picture worth
// looking at.
func tooPlain(format string, w, h int64, size int) error {
	if w*h > plainSlack+plainPixels*int64(size) {
		return damaged("%s: %d x %d pixels in %d bytes: so plain is no picture", format, w, h, size)
	}
	return nil
}

// collect frees what a decoder of so many bytes has left, before more is taken.
func collect(bytes int64) {
	if bytes >= collectFrom {
		runtime.GC()
	}
}

// collectOften has the memory of a decoder that grows by copying, more bytes of it than are
// still in use, collected as it goes, until the function that it returns is called. It is for
// the whole process: one at a time.
func collectOften(more int64) (end func()) {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	before := debug.SetMemoryLimit(-1)
	debug.SetMemoryLimit(min(before, int64(m.HeapAlloc)+more))
	return func() { debug.SetMemoryLimit(before) }
}

// giveBack returns to the system what opening a large picture has left.
func giveBack(p *Picture) {
	if p != nil && int64(len(p.Pix8))+2*int64(len(p.Pix16)) >= collectFrom {
		debug.FreeOSMemory()
	}
}

// turnedTimes is how often samples are held that will be turned as Exif says.
func turnedTimes(orientation int) int64 {
	if turned(orientation) {
		return 2
	}
	return 1
}

// blocks returns how many blocks of 8 x 8 samples each channel of a JPEG has, those that
// stick out among them, by the channel's number (T.81, A.2).
func (h *jpegHeader) blocks() map[byte]int64 {
	const baseline = 8
	hMax, vMax := 1, 1
	for _, c := range h.components {
		hMax, vMax = max(hMax, c.h), max(vMax, c.v)
	}
	up := func(a, b int) int64 { return int64((a + b - 1) / b) }
	mcus := up(h.w, baseline*hMax) * up(h.h, baseline*vMax)
	of := map[byte]int64{}
	for _, c := range h.components {
		of[c.id] += mcus * int64(c.h*c.v)
	}
	return of
}

// jpegVisits walks the scans of a JPEG from its first one on and returns how many blocks
// they visit together, and how many blocks the picture has.
//
// Source: T.81, A.2 for blocks and scans, B.1.1.5 for entropy-coded segments.
func (h *jpegHeader) jpegVisits(data []byte) (visits, blocks int64) {
	of := h.blocks()
	for _, n := range of {
		blocks += n
	}
	for pos := h.scan; pos+1 < len(data); {
		next := bytes.IndexByte(data[pos:], 0xFF)
		if next < 0 || pos+next+1 >= len(data) {
			break
		}
		pos += next
		marker := data[pos+1]
		switch {
		case marker == 0xFF:
			pos++
			continue
		case marker == 0 || marker == 0x01 || marker >= 0xD0 && marker <= 0xD8:
			pos += 2
			continue
		case marker == 0xD9: // what follows the end is not read
			return visits, blocks
		}
		if pos+4 > len(data) {
			break
		}
		n := int(binary.BigEndian.Uint16(data[pos+2:]))
		body := data[min(pos+4, len(data)):min(max(pos+2+n, pos+4), len(data))]
		if marker == 0xDA && len(body) > 0 {
			for i := 0; i < int(body[0]) && 1+2*i < len(body); i++ {
				visits += of[body[1+2*i]]
			}
		}
		pos += 2 + max(n, 2)
	}
	return visits, blocks
}

// checkScans refuses scans that together would take longer than any picture is worth.
func (h *jpegHeader) checkScans(data []byte, scans int64) error {
	visits, blocks := h.jpegVisits(data)
	if visits > min(scans*blocks, mostVisits)+visitsPerByte*int64(len(data)) {
		return damaged("JPEG: its scans go over %d blocks, and the picture has %d: no encoder writes so many", visits, blocks)
	}
	return nil
}

// coefficients returns how many bytes the decoder holds of a JPEG of several scans.
func (h *jpegHeader) coefficients() int64 {
	if !h.scans {
		return 0
	}
	const size = 64 * 2 // of a block
	total := int64(0)
	for _, n := range h.blocks() {
		total += size * n
	}
	return total
}

// memory returns how much decoding takes at most beside the file.
func (h *jpegHeader) memory(orientation int) int64 {
	samples := int64(h.w) * int64(h.h) * int64(h.channels)
	if _, quartered := h.quartered(); quartered {
		return 5*samples/2 + h.coefficients() // as stored, planes, and as colours
	}
	// Coefficients are gone when the samples are turned.
	return max(samples+h.coefficients(), turnedTimes(orientation)*samples)
}
