package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	"firstsheet/proof/coded"
)

// The six patches, 64 pixels a side.
var heifPatches = [6][3]int{{200, 30, 40}, {20, 120, 60}, {30, 60, 160}, {240, 220, 90}, {128, 128, 128}, {250, 250, 250}}

// lossy is what these encoders change at these qualities, in levels of 8 bits.
const lossy = 2.0

// isRead reports whether this build reads such a file; TestHEICLeftOut has the others.
func isRead(name string) bool { return coded.HEVC || !strings.HasSuffix(name, ".heic") }

func heif(t testing.TB, name string) []byte { return read(t, filepath.Join("testdata/heif", name)) }

// level returns a sample in levels of 8 bits.
func level(p *Picture, x, y, c int) float64 { return p.At(x, y)[c] * 255 }

func TestHEIFPatches(t *testing.T) {
	for _, c := range []struct {
		file   string
		format string
		depth  int
		space  string
		notes  int
	}{
		{"patches_10bit.heic", "HEIC", 16, "", 0},
		{"patches_8bit.avif", "AVIF", 8, "srgb", 0},
	} {
		if !isRead(c.file) {
			continue
		}
		p := openBytes(t, heif(t, c.file))
		id := ""
		if p.Space != nil {
			id = p.Space.ID
		}
		if p.Format != c.format || p.W != 192 || p.H != 128 || p.Channels != 3 || p.Depth != c.depth || id != c.space || len(p.Notes) != c.notes {
			t.Errorf("%s: %s %d x %d, %d channels of %d bits, space %q, notes %q", c.file, p.Format, p.W, p.H, p.Channels, p.Depth, id, p.Notes)
			continue
		}
		for i, rgb := range heifPatches {
			for ch, want := range rgb {
				if got := level(p, 32+64*(i%3), 32+64*(i/3), ch); got < float64(want)-lossy || got > float64(want)+lossy {
					t.Errorf("%s: patch %d channel %d = %.1f, want %d ± %g", c.file, i, ch, got, want, lossy)
				}
			}
		}
	}
}

// 10 bits are kept: a step of one of them is finer than 8 bits tell apart.
func TestAVIFDeepAndTurned(t *testing.T) {
	p := openBytes(t, heif(t, "patches_10bit_turned.avif"))
	if p.Depth != 16 || p.W != 128 || p.H != 192 || p.Space == nil || p.Space.ID != "displayp3" {
		t.Fatalf("%d x %d of %d bits in %v", p.W, p.H, p.Depth, p.Space)
	}
	// A quarter turn anticlockwise puts patch 3 (blue) above the left column's first;
	// mirrored left to right, the right column is that of the upper row.
	for i, want := range []int{5, 2, 4, 1, 3, 0} {
		for ch := range 3 {
			got := level(p, 32+64*(i%2), 32+64*(i/2), ch)
			if d := got - float64(heifPatches[want][ch]); d < -0.3 || d > 0.3 {
				t.Errorf("place %d channel %d = %.2f, want patch %d: %d ± 0.3", i, ch, got, want, heifPatches[want][ch])
			}
		}
	}
}

// Wherever the library has found a libavif of the system's it is not used: here none is loaded,
// and to call it would fail.
func TestAVIFInTheSandbox(t *testing.T) {
	avifOutside = true
	if p := openBytes(t, heif(t, "patches_8bit.avif")); p.W != 192 || avifOutside {
		t.Errorf("%d pixels wide, outside %v", p.W, avifOutside)
	}
}

func TestHEIFKinds(t *testing.T) {
	crop := openBytes(t, heif(t, "patches_cropped.avif"))
	if crop.W != 64 || crop.H != 64 || level(crop, 1, 1, 1) < 118 || level(crop, 62, 62, 1) > 122 {
		t.Errorf("cropped to %d x %d, green %.0f", crop.W, crop.H, level(crop, 1, 1, 1))
	}
	tiles := openBytes(t, heif(t, "patches_tiles.avif"))
	for i, rgb := range heifPatches {
		if got := level(tiles, 64+128*(i%3), 64+128*(i/3), 0); got < float64(rgb[0])-lossy || got > float64(rgb[0])+lossy {
			t.Errorf("tile %d red = %.0f, want %d", i, got, rgb[0])
		}
	}
	for _, name := range []string{"patches_alpha.avif", "patches_alpha.heic"} {
		if !isRead(name) {
			continue
		}
		alpha := openBytes(t, heif(t, name))
		if alpha.Alpha == nil || alpha.Alpha[96*192+160] != 0 || alpha.Alpha[32*192+32] != 255 || level(alpha, 160, 96, 0) < 254 ||
			alpha.Alpha[96*192+32] < 127 || alpha.Alpha[96*192+32] > 129 {
			t.Errorf("transparency of %s: %v", name, alpha.Notes)
		}
	}
	_, err := OpenReader(t.Context(), "x", bytes.NewReader(heif(t, "patches_12bit_pq.avif")))
	if e, ok := errors.AsType[*Error](err); !ok || e.Kind != Unsupported || !strings.Contains(err.Error(), "PQ") {
		t.Errorf("PQ: %v", err)
	}
}

