package photo

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"encoding/xml"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
)

// Metadata is what a file says beside its picture, as it stands in the file.
type Metadata struct {
	// Exif is an Exif block, a TIFF structure that begins with its byte order; nil
	// when there is none.
	Exif []byte
	// XMP is an XMP packet; nil when there is none.
	XMP []byte
}

// maxKept is far above what programs write: a packet of 64 KB is a long one.
const maxKept = 1 << 20

// kept returns a copy, or the whole file would stay in memory; too much is nothing.
func (m Metadata) kept() Metadata {
	var out Metadata
	if exif := bytes.TrimPrefix(m.Exif, []byte(exifMarker)); len(exif) > 0 && len(exif) <= maxKept {
		out.Exif = bytes.Clone(exif)
	}
	if len(m.XMP) > 0 && len(m.XMP) <= maxKept {
		out.XMP = bytes.Clone(m.XMP)
	}
	return out
}

// Keeping says what of a picture's [Metadata] goes into a file made from it.
type Keeping uint8

// The three ways, the usual one first.
const (
	KeepAllButPlace Keeping = iota // everything but where it was taken
	KeepAll
	KeepNothing
)

func (k Keeping) String() string {
	switch k {
	case KeepAllButPlace:
		return "all but the place"
	case KeepAll:
		return "all"
	case KeepNothing:
		return "nothing"
	}
	return fmt.Sprintf("Keeping(%d)", uint8(k))
}

// Carried is metadata made ready for a new file: see [Metadata.Carry].
type Carried struct {
	exif exifDirs
	// XMP is a packet, nil for none.
	XMP []byte
}

// Empty reports whether there is nothing to write.
func (c Carried) Empty() bool { return c.exif.empty() && c.XMP == nil }

// maxXMP is what one segment of a JPEG holds; larger packets are split there in a
// way of their own, which is neither read nor written.
const maxXMP = 65533 - len(jpegXMPMarker)

// Carry takes what k says over for a file of w by h pixels. What describes the old
// file and would be wrong about the new one is left out: its size, resolution,
// orientation and colour space, its thumbnail, its maker's private notes, whose
// offsets nobody else can mend and which may tell the place, too. notes are
// sentences about what else had to be left out.
//
// The place is Exif's GPS directory (Exif 2.3, 4.6.6), and in XMP the properties of
// that name and of places in words (IPTC Photo Metadata). It may also be told by
// a caption or by keywords: those stay. Records of IPTC's older kind (IIM) are not
// carried; XMP says the same.
func (m Metadata) Carry(k Keeping, w, h int) (c Carried, notes []string) {
	if k == KeepNothing {
		return c, nil
	}
	if m.Exif != nil {
		var err error
		if c.exif, err = readExifDirs(m.Exif, k == KeepAll); err != nil {
			notes = append(notes, "The camera data (Exif) are damaged and were left out.")
		} else {
			c.exif.sized(w, h)
		}
		if len(c.exif.encode(0)) > 65000 {
			c.exif = exifDirs{}
			notes = append(notes, "The camera data (Exif) are too long and were left out.")
		}
	}
	if m.XMP != nil {
		xmp, err := cleanXMP(m.XMP, k != KeepAll)
		switch {
		case err != nil:
			notes = append(notes, "The XMP data cannot be read and were left out.")
		case len(xmp) > maxXMP:
			notes = append(notes, "The XMP data are too long and were left out.")
		default:
			c.XMP = xmp
		}
	}
	return c, notes
}

// Tags that are carried or made.
const (
	tagDescription  = 270
	tagMake         = 271
	tagModel        = 272
	tagDateTime     = 306
	tagArtist       = 315
	tagXMP          = 700
	tagNumberOfInks = 334
	tagCopyright    = 33432
	tagGPSDir       = 0x8825
	tagMakerNote    = 0x927C
	tagPixelWidth   = 0xA002
	tagPixelHeight  = 0xA003
)

// exifField is a tag with its value in little-endian order.
type exifField struct {
	tag, typ uint16
	count    int
	value    []byte
}

func shortField(tag uint16, v ...int) exifField {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint16(b, uint16(x))
	}
	return exifField{tag, tiffShort, len(v), b}
}

func longField(tag uint16, v ...uint32) exifField {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint32(b, x)
	}
	return exifField{tag, tiffLong, len(v), b}
}

// resolutionFields says pixels an inch. They are required in baseline TIFF and in
// Exif; unit 1 means that no resolution is known.
func resolutionFields(ppi float64) []exifField {
	unit := 2
	if ppi <= 0 {
		ppi, unit = 1, 1
	}
	// Thousandths: 240, 300, 360 and 720 are exact, 299.999 stays so.
	le := binary.LittleEndian
	b := le.AppendUint32(le.AppendUint32(nil, uint32(math.Round(ppi*1000))), 1000)
	const tiffRational = 5
	return []exifField{
		{tagXResolution, tiffRational, 1, b}, {tagYResolution, tiffRational, 1, b}, shortField(tagResolutionUnit, unit),
	}
}

// exifDirs are the directories of an Exif block that are carried.
type exifDirs struct{ main, exif, gps []exifField }

