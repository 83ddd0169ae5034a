package photo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/kovidgoyal/imaging/prism/meta/jpegmeta"
	"github.com/kovidgoyal/imaging/prism/meta/pngmeta"
	"golang.org/x/image/tiff"

	"firstsheet/proof/aside"
	"firstsheet/proof/stoptest"
)

// made is a picture in memory with noise for samples.
func made(w, h, channels, depth int) *Picture {
	p := &Picture{W: w, H: h, Channels: channels, Depth: depth}
	data := noise(w*h*channels, depth, 8)
	if depth == 16 {
		p.Pix16 = data
		return p
	}
	p.Pix8 = make([]uint8, len(data))
	for i, v := range data {
		p.Pix8[i] = uint8(v)
	}
	return p
}

// names returns what lies in dir.
func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// What is written without loss is read back sample for sample, by this package
// and by other decoders, with its profile.
func TestWriteLossless(t *testing.T) {
	for _, ext := range []string{".png", ".tif", ".TIFF", "-lzw.tif"} {
		for _, channels := range []int{1, 3, 4, 6, 15} {
			for _, depth := range []int{8, 16} {
				if channels > 3 && ext == ".png" {
					continue
				}
				what := fmt.Sprintf("%s, %d channels of %d bits", ext, channels, depth)
				path := filepath.Join(t.TempDir(), "out"+ext)
				p := made(301, 211, channels, depth)
				p.ICC = fakeICC(map[int]string{1: "GRAY", 3: "RGB ", 4: "CMYK", 6: "6CLR", 15: "FCLR"}[channels], 70001)
				opts := WriteOptions{PPI: 360}
				if ext == "-lzw.tif" {
					opts.Packing = LZW
				}
				if err := Write(t.Context(), path, p, opts); err != nil {
					t.Errorf("%s: %v", what, err)
					continue
				}
				q := open(t, path)
				if q.W != p.W || q.H != p.H || q.Channels != channels || q.Depth != depth || !bytes.Equal(q.ICC, p.ICC) || q.Notes != nil {
					t.Errorf("%s: read back as %d x %d, %d channels of %d bits, profile of %d bytes, notes %q", what, q.W, q.H, q.Channels, q.Depth, len(q.ICC), q.Notes)
				}
				equalSamples(t, what, q.samples(), p.samples())

				data := read(t, path)
				switch {
				case ext == ".png":
					img, err := png.Decode(bytes.NewReader(data))
					if err != nil {
						t.Fatal(err)
					}
					other, err := FromImage(t.Context(), img)
					if err != nil {
						t.Fatal(err)
					}
					equalSamples(t, what+", other decoder", other.samples(), p.samples())
					md, err := pngmeta.ExtractMetadata(bytes.NewReader(data))
					if err != nil {
						t.Fatal(err)
					}
					if icc, err := md.ICCProfileData(); err != nil || !bytes.Equal(icc, p.ICC) {
						t.Errorf("%s: the other reader finds a profile of %d bytes, error %v", what, len(icc), err)
					}
				case channels < 4: // inks the other decoder does not know
					img, err := tiff.Decode(bytes.NewReader(data))
					if err != nil {
						t.Fatal(err)
					}
					other, err := FromImage(t.Context(), img)
					if err != nil {
						t.Fatal(err)
					}
					equalSamples(t, what+", other decoder", other.samples(), p.samples())
				}
			}
		}
	}
}

