package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"strings"
	"testing"
)

// sharedTiles is a TIFF of a few megabytes of samples whose tiles, all the same bytes,
// stick out so far that they unpack to 20 gigabytes.
func sharedTiles() []byte {
	const w, h, tw, th = 8, 100_000, 32768, 64
	packed := compress(make([]byte, 6*tw*th), tiffDeflate)
	n := (h + th - 1) / th
	return tiffOf(le, packed, map[uint16][]uint32{
		tagWidth: {w}, tagLength: {h}, tagBits: {16}, tagSamplesPerPixel: {3}, tagPhotometric: {tiffRGB}, tagCompression: {tiffDeflate},
		tagTileWidth: {tw}, tagTileLength: {th}, tagTileOffsets: repeated(8, n), tagTileCounts: repeated(uint32(len(packed)), n),
	})
}

// sharedBytes is a TIFF of 320 kilobytes of samples whose tiles each begin with the same
// 400 kilobytes of empty blocks of DEFLATE (RFC 1951, 3.2.4), which unpack to nothing.
func sharedBytes() []byte {
	const tiles = 5000
	packed := []byte{0x78, 0x01}
	for range 80_000 {
		packed = append(packed, 0, 0, 0, 0xFF, 0xFF)
	}
	packed = append(packed, compress(make([]byte, 64), tiffDeflate)[2:]...)
	return tiffOf(le, packed, map[uint16][]uint32{
		tagWidth: {8}, tagLength: {8 * tiles}, tagCompression: {tiffDeflate}, tagTileWidth: {8}, tagTileLength: {8},
		tagTileOffsets: repeated(8, tiles), tagTileCounts: repeated(uint32(len(packed)), tiles),
	})
}

// copiedTables is a TIFF with half a megabyte of JPEG tables, which belong before each of
// 10,000 blocks.
func copiedTables() []byte {
	const tiles = 10_000
	block := flatJPEG(1, [][]byte{{77}})
	tables := []byte{0xFF, 0xD8}
	for range 8 {
		tables = append(tables, jpegSegment(0xFE, make([]byte, 65_000))...) // comments
	}
	return tiffSpec{
		order: le, w: 8, h: 8, bits: 8, samples: 1, photometric: tiffBlackIsZero, compression: tiffJPEG, packed: block, tables: append(tables, 0xFF, 0xD9),
		more: map[uint16][]uint32{
			tagWidth: {8}, tagLength: {8 * tiles}, tagTileWidth: {8}, tagTileLength: {8},
			tagTileOffsets: repeated(8, tiles), tagTileCounts: repeated(uint32(len(block)), tiles),
		},
	}.bytes()
}

// manyScans is a progressive JPEG (T.81, annex G) whose 40,000 scans go over all blocks of
// 195 megapixels and say with a few bits each that nothing changes.
func manyScans(scans int) []byte {
	out := []byte{0xFF, 0xD8}
	table := bytes.Repeat([]byte{1}, 65)
	table[0] = 0
	out = append(out, jpegSegment(0xDB, table)...)
	out = append(out, jpegSegment(0xC2, []byte{8, 13000 >> 8, 13000 & 0xFF, 15000 >> 8, 15000 & 0xFF, 1, 1, 0x11, 0})...)
	// One code each: of the mean no difference, of the others a run of 2^14 blocks.
	out = append(out, jpegSegment(0xC4, append(append(make([]byte, 0, 40), 0x00, 1), append(make([]byte, 15), 0)...))...)
	out = append(out, jpegSegment(0xC4, append(append(make([]byte, 0, 40), 0x10, 1), append(make([]byte, 15), 0xE0)...))...)
	out = append(out, jpegSegment(0xDA, []byte{1, 1, 0, 0, 0, 0})...)
	out = append(out, make([]byte, 15000/8*13000/8/8+64)...)
	for range scans {
		out = append(out, jpegSegment(0xDA, []byte{1, 1, 0, 1, 63, 0})...)
		out = append(out, 0, 0, 0, 0)
	}
	return append(out, 0xFF, 0xD9)
}

