package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"slices"
	"testing"

	"golang.org/x/image/tiff"
)

// Every combination of what is read comes back sample for sample.
func TestTIFFLayouts(t *testing.T) {
	const w, h = 37, 29
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		for _, bits := range []int{8, 16} {
			for _, c := range []struct{ photometric, channels int }{{tiffBlackIsZero, 1}, {tiffRGB, 3}, {tiffCMYK, 4}} {
				data := noise(w*h*c.channels, bits, 3)
				for _, compression := range []int{tiffNone, tiffLZW, tiffDeflate, tiffOldDeflate, tiffPackBits} {
					for _, separate := range []bool{false, true} {
						for _, tile := range []int{0, 16} {
							s := tiffSpec{
								order: order, w: w, h: h, bits: bits, samples: c.channels, photometric: c.photometric,
								compression: compression, separate: separate, tileW: tile, tileH: 2 * tile, rows: 7, data: data,
								predictor: compression == tiffLZW || compression == tiffDeflate && !separate,
							}
							what := fmt.Sprintf("%v %d bits, colour model %d, compression %d, separate %v, tiles %d, predictor %v",
								order, bits, c.photometric, compression, separate, tile, s.predictor)
							p, err := OpenReader(t.Context(), what, bytes.NewReader(s.bytes()))
							if err != nil {
								t.Error(err)
								continue
							}
							if p.W != w || p.H != h || p.Channels != c.channels || p.Depth != bits || p.Alpha != nil || p.Notes != nil || p.Format != "TIFF" {
								t.Errorf("%s: %d x %d, %d channels of %d bits, notes %q", what, p.W, p.H, p.Channels, p.Depth, p.Notes)
							}
							equalSamples(t, what, p.samples(), data)
							sameByRows(t, what, s.bytes())
						}
					}
				}
			}
		}
	}
}

func TestTIFFSmallSamples(t *testing.T) {
	const w, h = 13, 5
	for _, bits := range []int{1, 2, 4} {
		data := noise(w*h, bits, 5)
		for _, c := range []struct {
			photometric int
			want        func(v uint16) uint16
		}{
			{tiffBlackIsZero, func(v uint16) uint16 { return v * 255 / (1<<bits - 1) }},
			{tiffWhiteIsZero, func(v uint16) uint16 { return 255 - v*255/(1<<bits-1) }},
		} {
			p := openBytes(t, tiffSpec{
				order: binary.LittleEndian, w: w, h: h, bits: bits, samples: 1,
				photometric: c.photometric, compression: tiffNone, rows: 2, data: data,
			}.bytes())
			want := make([]uint16, len(data))
			for i, v := range data {
				want[i] = c.want(v)
			}
			equalSamples(t, fmt.Sprintf("%d bits, colour model %d", bits, c.photometric), p.samples(), want)
		}
	}
}

func TestTIFFWhiteIsZero16(t *testing.T) {
	p := openBytes(t, tiffSpec{
		order: binary.BigEndian, w: 3, h: 1, bits: 16, samples: 1,
		photometric: tiffWhiteIsZero, compression: tiffNone, data: []uint16{0, 1000, 65535},
	}.bytes())
	equalSamples(t, "white is zero", p.Pix16, []uint16{65535, 64535, 0})
}

func TestTIFFPalette(t *testing.T) {
	colours := [][3]uint32{{0, 0, 0}, {0xFFFF, 0x8080, 0x1234}, {0x00FF, 0xFF00, 0x0100}, {0xFFFF, 0xFFFF, 0xFFFF}}
	// Of 16-bit palettes the high byte is taken; one whose values all fit a byte
	// is one of bytes.
	for _, shift := range []int{0, 8} {
		table := make([]uint32, 12)
		want := make([]uint16, 0, 12)
		for i, c := range colours {
			for j, v := range c {
				table[j*4+i] = v >> shift
			}
		}
		for _, i := range []int{3, 1, 0, 2} {
			for _, v := range colours[i] {
				want = append(want, uint16(v>>8))
			}
		}
		p := openBytes(t, tiffSpec{
			order: binary.LittleEndian, w: 2, h: 2, bits: 2, samples: 1, photometric: tiffPalette,
			compression: tiffNone, data: []uint16{3, 1, 0, 2}, more: map[uint16][]uint32{tagColorMap: table},
		}.bytes())
		if p.Channels != 3 {
			t.Fatalf("%d channels, want 3", p.Channels)
		}
		equalSamples(t, fmt.Sprintf("palette, shift %d", shift), p.samples(), want)
	}
}

