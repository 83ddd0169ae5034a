package photo

import (
	"encoding/binary"
	"math"
)

// The bytes of a TIFF structure: a TIFF file, or the Exif block of another one.
type tiffFile struct {
	src   source
	order binary.ByteOrder
	first uint32 // offset of the first directory
}

// tiffDir is one image file directory, TIFF 6.0 section 2.
type tiffDir struct {
	file    *tiffFile
	entries map[uint16]tiffEntry
	next    uint32 // offset of the following directory, 0 when this is the last
}

// tiffEntry is a tag's value before it is read: a type, a count and four bytes
// that are the value or its offset.
type tiffEntry struct {
	typ   uint16
	count uint32
	value [4]byte
}

// Sizes of the types BYTE to DOUBLE, indexed by the type's number.
var tiffTypeSize = [...]uint64{0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8}

const (
	tiffByte      = 1
	tiffShort     = 3
	tiffLong      = 4
	tiffUndefined = 7
	tiffIFD       = 13
)

func parseTIFFHeader(src source) (*tiffFile, error) {
	if src.Size() < 8 {
		return nil, damaged("TIFF header ends after %d bytes", src.Size())
	}
	data, err := piece(src, 0, 8)
	if err != nil {
		return nil, err
	}
	f := &tiffFile{src: src}
	switch string(data[:2]) {
	case "II":
		f.order = binary.LittleEndian
	case "MM":
		f.order = binary.BigEndian
	default:
		return nil, damaged("no TIFF byte order mark")
	}
	switch v := f.order.Uint16(data[2:]); v {
	case 42:
	case 43:
		return nil, unsupported("BigTIFF; save it as an ordinary TIFF")
	default:
		return nil, damaged("TIFF version %d", v)
	}
	f.first = f.order.Uint32(data[4:])
	return f, nil
}

// dir reads the directory at offset.
func (f *tiffFile) dir(offset uint32) (*tiffDir, error) {
	size := uint64(f.src.Size())
	if uint64(offset)+2 > size {
		return nil, damaged("TIFF directory at %d lies behind the end, file %d bytes", offset, size)
	}
	count, err := piece(f.src, int64(offset), 2)
	if err != nil {
		return nil, err
	}
	n := uint64(f.order.Uint16(count))
	end := uint64(offset) + 2 + 12*n
	if n == 0 || n > maxDirEntries || end > size {
		return nil, damaged("TIFF directory at %d with %d entries, file %d bytes", offset, n, size)
	}
	// The last offset may be cut off in an Exif block; then nothing follows.
	last := min(end+4, size)
	data, err := piece(f.src, int64(offset)+2, int64(last-uint64(offset)-2))
	if err != nil {
		return nil, err
	}
	d := &tiffDir{file: f, entries: make(map[uint16]tiffEntry, n)}
	for i := range n {
		b := data[12*i:]
		e := tiffEntry{typ: f.order.Uint16(b[2:]), count: f.order.Uint32(b[4:]), value: [4]byte(b[8:12])}
		// Entries should be sorted and unique; of doubled ones the first counts.
		tag := f.order.Uint16(b)
		if _, doubled := d.entries[tag]; !doubled {
			d.entries[tag] = e
		}
	}
	if last == end+4 {
		d.next = f.order.Uint32(data[12*n:])
	}
	return d, nil
}

func (d *tiffDir) has(tag uint16) bool {
	_, ok := d.entries[tag]
	return ok
}

// bytes returns the raw value of a tag, which shares memory with a file that lies there. A
// missing tag is nil without error.
func (d *tiffDir) bytes(tag uint16) ([]byte, error) {
	e, ok := d.entries[tag]
	if !ok {
		return nil, nil
	}
	unit := uint64(1)
	if int(e.typ) < len(tiffTypeSize) {
		unit = tiffTypeSize[e.typ]
	}
	if e.typ == tiffIFD {
		unit = 4
	}
	if unit == 0 {
		return nil, damaged("TIFF tag %d has type %d", tag, e.typ)
	}
	n := unit * uint64(e.count)
	if n <= 4 {
		return e.value[:n], nil
	}
	offset := uint64(d.file.order.Uint32(e.value[:]))
	size := uint64(d.file.src.Size())
	if offset > size || n > size-offset {
		return nil, damaged("TIFF tag %d: %d bytes at %d run past the end, file %d bytes", tag, n, offset, size)
	}
	if n > maxTag {
		return nil, tooLarge("TIFF tag %d has %d bytes; at most %d are read", tag, n, maxTag)
	}
	return piece(d.file.src, int64(offset), int64(n))
}

// ints returns the values of a tag of type BYTE, SHORT or LONG, nil when it is
// missing. More than most values are an error.
func (d *tiffDir) ints(tag uint16, most int) ([]uint32, error) {
	e, ok := d.entries[tag]
	if !ok {
		return nil, nil
	}
	if uint64(e.count) > uint64(most) {
		return nil, damaged("TIFF tag %d has %d values, at most %d make sense", tag, e.count, most)
	}
	b, err := d.bytes(tag)
	if err != nil {
		return nil, err
	}
	out := make([]uint32, e.count)
	for i := range out {
		switch e.typ {
		case tiffByte, tiffUndefined:
			out[i] = uint32(b[i])
		case tiffShort:
			out[i] = uint32(d.file.order.Uint16(b[2*i:]))
		case tiffLong, tiffIFD:
			out[i] = d.file.order.Uint32(b[4*i:])
		default:
			return nil, damaged("TIFF tag %d has type %d, want whole numbers", tag, e.typ)
		}
	}
	return out, nil
}

// int returns the first value of a tag, or otherwise when it is missing or
// empty.
func (d *tiffDir) int(tag uint16, otherwise uint32) (uint32, error) {
	v, err := d.ints(tag, math.MaxInt32)
	if err != nil || len(v) == 0 {
		return otherwise, err
	}
	return v[0], nil
}
