package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"firstsheet/proof/raster"
	"firstsheet/proof/stoptest"

	"github.com/disintegration/imaging"
)

// allocated returns how many bytes f took, in all goroutines.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// Pixels as libjpeg, libpng and libtiff decode them, read with another program
// (three places a file). Values of 16-bit files are 16 bits.
func TestRealFiles(t *testing.T) {
	type probe struct{ x, y, r, g, b int }
	for _, c := range []struct {
		name     string
		w, h     int
		channels int
		depth    int
		icc      int // bytes
		probes   []probe
		within   int // levels: inverse transforms may round differently
	}{
		{"flower.png", 2268, 1512, 3, 8, 672, []probe{{756, 378, 122, 91, 70}, {1134, 756, 128, 51, 121}, {1701, 1323, 45, 87, 39}}, 0},
		{"flower_420.jpg", 2268, 1512, 3, 8, 0, []probe{{756, 378, 123, 92, 72}, {1134, 756, 127, 52, 121}, {1701, 1323, 44, 86, 40}}, 2},
		{"flower_progressive.jpg", 2268, 1512, 3, 8, 0, []probe{{756, 378, 123, 92, 72}, {1134, 756, 127, 52, 121}, {1701, 1323, 44, 86, 40}}, 2},
		{"flower_rgb.jpg", 2268, 1512, 3, 8, 0, []probe{{756, 378, 123, 91, 71}, {1134, 756, 129, 51, 121}, {1701, 1323, 45, 86, 37}}, 1},
		{"flower_grey.jpg", 2268, 1512, 1, 8, 0, []probe{{756, 378, 97, 97, 97}, {1134, 756, 72, 72, 72}, {1701, 1323, 74, 74, 74}}, 1},
		{"flower_separate_scans.jpg", 510, 532, 3, 8, 0, []probe{{170, 133, 116, 87, 69}, {255, 266, 129, 52, 124}, {382, 465, 217, 206, 246}}, 1},
		{"rocket.jpg", 640, 427, 3, 8, 560, []probe{{213, 106, 42, 58, 92}, {320, 213, 132, 123, 114}, {480, 373, 53, 56, 73}}, 1},
		{"coffee.png", 600, 400, 3, 8, 0, []probe{{200, 100, 203, 143, 85}, {300, 200, 248, 250, 255}, {450, 350, 97, 36, 19}}, 0},
		{"portrait.png", 512, 512, 3, 8, 3144, []probe{{170, 128, 211, 203, 205}, {256, 256, 19, 14, 7}}, 0},
		{"p3_ring.png", 1000, 1000, 3, 8, 500, []probe{{333, 250, 240, 153, 58}, {500, 500, 222, 209, 252}, {750, 875, 57, 122, 247}}, 0},
		{"rec2020_ring.png", 1000, 1000, 3, 8, 500, []probe{{333, 250, 218, 148, 58}, {500, 500, 222, 212, 252}, {750, 875, 95, 124, 245}}, 0},
		{"small_rec2020_linear16.png", 64, 64, 3, 16, 832, []probe{{21, 16, 4808, 4525, 3968}, {48, 56, 5550, 4691, 4833}}, 0},
		{"small_rec709_linear16.png", 64, 64, 3, 16, 824, []probe{{21, 16, 38, 69, 18}, {48, 56, 41, 75, 30}}, 0},
		{"small_rec709_v4_16.png", 64, 64, 3, 16, 1180, []probe{{21, 16, 34658, 32747, 30534}, {48, 56, 33906, 32132, 31156}}, 0},
		{"cat_grey.png", 500, 500, 1, 8, 0, []probe{{166, 125, 246, 246, 246}, {375, 437, 71, 71, 71}}, 0},
		{"grey_patches.png", 1011, 277, 1, 8, 0, []probe{{505, 138, 35, 35, 35}}, 0},
		{"chessboard_grey16.tif", 200, 200, 1, 16, 0, []probe{{66, 50, 205, 205, 205}, {150, 175, 80, 80, 80}}, 0},
		{"chessboard_grey16_bigendian.tif", 200, 200, 1, 16, 0, []probe{{66, 50, 205, 205, 205}, {150, 175, 80, 80, 80}}, 0},
	} {
		path := cached(t, "photos/"+c.name)
		p := open(t, path)
		if p.Path != path || p.W != c.w || p.H != c.h || p.Channels != c.channels || p.Depth != c.depth || len(p.ICC) != c.icc {
			t.Errorf("%s: %d x %d, %d channels of %d bits, profile %d bytes; want %+v", p.Path, p.W, p.H, p.Channels, p.Depth, len(p.ICC), c)
			continue
		}
		s := p.samples()
		for _, pr := range c.probes {
			for ch, want := range []int{pr.r, pr.g, pr.b}[:p.Channels] {
				got := int(s[(pr.y*p.W+pr.x)*p.Channels+ch])
				if got < want-c.within || got > want+c.within {
					t.Errorf("%s at %d, %d channel %d = %d, want %d ± %d", c.name, pr.x, pr.y, ch, got, want, c.within)
				}
			}
		}
	}
}