// Additional samples: opacity of both kinds, and ones that are neither.
func TestTIFFExtraSamples(t *testing.T) {
	build := func(photometric, samples, bits int, extra []uint32, data ...uint16) *Picture {
		return openBytes(t, tiffSpec{
			order: binary.LittleEndian, w: len(data) / samples, h: 1, bits: bits, samples: samples,
			photometric: photometric, compression: tiffLZW, extra: extra, data: data,
		}.bytes())
	}
	for _, c := range []struct {
		what  string
		got   *Picture
		want  []uint16
		alpha []uint8
		notes int
	}{
		{"unspecified", build(tiffRGB, 4, 8, []uint32{0}, 10, 20, 30, 0, 40, 50, 60, 255), []uint16{10, 20, 30, 40, 50, 60}, nil, 1},
		{"no ExtraSamples", build(tiffRGB, 4, 8, nil, 10, 20, 30, 0), []uint16{10, 20, 30}, nil, 1},
		{"straight", build(tiffRGB, 4, 8, []uint32{2}, 10, 20, 30, 0, 40, 50, 60, 255, 100, 0, 200, 51), []uint16{255, 255, 255, 40, 50, 60, 224, 204, 244}, []uint8{0, 255, 51}, 1},
		{"associated", build(tiffRGB, 4, 8, []uint32{1}, 0, 0, 0, 0, 40, 50, 60, 255, 20, 0, 40, 51), []uint16{255, 255, 255, 40, 50, 60, 224, 204, 244}, []uint8{0, 255, 51}, 1},
		{"straight behind a selection", build(tiffRGB, 5, 8, []uint32{0, 2}, 10, 20, 30, 99, 0), []uint16{255, 255, 255}, []uint8{0}, 1},
		{"the first of two opacities", build(tiffRGB, 5, 8, []uint32{2, 2}, 10, 20, 30, 0, 255), []uint16{255, 255, 255}, []uint8{0}, 1},
		{"all opaque", build(tiffRGB, 4, 8, []uint32{2}, 10, 20, 30, 255), []uint16{10, 20, 30}, nil, 0},
		{"grey", build(tiffBlackIsZero, 2, 8, []uint32{2}, 100, 51, 7, 255), []uint16{224, 7}, []uint8{51, 255}, 1},
		// Bare paper has no ink; ink at half opacity is half the ink.
		{"CMYK", build(tiffCMYK, 5, 8, []uint32{2}, 255, 0, 100, 40, 51, 1, 2, 3, 4, 255), []uint16{51, 0, 20, 8, 1, 2, 3, 4}, []uint8{51, 255}, 1},
		{"CMYK associated", build(tiffCMYK, 5, 8, []uint32{1}, 51, 0, 20, 8, 51), []uint16{51, 0, 20, 8}, []uint8{51}, 1},
		// 1/65535 is barely visible and stays visible.
		{"16 bits", build(tiffRGB, 4, 16, []uint32{2}, 0, 65535, 0, 1, 0, 0, 0, 65535, 0, 0, 0, 0), []uint16{65534, 65535, 65534, 0, 0, 0, 65535, 65535, 65535}, []uint8{1, 255, 0}, 1},
	} {
		equalSamples(t, c.what, c.got.samples(), c.want)
		if !slices.Equal(c.got.Alpha, c.alpha) {
			t.Errorf("%s: alpha %v, want %v", c.what, c.got.Alpha, c.alpha)
		}
		if len(c.got.Notes) != c.notes {
			t.Errorf("%s: notes %q, want %d", c.what, c.got.Notes, c.notes)
		}
	}
}

