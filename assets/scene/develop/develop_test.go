package main

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"testing"

	"firstsheet/proof/space"
)

// Numbers of IEEE 754-2008 binary16 as its format defines them: one, minus two, a
// third, the largest, the smallest normal and the smallest subnormal number.
func TestHalf(t *testing.T) {
	for bits, want := range map[uint16]float32{
		0x0000: 0, 0x3c00: 1, 0xc000: -2, 0x3555: 0.333251953125, 0x7bff: 65504, 0x0400: 0x1p-14, 0x0001: 0x1p-24,
	} {
		if got := half(bits); got != want {
			t.Errorf("half(%#04x) = %v, want %v", bits, got, want)
		}
	}
	if !math.IsInf(float64(half(0xfc00)), -1) || !math.IsNaN(float64(half(0x7e00))) {
		t.Error("infinity or NaN is lost")
	}
}

// exrFile lays out a scan-line file of two channels, A half and Z float, by the
// published file layout.
func exrFile(w, h int, compression byte, a func(x, y int) uint16, z func(x, y int) float32) []byte {
	le := binary.LittleEndian
	attr := func(name, kind string, value []byte) []byte {
		b := append(append(append([]byte(name), 0), kind...), 0)
		return append(le.AppendUint32(b, uint32(len(value))), value...)
	}
	channel := func(name string, kind uint32) []byte {
		b := le.AppendUint32(append([]byte(name), 0), kind)
		b = append(b, 0, 0, 0, 0)
		return append(b, 1, 0, 0, 0, 1, 0, 0, 0)
	}
	window := make([]byte, 16)
	le.PutUint32(window[8:], uint32(w-1))
	le.PutUint32(window[12:], uint32(h-1))
	out := []byte{0x76, 0x2f, 0x31, 0x01, 2, 0, 0, 0}
	out = append(out, attr("channels", "chlist", append(append(channel("A", 1), channel("Z", 2)...), 0))...)
	out = append(out, attr("compression", "compression", []byte{compression})...)
	out = append(out, attr("dataWindow", "box2i", window)...)
	out = append(out, 0)
	lines := 1
	if compression == 3 {
		lines = 16
	}
	blocks := (h + lines - 1) / lines
	table := len(out)
	out = append(out, make([]byte, 8*blocks)...)
	for b := range blocks {
		le.PutUint64(out[table+8*b:], uint64(len(out)))
		var raw []byte
		for y := b * lines; y < min((b+1)*lines, h); y++ {
			for x := range w {
				raw = le.AppendUint16(raw, a(x, y))
			}
			for x := range w {
				raw = le.AppendUint32(raw, math.Float32bits(z(x, y)))
			}
		}
		if compression == 3 {
			split := make([]byte, 0, len(raw))
			for start := range 2 {
				for i := start; i < len(raw); i += 2 {
					split = append(split, raw[i])
				}
			}
			for i := len(split) - 1; i > 0; i-- {
				split[i] -= split[i-1] - 128
			}
			var packed bytes.Buffer
			zw := zlib.NewWriter(&packed)
			zw.Write(split)
			zw.Close()
			if packed.Len() < len(raw) {
				raw = packed.Bytes()
			}
		}
		out = le.AppendUint32(out, uint32(b*lines))
		out = le.AppendUint32(out, uint32(len(raw)))
		out = append(out, raw...)
	}
	return out
}

func TestParseEXR(t *testing.T) {
	const w, h = 7, 37
	a := func(x, y int) uint16 { return uint16(0x3000 + x + 7*y) }
	z := func(x, y int) float32 { return float32(x) - 0.25*float32(y) }
	for _, compression := range []byte{0, 3} {
		data := exrFile(w, h, compression, a, z)
		l, err := parseEXR(data)
		if err != nil {
			t.Fatalf("compression %d: %v", compression, err)
		}
		for y := range h {
			for x := range w {
				if l.by["A"][y*w+x] != half(a(x, y)) || l.by["Z"][y*w+x] != z(x, y) {
					t.Fatalf("compression %d: pixel %d, %d is %v, %v", compression, x, y, l.by["A"][y*w+x], l.by["Z"][y*w+x])
				}
			}
		}
		for cut := range len(data) {
			if _, err := parseEXR(data[:cut]); err == nil {
				t.Fatalf("compression %d: a file cut to %d of %d bytes is read", compression, cut, len(data))
			}
		}
	}
}

