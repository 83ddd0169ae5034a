package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"testing"

	"github.com/kovidgoyal/imaging/prism/meta/jpegmeta"
)

// One pixel of each block, in order.
func blocks(p *Picture) [][]uint8 {
	var out [][]uint8
	for y := 4; y < p.H; y += 8 {
		for x := 4; x < p.W; x += 8 {
			out = append(out, p.Pix8[(y*p.W+x)*p.Channels:][:p.Channels])
		}
	}
	return out
}

func TestJPEGGrey(t *testing.T) {
	values := []byte{0, 255, 128, 1, 77, 254}
	p := openBytes(t, flatJPEG(3, [][]byte{values}))
	if p.W != 24 || p.H != 16 || p.Channels != 1 || p.Depth != 8 || p.Format != "JPEG" {
		t.Fatalf("%d x %d, %d channels, %d bits, %s", p.W, p.H, p.Channels, p.Depth, p.Format)
	}
	for i, b := range blocks(p) {
		if b[0] != values[i] {
			t.Errorf("block %d = %d, want %d", i, b[0], values[i])
		}
	}
}

// T.871, 7: YCbCr to RGB, computed here in floating point.
func TestJPEGYCbCr(t *testing.T) {
	y := []byte{0, 255, 128, 76, 150, 29, 200, 90}
	cb := []byte{128, 128, 128, 85, 44, 255, 10, 240}
	cr := []byte{128, 128, 128, 255, 21, 107, 240, 5}
	for what, segments := range map[string][][]byte{"plain": nil, "Adobe 1": {adobe(1)}} {
		p := openBytes(t, flatJPEG(4, [][]byte{y, cb, cr}, segments...))
		for i, got := range blocks(p) {
			l, b, r := float64(y[i]), float64(cb[i])-128, float64(cr[i])-128
			for c, v := range []float64{l + 1.402*r, l - 0.344136*b - 0.714136*r, l + 1.772*b} {
				want := uint8(math.Round(min(255, max(0, v))))
				if got[c] != want {
					t.Errorf("%s: block %d channel %d = %d, want %d", what, i, c, got[c], want)
				}
			}
		}
	}
}

// Colour models by the Adobe segment: 0 means that components are what they are.
// CMYK is stored turned round, 255 for no ink, by all who write that segment.
func TestJPEGColourModels(t *testing.T) {
	a, b, c, k := []byte{0, 200, 255}, []byte{10, 30, 255}, []byte{20, 40, 0}, []byte{255, 60, 100}
	t.Run("RGB", func(t *testing.T) {
		p := openBytes(t, flatJPEG(3, [][]byte{a, b, c}, adobe(0)))
		for i, got := range blocks(p) {
			if !bytes.Equal(got, []byte{a[i], b[i], c[i]}) {
				t.Errorf("block %d = %d", i, got)
			}
		}
	})
	t.Run("CMYK", func(t *testing.T) {
		p := openBytes(t, flatJPEG(3, [][]byte{a, b, c, k}, adobe(0)))
		if p.Channels != 4 || p.Space != nil {
			t.Fatalf("%d channels, space %v", p.Channels, p.Space)
		}
		for i, got := range blocks(p) {
			if want := []byte{255 - a[i], 255 - b[i], 255 - c[i], 255 - k[i]}; !bytes.Equal(got, want) {
				t.Errorf("block %d = %d, want %d", i, got, want)
			}
		}
	})
	t.Run("YCCK", func(t *testing.T) {
		y, cb, cr := []byte{0, 255, 76}, []byte{128, 128, 85}, []byte{128, 128, 255}
		p := openBytes(t, flatJPEG(3, [][]byte{y, cb, cr, k}, adobe(2)))
		// Converted to RGB these are 0 0 0, 255 255 255 and 254 0 0 (T.871, 7); YCCK
		// holds 255 less them, and that is turned round.
		for i, want := range [][]byte{{0, 0, 0, 255 - k[0]}, {255, 255, 255, 255 - k[1]}, {254, 0, 0, 255 - k[2]}} {
			if got := blocks(p)[i]; !bytes.Equal(got, want) {
				t.Errorf("block %d = %d, want %d", i, got, want)
			}
		}
	})
	t.Run("four components without a word", func(t *testing.T) {
		_, err := OpenReader(t.Context(), "x", bytes.NewReader(flatJPEG(3, [][]byte{a, b, c, k})))
		wantKind(t, err, Unsupported, "x")
	})
}