// What Exif says of colour counts when nothing better is there.
func TestExifSpace(t *testing.T) {
	block := func(colour uint16, interop string) []byte {
		return jpegSegment(0xE1, append([]byte(exifMarker), exifBlock(le, 1, colour, interop)...))
	}
	icc := iccSegments(fakeICC("RGB ", 200), 1000)[0]
	planes := [][]byte{{1, 2}, {3, 4}, {5, 6}}
	for _, c := range []struct {
		what     string
		segments [][]byte
		id       string
	}{
		{"sRGB", [][]byte{block(1, "R98")}, "srgb"},
		{"wide", [][]byte{block(0xFFFF, "R03")}, "adobe1998"},
		{"uncalibrated", [][]byte{block(0xFFFF, "R98")}, ""},
		{"nothing known", [][]byte{block(2, "R03")}, ""},
		{"with a profile", [][]byte{block(0xFFFF, "R03"), icc}, ""},
	} {
		p := openBytes(t, flatJPEG(2, planes, c.segments...))
		id := ""
		if p.Space != nil {
			id = p.Space.ID
		}
		if id != c.id || (len(p.Notes) == 1) != (id != "") {
			t.Errorf("%s: space %q, notes %q; want %q", c.what, id, p.Notes, c.id)
		}
	}
	// PNG's own word stands above Exif's.
	p := openBytes(t, pngFile(1, 1, 8, pngRGB, []uint16{1, 2, 3}, pngChunk("sRGB", []byte{0}), pngChunk("eXIf", exifBlock(be, 1, 0xFFFF, "R03"))))
	if p.Space == nil || p.Space.ID != "srgb" {
		t.Errorf("PNG with both: %v", p.Space)
	}
	// Ink has no such space.
	p = openBytes(t, flatJPEG(2, append(planes, []byte{7, 8}), block(1, "R98"), adobe(0)))
	if p.Space != nil || p.Notes != nil {
		t.Errorf("CMYK: space %v, notes %q", p.Space, p.Notes)
	}
}

