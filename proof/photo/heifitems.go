package photo

import (
	"bytes"
	"maps"
	"slices"
)

// heifFile is the list of items in a HEIF file: coded pictures, what they are
// composed of, and data beside them.
//
// Source: ISO/IEC 14496-12, 8.11 (items); ISO/IEC 23008-12, 6.5 (their
// properties).
type heifFile struct {
	data    []byte
	brand   string
	primary uint32
	items   map[uint32]*heifItem
	idat    []byte
	props   []box // of all items, in the order of their numbers
}

// heifItem is one of them.
type heifItem struct {
	kind    string // "hvc1", "av01", "grid", "Exif", "mime" and others
	content string // media type of a "mime" item
	inIdat  bool
	other   bool // stored in a way that is not read here
	extents []extent
	props   []box               // in the order in which they apply
	refs    map[string][]uint32 // by kind of reference: the items it points to
}

type extent struct{ offset, length uint64 }

// maxHeifItems admits pictures of 200 megapixels in tiles of 256 by 256 pixels.
const maxHeifItems = 1 << 13

// parseHEIF reads what precedes the coded pictures.
func parseHEIF(data []byte) (*heifFile, error) {
	left := maxBoxes
	r := boxReader{data, &left}
	f := &heifFile{data: data, items: map[uint32]*heifItem{}}
	found := false
	err := r.each(data, func(b box) error {
		switch {
		case b.kind == "ftyp" && len(b.body) >= 4:
			f.brand = string(b.body[:4])
		case b.kind == "meta" && !found:
			found = true
			if len(b.body) < 4 {
				return damaged("box %q of %d bytes", b.kind, len(b.body))
			}
			return r.each(b.body[4:], func(b box) error { return f.meta(r, b) })
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if f.items[f.primary] == nil {
		return nil, damaged("no picture is named as the main one")
	}
	return f, nil
}

// meta takes one box of the list of items.
func (f *heifFile) meta(r boxReader, b box) error {
	switch b.kind {
	case "pitm":
		in := fields{data: b.body}
		version, _ := in.version()
		f.primary = uint32(in.uint(wide(version >= 1)))
		return in.err(b.kind)
	case "iinf":
		in := fields{data: b.body}
		version, _ := in.version()
		in.uint(wide(version >= 1)) // how many; the boxes are counted instead
		if err := in.err(b.kind); err != nil {
			return err
		}
		return r.each(in.data, f.entry)
	case "iloc":
		return f.locations(b)
	case "iref":
		in := fields{data: b.body}
		version, _ := in.version()
		if err := in.err(b.kind); err != nil {
			return err
		}
		return r.each(in.data, func(b box) error { return f.reference(b, wide(version >= 1)) })
	case "idat":
		f.idat = b.body
	case "iprp":
		return r.each(b.body, func(b box) error {
			switch b.kind {
			case "ipco":
				return r.each(b.body, func(b box) error {
					f.props = append(f.props, b)
					return nil
				})
			case "ipma":
				return f.associations(b)
			}
			return nil
		})
	}
	return nil
}

// wide is the width in bytes of a number whose box has two forms.
func wide(w bool) int {
	if w {
		return 4
	}
	return 2
}

// item returns the item with this number, a new one the first time.
func (f *heifFile) item(id uint32) (*heifItem, error) {
	if f.items[id] == nil {
		if len(f.items) >= maxHeifItems {
			return nil, tooLarge("more than %d items in one file", maxHeifItems)
		}
		f.items[id] = &heifItem{refs: map[string][]uint32{}}
	}
	return f.items[id], nil
}

func (f *heifFile) entry(b box) error {
	if b.kind != "infe" {
		return nil
	}
	in := fields{data: b.body}
	version, _ := in.version()
	if version < 2 {
		return nil // protected or of no kind: nothing that HEIF knows
	}
	id := uint32(in.uint(wide(version >= 3)))
	protected := in.uint(2) != 0
	kind := in.uint(4)
	in.text()
	content := ""
	if len(in.data) > 0 {
		content = in.text()
	}
	if err := in.err(b.kind); err != nil {
		return err
	}
	it, err := f.item(id)
	if err != nil {
		return err
	}
	it.kind, it.content, it.other = fourCC(kind), content, it.other || protected
	return nil
}

func fourCC(v uint64) string {
	return string([]byte{byte(v >> 24), byte(v >> 16), byte(v >> 8), byte(v)})
}

// locations takes where the items' bytes lie (14496-12, 8.11.3).
func (f *heifFile) locations(b box) error {
	in := fields{data: b.body}
	version, _ := in.version()
	sizes := in.uint(2)
	offsetSize, lengthSize, baseSize, indexSize := int(sizes>>12), int(sizes>>8&15), int(sizes>>4&15), int(sizes&15)
	if version == 0 {
		indexSize = 0
	}
	for _, n := range []int{offsetSize, lengthSize, baseSize, indexSize} {
		if n != 0 && n != 4 && n != 8 {
			return damaged("box %q has numbers of %d bytes", b.kind, n)
		}
	}
	for n := in.uint(wide(version >= 2)); n > 0 && !in.short; n-- {
		id := uint32(in.uint(wide(version >= 2)))
		method := uint64(0)
		if version >= 1 {
			method = in.uint(2) & 15
		}
		external := in.uint(2) != 0
		base := in.uint(baseSize)
		extents := in.uint(2)
		if lengthSize+offsetSize == 0 && extents > 1 {
			return damaged("box %q has extents of no place", b.kind)
		}
		it, err := f.item(id)
		if err != nil {
			return err
		}
		it.inIdat, it.other, it.extents = method == 1, it.other || external || method > 1, nil
		for ; extents > 0 && !in.short; extents-- {
			in.uint(indexSize)
			offset := base + in.uint(offsetSize)
			it.extents = append(it.extents, extent{offset, in.uint(lengthSize)})
		}
	}
	return in.err(b.kind)
}

func (f *heifFile) reference(b box, size int) error {
	in := fields{data: b.body}
	from := uint32(in.uint(size))
	it, err := f.item(from)
	if err != nil {
		return err
	}
	for n := in.uint(2); n > 0 && !in.short; n-- {
		it.refs[b.kind] = append(it.refs[b.kind], uint32(in.uint(size)))
	}
	return in.err(b.kind)
}

// associations says which properties an item has (23008-12, 9.3).
func (f *heifFile) associations(b box) error {
	in := fields{data: b.body}
	version, flags := in.version()
	for n := in.uint(4); n > 0 && !in.short; n-- {
		it, err := f.item(uint32(in.uint(wide(version >= 1))))
		if err != nil {
			return err
		}
		for k := in.uint(1); k > 0 && !in.short; k-- {
			index := in.uint(1) & 0x7F
			if flags&1 != 0 {
				index = index<<8 | in.uint(1)
			}
			// 0 stands for none. The properties precede the associations.
			if index > uint64(len(f.props)) {
				return damaged("property %d of %d", index, len(f.props))
			}
			if index > 0 {
				it.props = append(it.props, f.props[index-1])
			}
		}
	}
	return in.err(b.kind)
}

// property returns the first property of that kind, nil when there is none.
func (it *heifItem) property(kind string) []byte {
	i := slices.IndexFunc(it.props, func(b box) bool { return b.kind == kind })
	if i < 0 {
		return nil
	}
	return it.props[i].body
}

// bytes returns what an item holds, in all no more than the file: extents that
// lie over each other must not multiply it.
func (f *heifFile) bytes(it *heifItem) []byte {
	from := f.data
	if it.inIdat {
		from = f.idat
	}
	if it.other {
		return nil
	}
	var out []byte
	for _, e := range it.extents {
		if e.offset > uint64(len(from)) {
			return nil
		}
		part := from[e.offset:]
		if e.length > 0 { // 0 stands for all the rest
			if e.length > uint64(len(part)) {
				return nil
			}
			part = part[:e.length]
		}
		if len(out)+len(part) > len(f.data) {
			return nil
		}
		if len(it.extents) == 1 {
			return part
		}
		out = append(out, part...)
	}
	return out
}

// beside returns the data that describe the main picture: Exif, without the
// offset that precedes it (23008-12, A.2.1), and XMP.
func (f *heifFile) beside() (exif, xmp []byte) {
	for _, id := range slices.Sorted(maps.Keys(f.items)) {
		it := f.items[id]
		if !slices.Contains(it.refs["cdsc"], f.primary) {
			continue
		}
		switch {
		case it.kind == "Exif" && exif == nil:
			in := fields{data: f.bytes(it)}
			if skip := in.uint(4); skip <= uint64(len(in.data)) {
				exif = in.data[skip:]
			}
		case it.kind == "mime" && it.content == "application/rdf+xml" && xmp == nil:
			xmp = f.bytes(it)
		}
	}
	return exif, xmp
}

// alpha returns the picture of opacities that belongs to the main one, nil when there is none
// (23008-12, 6.5.8 and B.4.2.1).
func (f *heifFile) alpha() (it *heifItem, kind alphaKind) {
	for _, id := range slices.Sorted(maps.Keys(f.items)) {
		it := f.items[id]
		if !slices.Contains(it.refs["auxl"], f.primary) {
			continue
		}
		what := it.property("auxC")
		if bytes.Contains(what, []byte("alpha")) || bytes.Contains(what, []byte(":hevc:2015:auxid:1")) {
			if slices.Contains(f.items[f.primary].refs["prem"], id) {
				return it, alphaAssociated
			}
			return it, alphaStraight
		}
	}
	return nil, alphaStraight
}