func (d exifDirs) empty() bool { return len(d.main)+len(d.exif)+len(d.gps) == 0 }

// readExifDirs takes what describes the picture out of an Exif block.
func readExifDirs(block []byte, place bool) (exifDirs, error) {
	f, err := parseTIFFHeader(memory(block))
	if err != nil {
		return exifDirs{}, err
	}
	d, err := f.dir(f.first)
	if err != nil {
		return exifDirs{}, err
	}
	return d.carried(place), nil
}

// carried takes what describes the picture out of a directory that is a TIFF's first
// or an Exif block's.
func (d *tiffDir) carried(place bool) (out exifDirs) {
	described := []uint16{tagDescription, tagMake, tagModel, tagDateTime, tagArtist, tagCopyright}
	out.main = d.carry(func(tag uint16) bool { return slices.Contains(described, tag) })
	if sub := d.sub(tagExifDir); sub != nil {
		// 0xA20E to 0xA210 count the sensor's pixels, which the new file does not have.
		wrong := []uint16{tagMakerNote, tagColorSpace, tagPixelWidth, tagPixelHeight, tagInteropDir, 0xA20E, 0xA20F, 0xA210}
		out.exif = sub.carry(func(tag uint16) bool { return !slices.Contains(wrong, tag) })
	}
	if sub := d.sub(tagGPSDir); sub != nil && place {
		out.gps = sub.carry(func(uint16) bool { return true })
	}
	return out
}

// maxExif is what one segment of a JPEG holds, where Exif comes from.
const maxExif = 1 << 16

// carry returns the wanted entries in little-endian order. Those that cannot be read
// are passed over, and so are all once there is more than an Exif block can hold:
// entries may point to one place many times over.
func (d *tiffDir) carry(want func(tag uint16) bool) []exifField {
	var out []exifField
	room := maxExif
	for _, tag := range slices.Sorted(maps.Keys(d.entries)) {
		e := d.entries[tag]
		if !want(tag) || int(e.typ) >= len(tiffTypeSize) || e.typ == tiffIFD {
			continue
		}
		b, err := d.bytes(tag)
		if err != nil {
			continue
		}
		if room -= len(b); room < 0 {
			return nil
		}
		unit := int(tiffTypeSize[e.typ])
		if e.typ == 5 || e.typ == 10 {
			unit = 4 // a fraction is two numbers
		}
		b = bytes.Clone(b)
		if d.file.order == binary.BigEndian {
			for i := 0; i+unit <= len(b); i += unit {
				slices.Reverse(b[i : i+unit])
			}
		}
		out = append(out, exifField{tag, e.typ, int(e.count), b})
	}
	return out
}

// sized says the new file's size, and that its colour space is told elsewhere.
func (d *exifDirs) sized(w, h int) {
	if len(d.exif) > 0 {
		d.exif = append(d.exif, shortField(tagColorSpace, exifUncalibrated), longField(tagPixelWidth, uint32(w)), longField(tagPixelHeight, uint32(h)))
	}
}

// encode returns the directories' bytes, the main one first, when they stand at pos
// in a TIFF structure. pos is even.
func (d exifDirs) encode(pos uint32) []byte {
	main := slices.Clone(d.main)
	var subs []byte
	// What the pointers to the others add to the main directory is known beforehand.
	pointers := 0
	for _, sub := range [][]exifField{d.exif, d.gps} {
		if len(sub) > 0 {
			pointers++
		}
	}
	after := pos + uint32(len(encodeDir(main, 0))+12*pointers)
	for _, s := range []struct {
		tag    uint16
		fields []exifField
	}{{tagExifDir, d.exif}, {tagGPSDir, d.gps}} {
		if len(s.fields) == 0 {
			continue
		}
		main = append(main, longField(s.tag, after+uint32(len(subs))))
		subs = append(subs, encodeDir(s.fields, after+uint32(len(subs)))...)
	}
	return append(encodeDir(main, pos), subs...)
}

// encodeDir returns one directory with the values that do not fit it, of even length.
func encodeDir(fields []exifField, pos uint32) []byte {
	le := binary.LittleEndian
	fields = slices.Clone(fields)
	slices.SortFunc(fields, func(a, b exifField) int { return cmp.Compare(a.tag, b.tag) })
	tailAt := pos + uint32(2+12*len(fields)+4)
	var tail []byte
	b := le.AppendUint16(nil, uint16(len(fields)))
	for _, f := range fields {
		b = le.AppendUint32(le.AppendUint16(le.AppendUint16(b, f.tag), f.typ), uint32(f.count))
		if len(f.value) <= 4 {
			b = append(b, f.value...)
			b = append(b, make([]byte, 4-len(f.value))...)
			continue
		}
		b = le.AppendUint32(b, tailAt+uint32(len(tail)))
		tail = append(tail, f.value...)
		if len(tail)&1 == 1 {
			tail = append(tail, 0)
		}
	}
	b = le.AppendUint32(b, 0) // no further directory
	return append(b, tail...)
}