// The eight orientations turn out as another library's transforms, in 8 and 16
// bits and for any number of channels.
func TestOrient(t *testing.T) {
	const w, h = 70, 130 // more than one tile and band
	data := noise(w*h*3, 8, 4)
	src := image.NewNRGBA(image.Rect(0, 0, w, h))
	for i := range w * h {
		src.SetNRGBA(i%w, i/w, color.NRGBA{uint8(data[3*i]), uint8(data[3*i+1]), uint8(data[3*i+2]), 255})
	}
	upright := map[int]func(image.Image) *image.NRGBA{
		1: imaging.Clone, 2: imaging.FlipH, 3: imaging.Rotate180, 4: imaging.FlipV,
		5: imaging.Transpose, 6: imaging.Rotate270, 7: imaging.Transverse, 8: imaging.Rotate90,
	}
	pix8 := make([]uint8, len(data))
	for i, v := range data {
		pix8[i] = uint8(v)
	}
	one := make([]uint8, w*h)
	for i := range one {
		one[i] = pix8[3*i]
	}
	for o := 1; o <= 8; o++ {
		want, err := FromImage(t.Context(), upright[o](src))
		if err != nil {
			t.Fatal(err)
		}
		got8, ow, oh, err := orient(t.Context(), pix8, w, h, 3, o)
		if err != nil || ow != want.W || oh != want.H || !slices.Equal(got8, want.Pix8) {
			t.Errorf("orientation %d: %d x %d, error %v, equal %v", o, ow, oh, err, slices.Equal(got8, want.Pix8))
		}
		got16, _, _, _ := orient(t.Context(), data, w, h, 3, o)
		equalSamples(t, fmt.Sprintf("orientation %d, 16 bits", o), got16, want.samples())
		got1, _, _, _ := orient(t.Context(), one, w, h, 1, o)
		for i, v := range got1 {
			if v != want.Pix8[3*i] {
				t.Errorf("orientation %d, one channel: sample %d = %d, want %d", o, i, v, want.Pix8[3*i])
				break
			}
		}
	}
	for _, o := range []int{0, 9, -1} {
		if got, ow, oh, err := orient(t.Context(), pix8, w, h, 3, o); err != nil || ow != w || oh != h || !slices.Equal(got, pix8) {
			t.Errorf("orientation %d is not left alone", o)
		}
	}
}

// Each container hands its orientation on: 6 puts the first column of a 2 x 3
// picture on top, last row first.
func TestOrientationInFiles(t *testing.T) {
	// Six blocks of 8 x 8 pixels for JPEG and WebP's stand-in, single pixels
	// otherwise.
	values := []byte{10, 20, 30, 40, 50, 60}
	want := []uint16{50, 30, 10, 60, 40, 20}
	data := make([]uint16, 6)
	for i, v := range values {
		data[i] = uint16(v)
	}
	for _, order := range []binary.ByteOrder{le, be} {
		exif := exifBlock(order, 6, 0xFFFF, "")
		p := openBytes(t, flatJPEG(2, [][]byte{values}, jpegSegment(0xE1, append([]byte(exifMarker), exif...))))
		var got []uint16
		for _, b := range blocks(p) {
			got = append(got, uint16(b[0]))
		}
		if p.W != 24 || p.H != 16 {
			t.Errorf("JPEG: %d x %d", p.W, p.H)
		}
		equalSamples(t, "JPEG", got, want)

		p = openBytes(t, pngFile(2, 3, 8, pngGrey, data, pngChunk("eXIf", exif)))
		equalSamples(t, "PNG", p.samples(), want)

		// An eXIf chunk may also follow the pixels.
		late := pngFile(2, 3, 16, pngGrey, data)
		late = append(late[:len(late)-12], append(pngChunk("eXIf", exif), pngChunk("IEND", nil)...)...)
		p = openBytes(t, late)
		if p.Depth != 16 {
			t.Errorf("PNG: %d bits", p.Depth)
		}
		equalSamples(t, "PNG, late", p.samples(), want)

		p = openBytes(t, tiffSpec{order: order, w: 2, h: 3, bits: 16, samples: 1, photometric: tiffBlackIsZero, compression: tiffNone, data: data, orientation: 6}.bytes())
		equalSamples(t, "TIFF", p.samples(), want)
	}
	// The opacities turn with the picture.
	p := openBytes(t, pngFile(2, 1, 8, pngGreyAlpha, []uint16{5, 255, 6, 100}, pngChunk("eXIf", exifBlock(be, 6, 0, ""))))
	if p.W != 1 || p.H != 2 || !slices.Equal(p.Alpha, []uint8{255, 100}) {
		t.Errorf("opacities %v of %d x %d", p.Alpha, p.W, p.H)
	}
}