// Halved colour differences are interpolated between the centres of their
// samples: a ramp of differences comes out as a ramp, not as steps.
func TestSubsampledColour(t *testing.T) {
	for _, c := range []struct {
		ratio image.YCbCrSubsampleRatio
		w, h  int
	}{
		{image.YCbCrSubsampleRatio444, 1, 1}, {image.YCbCrSubsampleRatio422, 2, 1}, {image.YCbCrSubsampleRatio420, 2, 2},
		{image.YCbCrSubsampleRatio440, 1, 2}, {image.YCbCrSubsampleRatio411, 4, 1}, {image.YCbCrSubsampleRatio410, 4, 2},
	} {
		const w, h = 33, 21 // the last samples stick out
		m := image.NewYCbCr(image.Rect(0, 0, w, h), c.ratio)
		for i := range m.Y {
			m.Y[i] = 128
		}
		ramp := func(x, y float64) float64 { return 128 + 1.5*(x-16) + 1.25*(y-10) }
		for y := 0; y < h; y += c.h {
			for x := 0; x < w; x += c.w {
				centreX, centreY := float64(x)+float64(c.w-1)/2, float64(y)+float64(c.h-1)/2
				m.Cr[m.COffset(x, y)] = uint8(math.Round(ramp(centreX, centreY)))
				m.Cb[m.COffset(x, y)] = 128
			}
		}
		got, err := fromYCbCr(t.Context(), m, fullRange)
		if err != nil {
			t.Fatal(err)
		}
		for y := c.h; y < h-c.h-1; y++ {
			for x := c.w; x < w-c.w-1; x++ {
				want := 128 + 1.402*(ramp(float64(x), float64(y))-128)
				// Half a level of rounding in Cr, times 1.402, and half in red.
				if d := math.Abs(float64(got[(y*w+x)*3]) - want); d > 1.21 {
					t.Fatalf("%v: red at %d, %d = %d, want %.2f", c.ratio, x, y, got[(y*w+x)*3], want)
				}
			}
		}
	}
}

// Quartered differences too: the middle of each of a ramp's columns is off by no more than
// what quality 100 rounds. Repeated, columns would be off by up to 4 levels of Cr.
func TestQuarteredColour(t *testing.T) {
	for _, name := range []string{"ramp_411.jpg", "ramp_410.jpg"} {
		p := open(t, "testdata/"+name)
		for y := 2; y < p.H-2; y++ {
			for x := 4; x < p.W-4; x++ {
				want := 128 + 1.402*(float64(60+2*x+y)-128)
				if got := float64(p.Pix8[3*(y*p.W+x)]); math.Abs(got-min(max(want, 0), 255)) > 3 {
					t.Fatalf("%s: red at %d, %d = %.0f, want %.1f", name, x, y, got, want)
				}
			}
		}
	}
}