// Strips that are JPEG streams of their own, with tables in them or apart.
func TestTIFFJPEG(t *testing.T) {
	a, b, c := []byte{10, 200}, []byte{30, 128}, []byte{50, 128}
	spec := func(photometric int, planes [][]byte, segments ...[]byte) tiffSpec {
		return tiffSpec{
			order: le, w: 16, h: 8, bits: 8, samples: len(planes), photometric: photometric,
			compression: tiffJPEG, packed: flatJPEG(2, planes, segments...),
		}
	}
	for _, c := range []struct {
		what string
		s    tiffSpec
		want [][]uint8
	}{
		{"grey", spec(tiffBlackIsZero, [][]byte{a}), [][]uint8{{10}, {200}}},
		{"RGB", spec(tiffRGB, [][]byte{a, b, c}), [][]uint8{{10, 30, 50}, {200, 128, 128}}},
		{"RGB, said in the stream too", spec(tiffRGB, [][]byte{a, b, c}, adobe(0)), [][]uint8{{10, 30, 50}, {200, 128, 128}}},
		{"YCbCr", spec(tiffYCbCr, [][]byte{{100, 200}, {128, 128}, {128, 128}}), [][]uint8{{100, 100, 100}, {200, 200, 200}}},
	} {
		for _, apart := range []bool{false, true} {
			s := c.s
			if apart {
				frame := bytes.Index(s.packed, []byte{0xFF, 0xC0})
				huffman := bytes.Index(s.packed, []byte{0xFF, 0xC4})
				scan := bytes.Index(s.packed, []byte{0xFF, 0xDA})
				quantiser := bytes.Index(s.packed, []byte{0xFF, 0xDB})
				s.tables = slices.Concat(s.packed[:2], s.packed[quantiser:frame], s.packed[huffman:scan], []byte{0xFF, 0xD9})
				s.packed = slices.Concat(s.packed[:quantiser], s.packed[frame:huffman], s.packed[scan:])
			}
			got := blocks(openBytes(t, s.bytes()))
			for i := range c.want {
				if !bytes.Equal(got[i], c.want[i]) {
					t.Errorf("%s, tables apart %v: block %d = %d, want %d", c.what, apart, i, got[i], c.want[i])
				}
			}
		}
	}
	wrongSize := spec(tiffRGB, [][]byte{a, b, c})
	wrongSize.w = 17
	noStream := spec(tiffBlackIsZero, [][]byte{a})
	noStream.packed = []byte("something else")
	wrongChannels := spec(tiffRGB, [][]byte{a, b, c})
	wrongChannels.packed = flatJPEG(2, [][]byte{a})
	inks := spec(tiffCMYK, [][]byte{a, b, c, a}, adobe(0))
	for what, c := range map[string]struct {
		s    tiffSpec
		kind Kind
	}{"size": {wrongSize, Damaged}, "no stream": {noStream, Damaged}, "channels": {wrongChannels, Damaged}, "inks": {inks, Unsupported}} {
		_, err := OpenReader(t.Context(), what, bytes.NewReader(c.s.bytes()))
		wantKind(t, err, c.kind, what)
	}
}

func TestTIFFStructure(t *testing.T) {
	base := tiffSpec{order: binary.BigEndian, w: 4, h: 2, bits: 8, samples: 3, photometric: tiffRGB, compression: tiffNone, data: noise(24, 8, 9)}
	icc := fakeICC("RGB ", 301)

	s := base
	s.icc, s.orientation, s.secondPicture = icc, 6, true
	p := openBytes(t, s.bytes())
	if p.W != 2 || p.H != 4 || !bytes.Equal(p.ICC, icc) || len(p.Notes) != 1 {
		t.Errorf("%d x %d, profile %d bytes, notes %q", p.W, p.H, len(p.ICC), p.Notes)
	}

	s = base
	s.thumbnailFirst = true
	equalSamples(t, "behind a thumbnail", openBytes(t, s.bytes()).samples(), base.data)

	s = base
	s.noCounts = true
	equalSamples(t, "one strip without a size", openBytes(t, s.bytes()).samples(), base.data)

	// The picture may not be freed as long as its profile shares its bytes.
	if cap(p.ICC) > 2*len(icc) {
		t.Errorf("the profile keeps %d bytes alive", cap(p.ICC))
	}
}

