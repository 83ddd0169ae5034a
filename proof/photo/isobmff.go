package photo

import (
	"encoding/binary"
	"strings"
)

// box is one element of an ISO base media file: a type of four letters and what
// it holds.
//
// Source: ISO/IEC 14496-12, 4.2.
type box struct {
	kind string
	body []byte
}

// maxBoxes bounds what is looked at in one file. A picture in 1,024 tiles, the
// most met with, has about as many boxes in its list of items.
const maxBoxes = 1 << 16

// boxReader takes boxes one after the other out of what holds them. All readers
// of one file share left, so that no nesting makes the work grow.
type boxReader struct {
	data []byte
	left *int
}

// next returns the next box; false at the end of the data.
func (r *boxReader) next() (box, bool, error) {
	if len(r.data) == 0 {
		return box{}, false, nil
	}
	if *r.left--; *r.left < 0 {
		return box{}, false, tooLarge("more than %d boxes", maxBoxes)
	}
	if len(r.data) < 8 {
		return box{}, false, damaged("%d bytes where a box should begin", len(r.data))
	}
	size, head := uint64(binary.BigEndian.Uint32(r.data)), uint64(8)
	b := box{kind: string(r.data[4:8])}
	switch size {
	case 0: // to the end
		size = uint64(len(r.data))
	case 1:
		if len(r.data) < 16 {
			return box{}, false, damaged("box %q ends within its size", b.kind)
		}
		size, head = binary.BigEndian.Uint64(r.data[8:]), 16
	}
	if size < head || size > uint64(len(r.data)) {
		return box{}, false, damaged("box %q of %d bytes runs past the end, %d bytes are left", b.kind, size, len(r.data))
	}
	b.body = r.data[head:size]
	r.data = r.data[size:]
	return b, true, nil
}

// each calls do for every box in data.
func (r boxReader) each(data []byte, do func(box) error) error {
	inner := boxReader{data, r.left}
	for {
		b, ok, err := inner.next()
		if err != nil || !ok {
			return err
		}
		if err := do(b); err != nil {
			return err
		}
	}
}

// fields reads the numbers of one box in order. Once it has run past the end
// everything is 0 and short is set, which is asked once at the end.
type fields struct {
	data  []byte
	short bool
}

func (f *fields) uint(bytes int) uint64 {
	if bytes > len(f.data) {
		f.short, f.data = true, nil
		return 0
	}
	v := uint64(0)
	for _, b := range f.data[:bytes] {
		v = v<<8 | uint64(b)
	}
	f.data = f.data[bytes:]
	return v
}

// version takes the version and flags that begin a full box (14496-12, 4.2.2).
func (f *fields) version() (version byte, flags uint32) {
	v := f.uint(4)
	return byte(v >> 24), uint32(v & 0xFFFFFF)
}

// text takes a string that ends with a zero.
func (f *fields) text() string {
	s, rest, ok := strings.Cut(string(f.data), "\x00")
	if !ok {
		f.short, f.data = true, nil
		return ""
	}
	f.data = f.data[len(f.data)-len(rest):]
	return s
}

// err reports a box that ended within its fields.
func (f *fields) err(kind string) error {
	if f.short {
		return damaged("box %q ends within its fields", kind)
	}
	return nil
}