func TestWebPContainer(t *testing.T) {
	simple := read(t, "testdata/patches_lossy.webp")
	picture := simple[12:]
	icc := fakeICC("RGB ", 201) // odd: a padding byte follows
	exif := append([]byte(exifMarker), exifBlock(le, 8, 1, "")...)
	vp8x := webpChunk("VP8X", []byte{0x28, 0, 0, 0, 47, 0, 0, 31, 0, 0})
	plain := openBytes(t, simple)
	p := openBytes(t, webpFile(vp8x, webpChunk("ICCP", icc), picture, webpChunk("EXIF", exif), webpChunk("XMP ", []byte("<x/>"))))
	if p.W != 32 || p.H != 48 || !bytes.Equal(p.ICC, icc) || p.Space != nil || p.Format != "WebP" {
		t.Errorf("%d x %d, profile of %d bytes, space %v, %s", p.W, p.H, len(p.ICC), p.Space, p.Format)
	}
	want, _, _, _ := orient(t.Context(), plain.Pix8, 48, 32, 3, 8)
	if !slices.Equal(p.Pix8, want) {
		t.Error("orientation 8: the pixels differ")
	}
	// What follows the container does not belong to it.
	if p := openBytes(t, append(bytes.Clone(simple), webpChunk("ICCP", icc)...)); p.ICC != nil || p.W != 48 {
		t.Errorf("behind the end: profile of %d bytes, width %d", len(p.ICC), p.W)
	}
	for _, c := range []struct {
		what string
		data []byte
		kind Kind
	}{
		{"animation", webpFile(webpChunk("VP8X", []byte{2, 0, 0, 0, 47, 0, 0, 31, 0, 0}), webpChunk("ANIM", make([]byte, 6))), Unsupported},
		{"no picture", webpFile(webpChunk("XMP ", []byte("<x/>"))), Damaged},
		{"half of it", simple[:len(simple)/2], Damaged},
		{"size of another", webpFile(webpChunk("VP8X", []byte{0, 0, 0, 0, 99, 0, 0, 99, 0, 0}), picture), Damaged},
		{"huge", webpFile(webpChunk("VP8X", []byte{0, 0, 0, 0, 255, 255, 255, 255, 255, 255}), picture), TooLarge},
		{"chunk past the end", append(webpFile(vp8x), "ICCP\xff\xff\xff\x7f"...), Damaged},
		{"large profile", webpFile(vp8x, webpChunk("ICCP", make([]byte, MaxICCBytes+1)), picture), TooLarge},
	} {
		_, err := OpenReader(t.Context(), c.what, bytes.NewReader(c.data))
		wantKind(t, err, c.kind, c.what)
	}
}

func TestNotPictures(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	loop := filepath.Join(dir, "loop.jpg")
	if err := os.Symlink(loop, loop); err != nil {
		t.Fatal(err)
	}
	text := write("letter.jpg", "Dear Sir or Madam,\n")
	for _, c := range []struct {
		path string
		kind Kind
	}{
		{filepath.Join(dir, "missing.jpg"), NotFound},
		{dir, NotReadable},
		{loop, NotReadable},
		{filepath.Join(text, "beneath.jpg"), NotReadable},
		{text, NotAPicture},
		{write("empty.png", ""), NotAPicture},
		{write("byte.tif", "I"), NotAPicture},
		{write("x.gif", "GIF89a"), Unsupported},
		{write("x.bmp", "BM\x00\x00"), Unsupported},
		{write("x.heic", "\x00\x00\x00\x18ftypheic"), Damaged},
		{write("x.avif", "\x00\x00\x00\x18ftypavif"), Damaged},
		{write("x.jxl", "\xff\x0a"), Unsupported},
		{write("x.pdf", "%PDF-1.4"), Unsupported},
		{write("x.cr2", "II*\x00\x10\x00\x00\x00CR\x02\x00"), Unsupported},
	} {
		p, err := Open(t.Context(), c.path)
		wantKind(t, err, c.kind, c.path)
		if p != nil {
			t.Errorf("%s: a picture comes with the error", c.path)
		}
	}
	// The ending of the name does not matter.
	data := read(t, cached(t, "photos/png_exif.png"))
	if p := open(t, write("really a png.jpg", string(data))); p.Format != "PNG" {
		t.Errorf("format %s, want PNG", p.Format)
	}
}