// codedItem is the main picture or its first tile: small ones are coded larger, as the
// tile of a grid.
func codedItem(f *heifFile) *heifItem {
	it := f.items[f.primary]
	if it.kind == "grid" {
		it = f.items[it.refs["dimg"][0]]
	}
	return it
}

// remade returns a HEIF file with the coded picture of another one: its main
// picture is that picture, or a grid of across by down of it, with more properties.
func remade(t testing.TB, from []byte, brand string, across, down int, props ...[]byte) []byte {
	f, err := parseHEIF(from)
	if err != nil {
		t.Fatal(err)
	}
	coded := codedItem(f)
	payload := f.bytes(coded)
	w, h, _ := coded.size()
	mk := func(kind string, parts ...[]byte) []byte {
		body := bytes.Join(parts, nil)
		return append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), append([]byte(kind), body...)...)
	}
	full := make([]byte, 4)
	u16 := func(v ...int) (out []byte) {
		for _, n := range v {
			out = binary.BigEndian.AppendUint16(out, uint16(n))
		}
		return out
	}
	u32 := func(v ...int) (out []byte) {
		for _, n := range v {
			out = binary.BigEndian.AppendUint32(out, uint32(n))
		}
		return out
	}
	config := "av1C"
	if coded.kind == "hvc1" {
		config = "hvcC"
	}
	// Items 1 to tiles are the coded picture, the grid follows them.
	tiles, main := across*down, 1
	if tiles > 1 {
		main = tiles + 1
	}
	ipco := [][]byte{mk("ispe", full, u32(int(w), int(h))), mk(config, coded.property(config)), mk("ispe", full, u32(int(w)*across, int(h)*down))}
	ipco = append(ipco, props...)
	grid := slices.Concat([]byte{0, 0, byte(down - 1), byte(across - 1)}, u16(int(w)*across, int(h)*down))
	build := func(at int) []byte {
		var entries, places, lists, ids []byte
		for id := 1; id <= main; id++ {
			kind, size, list := coded.kind, len(payload), []byte{1, 0x82}
			if id > tiles {
				kind, at, size, list = "grid", at+len(payload), len(grid), []byte{3}
			}
			for i := range props {
				if id == main {
					list = append(list, byte(4+i))
				}
			}
			entries = append(entries, mk("infe", []byte{2, 0, 0, 0}, u16(id, 0), []byte(kind), []byte{0})...)
			places = append(places, slices.Concat(u16(id, 0, 1), u32(at, size))...)
			lists = append(lists, slices.Concat(u16(id), []byte{byte(len(list))}, list)...)
			if id <= tiles {
				ids = append(ids, u16(id)...)
			}
		}
		var refs []byte
		if tiles > 1 {
			refs = mk("iref", full, mk("dimg", u16(main, tiles), ids))
		}
		meta := mk("meta", full,
			mk("hdlr", full, u32(0), []byte("pict"), make([]byte, 13)),
			mk("pitm", full, u16(main)),
			mk("iloc", full, []byte{0x44, 0}, u16(main), places),
			mk("iinf", full, u16(main), entries), refs,
			mk("iprp", mk("ipco", ipco...), mk("ipma", full, u32(main), lists)))
		return append(mk("ftyp", []byte(brand), u32(0), []byte("mif1heicavif")), meta...)
	}
	head := build(0)
	return slices.Concat(build(len(head)+8), mk("mdat", payload, grid))
}

func property(kind string, body ...byte) []byte {
	return append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), append([]byte(kind), body...)...)
}

