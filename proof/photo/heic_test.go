//go:build !noheic

package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// ramp is the colour of testdata/heif/ramp_*.heic, of 4095.
func ramp(x, y int) [3]float64 {
	return [3]float64{float64(64*x + y), float64(85*y + x), float64(32 * (x + y))}
}

// Pictures of 10 and 12 bits, smaller than the decoder's blocks, keep what there is of them: a step
// of 10 bits is 4 of 4095, of 8 bits 16.
func TestHEICDeep(t *testing.T) {
	for _, c := range []struct {
		file       string
		most, mean float64 // of 4095, at any sample and of all
	}{
		{"ramp_12bit_lossless.heic", 1.5, 0.5}, // luma and differences were rounded
		{"ramp_10bit_alpha.heic", 21, 4},       // coded with loss
		{"ramp_10bit_422.heic", 53, 4},         // a colour sample is two pixels' mean
		{"ramp_10bit_420.heic", 48, 4},
	} {
		p := openBytes(t, heif(t, c.file))
		if p.W != 64 || p.H != 48 || p.Depth != 16 || p.Channels != 3 {
			t.Errorf("%s: %d x %d, %d channels of %d bits", c.file, p.W, p.H, p.Channels, p.Depth)
			continue
		}
		sum, worst, n := 0.0, 0.0, 0
		for y := range p.H {
			for x := range p.W {
				if p.Alpha != nil && x >= 32 {
					continue
				}
				for i, want := range ramp(x, y) {
					d := math.Abs(p.At(x, y)[i]*4095 - want)
					sum, worst, n = sum+d, max(worst, d), n+1
				}
			}
		}
		if worst > c.most || sum/float64(n) > c.mean {
			t.Errorf("%s: off by %.2f, %.2f in the mean, of 4095; at most %g and %g", c.file, worst, sum/float64(n), c.most, c.mean)
		}
	}
}

// Where the file says that there is no matrix, its planes come out as green, blue and red, to the last of
// 12 bits: here luma and differences of BT.601.
func TestHEICWithoutMatrix(t *testing.T) {
	nclx := property("colr", append([]byte("nclx"), 0, 2, 0, 2, 0, 0, 0x80)...)
	p := openBytes(t, remade(t, heif(t, "ramp_12bit_lossless.heic"), "heic", 1, 1, nclx))
	for y := range 48 {
		for x := range 64 {
			c := ramp(x, y)
			luma := 0.299*c[0] + 0.587*c[1] + 0.114*c[2]
			want := [3]float64{2048 + (c[0]-luma)/1.402, luma, 2048 + (c[2]-luma)/1.772}
			for i, v := range p.At(x, y) {
				if math.Abs(v*4095-want[i]) > 0.6 {
					t.Fatalf("%d, %d channel %d = %.2f, want %.2f ± 0.6", x, y, i, v*4095, want[i])
				}
			}
		}
	}
}

func TestHEICAlpha(t *testing.T) {
	p := openBytes(t, heif(t, "ramp_10bit_alpha.heic"))
	if p.Alpha == nil {
		t.Fatal("opaque")
	}
	for x := range 64 {
		a := 1.0
		if x >= 32 {
			a = 130 * float64(63-x) / 4095
		}
		if got := float64(p.Alpha[20*64+x]) / 255; math.Abs(got-a) > 0.01 {
			t.Errorf("opacity at %d = %.3f, want %.3f", x, got, a)
		}
		want := ramp(x, 20)[0]/4095*a + 1 - a
		if got := p.At(x, 20)[0]; math.Abs(got-want) > 0.01 {
			t.Errorf("red over paper at %d = %.3f, want %.3f", x, got, want)
		}
	}
}

// Every pixel is what another program makes of the file: with 8 bits the same, with 12 as near as it
// comes by rounding to them and widening them by a shift.
func TestHEICAsOtherReader(t *testing.T) {
	for name, step := range map[string]float64{"ramp_8bit_444": 0, "ramp_12bit_lossless": 1.5 * 16} {
		got, want := openBytes(t, heif(t, name+".heic")), openBytes(t, heif(t, name+".png"))
		if got.W != want.W || got.H != want.H || got.Depth != want.Depth {
			t.Fatalf("%s: %d x %d of %d bits, want %d x %d of %d", name, got.W, got.H, got.Depth, want.W, want.H, want.Depth)
		}
		for y := range got.H {
			for x := range got.W {
				for c, v := range got.At(x, y) {
					if w := want.At(x, y)[c]; math.Abs(v-w)*65535 > step+1e-6 {
						t.Fatalf("%s at %d, %d channel %d: %.1f, want %.1f ± %.0f of 65535", name, x, y, c, v*65535, w*65535, step)
					}
				}
			}
		}
	}
}

func TestHEICGrey(t *testing.T) {
	if p := openBytes(t, heif(t, "patches_grey.heic")); p.Channels != 1 || p.W != 192 || math.Abs(level(p, 96, 96, 0)-128) > lossy {
		t.Errorf("%d channels, level %.1f", p.Channels, level(p, 96, 96, 0))
	}
}

func TestHEICOddSize(t *testing.T) {
	p := openBytes(t, heif(t, "odd_8bit.heic"))
	if p.W != 65 || p.H != 49 {
		t.Fatalf("%d x %d", p.W, p.H)
	}
	if got, want := p.At(64, 48)[1]*4095, 82.0*48+64; math.Abs(got-want) > 60 {
		t.Errorf("last green %.0f, want %.0f", got, want)
	}
}