func TestJPEGProfileChunks(t *testing.T) {
	grey := [][]byte{{100, 200}}
	icc := fakeICC("GRAY", 1000)
	parts := iccSegments(icc, 300) // four
	exif := jpegSegment(0xE1, append([]byte(exifMarker), exifBlock(be, 1, 0xFFFF, "")...))
	other := jpegSegment(0xE2, []byte("MPF\x00something else"))
	wrongTotal := jpegSegment(0xE2, append([]byte(iccMarker+"\x01\x09"), icc[:300]...))
	number0 := jpegSegment(0xE2, append([]byte(iccMarker+"\x00\x04"), icc[:300]...))
	altered := bytes.Clone(parts[1])
	altered[40]++
	for _, c := range []struct {
		what     string
		segments [][]byte
		ok       bool
	}{
		{"in order", [][]byte{parts[0], parts[1], parts[2], parts[3]}, true},
		{"out of order, others between", [][]byte{parts[2], exif, parts[0], other, parts[3], parts[1]}, true},
		{"one twice, the same", [][]byte{parts[0], parts[1], parts[1], parts[2], parts[3]}, true},
		{"one twice, different", [][]byte{parts[0], parts[1], altered, parts[2], parts[3]}, false},
		{"one missing", [][]byte{parts[0], parts[1], parts[3]}, false},
		{"first missing", [][]byte{parts[1], parts[2], parts[3]}, false},
		{"two totals", [][]byte{parts[0], parts[1], parts[2], parts[3], wrongTotal}, false},
		{"number 0", [][]byte{number0, parts[0], parts[1], parts[2], parts[3]}, false},
	} {
		p := openBytes(t, flatJPEG(2, grey, c.segments...))
		switch {
		case c.ok && (!bytes.Equal(p.ICC, icc) || p.Notes != nil):
			t.Errorf("%s: profile of %d bytes, notes %q", c.what, len(p.ICC), p.Notes)
		case !c.ok && (p.ICC != nil || len(p.Notes) != 1):
			t.Errorf("%s: profile of %d bytes, notes %q; want none and one note", c.what, len(p.ICC), p.Notes)
		}
	}
}