func TestWriteJPEG(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.jpeg")
	p := &Picture{W: 120, H: 80, Channels: 3, Depth: 8, Pix8: make([]uint8, 120*80*3)}
	for y := range p.H {
		for x := range p.W {
			copy(p.Pix8[(y*p.W+x)*3:], []uint8{uint8(40 + x), uint8(60 + y), uint8(200 - x)})
		}
	}
	p.ICC = read(t, cached(t, "profiles/ISOcoated_v2_300_bas.icc"))
	copy(p.ICC[16:], "RGB ") // its size is what matters here
	if err := Write(t.Context(), path, p, WriteOptions{PPI: 299.6}); err != nil {
		t.Fatal(err)
	}
	q := open(t, path)
	if q.W != 120 || q.H != 80 || q.Channels != 3 || !bytes.Equal(q.ICC, p.ICC) {
		t.Errorf("%d x %d, %d channels, profile of %d bytes", q.W, q.H, q.Channels, len(q.ICC))
	}
	worst := 0
	for i := range p.Pix8 {
		worst = max(worst, int(p.Pix8[i])-int(q.Pix8[i]), int(q.Pix8[i])-int(p.Pix8[i]))
	}
	// Differences of full resolution at the usual quality miss by a few levels.
	if worst > 4 {
		t.Errorf("off by %d levels", worst)
	}
	data := read(t, path)
	md, err := jpegmeta.ExtractMetadata(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if icc, err := md.ICCProfileData(); err != nil || !bytes.Equal(icc, p.ICC) {
		t.Errorf("the other reader finds a profile of %d bytes, error %v", len(icc), err)
	}
	if _, err := jpeg.Decode(bytes.NewReader(data)); err != nil {
		t.Errorf("the standard library: %v", err)
	}
	// JFIF: density unit inches, 300 both ways.
	if want := []byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01\x02\x01\x01\x2c\x01\x2c\x00\x00"); !bytes.HasPrefix(data, want) {
		t.Errorf("it starts with % x", data[:24])
	}

	// 16 bits go in unrounded: a hundred and three quarters comes back as the next level.
	grey := &Picture{W: 8, H: 8, Channels: 1, Depth: 16, Pix16: slices.Repeat([]uint16{100*257 + 193}, 64)}
	if err := Write(t.Context(), path, grey, WriteOptions{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	if q := open(t, path); q.Channels != 1 || q.Pix8[9] != 101 {
		t.Errorf("%d channels, grey %d, want 101", q.Channels, q.Pix8[9])
	}
	// A lower quality makes a smaller file.
	sizes := map[int]int{}
	for _, quality := range []int{0, 40, defaultQuality} {
		if err := Write(t.Context(), path, p, WriteOptions{Quality: quality}); err != nil {
			t.Fatal(err)
		}
		sizes[quality] = len(read(t, path))
	}
	if sizes[40] >= sizes[defaultQuality] || sizes[0] != sizes[defaultQuality] {
		t.Errorf("sizes by quality: %v", sizes)
	}
}

// The resolution is in the file as its format has it.
func TestWriteResolution(t *testing.T) {
	dir := t.TempDir()
	p := made(4, 4, 3, 8)
	write := func(name string, ppi float64) []byte {
		path := filepath.Join(dir, name)
		if err := Write(t.Context(), path, p, WriteOptions{PPI: ppi}); err != nil {
			t.Fatal(err)
		}
		return read(t, path)
	}
	// 300 pixels an inch are 11,811 a metre.
	if want := pngChunk("pHYs", []byte{0, 0, 0x2e, 0x23, 0, 0, 0x2e, 0x23, 1}); !bytes.Contains(write("a.png", 300), want) {
		t.Error("PNG: no pHYs of 11811")
	}
	if bytes.Contains(write("b.png", 0), []byte("pHYs")) {
		t.Error("PNG: pHYs without a resolution")
	}
	for _, c := range []struct {
		ppi  float64
		unit uint32
		want float64
	}{{360, 2, 360}, {299.5, 2, 299.5}, {0, 1, 1}} {
		f, err := parseTIFFHeader(memory(write("c.tif", c.ppi)))
		if err != nil {
			t.Fatal(err)
		}
		d, err := f.dir(f.first)
		if err != nil {
			t.Fatal(err)
		}
		unit, _ := d.int(tagResolutionUnit, 0)
		for _, tag := range []uint16{tagXResolution, tagYResolution} {
			b, err := d.bytes(tag)
			if err != nil || len(b) != 8 {
				t.Fatalf("%d bytes, error %v", len(b), err)
			}
			if v := float64(le.Uint32(b)) / float64(le.Uint32(b[4:])); unit != c.unit || math.Abs(v-c.want) > 1e-9 {
				t.Errorf("TIFF at %g: %g, unit %d", c.ppi, v, unit)
			}
		}
	}
}

// The parts of a TIFF lie where TIFF 6.0 wants them.
func TestWriteTIFFStructure(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	p := made(1000, 333, 3, 16) // several strips, the last one short
	p.ICC = fakeICC("RGB ", 201)
	if err := Write(t.Context(), path, p, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	data := read(t, path)
	f, err := parseTIFFHeader(memory(data))
	if err != nil {
		t.Fatal(err)
	}
	if f.first%2 != 0 {
		t.Errorf("the directory lies at %d, not on a word", f.first)
	}
	d, err := f.dir(f.first)
	if err != nil {
		t.Fatal(err)
	}
	last := uint16(0)
	for i := range len(d.entries) {
		tag := le.Uint16(data[int(f.first)+2+12*i:])
		if tag <= last {
			t.Errorf("tag %d behind %d", tag, last)
		}
		last = tag
	}
	for tag, e := range d.entries {
		if b, err := d.bytes(tag); err != nil {
			t.Error(err)
		} else if off := le.Uint32(e.value[:]); len(b) > 4 && off%2 != 0 {
			t.Errorf("tag %d: value at %d, not on a word", tag, off)
		}
	}
	offsets, _ := d.ints(tagStripOffsets, 1000)
	if len(offsets) < 5 || d.next != 0 {
		t.Errorf("%d strips, next directory %d", len(offsets), d.next)
	}
	// Baseline RGB requires these (TIFF 6.0, section 6).
	for _, tag := range []uint16{256, 257, 258, 259, 262, 273, 277, 278, 279, 282, 283, 296} {
		if !d.has(tag) {
			t.Errorf("tag %d is missing", tag)
		}
	}
}

func TestWriteRefused(t *testing.T) {
	dir := t.TempDir()
	rgb, cmyk := made(2, 2, 3, 8), made(2, 2, 4, 8)
	short := made(2, 2, 3, 8)
	short.Pix8 = short.Pix8[1:]
	wide := &Picture{W: 65536, H: 1, Channels: 1, Depth: 8, Pix8: make([]uint8, 65536)}
	for _, c := range []struct {
		name string
		p    *Picture
		opts WriteOptions
	}{
		{"a.bmp", rgb, WriteOptions{}},
		{"a", rgb, WriteOptions{}},
		{"a.png", cmyk, WriteOptions{}},
		{"a.jpg", cmyk, WriteOptions{}},
		{"a.jpg", wide, WriteOptions{}},
		{"a.png", short, WriteOptions{}},
		{"a.png", &Picture{}, WriteOptions{}},
		{"a.png", rgb, WriteOptions{PPI: -1}},
		{"a.png", rgb, WriteOptions{PPI: math.NaN()}},
		{"a.jpg", rgb, WriteOptions{Quality: 101}},
	} {
		path := filepath.Join(dir, c.name)
		wantKind(t, Write(t.Context(), path, c.p, c.opts), Unsupported, path)
	}
	if left := names(t, dir); left != nil {
		t.Errorf("left behind: %q", left)
	}
}

// When writing fails in whatever way, the folder is as it was.
func TestWriteLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "proof.tif")
	if err := os.WriteFile(path, []byte("before"), 0o640); err != nil {
		t.Fatal(err)
	}
	intact := func(what string) {
		t.Helper()
		if left := names(t, dir); !slices.Equal(left, []string{"proof.tif"}) {
			t.Errorf("%s: the folder holds %q", what, left)
		}
		if got := read(t, path); string(got) != "before" {
			t.Errorf("%s: the file was changed to %d bytes", what, len(got))
		}
	}
	full := aside.Write(path, func(f *os.File) error {
		if _, err := f.WriteString("half of"); err != nil {
			return err
		}
		return &os.PathError{Op: "write", Path: f.Name(), Err: syscall.ENOSPC}
	})
	if !errors.Is(full, syscall.ENOSPC) || writeKind(full) != DiskFull {
		t.Errorf("full disk: %v, kind %v", full, writeKind(full))
	}
	intact("full disk")

	// The context may end at any time.
	for _, name := range []string{"proof.tif", "proof.png", "proof.jpg"} {
		for n := 0; ; n++ {
			target := filepath.Join(dir, name)
			err := Write(stoptest.EndsAfter(t.Context(), n), target, made(300, 300, 3, 8), WriteOptions{})
			if err == nil {
				if n < 3 {
					t.Errorf("%s: the context was asked %d times", name, n)
				}
				if err := os.WriteFile(path, []byte("before"), 0o640); err != nil {
					t.Fatal(err)
				}
				if target != path {
					os.Remove(target)
				}
				break
			}
			if !errors.Is(err, context.Canceled) {
				t.Errorf("%s, stopped after %d looks: %v", name, n, err)
				break
			}
			intact(name)
		}
	}

	missing := filepath.Join(dir, "no", "such", "folder.png")
	wantKind(t, Write(t.Context(), missing, made(2, 2, 3, 8), WriteOptions{}), NotWritable, missing)
	inFile := filepath.Join(path, "x.png")
	wantKind(t, Write(t.Context(), inFile, made(2, 2, 3, 8), WriteOptions{}), NotWritable, inFile)
	folder := filepath.Join(t.TempDir(), "x.png")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	wantKind(t, Write(t.Context(), folder, made(2, 2, 3, 8), WriteOptions{}), NotWritable, folder)
	if left := names(t, filepath.Dir(folder)); !slices.Equal(left, []string{"x.png"}) {
		t.Errorf("beside a folder: %q", left)
	}
	intact("hopeless places")
}

func TestWriteReplaces(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "proof.png")
	p := made(3, 3, 3, 8)
	if err := Write(t.Context(), path, p, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" {
		// Not private to the writer, as temporary files are.
		if info, err := os.Stat(path); err != nil || info.Mode().Perm()&0o600 != 0o600 || info.Mode().Perm() == 0o600 && umaskAllows(t, dir) {
			t.Errorf("mode %v, error %v", info.Mode(), err)
		}
		if err := os.Chmod(path, 0o640); err != nil {
			t.Fatal(err)
		}
	}
	link := filepath.Join(t.TempDir(), "link.png")
	if err := os.Symlink(path, link); err != nil {
		t.Fatal(err)
	}
	p = made(5, 4, 3, 8)
	if err := Write(t.Context(), link, p, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	if q := open(t, path); q.W != 5 {
		t.Errorf("the link's target has width %d, want 5", q.W)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is one no longer: %v, %v", info.Mode(), err)
	}
	if info, err := os.Stat(path); runtime.GOOS != "windows" && (err != nil || info.Mode().Perm() != 0o640) {
		t.Errorf("mode %v, want that of the file that was there", info.Mode())
	}
	// Originals are kept, under whatever name.
	err := Write(t.Context(), link, p, WriteOptions{Keep: []string{"elsewhere", path}})
	wantKind(t, err, NotWritable, link)
	if !strings.Contains(err.Error(), "original") {
		t.Errorf("error %v", err)
	}
}

// umaskAllows reports whether a new file here may be read by others.
func umaskAllows(t *testing.T, dir string) bool {
	t.Helper()
	f, err := os.OpenFile(filepath.Join(dir, "mode"), os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		t.Fatal(err)
	}
	defer os.Remove(f.Name())
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	return info.Mode().Perm() != 0o600
}
