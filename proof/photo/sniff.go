package photo

import (
	"encoding/binary"
	"slices"
)

// Sorts of files that are known but not opened; advice says what to do with each.
const (
	cameraRaw = "a raw file of a camera: the sensor's own numbers, which are no colours yet"
	layered   = "a layered document"
	archive   = "an archive"
	film      = "a film"
	lines     = "a drawing of lines or pages"
	floats    = "a TIFF of floating-point numbers"
	labs      = "a TIFF in CIELAB"
	wideRange = "a picture of high dynamic range"
	other     = "a kind of picture that is not read here"
)

// advice is the error for a file of that sort.
func advice(sort string) error { return unsupported("%s", advised(sort)) }

// highRange is the error for the two curves of high dynamic range.
func highRange(format string, transfer byte) error {
	curve := map[byte]string{cicpPQ: "PQ", cicpHLG: "HLG"}[transfer]
	return unsupported("%s in the curve %s, %s", format, curve, advised(wideRange))
}

func advised(sort string) string {
	what := map[string]string{
		cameraRaw: "develop it and export a TIFF with 16 bits in a wide RGB space, profile embedded",
		layered:   "save a flat copy as a TIFF with 16 bits, profile embedded",
		archive:   "unpack it and open the picture in it",
		film:      "export the one frame you mean as PNG or TIFF",
		lines:     "export it as a TIFF or PNG at the size of the print",
		floats:    "save it as a TIFF with 16 bits, profile embedded",
		labs:      "convert it to a wide RGB space and save it as a TIFF with 16 bits, profile embedded",
		wideRange: "export an ordinary version of it, for a print has no lights brighter than its paper",
	}[sort]
	if what == "" {
		what = "save it as TIFF, PNG or JPEG"
	}
	return sort + "; " + what
}

// others are the marks of known files that are not opened, by what stands where. Those of raw
// files that look like TIFF are found by their directories.
var others = []struct {
	offset      int
	magic, name string
}{
	{0, "GIF8", other + ", GIF"},
	{0, "BM", other + ", BMP"},
	{0, "8BPS", layered},
	{5, "xcf ", layered},
	{30, "mimetypeimage/openraster", layered},
	{0, "PK\x03\x04", archive},
	{0, "\xff\x0a", other + ", JPEG XL"},
	{0, "\x00\x00\x00\x0cJXL ", other + ", JPEG XL"},
	{0, "\x00\x00\x00\x0cjP  ", other + ", JPEG 2000"},
	{0, "\xff\x4f\xff\x51", other + ", JPEG 2000"},
	{0, "\x76\x2f\x31\x01", wideRange},
	{0, "#?RADIANCE", wideRange},
	{0, "%PDF", lines},
	{0, "%!PS", lines},
	{0, "<svg", lines},
	{0, "IIRO", cameraRaw},
	{0, "IIRS", cameraRaw},
	{0, "MMOR", cameraRaw},
	{0, "IIU\x00", cameraRaw},
	{0, "IIII", cameraRaw},
	{0, "\x00MRM", cameraRaw},
	{0, "FOVb", cameraRaw},
	{6, "HEAPCCDR", cameraRaw},
	{8, "CCD-RAW", cameraRaw},
	{8, "CR\x02\x00", cameraRaw},
}

// sniffBoxes tells what an ISO base media file holds by its brands.
func sniffBoxes(data []byte) (string, reader, error) {
	size := int64(binary.BigEndian.Uint32(data))
	brands := []string{}
	// The second four bytes are a version.
	for at := int64(8); at+4 <= min(size, int64(len(data))); at += 4 {
		if at != 12 {
			brands = append(brands, string(data[at:at+4]))
		}
	}
	is := func(any ...string) bool {
		return slices.ContainsFunc(brands, func(b string) bool { return slices.Contains(any, b) })
	}
	switch {
	case is("crx "):
		return "", nil, advice(cameraRaw)
	case is("mif1", "mif2", "msf1", "heic", "heix", "hevc", "hevx", "heim", "heis", "avif", "avis"):
		return "HEIF", inMemory(readHEIF), nil
	}
	return "", nil, advice(film)
}

// raw reports whether a TIFF structure, of which d is one directory, is a raw
// file: it says so, or one of its pictures is the sensor's mosaic. Its other
// directories hold small previews, which must not be taken for the picture.
func (d *tiffDir) raw() bool {
	const tagSubDirs = 330
	if d.has(tagDNGVersion) || d.mosaic() {
		return true
	}
	subs, err := d.ints(tagSubDirs, maxDirs)
	return err == nil && slices.ContainsFunc(subs, func(offset uint32) bool {
		sub, err := d.file.dir(offset)
		return err == nil && sub.mosaic()
	})
}

// mosaic reports whether a directory's picture has one colour at each place, or
// the sensor's own three.
func (d *tiffDir) mosaic() bool {
	p, err := d.int(tagPhotometric, tiffBlackIsZero)
	return err == nil && (p == tiffCFA || p == tiffLinearRaw)
}