// Colour is interpolated across the seams of tiles: a picture of two equal ones is
// the picture itself on either side, and between them what lies between.
func TestHEICTiles(t *testing.T) {
	src := heif(t, "ramp_10bit_420.heic")
	one := openBytes(t, remade(t, src, "mif1", 1, 1))
	two := openBytes(t, remade(t, src, "mif1", 2, 1))
	if two.W != 128 || two.Depth != 16 {
		t.Fatalf("%d x %d of %d bits", two.W, two.H, two.Depth)
	}
	for y := range 48 {
		for x := range 128 {
			if x == 63 || x == 64 {
				continue
			}
			for c := range 3 {
				if got, want := two.At(x, y)[c], one.At(x%64, y)[c]; got != want {
					t.Fatalf("tiles at %d, %d: %v, want %v", x, y, got, want)
				}
			}
		}
	}
	if two.At(63, 20)[2] >= one.At(63, 20)[2] {
		t.Error("colour stops at the seam")
	}
}

// A profile goes before code points, those of the file before those of the coded
// picture, and codes that name nothing leave the question open.
func TestHEIFColour(t *testing.T) {
	src := heif(t, "patches_420_p3.heic")
	icc := fakeICC("RGB ", 400)
	nclx := func(p, tr, m byte) []byte {
		return property("colr", append([]byte("nclx"), 0, p, 0, tr, 0, m, 0)...)
	}
	profile := property("colr", append([]byte("prof"), icc...)...)
	for _, c := range []struct {
		what  string
		props [][]byte
		icc   bool
		id    string
		notes int
	}{
		{"profile after codes", [][]byte{nclx(9, 14, 1), profile}, true, "", 0},
		{"profile before codes", [][]byte{property("colr", append([]byte("rICC"), icc...)...), nclx(9, 14, 1)}, true, "", 0},
		{"codes over the coded picture's", [][]byte{nclx(9, 14, 1)}, false, "rec2020", 0},
		{"the coded picture's", nil, false, "displayp3", 0},
		{"unspecified", [][]byte{nclx(2, 2, 1)}, false, "", 0},
		{"unknown", [][]byte{nclx(22, 13, 1)}, false, "", 1},
	} {
		p := openBytes(t, remade(t, src, "heic", 1, 1, c.props...))
		id := ""
		if p.Space != nil {
			id = p.Space.ID
		}
		if (p.ICC != nil) != c.icc || id != c.id || len(p.Notes) != c.notes {
			t.Errorf("%s: profile of %d bytes, space %q, notes %q", c.what, len(p.ICC), id, p.Notes)
		}
		// The first patch was coded by BT.601 in full range. Luma is 82, Cr 84 above its
		// middle: read as BT.709 in video range, as the file states, red is 227.7.
		if got := level(p, 32, 32, 0); got < 225.7 || got > 229.7 {
			t.Errorf("%s: red %.0f, want 228 ± 2", c.what, got)
		}
	}
	for _, transfer := range []byte{cicpPQ, cicpHLG} {
		_, err := decode(t.Context(), "x", remade(t, src, "heic", 1, 1, nclx(9, transfer, 9)), defaultLimits())
		if e, ok := errors.AsType[*Error](err); !ok || e.Kind != Unsupported || !strings.Contains(err.Error(), "high dynamic range") {
			t.Errorf("curve %d: %v", transfer, err)
		}
	}
}

// A coded picture that ends early or is changed is refused or shown, never a panic; one
// that goes on is more than one picture.
func TestHEICHostile(t *testing.T) {
	src := heif(t, "ramp_10bit_420.heic")
	f, err := parseHEIF(src)
	if err != nil {
		t.Fatal(err)
	}
	item := codedItem(f)
	coded := f.bytes(item)
	at := bytes.Index(src, coded)
	for i := range len(coded) {
		for _, v := range []byte{0, 0xFF, coded[i] ^ 0x10} {
			changed := bytes.Clone(src)
			changed[at+i] = v
			tryOpen(t, fmt.Sprintf("byte %d = %d", i, v), changed, defaultLimits())
		}
	}
	record := item.property("hvcC")
	at = bytes.Index(src, record)
	for i := range record {
		for _, v := range []byte{0, 0xFF, record[i] ^ 0x10} {
			changed := bytes.Clone(src)
			changed[at+i] = v
			tryOpen(t, fmt.Sprintf("record, byte %d = %d", i, v), changed, defaultLimits())
		}
	}
	r, err := f.record(item)
	if err != nil {
		t.Fatal(err)
	}
	f.data = append(bytes.Clone(f.data), coded...)
	item.extents = append(item.extents, extent{uint64(len(src)), uint64(len(coded))})
	if _, err := f.units(item, r); err == nil {
		t.Error("two coded pictures in one item")
	}
	larger := bytes.Clone(heif(t, "patches_420_p3.heic"))
	binary.BigEndian.PutUint32(larger[bytes.Index(larger, []byte("ispe"))+8:], 256)
	_, err = decode(t.Context(), "x", larger, defaultLimits())
	if e, ok := errors.AsType[*Error](err); !ok || e.Kind != Damaged {
		t.Errorf("another size: %v", err)
	}
	// 40 megapixels of which no byte tells.
	_, err = decode(t.Context(), "x", remade(t, src, "heic", 114, 114), limits{pixels: MaxPixels, memory: 100 << 20})
	if e, ok := errors.AsType[*Error](err); !ok || e.Kind != TooLarge && e.Kind != Damaged {
		t.Errorf("beyond the memory: %v", err)
	}
}

// A picture is given up within a moment, between its tiles and within them.
func TestHEICStops(t *testing.T) {
	data := remade(t, heif(t, "ramp_8bit_444.heic"), "mif1", 100, 80)
	openBytes(t, heif(t, "ramp_8bit_444.heic")) // the decoder is there
	ctx, stop := context.WithCancel(t.Context())
	time.AfterFunc(20*time.Millisecond, stop)
	if _, err := decode(ctx, "x", data, defaultLimits()); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}
