package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/adler32"
	"image"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"io"

	"golang.org/x/image/tiff/lzw"

	"firstsheet/proof/raster"
)

// Bands that are joined are the same file's content, whatever their height.
func TestBandsJoin(t *testing.T) {
	// Wide enough for several bands: 4 MB are 21 rows of 16 bits here.
	p := made(33000, 70, 3, 16)
	for _, ext := range []string{".png", ".tif", ".jpg"} {
		path := filepath.Join(t.TempDir(), "wide"+ext)
		var rows []int
		if err := Write(t.Context(), path, p, WriteOptions{Progress: func(n int) { rows = append(rows, n) }}); err != nil {
			t.Fatal(err)
		}
		q := open(t, path)
		if ext != ".jpg" {
			equalSamples(t, ext, q.samples(), p.samples())
		}
		if len(rows) < 2 || rows[len(rows)-1] != p.H {
			t.Errorf("%s: progress %v, want several steps up to %d", ext, rows, p.H)
		}
	}
}

// Pixels with a fourth number make the very same files, whatever that is.
func TestPainted(t *testing.T) {
	dir := t.TempDir()
	p := made(333, 2000, 3, 8)
	img := image.NewRGBA(image.Rect(0, 0, p.W, p.H))
	for i := range p.W * p.H {
		copy(img.Pix[4*i:4*i+3], p.Pix8[3*i:])
		img.Pix[4*i+3] = uint8(i)
	}
	before := bytes.Clone(img.Pix)
	for _, ext := range []string{".png", ".tif", ".jpg"} {
		plain, painted := filepath.Join(dir, "plain"+ext), filepath.Join(dir, "painted"+ext)
		if err := errors.Join(Write(t.Context(), plain, p, WriteOptions{}), WriteRows(t.Context(), painted, Painted(img, p.ICC), WriteOptions{})); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(read(t, plain), read(t, painted)) {
			t.Errorf("%s: the files differ", ext)
		}
	}
	if !bytes.Equal(img.Pix, before) {
		t.Error("the pixels were changed")
	}
	r := Painted(img, nil)
	r.Depth = 16
	if err := WriteRows(t.Context(), filepath.Join(dir, "a.png"), r, WriteOptions{}); err == nil {
		t.Error("padded pixels of 16 bits are taken")
	}
}

// Made and not written, every row is asked for once.
func TestMake(t *testing.T) {
	r := made(1000, 3000, 3, 8).Rows()
	var rows atomic.Int64
	inner := r.Band
	r.Band = func(ctx context.Context, y0, y1 int) (raster.Pixels, error) {
		rows.Add(int64(y1 - y0))
		return inner(ctx, y0, y1)
	}
	if err := r.Make(t.Context()); err != nil || rows.Load() != 3000 {
		t.Errorf("%d rows, %v", rows.Load(), err)
	}
}

// What makes the picture may fail; its own error comes back and nothing is left.
func TestBandFails(t *testing.T) {
	dir := t.TempDir()
	fails := errors.New("the paper is gone")
	r := made(100, 100, 3, 8).Rows()
	r.Band = func(context.Context, int, int) (raster.Pixels, error) { return raster.Pixels{}, fails }
	for _, ext := range []string{".png", ".tif", ".jpg"} {
		if err := WriteRows(t.Context(), filepath.Join(dir, "a"+ext), r, WriteOptions{}); err != fails {
			t.Errorf("%s: %v", ext, err)
		}
	}
	if err := r.Make(t.Context()); err != fails {
		t.Errorf("made: %v", err)
	}
	named := &Error{Path: "another file", Kind: Damaged, Err: fails}
	r.Band = func(context.Context, int, int) (raster.Pixels, error) { return raster.Pixels{}, named }
	if err := WriteRows(t.Context(), filepath.Join(dir, "a.png"), r, WriteOptions{}); err != named {
		t.Errorf("%v, want the error of another file", err)
	}
	r.Band = func(context.Context, int, int) (raster.Pixels, error) { return raster.New(7, 7, 3, false), nil }
	if err := WriteRows(t.Context(), filepath.Join(dir, "a.tif"), r, WriteOptions{}); err == nil {
		t.Error("a band of a wrong size is taken")
	}
	if left := names(t, dir); left != nil {
		t.Errorf("left behind: %q", left)
	}
}

// Long and short runs, noise, and all lengths about the places where codes grow
// longer and the table is full, read back by the decoder of golang.org/x/image.
func TestLZW(t *testing.T) {
	noisy := make([]byte, 40000)
	for i, v := range noise(len(noisy), 8, 3) {
		noisy[i] = byte(v)
	}
	check := func(what string, data []byte) {
		t.Helper()
		var b bytes.Buffer
		w := newLZW(&b)
		for i := 0; i < len(data); i += 1000 {
			w.Write(data[i:min(len(data), i+1000)])
		}
		w.Close()
		got, err := io.ReadAll(lzw.NewReader(&b, lzw.MSB, 8))
		if err != nil || !bytes.Equal(got, data) {
			t.Fatalf("%s: %d bytes back of %d, error %v", what, len(got), len(data), err)
		}
	}
	check("nothing", nil)
	check("zeros", make([]byte, 300000))
	check("noise", noisy)
	for _, at := range []int{253, 510, 1022, 2046, 3836, 4094, 8000} {
		for n := at - 8; n < at+8; n++ {
			check(fmt.Sprintf("%d bytes of noise", n), noisy[:n])
		}
	}
}