// block returns the directories as an Exif block of their own.
func (d exifDirs) block() []byte { return append([]byte{'I', 'I', 42, 0, 8, 0, 0, 0}, d.encode(8)...) }

// exifBlock returns a block of its own for PNG and JPEG, nil when nothing is carried.
func (c Carried) exifBlock(ppi float64) []byte {
	if c.exif.empty() {
		return nil
	}
	d := c.exif
	d.main = append(append(slices.Clone(d.main), shortField(tagOrientation, 1)), resolutionFields(ppi)...)
	return d.block()
}

// Names of XMP properties, by the end of their namespace.
//
// Source: XMP specification part 2 (Adobe, 2016) for tiff, exif and photoshop; IPTC
// Photo Metadata for the places in words. From memory.
var (
	xmpTechnical = map[string][]string{
		"/tiff/1.0/": {"Orientation", "ImageWidth", "ImageLength", "XResolution", "YResolution", "ResolutionUnit",
			"BitsPerSample", "Compression", "PhotometricInterpretation", "SamplesPerPixel", "PlanarConfiguration",
			"YCbCrSubSampling", "YCbCrPositioning", "NativeDigest"},
		"/exif/1.0/":      {"ColorSpace", "PixelXDimension", "PixelYDimension", "NativeDigest"},
		"/photoshop/1.0/": {"ICCProfile", "ColorMode", "LegacyIPTCDigest"},
		"/xap/1.0/":       {"Thumbnails"},
	}
	xmpPlace = map[string][]string{
		"/photoshop/1.0/":          {"City", "State", "Country"},
		"/Iptc4xmpCore/1.0/xmlns/": {"Location", "CountryCode"},
		"/Iptc4xmpExt/2008-02-29/": {"LocationCreated", "LocationShown"},
	}
)

// unwanted reports whether a property is left out.
func unwanted(n xml.Name, place bool) bool {
	in := func(table map[string][]string) bool {
		for end, names := range table {
			if strings.HasSuffix(n.Space, end) && slices.Contains(names, n.Local) {
				return true
			}
		}
		return false
	}
	return in(xmpTechnical) || place && (in(xmpPlace) || strings.HasPrefix(n.Local, "GPS") && strings.HasSuffix(n.Space, "/exif/1.0/"))
}

// cleanXMP cuts unwanted properties out of a packet and leaves all other bytes as
// they are. A property is an element or an attribute of one.
func cleanXMP(packet []byte, place bool) ([]byte, error) {
	d := xml.NewDecoder(bytes.NewReader(packet))
	var out []byte
	kept := 0 // up to where the packet is in out
	cut := func(from, to int) {
		out = append(out, packet[kept:from]...)
		kept = to
	}
	elements := 0
	for {
		from := int(d.InputOffset())
		t, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		start, ok := t.(xml.StartElement)
		if !ok {
			continue
		}
		elements++
		to := int(d.InputOffset())
		if unwanted(start.Name, place) {
			if err := d.Skip(); err != nil {
				return nil, err
			}
			cut(from, int(d.InputOffset()))
			continue
		}
		spans, err := attributes(packet[from:to])
		if err != nil || len(spans) != len(start.Attr) {
			return nil, fmt.Errorf("attributes of %s", start.Name.Local)
		}
		for i, a := range start.Attr {
			if unwanted(a.Name, place) {
				cut(from+spans[i][0], from+spans[i][1])
			}
		}
	}
	if elements == 0 {
		return nil, io.ErrUnexpectedEOF
	}
	return append(out, packet[kept:]...), nil
}

// attributes returns where each attribute of a start tag begins, with the space
// before it, and ends.
func attributes(tag []byte) (spans [][2]int, err error) {
	space := func(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }
	i := 1
	for i < len(tag) && !space(tag[i]) && tag[i] != '>' && tag[i] != '/' {
		i++
	}
	for {
		from := i
		for i < len(tag) && space(tag[i]) {
			i++
		}
		if i >= len(tag) || tag[i] == '>' || tag[i] == '/' {
			return spans, nil
		}
		quote := bytes.IndexAny(tag[i:], `"'`)
		if quote < 0 {
			return nil, io.ErrUnexpectedEOF
		}
		i += quote
		end := bytes.IndexByte(tag[i+1:], tag[i])
		if end < 0 {
			return nil, io.ErrUnexpectedEOF
		}
		i += end + 2
		spans = append(spans, [2]int{from, i})
	}
}

// MarshalText writes the word that names the way.
func (k Keeping) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads the word.
func (k *Keeping) UnmarshalText(b []byte) error {
	for _, w := range []Keeping{KeepAllButPlace, KeepAll, KeepNothing} {
		if w.String() == string(b) {
			*k = w
			return nil
		}
	}
	return fmt.Errorf("photo: %q is no way to keep camera data", b)
}

// MarshalText writes the name.
func (p Packing) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads the name.
func (p *Packing) UnmarshalText(b []byte) error {
	switch string(b) {
	case ZIP.String():
		*p = ZIP
	case LZW.String():
		*p = LZW
	default:
		return fmt.Errorf("photo: %q is no compression of TIFF", b)
	}
	return nil
}