func TestErrorText(t *testing.T) {
	_, err := Open(t.Context(), "no/such/file.tif")
	if got := err.Error(); got != "photo: no/such/file.tif: not found: no such file or directory" {
		t.Errorf("error text %q", got)
	}
	if !errors.Is(err, os.ErrNotExist) {
		t.Error("it is not os.ErrNotExist")
	}
}

func TestPercent(t *testing.T) {
	for _, c := range []struct {
		n, total int
		want     string
	}{{0, 10, "0 %"}, {10, 10, "All"}, {1, 5000, "Less than 0.1 %"}, {4999, 5000, "More than 99.9 %"}, {42, 1000, "4.2 %"}, {1, 3, "33 %"}} {
		if got := percent(c.n, c.total); got != c.want {
			t.Errorf("percent(%d, %d) = %q, want %q", c.n, c.total, got, c.want)
		}
	}
}

func TestExtremeSizes(t *testing.T) {
	for _, c := range []struct{ w, h int }{{1, 1}, {30000, 2}, {2, 30000}, {70000, 1}} {
		data := noise(c.w*c.h*3, 8, 7)
		p := openBytes(t, pngFile(c.w, c.h, 8, pngRGB, data))
		if p.W != c.w || p.H != c.h {
			t.Errorf("PNG %d x %d: got %d x %d", c.w, c.h, p.W, p.H)
		}
		equalSamples(t, "PNG", p.samples(), data)
		p = openBytes(t, tiffSpec{order: be, w: c.w, h: c.h, bits: 8, samples: 3, photometric: tiffRGB, compression: tiffLZW, predictor: true, rows: 1, data: data}.bytes())
		equalSamples(t, "TIFF", p.samples(), data)
	}
	p := openBytes(t, flatJPEG(3750, [][]byte{bytes.Repeat([]byte{90}, 3750)}))
	if p.W != 30000 || p.H != 8 {
		t.Errorf("JPEG %d x %d", p.W, p.H)
	}
}

// A header that promises much more than is there must not cost memory.
func TestEmptyPromises(t *testing.T) {
	png16000 := pngFile(2, 2, 8, pngRGB, noise(12, 8, 1))
	copy(png16000[16:], []byte{0, 0, 0x3e, 0x80, 0, 0, 0x2e, 0xe0})
	be.PutUint32(png16000[29:], be.Uint32(pngChunk("IHDR", png16000[16:29])[21:]))
	jpeg14000 := flatJPEG(2, [][]byte{{1, 2}})
	copy(jpeg14000[bytes.Index(jpeg14000, []byte{0xFF, 0xC0})+5:], []byte{0x36, 0xB0, 0x36, 0xB0})
	tiff14000 := tiffSpec{
		order: le, w: 2, h: 2, bits: 16, samples: 3, photometric: tiffRGB, compression: tiffDeflate, data: noise(12, 16, 1),
		more: map[uint16][]uint32{tagWidth: {14000}, tagLength: {14000}, tagRowsPerStrip: {14000}},
	}.bytes()
	for what, data := range map[string][]byte{"PNG": png16000, "JPEG": jpeg14000, "TIFF": tiff14000} {
		var err error
		grown := allocated(func() { _, err = OpenReader(t.Context(), what, bytes.NewReader(data)) })
		wantKind(t, err, Damaged, what)
		if grown > 1<<20 {
			t.Errorf("%s: %d bytes were allocated for nothing", what, grown)
		}
	}
}

// Many strips may share the same bytes in a file made to burst.
func TestOverlappingStrips(t *testing.T) {
	offsets, counts := make([]uint32, 2000), make([]uint32, 2000)
	for i := range offsets {
		offsets[i], counts[i] = 8, 20000
	}
	data := tiffSpec{
		order: le, w: 10000, h: 2, bits: 8, samples: 1, photometric: tiffBlackIsZero, compression: tiffNone, rows: 1, data: noise(20000, 8, 1),
		more: map[uint16][]uint32{tagLength: {2000}, tagRowsPerStrip: {1}, tagStripOffsets: offsets, tagStripCounts: counts},
	}.bytes()
	_, err := OpenReader(t.Context(), "overlap", bytes.NewReader(data))
	wantKind(t, err, Damaged, "overlap")
}