func TestAdlerJoin(t *testing.T) {
	data := bytes.Repeat([]byte{0, 255, 17, 200, 3}, 40000)
	for _, cut := range []int{0, 1, 5551, 65521, len(data) - 1, len(data)} {
		a, b := adler32.Checksum(data[:cut]), adler32.Checksum(data[cut:])
		if got, want := adlerJoin(a, b, int64(len(data)-cut)), adler32.Checksum(data); got != want {
			t.Errorf("cut at %d: %08x, want %08x", cut, got, want)
		}
	}
}

// Colour differences keep their full resolution: stripes of one pixel in two colours
// of equal luma come back as two colours.
func TestJPEGFullColour(t *testing.T) {
	p := &Picture{W: 64, H: 64, Channels: 3, Depth: 8, Pix8: make([]uint8, 64*64*3)}
	colours := [2][]uint8{{200, 60, 60}, {60, 131, 60}}
	for i := range 64 * 64 {
		copy(p.Pix8[3*i:], colours[i%2])
	}
	path := filepath.Join(t.TempDir(), "a.jpg")
	if err := Write(t.Context(), path, p, WriteOptions{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	img, err := jpeg.Decode(bytes.NewReader(read(t, path)))
	if err != nil {
		t.Fatal(err)
	}
	if m := img.(*image.YCbCr); m.SubsampleRatio != image.YCbCrSubsampleRatio444 {
		t.Errorf("colour differences are %v", m.SubsampleRatio)
	}
	q := open(t, path)
	for i, v := range p.Pix8 {
		// Every step is 1 here; two roundings, and the matrix multiplies them by up to 1.8.
		if d := int(v) - int(q.Pix8[i]); max(d, -d) > 4 {
			t.Fatalf("sample %d = %d, want %d", i, q.Pix8[i], v)
		}
	}
}

// Plain colours come back within a level, by the published matrix of the decoder
// (T.871, 7).
func TestJPEGColours(t *testing.T) {
	colours := [][]uint8{{0, 0, 0}, {255, 255, 255}, {255, 0, 0}, {0, 255, 0}, {0, 0, 255}, {200, 30, 40}, {90, 120, 60}, {220, 180, 150}}
	p := &Picture{W: 8 * len(colours), H: 8, Channels: 3, Depth: 8, Pix8: make([]uint8, 64*3*len(colours))}
	for i := range p.W * p.H {
		copy(p.Pix8[3*i:], colours[i%p.W/8])
	}
	path := filepath.Join(t.TempDir(), "a.jpg")
	if err := Write(t.Context(), path, p, WriteOptions{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	q := open(t, path)
	for i, v := range p.Pix8 {
		if d := int(v) - int(q.Pix8[i]); max(d, -d) > 1 {
			t.Fatalf("%v comes back as %v", p.Pix8[i/3*3:i/3*3+3], q.Pix8[i/3*3:i/3*3+3])
		}
	}
}

// exifSample makes a big-endian Exif block as a camera writes it, with a place.
func exifSample() []byte {
	be := binary.BigEndian
	entry := func(b []byte, tag, typ uint16, count uint32, value []byte) []byte {
		b = be.AppendUint32(be.AppendUint16(be.AppendUint16(b, tag), typ), count)
		return append(b, append(value, make([]byte, 4-len(value))...)...)
	}
	long := func(v uint32) []byte { return be.AppendUint32(nil, v) }
	b := []byte("MM\x00*\x00\x00\x00\x08")
	// 4 entries from 8: ends at 8+2+48+4 = 62.
	b = be.AppendUint16(b, 4)
	b = entry(b, tagMake, 2, 8, long(62))
	b = entry(b, tagOrientation, 3, 1, []byte{0, 6})
	b = entry(b, tagExifDir, 4, 1, long(70))
	b = entry(b, tagGPSDir, 4, 1, long(116))
	b = be.AppendUint32(b, 0)
	b = append(b, "Harbour\x00"...) // 62 to 70
	b = be.AppendUint16(b, 3)       // 70: ends at 70+2+36 = 108, no next
	b = entry(b, 0x829A, 5, 1, long(108))
	b = entry(b, tagMakerNote, 7, 4, []byte("note"))
	b = entry(b, tagPixelWidth, 3, 1, []byte{0x10, 0})
	b = append(b, 0, 0, 0, 1, 0, 0, 0, 250) // 108 to 116: 1/250 s
	b = be.AppendUint16(b, 1)
	b = entry(b, 1, 2, 2, []byte("N\x00"))
	return be.AppendUint32(b, 0)
}

const xmpSample = `<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:exif="http://ns.adobe.com/exif/1.0/" xmlns:t="http://ns.adobe.com/tiff/1.0/" xmlns:photoshop="http://ns.adobe.com/photoshop/1.0/" xmlns:dc="http://purl.org/dc/elements/1.1/"
 exif:GPSLatitude="59,20.1N" t:Orientation='6' photoshop:City="Harbour town" photoshop:Headline="Regatta &lt;day&gt;">
<exif:GPSLongitude>18,4.2E</exif:GPSLongitude>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">The red boat</rdf:li></rdf:Alt></dc:title>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>`

// exiftool reads with the independent utility (Debian: libimage-exiftool-perl), one
// "Tag: value" a line.
func exiftool(t *testing.T, path string) string {
	t.Helper()
	out, err := exec.Command("exiftool", "-s", "-G1", "-n", "-a", path).CombinedOutput()
	if err != nil {
		t.Fatalf("exiftool: %v %s (Debian package libimage-exiftool-perl)", err, out)
	}
	return string(out)
}

// What a picture says beside its pixels comes over, with the place or without it, and
// nothing that would be wrong about the new file. Read by an independent utility.
func TestCarry(t *testing.T) {
	source := Metadata{Exif: exifSample(), XMP: []byte(xmpSample)}
	for _, ext := range []string{".jpg", ".png", ".tif"} {
		for _, k := range []Keeping{KeepAllButPlace, KeepAll, KeepNothing} {
			p := made(40, 30, 3, 8)
			carried, notes := source.Carry(k, p.W, p.H)
			if notes != nil {
				t.Errorf("notes %q", notes)
			}
			path := filepath.Join(t.TempDir(), "a"+ext)
			if err := Write(t.Context(), path, p, WriteOptions{PPI: 300, Carried: carried}); err != nil {
				t.Fatal(err)
			}
			text := exiftool(t, path)
			say := func(want bool, parts ...string) {
				t.Helper()
				for _, s := range parts {
					found := false
					for _, line := range strings.Split(text, "\n") {
						all := true
						for _, word := range strings.Fields(s) {
							all = all && strings.Contains(line, word)
						}
						found = found || all
					}
					if found != want {
						t.Errorf("%s, %v: %q is there: %t\n%s", ext, k, s, found, text)
					}
				}
			}
			say(k != KeepNothing, "Make Harbour", "ExposureTime 0.004", "ExifImageWidth 40", "Headline Regatta <day>", "Title The red boat")
			say(k == KeepAll, "GPSLatitudeRef N", "GPSLatitude 59", "GPSLongitude 18", "City Harbour town")
			say(false, "MakerNote", "Orientation 6", "Warning")
			// The program reads it itself, and carries it on.
			q := open(t, path)
			if (q.Metadata.Exif != nil) != (k != KeepNothing) || (q.Metadata.XMP != nil) != (k != KeepNothing) {
				t.Errorf("%s, %v: read back Exif of %d and XMP of %d bytes", ext, k, len(q.Metadata.Exif), len(q.Metadata.XMP))
			}
			if q.W != 40 {
				t.Errorf("%s: it was turned once more", ext)
			}
		}
	}
	// Damage is left out and said.
	c, notes := Metadata{Exif: []byte("II*\x00\xff\xff\xff\x00"), XMP: []byte("<x><y></x>")}.Carry(KeepAll, 1, 1)
	if !c.Empty() || len(notes) != 2 {
		t.Errorf("damaged: %+v, notes %q", c, notes)
	}
}

// Entries that point to one place many times over take no more than they should.
func TestCarryBounded(t *testing.T) {
	le := binary.LittleEndian
	b := []byte("II*\x00\x08\x00\x00\x00")
	b = le.AppendUint16(b, 1)
	b = le.AppendUint32(le.AppendUint32(le.AppendUint16(le.AppendUint16(b, tagExifDir), tiffLong), 1), 26)
	b = le.AppendUint32(b, 0)
	const n = 2000
	b = le.AppendUint16(b, n)
	for i := range n {
		b = le.AppendUint32(le.AppendUint32(le.AppendUint16(le.AppendUint16(b, uint16(0x9300+i)), tiffUndefined), 1<<15), 0)
	}
	b = append(b, make([]byte, 1<<15)...)
	d, err := readExifDirs(b, true)
	if err != nil || !d.empty() {
		t.Errorf("%d entries are carried, %v", len(d.exif), err)
	}
	if m := (Metadata{Exif: make([]byte, maxKept+1), XMP: make([]byte, maxKept+1)}).kept(); m.Exif != nil || m.XMP != nil {
		t.Error("too much is kept")
	}
}

// A disk that is full and a folder that may not be written to leave nothing behind.
func TestFullDisk(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Fatal("this test needs a system with /dev/full")
	}
	f, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, ext := range []string{".tif", ".png", ".jpg"} {
		encode, err := encoderFor("a"+ext, made(300, 300, 3, 8).Rows(), WriteOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if err := encode(t.Context(), f); err == nil || writeKind(err) != DiskFull {
			t.Errorf("%s: %v, want a full disk", ext, err)
		}
	}
}