// Noise on two flat surfaces goes, the edge between them stays.
func TestDenoise(t *testing.T) {
	const w, h = 64, 48
	rnd := rand.New(rand.NewPCG(1, 2))
	p := &picture{w: w, h: h, vari: make(plane, w*h)}
	for c := range 3 {
		p.rgb[c], p.albedo[c], p.normal[c] = make(plane, w*h), make(plane, w*h), make(plane, w*h)
	}
	for i := range w * h {
		v := float32(0.2)
		if i%w >= w/2 {
			v = 0.6
		}
		for c := range 3 {
			p.rgb[c][i] = v + 0.03*float32(rnd.NormFloat64())
			p.albedo[c][i] = v
		}
		d := squash(v+0.03) - squash(v)
		p.vari[i] = d * d
	}
	spread := func(x0, x1 int) (mean, sd float64) {
		n := 0.0
		for y := 6; y < h-6; y++ {
			for x := x0; x < x1; x++ {
				v := float64(p.rgb[1][y*w+x])
				mean += v
				sd += v * v
				n++
			}
		}
		mean /= n
		return mean, math.Sqrt(sd/n - mean*mean)
	}
	_, before := spread(6, w/2-1)
	denoise(p, 5, 1)
	for _, side := range []struct {
		x0, x1 int
		want   float64
	}{{6, w / 2, 0.2}, {w / 2, w - 6, 0.6}} {
		mean, sd := spread(side.x0, side.x1)
		if math.Abs(mean-side.want) > 0.005 || sd > before/3 {
			t.Errorf("surface of %.1f: mean %.4f, spread %.4f of %.4f before", side.want, mean, sd, before)
		}
	}
}

func TestTone(t *testing.T) {
	last := float32(-1)
	for v := 0.0; v < 3; v += 0.001 {
		got := tone(v)
		if got <= last || got >= 1 {
			t.Fatalf("tone(%.3f) = %v after %v", v, got, last)
		}
		if v < 0.6 && math.Abs(float64(got)-v) > 1e-6 {
			t.Fatalf("tone(%.3f) = %v below the knee", v, got)
		}
		last = got
	}
}

// Opening the shadows keeps the order of tones and leaves the lit parts alone.
func TestOpened(t *testing.T) {
	last := -1.0
	for y := 0.0; y < 0.2; y += 0.0001 {
		got := y * opened(y)
		if got <= last {
			t.Fatalf("luminance %.4f becomes %v after %v", y, got, last)
		}
		if y > 0.1 && math.Abs(got-y) > 1e-4 {
			t.Fatalf("luminance %.4f becomes %v", y, got)
		}
		last = got
	}
}

// Both files decode by the standard library to the colours they were given.
func TestFilesKeepColours(t *testing.T) {
	romm, _ := space.ByID("romm")
	p := &picture{w: 32, h: 16}
	want := [3]float64{0.4, 0.08, 0.05}
	for c := range p.rgb {
		p.rgb[c] = make(plane, p.w*p.h)
		for i := range p.rgb[c] {
			p.rgb[c][i] = float32(want[c])
		}
	}
	data, err := jpegFile(p, romm, 95)
	if err != nil {
		t.Fatal(err)
	}
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	deep, err := deepFile(p, romm, 12)
	if err != nil {
		t.Fatal(err)
	}
	img16, err := png.Decode(bytes.NewReader(deep))
	if err != nil {
		t.Fatal(err)
	}
	r, g, b, _ := img.At(9, 9).RGBA()
	r2, g2, b2, _ := img16.At(9, 9).RGBA()
	for c, v := range [3][2]uint32{{r, r2}, {g, g2}, {b, b2}} {
		code := romm.Encode(want[c]) * 65535
		if math.Abs(float64(v[0])-code) > 3*257 || math.Abs(float64(v[1])-code) > 9 {
			t.Errorf("channel %d: %d in the JPEG, %d in the PNG, want %.0f", c, v[0], v[1], code)
		}
	}
	if !bytes.Contains(data, romm.ICC()) {
		t.Error("the JPEG lacks the profile")
	}
	at := bytes.Index(deep, []byte("iCCPROMM RGB\x00\x00"))
	if at < 0 {
		t.Fatal("the PNG lacks an iCCP chunk")
	}
	zr, err := zlib.NewReader(bytes.NewReader(deep[at+14:]))
	if err != nil {
		t.Fatal(err)
	}
	var profile bytes.Buffer
	if _, err := profile.ReadFrom(zr); err != nil || !bytes.Equal(profile.Bytes(), romm.ICC()) {
		t.Errorf("the PNG's profile has %d bytes, error %v", profile.Len(), err)
	}
}