// plainWebP is a lossless WebP of one colour: codes of one symbol take no bits (WebP
// lossless bitstream specification, 3.7.2.1.1).
func plainWebP() []byte {
	var acc uint64
	n := 0
	var out []byte
	put := func(v uint64, bits int) {
		acc |= v << n
		for n += bits; n >= 8; n -= 8 {
			out = append(out, byte(acc))
			acc >>= 8
		}
	}
	out = append(out, 0x2F)
	put(16383-1, 14)
	put(12200-1, 14)
	put(0, 1+3) // no opacity, version
	put(0, 1)   // no transforms
	put(0, 1)   // no cache of colours
	put(0, 1)   // one group of codes
	for range 5 {
		put(1, 1) // a simple code
		put(0, 1) // of one symbol
		put(0, 1) // of one bit: 0
		put(0, 1)
	}
	put(0, 7)
	return webpFile(webpChunk("VP8L", out))
}

func repeated(v uint32, n int) []uint32 {
	out := make([]uint32, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// Files whose parts are each within their limits and add up to hours of work or all of the
// memory end by a sentence before either is taken.
func TestSumsAreBounded(t *testing.T) {
	gig := pngFile(2, 2, 16, pngRGBA, noise(16, 16, 1))
	be.PutUint32(gig[16:], 14000)
	be.PutUint32(gig[20:], 18000)
	be.PutUint32(gig[29:], be.Uint32(pngChunk("IHDR", gig[16:29])[21:]))
	at := bytes.Index(gig, []byte("IDAT")) - 4
	gig = append(append(gig[:at:at], pngChunk("IDAT", make([]byte, 2_100_000))...), pngChunk("IEND", nil)...)
	for what, c := range map[string]struct {
		data []byte
		kind Kind
		says string
	}{
		"shared tiles":              {sharedTiles(), Damaged, "unpack to 18750 MB"},
		"shared bytes":              {sharedBytes(), Damaged, "5000 blocks have"},
		"copied tables":             {copiedTables(), Damaged, "JPEG tables of 520"},
		"many scans":                {manyScans(40_000), Damaged, "its scans go over"},
		"a WebP of 38 bytes":        {plainWebP(), Damaged, "so plain is no picture"},
		"a PNG with gigabytes":      {gig, TooLarge, "MB to open; at most 2048"},
		"a TIFF turned, 16 bits":    {tiffPromise(13000, 15000, 16, 3, 6), TooLarge, "MB to open"},
		"a TIFF of 16 bits and ink": {tiffPromise(14100, 14100, 16, 5, 1), TooLarge, "bytes are opened"},
	} {
		var err error
		grown := allocated(func() { _, err = OpenReader(t.Context(), what, bytes.NewReader(c.data)) })
		wantKind(t, err, c.kind, what)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want something of %q", what, err, c.says)
		}
		// What is read grows to twice its size at a time, and the race detector counts that twice.
		if most := uint64(8*len(c.data) + 4<<20); grown > most {
			t.Errorf("%s: %d bytes of input took %d", what, len(c.data), grown)
		}
	}
}

// tiffPromise says that it has more samples than its bytes hold, by as little as LZW
// could.
func tiffPromise(w, h, bits, samples, orientation int) []byte {
	need := w * h * samples * bits / 8
	data := make([]byte, need/lzwMaxRatio+1)
	more := map[uint16][]uint32{
		tagWidth: {uint32(w)}, tagLength: {uint32(h)}, tagBits: {uint32(bits)}, tagSamplesPerPixel: {uint32(samples)},
		tagPhotometric: {tiffRGB}, tagCompression: {tiffLZW}, tagRowsPerStrip: {uint32(h)}, tagOrientation: {uint32(orientation)},
		tagStripOffsets: {8}, tagStripCounts: {uint32(len(data))},
	}
	return tiffOf(le, data, more)
}

// 200 megapixels are within the budget in the usual forms, by what decoding them takes.
func TestLargePicturesStayWithinTheBudget(t *testing.T) {
	const w, h = 20000, 10000
	three := []jpegComponent{{1, 2, 2}, {2, 1, 1}, {3, 1, 1}}
	full := []jpegComponent{{1, 1, 1}, {2, 1, 1}, {3, 1, 1}}
	for what, bytes := range map[string]int64{
		"JPEG, halved colour":              (&jpegHeader{w: w, h: h, channels: 3, frame: 0xC0, components: three}).memory(1),
		"JPEG, halved colour, turned":      (&jpegHeader{w: w, h: h, channels: 3, frame: 0xC0, components: three}).memory(6),
		"JPEG, full colour":                (&jpegHeader{w: w, h: h, channels: 3, frame: 0xC0, components: full}).memory(1),
		"JPEG, progressive, halved colour": (&jpegHeader{w: w, h: h, channels: 3, frame: 0xC2, components: three}).memory(1),
		"PNG, 8 bits":                      (&pngHeader{w: w, h: h, depth: 8, colourType: pngRGB}).layout().memory(1),
		"PNG, 8 bits with opacity":         (&pngHeader{w: w, h: h, depth: 8, colourType: pngRGBA}).layout().memory(1),
		"PNG, 16 bits":                     (&pngHeader{w: w, h: h, depth: 16, colourType: pngRGB}).layout().memory(1),
		"PNG, 16 bits with opacity":        (&pngHeader{w: w, h: h, depth: 16, colourType: pngRGBA}).layout().memory(1),
		"PNG, grey, 16 bits":               (&pngHeader{w: w, h: h, depth: 16}).layout().memory(1),
		"TIFF, 8 bits, turned":             (&tiffLayout{w: w, h: h, bits: 8, channels: 3, alpha: -1}).memory(6),
		"TIFF, 16 bits":                    (&tiffLayout{w: w, h: h, bits: 16, channels: 3, alpha: -1}).memory(1),
		"TIFF, 16 bits, CMYK":              (&tiffLayout{w: w, h: h, bits: 16, channels: 4, alpha: -1}).memory(1),
		"TIFF, 16 bits, opacity":           (&tiffLayout{w: w, h: h, bits: 16, channels: 3, alpha: 3}).memory(1),
		"WebP, lossy":                      (&webpHeader{w: 16383, h: 12207}).memory(1),
		"WebP, lossless":                   (&webpHeader{w: 16383, h: 12207, lossless: true}).memory(1),
	} {
		if err := defaultLimits().room(bytes, w, h); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	panorama := &jpegHeader{w: 30000, h: 10000, channels: 3, frame: 0xC0, components: three}
	if err := defaultLimits().room(panorama.memory(1), panorama.w, panorama.h); err != nil {
		t.Errorf("JPEG, 300 megapixels: %v", err)
	}
}

// The estimates are of the decoders as they are: what opening allocates in all, garbage
// included, is at most twice what is held at a time, and not far less.
func TestMemoryIsEstimated(t *testing.T) {
	const w, h = 1200, 800
	var baseline bytes.Buffer
	if err := jpeg.Encode(&baseline, image.NewRGBA(image.Rect(0, 0, w, h)), nil); err != nil {
		t.Fatal(err)
	}
	for what, c := range map[string]struct {
		data []byte
		held func(data []byte) int64
	}{
		"JPEG": {baseline.Bytes(), func(data []byte) int64 {
			head, err := parseJPEGHeader(data)
			if err != nil {
				t.Fatal(err)
			}
			return head.memory(1)
		}},
		"PNG 8":          {pngFile(w, h, 8, pngRGB, noise(w*h*3, 8, 1)), pngHeld(t)},
		"PNG 16":         {pngFile(w, h, 16, pngRGB, noise(w*h*3, 16, 1)), pngHeld(t)},
		"PNG 16 opacity": {pngFile(w, h, 16, pngRGBA, noise(w*h*4, 16, 1)), pngHeld(t)},
		"TIFF strip": {tiffSpec{order: le, w: w, h: h, bits: 16, samples: 3, photometric: tiffRGB, compression: tiffDeflate, data: noise(w*h*3, 16, 1)}.bytes(),
			func([]byte) int64 { return (&tiffLayout{w: w, h: h, bits: 16, channels: 3, alpha: -1}).memory(1) }},
	} {
		held := c.held(c.data)
		p, err := decode(t.Context(), what, c.data, defaultLimits())
		if err != nil || p.W != w {
			t.Fatalf("%s: %v", what, err)
		}
		grown := allocated(func() { _, _ = decode(t.Context(), what, c.data, defaultLimits()) })
		if float64(grown) > 1.3*float64(held)+1<<20 || float64(grown) < 0.5*float64(held) {
			t.Errorf("%s: %d KB were allocated, %d KB estimated", what, grown>>10, held>>10)
		}
	}
}

func pngHeld(t *testing.T) func(data []byte) int64 {
	return func(data []byte) int64 {
		h, err := parsePNGHeader(memory(data))
		if err != nil {
			t.Fatal(err)
		}
		return h.layout().memory(1)
	}
}

// Scans are counted as encoders write them: an ordinary picture is far from the bound.
func TestScansAreCounted(t *testing.T) {
	for scans, want := range map[int]string{0: "1 times", 9: "10 times"} {
		data := manyScans(scans)
		h, err := parseJPEGHeader(data)
		if err != nil {
			t.Fatal(err)
		}
		visits, blocks := h.jpegVisits(data)
		if got := fmt.Sprintf("%d times", visits/blocks); got != want || blocks != 1875*1625 {
			t.Errorf("%d scans more: %s over %d blocks, want %s over %d", scans, got, blocks, want, 1875*1625)
		}
		if err := h.checkScans(data, scansOfBlocks); scans == 0 && err != nil {
			t.Error(err)
		}
	}
}

// What differs between writers of TIFF, by rows: runs that go over the ends of rows, and
// a strip that is the whole picture.
func TestPackBitsOverRows(t *testing.T) {
	// 3 x 4 grey: a run of five, four as they are, nothing, three alike.
	packed := []byte{0xFC, 9, 3, 1, 2, 3, 4, 0x80, 0xFE, 7}
	for _, order := range []binary.ByteOrder{le, be} {
		p := openBytes(t, tiffSpec{order: order, w: 3, h: 4, bits: 8, samples: 1, photometric: tiffBlackIsZero, compression: tiffPackBits, packed: packed}.bytes())
		if got := fmt.Sprint(p.Pix8); got != "[9 9 9 9 9 1 2 3 4 7 7 7]" {
			t.Errorf("%v", got)
		}
	}
	_, err := OpenReader(t.Context(), "short", bytes.NewReader(tiffSpec{order: le, w: 3, h: 5, bits: 8, samples: 1, photometric: tiffBlackIsZero, compression: tiffPackBits, packed: packed}.bytes()))
	wantKind(t, err, Damaged, "short")
}

// Kinds that are not read are named, with what to do.
func TestUnusualTIFFsAreNamed(t *testing.T) {
	for what, c := range map[string]struct {
		more map[uint16][]uint32
		says string
	}{
		"float":   {map[uint16][]uint32{tagSampleFormat: {tiffFloat}, tagBits: {32}, tagPhotometric: {tiffBlackIsZero}}, "floating-point numbers; save it as a TIFF with 16 bits"},
		"half":    {map[uint16][]uint32{tagSampleFormat: {tiffFloat}, tagBits: {16}}, "floating-point numbers"},
		"Lab":     {map[uint16][]uint32{tagPhotometric: {tiffLab}, tagSamplesPerPixel: {3}}, "CIELAB; convert it to a wide RGB space"},
		"ICC Lab": {map[uint16][]uint32{tagPhotometric: {tiffICCLab}, tagSamplesPerPixel: {3}}, "CIELAB"},
	} {
		_, err := OpenReader(t.Context(), what, bytes.NewReader(tiffOf(le, make([]byte, 64), c.more)))
		wantKind(t, err, Unsupported, what)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want something of %q", what, err, c.says)
		}
	}
}