// All turns and mirrors come out as another program shows them, for both kinds;
// and a picture of tiles, under a brand that says nothing of the codec.
func TestHEIFAsOtherReader(t *testing.T) {
	type file struct {
		name string
		data []byte
	}
	var files []file
	sources := map[string][]byte{"heic": heif(t, "patches_420_p3.heic"), "avif": heif(t, "patches_8bit.avif")}
	for ending, data := range sources {
		if !isRead("x." + ending) {
			continue
		}
		for turn := range byte(4) {
			files = append(files, file{fmt.Sprintf("turn%d.%s", turn, ending), remade(t, data, ending, 1, 1, property("irot", turn))})
			files = append(files, file{fmt.Sprintf("both%d.%s", turn, ending), remade(t, data, ending, 1, 1, property("irot", turn), property("imir", turn&1))})
		}
		files = append(files, file{"tiles." + ending, remade(t, data, "mif1", 2, 3)})
	}
	dir := t.TempDir()
	for _, f := range files {
		path := filepath.Join(dir, f.name)
		if err := os.WriteFile(path, f.data, 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.CommandContext(t.Context(), "convert", path, "-strip", "-depth", "8", "ppm:-").Output()
		if err != nil {
			t.Fatalf("%s: %v", f.name, err)
		}
		var w, h int
		if _, err := fmt.Sscanf(string(out), "P6\n%d %d\n255\n", &w, &h); err != nil {
			t.Fatalf("%s: %v", f.name, err)
		}
		want := out[len(out)-3*w*h:]
		p := open(t, path)
		if p.W != w || p.H != h {
			t.Errorf("%s: %d x %d, want %d x %d", f.name, p.W, p.H, w, h)
			continue
		}
		for y := 32; y < h; y += 64 { // middles of the patches: at their edges colour is interpolated in other ways
			for x := 32; x < w; x += 64 {
				for c := range 3 {
					if d := int(p.Pix8[3*(y*w+x)+c]) - int(want[3*(y*w+x)+c]); d < -2 || d > 2 {
						t.Errorf("%s at %d, %d channel %d: %d, want %d ± 2", f.name, x, y, c, p.Pix8[3*(y*w+x)+c], want[3*(y*w+x)+c])
					}
				}
			}
		}
	}
}

// Whatever a file claims, it is refused by a typed error before it is decoded, or
// the decoder's sandbox bears it.
func TestHEIFHostile(t *testing.T) {
	for name := range map[string]bool{"patches_420_p3.heic": true, "patches_10bit_turned.avif": true} {
		data := heif(t, name)
		for n := 0; n < len(data)-1; n += 1 + n/16 {
			if tryOpen(t, fmt.Sprintf("%s cut to %d", name, n), data[:n], defaultLimits()) && n < len(data)/2 {
				t.Errorf("%s: %d of %d bytes make a picture", name, n, len(data))
			}
		}
	}
	src := heif(t, "patches_8bit.avif")
	patched := func(kind string, at int, v ...byte) []byte {
		out := bytes.Clone(src)
		copy(out[bytes.Index(out, []byte(kind))+4+at:], v)
		return out
	}
	many := bytes.Repeat(property("free"), maxBoxes+1)
	for what, c := range map[string]struct {
		data []byte
		kind Kind
	}{
		"a size of 4 gigapixels":   {patched("ispe", 4, 0, 1, 0, 0, 0, 1, 0, 0), TooLarge},
		"no size":                  {patched("ispe", 4, 0, 0, 0, 0, 0, 0, 0, 0), Damaged},
		"more than an AVIF's most": {patched("ispe", 4, 0, 0, 0x2e, 0xe0, 0, 0, 0x1f, 0x40), TooLarge},
		"no main picture":          {patched("pitm", 4, 0, 9), Damaged},
		"boxes without end":        {append(bytes.Clone(src), many...), TooLarge},
	} {
		_, err := decode(t.Context(), "x", c.data, defaultLimits())
		if e, ok := errors.AsType[*Error](err); !ok || e.Kind != c.kind {
			t.Errorf("%s: %v, want %v", what, err, c.kind)
		}
	}
	// Extents that lie over each other do not multiply a file.
	f := &heifFile{data: make([]byte, 100)}
	it := &heifItem{extents: slices.Repeat([]extent{{0, 60}}, 1000)}
	if got := f.bytes(it); got != nil {
		t.Errorf("%d bytes out of 100", len(got))
	}
	// A picture of 192 x 128 out of tiles of that size, 400 of them.
	grid := remade(t, src, "avif", 20, 20)
	small := bytes.Clone(grid)
	i := bytes.LastIndex(small, []byte("ispe"))
	binary.BigEndian.PutUint32(small[i+8:], 192)
	binary.BigEndian.PutUint32(small[i+12:], 128)
	copy(small[len(small)-4:], []byte{0, 192, 0, 128})
	if _, err := decode(t.Context(), "x", small, defaultLimits()); err == nil || !strings.Contains(err.Error(), "400 tiles") {
		t.Errorf("400 tiles: %v", err)
	}
}

func TestHEIFStops(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := OpenReader(ctx, "x", bytes.NewReader(heif(t, "patches_8bit.avif"))); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	// Who waits for another's picture can be stopped, too.
	foreign <- struct{}{}
	defer func() { <-foreign }()
	ctx, stop = context.WithCancel(t.Context())
	time := make(chan error)
	go func() {
		_, err := besides(ctx, "AVIF", func() (int, error) { return 1, nil })
		time <- err
	}()
	stop()
	if err := <-time; !errors.Is(err, context.Canceled) {
		t.Errorf("stopped while waiting: %v", err)
	}
}

// Raw files are told from pictures that are laid out alike, whoever made them.
func TestKnownButNotOpened(t *testing.T) {
	sub := func(photometric uint32) []byte { // a preview, and the sensor's picture in a directory of its own
		spec := tiffSpec{order: le, w: 4, h: 4, bits: 8, samples: 3, photometric: tiffRGB, compression: tiffNone, rows: 4, data: noise(48, 8, 1)}
		data := spec.bytes()
		at := binary.LittleEndian.Uint32(data[4:])
		n := binary.LittleEndian.Uint16(data[at:])
		dir := bytes.Clone(data[at+2 : at+2+12*uint32(n)])
		entry := func(tag uint16, v uint32) []byte {
			e := binary.LittleEndian.AppendUint16(nil, tag)
			e = binary.LittleEndian.AppendUint16(e, tiffLong)
			e = binary.LittleEndian.AppendUint32(e, 1)
			return binary.LittleEndian.AppendUint32(e, v)
		}
		subAt := uint32(len(data))
		data = append(data, 1, 0)
		data = append(data, entry(tagPhotometric, photometric)...)
		data = append(data, 0, 0, 0, 0)
		binary.LittleEndian.PutUint32(data[4:], uint32(len(data)))
		data = binary.LittleEndian.AppendUint16(data, n+1)
		data = append(append(data, dir...), entry(330, subAt)...)
		return append(data, 0, 0, 0, 0)
	}
	if !tryOpen(t, "a preview alone", sub(tiffRGB), defaultLimits()) {
		t.Error("a TIFF with an ordinary second picture is not opened")
	}
	for what, c := range map[string]struct{ data, says string }{
		"mosaic":    {string(sub(tiffCFA)), "develop"},
		"linear":    {string(sub(tiffLinearRaw)), "develop"},
		"boxes":     {"\x00\x00\x00\x18ftypcrx \x00\x00\x00\x01crx isom", "develop"},
		"layers":    {"8BPS\x00\x01", "flat copy"},
		"film":      {"\x00\x00\x00\x14ftypisom\x00\x00\x02\x00mp41", "frame"},
		"archive":   {"PK\x03\x04\x14\x00\x00\x00", "unpack"},
		"own marks": {"IIU\x00\x08\x00\x00\x00", "develop"},
	} {
		_, err := decode(t.Context(), "x", []byte(c.data), defaultLimits())
		if e, ok := errors.AsType[*Error](err); !ok || e.Kind != Unsupported || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// An AVIF that would take more than the budget, here 8000 x 6500 pixels of 8 bits and 6500 x 6000
// of 10, is refused before it is decoded; the limit while one is decoded ends with it.
func TestAVIFWithinTheBudget(t *testing.T) {
	before := debug.SetMemoryLimit(-1)
	for name, size := range map[string][2]uint32{"patches_8bit.avif": {8000, 6500}, "patches_10bit_turned.avif": {6500, 6000}} {
		openBytes(t, heif(t, name))
		large := bytes.Clone(heif(t, name))
		at := bytes.Index(large, []byte("ispe")) + 8
		be.PutUint32(large[at:], size[0])
		be.PutUint32(large[at+4:], size[1])
		_, err := OpenReader(t.Context(), name, bytes.NewReader(large))
		if wantKind(t, err, TooLarge, name); err == nil || !strings.Contains(err.Error(), "MB to open; at most 2048") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if after := debug.SetMemoryLimit(-1); after != before {
		t.Errorf("the memory limit is %d, it was %d", after, before)
	}
}