// small pictures of each kind, for the tests that break them.
func specimens(t testing.TB) map[string][]byte {
	icc := fakeICC("RGB ", 400)
	exif := exifBlock(le, 6, 0xFFFF, "R03")
	out := map[string][]byte{
		"rgb.jpg":      flatJPEG(3, [][]byte{{1, 2, 3, 4, 5, 6}, {9, 8, 7, 6, 5, 4}, {100, 200, 255, 0, 1, 2}}, append(iccSegments(icc, 150), jpegSegment(0xE1, append([]byte(exifMarker), exif...)))...),
		"rgb16.png":    pngFile(9, 5, 16, pngRGBA, noise(9*5*4, 16, 1), iCCP(icc), pngChunk("eXIf", exif)),
		"chrm.png":     pngFile(9, 5, 8, pngGreyAlpha, noise(9*5*2, 8, 1), chrm(34570, 35850, 73470, 26530, 11520, 82640, 15660, 1770), pngChunk("gAMA", []byte{0, 0, 0xb1, 0x8f}), pngChunk("cICP", []byte{9, 8, 0, 1})),
		"palette.png":  pngFile(4, 1, 2, pngPalette, []uint16{3, 2, 1, 0}, pngChunk("PLTE", []byte{0, 0, 0, 255, 0, 0, 10, 20, 30, 255, 255, 255}), pngChunk("tRNS", []byte{0, 51})),
		"tiles.tif":    tiffSpec{order: be, w: 20, h: 17, bits: 16, samples: 4, photometric: tiffRGB, extra: []uint32{2}, compression: tiffLZW, predictor: true, tileW: 16, tileH: 16, data: noise(20*17*4, 16, 1), icc: icc, orientation: 7}.bytes(),
		"separate.tif": tiffSpec{order: le, w: 20, h: 17, bits: 8, samples: 4, photometric: tiffCMYK, compression: tiffDeflate, separate: true, rows: 5, data: noise(20*17*4, 8, 1), thumbnailFirst: true, secondPicture: true}.bytes(),
		"packbits.tif": tiffSpec{order: le, w: 20, h: 17, bits: 4, samples: 1, photometric: tiffWhiteIsZero, compression: tiffPackBits, rows: 5, data: noise(20*17, 4, 1)}.bytes(),
	}
	files, err := filepath.Glob("testdata/patches*")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d patches in testdata, error %v", len(files), err)
	}
	for _, f := range files {
		out[filepath.Base(f)] = read(t, f)
	}
	return out
}

// tryOpen opens data, which may be anything, and fails when what comes back is
// neither a sound picture nor a typed error, or is another by rows.
func tryOpen(t *testing.T, what string, data []byte, lim limits) bool {
	p, err := decode(t.Context(), what, data, lim)
	tryRows(t, what, data, lim, p, err)
	if err == nil {
		if err := p.check(); err != nil {
			t.Errorf("%s: %v", what, err)
		}
		if p.ICC != nil && p.Space != nil {
			t.Errorf("%s: a profile and a space", what)
		}
		return true
	}
	if e, ok := errors.AsType[*Error](err); !ok || e.Path != what || e.Kind < NotAPicture || e.Kind > TooLarge {
		t.Errorf("%s: error %v is %T", what, err, err)
	}
	return false
}