func TestTIFFRefused(t *testing.T) {
	base := tiffSpec{order: binary.LittleEndian, w: 16, h: 16, bits: 8, samples: 3, photometric: tiffRGB, compression: tiffNone, rows: 4, data: noise(768, 8, 2)}
	more := func(tag uint16, v ...uint32) tiffSpec {
		s := base
		s.more = map[uint16][]uint32{tag: v}
		return s
	}
	for _, c := range []struct {
		what string
		data []byte
		kind Kind
	}{
		{"float", more(tagSampleFormat, 3, 3, 3).bytes(), Unsupported},
		{"32 bits", more(tagBits, 32, 32, 32).bytes(), Unsupported},
		{"unequal bits", more(tagBits, 5, 6, 5).bytes(), Unsupported},
		{"fax", more(tagCompression, 4).bytes(), Unsupported},
		{"old JPEG", more(tagCompression, 6).bytes(), Unsupported},
		{"Lab", more(tagPhotometric, 8).bytes(), Unsupported},
		{"raw", more(tagPhotometric, 32803).bytes(), Unsupported},
		{"DNG", more(tagDNGVersion, 1).bytes(), Unsupported},
		{"YCbCr", more(tagPhotometric, 6).bytes(), Unsupported},
		{"predictor 3", more(tagPredictor, 3).bytes(), Unsupported},
		{"reversed bits", more(tagFillOrder, 2).bytes(), Unsupported},
		{"no width", more(tagWidth).bytes(), Damaged},
		{"width 0", more(tagWidth, 0).bytes(), Damaged},
		{"too few samples", more(tagSamplesPerPixel, 2).bytes(), Damaged},
		{"600 samples", more(tagSamplesPerPixel, 600).bytes(), Damaged},
		{"too wide for its bytes", more(tagWidth, 100000).bytes(), Damaged},
		{"huge", more(tagWidth, 1<<31).bytes(), TooLarge},
		{"huge area", more(tagWidth, 70000, 1).bytes(), Damaged},
		{"strips of 0 rows", more(tagRowsPerStrip, 0).bytes(), Damaged},
		{"fewer strips than rows", more(tagRowsPerStrip, 1).bytes(), Damaged},
		{"strip outside", more(tagStripOffsets, 1<<30, 8, 8, 8).bytes(), Damaged},
		{"short strips", more(tagStripCounts, 100, 100, 100, 100).bytes(), Damaged},
		{"tiny tiles", more(tagTileWidth, 1).bytes(), Damaged},
		{"BigTIFF", []byte("II+\x00\x08\x00\x00\x00\x10\x00\x00\x00\x00\x00\x00\x00"), Unsupported},
		{"only a header", []byte("II*\x00\x08\x00\x00\x00"), Damaged},
		{"directory in nowhere", []byte("MM\x00*\xff\xff\xff\xff"), Damaged},
		{"no entries", []byte("MM\x00*\x00\x00\x00\x08\x00\x00"), Damaged},
	} {
		_, err := OpenReader(t.Context(), c.what, bytes.NewReader(c.data))
		wantKind(t, err, c.kind, c.what)
	}
}

// A directory that names itself as the next one must not be followed forever.
func TestTIFFLoop(t *testing.T) {
	s := tiffSpec{order: binary.LittleEndian, w: 2, h: 1, bits: 8, samples: 1, photometric: tiffBlackIsZero, compression: tiffNone, data: []uint16{1, 2}}
	b := s.bytes()
	first := binary.LittleEndian.Uint32(b[4:])
	n := binary.LittleEndian.Uint16(b[first:])
	binary.LittleEndian.PutUint32(b[int(first)+2+12*int(n):], first)
	equalSamples(t, "loop", openBytes(t, b).samples(), []uint16{1, 2})
}

// The other TIFF reader in reach agrees wherever it can read the file.
func TestTIFFAgainstLibrary(t *testing.T) {
	for _, name := range []string{"photos/chessboard_grey16.tif", "photos/chessboard_grey16_bigendian.tif"} {
		data := read(t, cached(t, name))
		img, err := tiff.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		want, err := FromImage(t.Context(), img)
		if err != nil {
			t.Fatal(err)
		}
		got := openBytes(t, data)
		if got.Depth != 16 || got.Channels != 1 {
			t.Errorf("%s: %d channels of %d bits", name, got.Channels, got.Depth)
		}
		equalSamples(t, name, got.samples(), want.samples())
	}
	for _, photometric := range []int{tiffBlackIsZero, tiffRGB} {
		for _, bits := range []int{8, 16} {
			s := tiffSpec{order: binary.BigEndian, w: 40, h: 33, bits: bits, samples: 1, photometric: photometric, compression: tiffLZW, predictor: true, tileW: 16, tileH: 16}
			if photometric == tiffRGB {
				s.samples = 3
			}
			s.data = noise(s.w*s.h*s.samples, bits, 11)
			img, err := tiff.Decode(bytes.NewReader(s.bytes()))
			if err != nil {
				t.Fatal(err)
			}
			want, err := FromImage(t.Context(), img)
			if err != nil {
				t.Fatal(err)
			}
			equalSamples(t, fmt.Sprintf("colour model %d, %d bits", photometric, bits), openBytes(t, s.bytes()).samples(), want.samples())
		}
	}
}