// Real profiles of version 2 and 4 in as many parts as they need, against the
// metadata reader of another library.
func TestJPEGRealProfiles(t *testing.T) {
	for _, c := range []struct {
		profile string
		planes  int
		parts   int
	}{
		{"profiles/ISOcoated_v2_300_bas.icc", 4, 17},
		{"profiles/sRGB.icc", 3, 1},
		{"profiles/Gray-CIE_L.icc", 1, 1},
	} {
		icc := read(t, cached(t, c.profile))
		segments := iccSegments(icc, jpegICCChunk)
		if len(segments) != c.parts {
			t.Errorf("%s: %d parts, want %d", c.profile, len(segments), c.parts)
		}
		segments[0], segments[len(segments)-1] = segments[len(segments)-1], segments[0]
		planes := make([][]byte, c.planes)
		for i := range planes {
			planes[i] = []byte{50, 100}
		}
		data := flatJPEG(2, planes, append(segments, adobe(0))...)
		p := openBytes(t, data)
		if !bytes.Equal(p.ICC, icc) {
			t.Errorf("%s: profile of %d bytes, want %d; notes %q", c.profile, len(p.ICC), len(icc), p.Notes)
		}
		md, err := jpegmeta.ExtractMetadata(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		if other, err := md.ICCProfileData(); err != nil || !bytes.Equal(other, p.ICC) {
			t.Errorf("%s: the other reader has %d bytes, error %v", c.profile, len(other), err)
		}
	}
}

func TestJPEGRefused(t *testing.T) {
	good := flatJPEG(2, [][]byte{{1, 2}})
	frame := bytes.Index(good, []byte{0xFF, 0xC0})
	edit := func(at int, v ...byte) []byte {
		b := bytes.Clone(good)
		copy(b[frame+at:], v)
		return b
	}
	for _, c := range []struct {
		what string
		data []byte
		kind Kind
	}{
		{"lossless", edit(1, 0xC3), Unsupported},
		{"arithmetic", edit(1, 0xC9), Unsupported},
		{"12 bits", edit(4, 12), Unsupported},
		{"height 0", edit(5, 0, 0), Unsupported},
		{"width 0", edit(7, 0, 0), Damaged},
		{"65535 x 65535", edit(5, 255, 255, 255, 255), TooLarge},
		{"14000 x 14000", edit(5, 0x36, 0xB0, 0x36, 0xB0), Damaged},
		{"only its start", []byte{0xFF, 0xD8, 0xFF}, Damaged},
		{"ends before the scan", good[:frame+19], Damaged},
		{"ends in the scan", good[:len(good)-3], Damaged},
		{"no end mark", good[:len(good)-2], Damaged},
		{"two frames", append(bytes.Clone(good[:frame+13]), good[frame:]...), Damaged},
		{"scan first", append([]byte{0xFF, 0xD8}, jpegSegment(0xDA, []byte{1, 1, 0, 0, 63, 0})...), Damaged},
		{"end first", []byte{0xFF, 0xD8, 0xFF, 0xD9}, Damaged},
	} {
		_, err := OpenReader(t.Context(), c.what, bytes.NewReader(c.data))
		wantKind(t, err, c.kind, c.what)
	}
}

// Camera pictures carry thumbnails, other pictures and rubbish behind the end.
func TestJPEGTail(t *testing.T) {
	p := openBytes(t, append(flatJPEG(2, [][]byte{{1, 2}}), "something else"...))
	if p.W != 16 {
		t.Errorf("width %d", p.W)
	}
}

// What the standard library wrote, it reads the same way but for the
// interpolation, which vanishes in a flat picture.
func TestJPEGStandardEncoder(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 50, 40))
	for y := range 40 {
		for x := range 50 {
			m.SetRGBA(x, y, color.RGBA{200, 30, 40, 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	p := openBytes(t, b.Bytes())
	for i, want := range []int{200, 30, 40} {
		if got := int(p.Pix8[(20*50+25)*3+i]); got < want-1 || got > want+1 {
			t.Errorf("channel %d = %d, want %d", i, got, want)
		}
	}
}

// Files of another encoder: see testdata/README.md for the six patches.
func TestForeignPatches(t *testing.T) {
	rgb := [][]int{{200, 30, 40}, {20, 120, 60}, {30, 60, 160}, {240, 220, 90}, {128, 128, 128}, {250, 250, 250}}
	alpha := []uint8{255, 128, 0, 255, 64, 255}
	cmyk := [][]int{{0, 255, 255, 0}, {255, 0, 255, 0}, {255, 255, 0, 0}, {10, 20, 200, 30}, {0, 0, 0, 128}, {90, 80, 70, 255}}
	overWhite := make([][]int, len(rgb))
	for i, c := range rgb {
		for _, v := range c {
			a := float64(alpha[i]) / 255
			overWhite[i] = append(overWhite[i], int(math.Round(float64(v)*a+255*(1-a))))
		}
	}
	for _, c := range []struct {
		name      string
		want      [][]int
		depth     int
		alpha     bool
		tolerance int // of a lossy encoder at high quality in the middle of a flat patch
	}{
		{"patches_lossless.webp", rgb, 8, false, 0},
		{"patches_lossless_alpha.webp", overWhite, 8, true, 0},
		{"patches_lossy.webp", rgb, 8, false, 3},
		{"patches_lossy_alpha.webp", overWhite, 8, true, 3},
		{"patches_cmyk_lzw.tif", cmyk, 8, false, 0},
		{"patches_cmyk.jpg", cmyk, 8, false, 2},
		{"patches_cmyk_progressive.jpg", cmyk, 8, false, 2},
		{"patches_rgb16_tiles_lzw_be.tif", rgb, 16, false, 0},
		{"patches_jpeg.tif", rgb, 8, false, 2},
		{"patches_420_progressive.jpg", rgb, 8, false, 3},
	} {
		p := open(t, "testdata/"+c.name)
		if p.W != 48 || p.H != 32 || p.Depth != c.depth || p.Channels != len(c.want[0]) || (p.Alpha != nil) != c.alpha {
			t.Errorf("%s: %d x %d, %d channels of %d bits, alpha %v", c.name, p.W, p.H, p.Channels, p.Depth, p.Alpha != nil)
			continue
		}
		for i, want := range c.want {
			x, y := i%3*16+8, i/3*16+8
			got := p.At(x, y)
			for ch, v := range got {
				if d := math.Abs(v*255 - float64(want[ch])); d > float64(c.tolerance)+1e-9 {
					t.Errorf("%s: patch %d = %s, want %d ± %d", c.name, i, fmt.Sprintf("%.4g", got), want, c.tolerance)
					break
				}
			}
			if c.alpha && p.Alpha[y*p.W+x] != alpha[i] {
				t.Errorf("%s: patch %d has opacity %d, want %d", c.name, i, p.Alpha[y*p.W+x], alpha[i])
			}
		}
	}
}