// tryRows reads data by rows and fails when the picture or the error is not the one that was met
// before. Pictures that must be read whole are left out. Blocks of a TIFF are unpacked side by side: of several that are damaged any may be told.
func tryRows(t *testing.T, what string, data []byte, lim limits, whole *Picture, wholeErr error) {
	lim.rows = lim.pixels
	px, alpha := raster.Pixels{}, []uint8(nil)
	r, err := begin(t.Context(), what, memory(data), lim)
	if err == nil {
		defer r.Close()
		if r.whole {
			return
		}
		const step = 7
		for y := 0; y < r.H && err == nil; y += step {
			var strip raster.Pixels
			var opacities []uint8
			strip, opacities, err = r.Rows(t.Context(), y, min(r.H, y+step))
			if opacities == nil {
				opacities = bytes.Repeat([]byte{255}, strip.W*strip.H)
			}
			px.P8, px.P16, alpha = append(px.P8, strip.P8...), append(px.P16, strip.P16...), append(alpha, opacities...)
			if r.rest != nil {
				r.Done(strip)
			}
		}
	}
	if err != nil || wholeErr != nil {
		a, _ := errors.AsType[*Error](err)
		b, _ := errors.AsType[*Error](wholeErr)
		if a == nil || b == nil || a.Kind != b.Kind {
			t.Errorf("%s: by rows %v, else %v", what, err, wholeErr)
		}
		return
	}
	opaque := bytes.Count(alpha, []byte{255}) == len(alpha)
	if !bytes.Equal(px.P8, whole.Pix8) || !slices.Equal(px.P16, whole.Pix16) || opaque != (whole.Alpha == nil) || !opaque && !bytes.Equal(alpha, whole.Alpha) || !slices.Equal(r.Notes, whole.Notes) {
		t.Errorf("%s: by rows it is another picture", what)
	}
}

// Cut anywhere, a file is refused: nothing that is half there is shown as if it
// were whole. In a TIFF, whose parts may be anywhere, what is missing may not
// matter; then the result is that of the whole file.
func TestTruncated(t *testing.T) {
	lim := limits{pixels: 1 << 20, file: 1 << 24}
	for name, data := range specimens(t) {
		whole, err := decode(t.Context(), name, data, lim)
		if err != nil {
			t.Fatal(err)
		}
		// Every byte of the small ones.
		step := max(1, len(data)/1500)
		for n := 0; n < len(data); n += step {
			p, err := decode(t.Context(), name, data[:n], lim)
			if err == nil {
				same := p.W == whole.W && bytes.Equal(p.Pix8, whole.Pix8) && slices.Equal(p.Pix16, whole.Pix16) &&
					bytes.Equal(p.ICC, whole.ICC) && (p.Space == nil) == (whole.Space == nil)
				if p.Format != "TIFF" || !same {
					t.Errorf("%s: opens with %d of %d bytes, same as the whole: %v", name, n, len(data), same)
				}
				continue
			}
			if e, ok := errors.AsType[*Error](err); !ok || e.Kind != Damaged && e.Kind != NotAPicture {
				t.Errorf("%s: with %d of %d bytes: %v", name, n, len(data), err)
			}
		}
	}
	// Real ones at fewer places.
	for _, name := range []string{"flower_separate_scans.jpg", "rocket.jpg", "small_rec2020_linear16.png", "chessboard_grey16.tif", "tabby.png"} {
		data := read(t, cached(t, "photos/"+name))
		for i := 1; i < 8; i++ {
			n := len(data) * i / 8
			_, err := decode(t.Context(), name, data[:n], defaultLimits())
			wantKind(t, err, Damaged, name)
		}
		_, err := decode(t.Context(), name, data[:len(data)-1], defaultLimits())
		wantKind(t, err, Damaged, name)
	}
}

// Altered anywhere, a file is refused or opened, never worse.
func TestMutated(t *testing.T) {
	lim := limits{pixels: 1 << 16, file: 1 << 24}
	rounds := 300
	for name, data := range specimens(t) {
		r := rand.New(rand.NewPCG(1, uint64(len(data))))
		for range rounds {
			b := bytes.Clone(data)
			for range 1 + r.IntN(4) {
				switch i := r.IntN(len(b)); r.IntN(4) {
				case 0:
					b[i] ^= 1 << r.IntN(8)
				case 1:
					b[i] = byte(r.Uint32())
				case 2:
					b[i] = []byte{0, 1, 0x7F, 0x80, 0xFF}[r.IntN(5)]
				case 3: // a stretch is missing
					b = slices.Delete(b, i, min(len(b), i+1+r.IntN(16)))
				}
				if len(b) == 0 {
					break
				}
			}
			tryOpen(t, name, b, lim)
		}
	}
}

