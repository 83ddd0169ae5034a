package photo

import "bytes"

const (
	tagOrientation   = 274
	tagExifDir       = 0x8769
	tagColorSpace    = 0xA001
	tagInteropDir    = 0xA005
	tagInteropIndex  = 1
	exifSRGB         = 1
	exifUncalibrated = 0xFFFF
)

// exifFacts is what an Exif block says that matters here.
type exifFacts struct {
	orientation int    // 1 to 8; 1 also when it is not said
	space       string // ID of a built-in space, empty when none is named
}

// readExif reads an Exif block, which is a small TIFF structure, with or without
// the six bytes that precede it in JPEG. A damaged block says nothing: the
// picture is there all the same.
func readExif(block []byte) exifFacts {
	facts := exifFacts{orientation: 1}
	block = bytes.TrimPrefix(block, []byte("Exif\x00\x00"))
	f, err := parseTIFFHeader(memory(block))
	if err != nil {
		return facts
	}
	d, err := f.dir(f.first)
	if err != nil {
		return facts
	}
	return d.exif()
}

// exif reads the marks of a directory that is a TIFF's first or an Exif block's.
//
// A camera that is set to a wide space embeds no profile: it writes "neither" as
// the colour space and R03 as the interoperability index (Exif 2.3, 4.6.5 and
// annex; DCF 2.0, optional file).
func (d *tiffDir) exif() exifFacts {
	facts := exifFacts{orientation: 1}
	if o, err := d.int(tagOrientation, 1); err == nil && o >= 1 && o <= 8 {
		facts.orientation = int(o)
	}
	sub := d.sub(tagExifDir)
	if sub == nil {
		return facts
	}
	colour, err := sub.int(tagColorSpace, 0)
	if err != nil {
		return facts
	}
	switch colour {
	case exifSRGB:
		facts.space = "srgb"
	case exifUncalibrated:
		if interop := sub.sub(tagInteropDir); interop != nil {
			if index, err := interop.bytes(tagInteropIndex); err == nil && bytes.HasPrefix(index, []byte("R03")) {
				facts.space = "adobe1998"
			}
		}
	}
	return facts
}

// sub follows a tag that points to another directory; nil when there is none
// that can be read.
func (d *tiffDir) sub(tag uint16) *tiffDir {
	offset, err := d.int(tag, 0)
	if err != nil || offset == 0 {
		return nil
	}
	s, err := d.file.dir(offset)
	if err != nil {
		return nil
	}
	return s
}