// PNG guards its bytes by checksums, which hide what is behind them from chance:
// here they are mended after the damage.
func TestMutatedPNGChunks(t *testing.T) {
	lim := limits{pixels: 1 << 16, file: 1 << 24}
	opened := 0
	for _, name := range []string{"rgb16.png", "chrm.png", "palette.png"} {
		data := specimens(t)[name]
		r := rand.New(rand.NewPCG(2, uint64(len(data))))
		for range 1000 {
			out := []byte(pngSignature)
			for pos := 8; pos < len(data); {
				n := int(be.Uint32(data[pos:]))
				body := bytes.Clone(data[pos+8 : pos+8+n])
				if n > 0 && r.IntN(4) == 0 {
					body[r.IntN(n)] = byte(r.Uint32())
				}
				if r.IntN(20) == 0 {
					body = body[:r.IntN(n+1)]
				}
				out = append(out, pngChunk(string(data[pos+4:pos+8]), body)...)
				pos += 12 + n
			}
			if tryOpen(t, name, out, lim) {
				opened++
			}
		}
	}
	if opened == 0 {
		t.Error("no altered file was opened; the checksums cannot be right")
	}
}

// A context that ends at any moment ends the call, and nothing half-done comes
// back.
func TestCancelled(t *testing.T) {
	for name, data := range specimens(t) {
		for n := 0; ; n++ {
			p, err := OpenReader(stoptest.EndsAfter(t.Context(), n), name, bytes.NewReader(data))
			if err == nil {
				if n < 4 {
					t.Errorf("%s: the context was asked only %d times", name, n)
				}
				break
			}
			if !errors.Is(err, context.Canceled) || p != nil {
				t.Errorf("%s, stopped after %d looks: %v, %v", name, n, p, err)
				break
			}
			if n > 1000 {
				t.Fatalf("%s: no end", name)
			}
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Open(ctx, cached(t, "photos/flower.png")); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want context.Canceled", err)
	}
}

func TestPictureNumbers(t *testing.T) {
	p := openBytes(t, pngFile(2, 2, 8, pngRGB, []uint16{0, 51, 255, 1, 2, 3, 4, 5, 6, 102, 0, 204}))
	if got := p.At(1, 1); !slices.Equal(got, []float64{0.4, 0, 0.8}) {
		t.Errorf("At = %v", got)
	}
	if got := p.AppendRow([]float64{9}, 0); !slices.Equal(got[:4], []float64{9, 0, 0.2, 1}) || len(got) != 7 {
		t.Errorf("AppendRow = %v", got)
	}
	p = openBytes(t, pngFile(1, 1, 16, pngGrey, []uint16{13107}))
	if got := p.At(0, 0); !slices.Equal(got, []float64{0.2}) {
		t.Errorf("At, 16 bits = %v", got)
	}
	if rgb := p.RGB(); rgb.Channels != 3 || !slices.Equal(rgb.At(0, 0), []float64{0.2, 0.2, 0.2}) || p.Channels != 1 {
		t.Errorf("RGB = %+v", rgb)
	}
	for _, at := range []image.Point{{-1, 0}, {0, -1}, {1, 0}, {0, 1}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("At(%v) does not panic", at)
				}
			}()
			p.At(at.X, at.Y)
		}()
	}
}

func BenchmarkOpen(b *testing.B) {
	for _, name := range []string{"flower.png", "flower_420.jpg"} {
		b.Run(name, func(b *testing.B) {
			data := read(b, cached(b, "photos/"+name))
			b.SetBytes(2268 * 1512) // MB/s reads as megapixels a second
			for b.Loop() {
				if _, err := OpenReader(b.Context(), name, bytes.NewReader(data)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
