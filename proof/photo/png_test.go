package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/kovidgoyal/imaging/prism/meta/pngmeta"

	"firstsheet/proof/space"
)

var (
	be = binary.BigEndian
	le = binary.LittleEndian
)

// Every colour type and depth of PNG 11.2.1, sample for sample.
func TestPNGTypes(t *testing.T) {
	const w, h = 11, 7
	for _, c := range []struct {
		colourType byte
		stored     int
		channels   int
		depths     []int
	}{
		{pngGrey, 1, 1, []int{1, 2, 4, 8, 16}},
		{pngRGB, 3, 3, []int{8, 16}},
		{pngGreyAlpha, 2, 1, []int{8, 16}},
		{pngRGBA, 4, 3, []int{8, 16}},
	} {
		for _, depth := range c.depths {
			data := noise(w*h*c.stored, depth, uint64(depth))
			full := float64(int(1)<<depth - 1)
			p := openBytes(t, pngFile(w, h, depth, c.colourType, data))
			what := fmt.Sprintf("type %d, %d bits", c.colourType, depth)
			if p.W != w || p.H != h || p.Channels != c.channels || p.Depth != max(8, depth) || p.Format != "PNG" {
				t.Errorf("%s: %d x %d, %d channels of %d bits", what, p.W, p.H, p.Channels, p.Depth)
				continue
			}
			out := float64(int(1)<<p.Depth - 1)
			want := make([]uint16, 0, w*h*c.channels)
			var alpha []uint8
			for i := 0; i < len(data); i += c.stored {
				a := 1.0
				if c.stored != c.channels {
					a = float64(data[i+c.channels]) / full
					a8 := uint8(math.Round(a * 255))
					if a > 0 && a8 == 0 {
						a8 = 1
					}
					alpha = append(alpha, a8)
				}
				for _, v := range data[i : i+c.channels] {
					want = append(want, uint16(math.Floor((float64(v)/full*a+1-a)*out+0.5+1e-9)))
				}
			}
			equalSamples(t, what, p.samples(), want)
			if !slices.Equal(p.Alpha, alpha) {
				t.Errorf("%s: opacities differ", what)
			}
		}
	}
}

func TestPNGPalette(t *testing.T) {
	plte := pngChunk("PLTE", []byte{0, 0, 0, 255, 0, 0, 10, 20, 30, 255, 255, 255})
	for _, depth := range []int{2, 4, 8} {
		p := openBytes(t, pngFile(4, 1, depth, pngPalette, []uint16{3, 2, 1, 0}, plte))
		equalSamples(t, fmt.Sprintf("%d bits", depth), p.samples(), []uint16{255, 255, 255, 10, 20, 30, 255, 0, 0, 0, 0, 0})
		if p.Alpha != nil {
			t.Errorf("%d bits: has opacities", depth)
		}
	}
	p := openBytes(t, pngFile(4, 1, 8, pngPalette, []uint16{3, 2, 1, 0}, plte, pngChunk("tRNS", []byte{0, 51})))
	equalSamples(t, "tRNS", p.samples(), []uint16{255, 255, 255, 10, 20, 30, 255, 204, 204, 255, 255, 255})
	if !slices.Equal(p.Alpha, []uint8{255, 255, 51, 0}) || len(p.Notes) != 1 || !strings.HasPrefix(p.Notes[0], "50 %") {
		t.Errorf("opacities %v, notes %q", p.Alpha, p.Notes)
	}
}

// One colour that is transparent, in grey and RGB (PNG 11.3.1.1).
func TestPNGTransparentColour(t *testing.T) {
	p := openBytes(t, pngFile(3, 1, 8, pngGrey, []uint16{7, 8, 9}, pngChunk("tRNS", []byte{0, 8})))
	equalSamples(t, "grey", p.samples(), []uint16{7, 255, 9})
	if p.Channels != 1 || !slices.Equal(p.Alpha, []uint8{255, 0, 255}) {
		t.Errorf("%d channels, opacities %v", p.Channels, p.Alpha)
	}
	p = openBytes(t, pngFile(2, 1, 16, pngRGB, []uint16{1, 2, 3, 1, 2, 4}, pngChunk("tRNS", []byte{0, 1, 0, 2, 0, 3})))
	equalSamples(t, "RGB", p.samples(), []uint16{65535, 65535, 65535, 1, 2, 4})
}

func chrm(v ...uint32) []byte {
	var b []byte
	for _, x := range v {
		b = be.AppendUint32(b, x)
	}
	return pngChunk("cHRM", b)
}

// What PNG states about colour, in its order of precedence (third edition, 4.3).
func TestPNGColourChunks(t *testing.T) {
	var (
		srgb     = pngChunk("sRGB", []byte{0})
		gamma    = func(v uint32) []byte { return pngChunk("gAMA", be.AppendUint32(nil, v)) }
		cicp     = func(v ...byte) []byte { return pngChunk("cICP", v) }
		srgbChrm = chrm(31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)
		wideChrm = chrm(31270, 32900, 64000, 33000, 21000, 71000, 15000, 6000)
		ownChrm  = chrm(34570, 35850, 73470, 26530, 11520, 82640, 15660, 1770)
		profile  = iCCP(fakeICC("RGB ", 200))
	)
	rec2020, _ := space.ByID("rec2020")
	for _, c := range []struct {
		what   string
		chunks [][]byte
		id     string // of the space; "own" for one that is not built in; "" for none
		icc    bool
		notes  int
		curve  space.Curve // looked at when own
	}{
		{what: "nothing"},
		{what: "sRGB", chunks: [][]byte{srgb}, id: "srgb"},
		{what: "sRGB with what belongs to it", chunks: [][]byte{gamma(45455), srgbChrm, srgb}, id: "srgb"},
		{what: "sRGB by its gamma and primaries", chunks: [][]byte{gamma(45455), srgbChrm}, id: "srgb"},
		{what: "gamma of sRGB alone", chunks: [][]byte{gamma(45454)}, id: "srgb", notes: 1},
		{what: "primaries of sRGB alone", chunks: [][]byte{srgbChrm}, id: "srgb"},
		{what: "gamma 1 alone", chunks: [][]byte{gamma(100000)}, id: "own", notes: 1, curve: space.Power(1)},
		{what: "wide", chunks: [][]byte{gamma(45471), wideChrm}, id: "adobe1998"},
		{what: "wide, rounded", chunks: [][]byte{gamma(45455), wideChrm}, id: "adobe1998"},
		{what: "own", chunks: [][]byte{ownChrm, gamma(55556)}, id: "own", curve: space.Power(100000.0 / 55556)},
		{what: "own primaries alone", chunks: [][]byte{ownChrm}, id: "own", notes: 1, curve: space.SRGB().Curve},
		{what: "impossible primaries", chunks: [][]byte{chrm(31270, 32900, 1, 1, 1, 1, 1, 1), gamma(45455)}, notes: 1},
		{what: "white outside", chunks: [][]byte{chrm(90000, 5000, 64000, 33000, 30000, 60000, 15000, 6000), gamma(45455)}, notes: 1},
		{what: "gamma 0", chunks: [][]byte{gamma(0)}},
		{what: "gamma beyond sense", chunks: [][]byte{gamma(1)}, notes: 1},
		{what: "profile", chunks: [][]byte{profile}, icc: true},
		{what: "profile above sRGB", chunks: [][]byte{srgb, profile}, icc: true},
		{what: "codes above all", chunks: [][]byte{srgb, profile, cicp(12, 13, 0, 1)}, id: "displayp3"},
		{what: "codes of sRGB", chunks: [][]byte{cicp(1, 13, 0, 1)}, id: "srgb"},
		{what: "codes of Rec. 2020", chunks: [][]byte{cicp(9, 14, 0, 1)}, id: "rec2020"},
		{what: "codes, own curve", chunks: [][]byte{cicp(9, 8, 0, 1)}, id: "own", curve: space.Power(1)},
		{what: "codes, camera curve", chunks: [][]byte{cicp(1, 1, 0, 1)}, id: "own", curve: rec2020.Curve},
		{what: "codes, 625 lines", chunks: [][]byte{cicp(5, 4, 0, 1)}, id: "own", curve: space.Power(2.2)},
		{what: "codes, 525 lines", chunks: [][]byte{cicp(6, 5, 0, 1)}, id: "own", curve: space.Power(2.8)},
		{what: "codes, cinema", chunks: [][]byte{cicp(11, 13, 0, 1)}, id: "own", curve: space.SRGB().Curve},
		{what: "unknown curve", chunks: [][]byte{cicp(1, 99, 0, 1)}, notes: 1},
		{what: "unknown codes", chunks: [][]byte{cicp(200, 13, 0, 1), srgb}, id: "srgb", notes: 1},
		{what: "unknown codes and a profile", chunks: [][]byte{cicp(200, 13, 0, 1), profile}, icc: true},
		{what: "HDR with a profile", chunks: [][]byte{cicp(9, 16, 0, 1), profile}, icc: true},
		{what: "narrow range", chunks: [][]byte{cicp(1, 13, 0, 0)}, notes: 1},
	} {
		p := openBytes(t, pngFile(1, 1, 8, pngRGB, []uint16{1, 2, 3}, c.chunks...))
		if (p.ICC != nil) != c.icc || len(p.Notes) != c.notes {
			t.Errorf("%s: profile %v, notes %q; want %v and %d", c.what, p.ICC != nil, p.Notes, c.icc, c.notes)
		}
		switch {
		case c.id == "":
			if p.Space != nil {
				t.Errorf("%s: space %+v, want none", c.what, *p.Space)
			}
		case p.Space == nil:
			t.Errorf("%s: no space, want %s", c.what, c.id)
		case c.id == "own":
			if _, builtIn := space.ByID(p.Space.ID); builtIn || p.Space.Curve != c.curve || p.Space.Name == "" {
				t.Errorf("%s: space %+v, want curve %v", c.what, *p.Space, c.curve)
			}
		default:
			if want, _ := space.ByID(c.id); *p.Space != want {
				t.Errorf("%s: space %+v, want %s", c.what, *p.Space, c.id)
			}
		}
	}
	for _, transfer := range []byte{cicpPQ, cicpHLG} {
		_, err := OpenReader(t.Context(), "hdr", bytes.NewReader(pngFile(1, 1, 8, pngRGB, []uint16{1, 2, 3}, cicp(9, transfer, 0, 1))))
		wantKind(t, err, Unsupported, "hdr")
	}
}

// Behind the pixels colour chunks no longer count (PNG 5.6).
func TestPNGLateColour(t *testing.T) {
	data := pngFile(1, 1, 8, pngRGB, []uint16{1, 2, 3})
	data = append(data[:len(data)-12], append(append(pngChunk("gAMA", be.AppendUint32(nil, 100000)), iCCP(fakeICC("RGB ", 200))...), pngChunk("IEND", nil)...)...)
	p := openBytes(t, data)
	if p.Space != nil || p.ICC != nil {
		t.Errorf("space %v, profile of %d bytes", p.Space, len(p.ICC))
	}
}

// The primaries that a file states arrive as they are.
func TestPNGStatedPrimaries(t *testing.T) {
	p := openBytes(t, pngFile(1, 1, 8, pngRGB, []uint16{1, 2, 3}, chrm(34570, 35850, 73470, 26530, 11520, 82640, 15660, 1770), pngChunk("gAMA", be.AppendUint32(nil, 50000))))
	s := *p.Space
	for _, c := range []struct{ got, want [2]float64 }{
		{s.White, [2]float64{.3457, .3585}}, {s.Red, [2]float64{.7347, .2653}}, {s.Green, [2]float64{.1152, .8264}}, {s.Blue, [2]float64{.1566, .0177}},
	} {
		if math.Abs(c.got[0]-c.want[0])+math.Abs(c.got[1]-c.want[1]) > 1e-9 {
			t.Errorf("%v, want %v", c.got, c.want)
		}
	}
	if math.Abs(s.Decode(0.5)-0.25) > 1e-12 {
		t.Errorf("gamma 2 decodes 0.5 to %g", s.Decode(0.5))
	}
	// The white of the file is the profile connection space's white.
	if lab := s.ToLab(1, 1, 1); math.Abs(lab.L-100)+math.Abs(lab.A)+math.Abs(lab.B) > 1e-6 {
		t.Errorf("white is %v", lab)
	}
}

func TestPNGProfileProblems(t *testing.T) {
	rgb := []uint16{1, 2, 3}
	good := fakeICC("RGB ", 500)
	chunk := iCCP(good)
	flip := func(at int) []byte { // damage the stream, mend the chunk's checksum
		body := bytes.Clone(chunk[8 : len(chunk)-4])
		body[at] ^= 0x55
		return pngChunk("iCCP", body)
	}
	checksum := flip(len(chunk) - 12 - 1)
	for _, c := range []struct {
		what  string
		chunk []byte
		icc   bool
	}{
		{"good", chunk, true},
		{"wrong checksum of the stream", checksum, true},
		{"stream damaged", flip(len("any name\x00\x00") + 30), false},
		{"stream cut", pngChunk("iCCP", chunk[8:60]), false},
		{"no name", pngChunk("iCCP", []byte(strings.Repeat("x", 200))), false},
		{"no stream", pngChunk("iCCP", []byte("name\x00\x00")), false},
		{"another method", pngChunk("iCCP", append([]byte("name\x00\x01"), chunk[18:len(chunk)-4]...)), false},
		{"no profile in it", iCCP(bytes.Repeat([]byte("text "), 50)), false},
		{"cut profile", iCCP(good[:400]), false},
		{"for CMYK", iCCP(fakeICC("CMYK", 200)), false},
		{"for grey", iCCP(fakeICC("GRAY", 200)), false},
	} {
		p := openBytes(t, pngFile(1, 1, 8, pngRGB, rgb, c.chunk))
		if c.icc && (!bytes.Equal(p.ICC, good) || p.Notes != nil) || !c.icc && (p.ICC != nil || len(p.Notes) != 1) {
			t.Errorf("%s: profile of %d bytes, notes %q", c.what, len(p.ICC), p.Notes)
		}
	}

	// Grey with an RGB profile means equal red, green and blue.
	p := openBytes(t, pngFile(2, 1, 16, pngGrey, []uint16{7, 65535}, iCCP(good)))
	if p.Channels != 3 || !bytes.Equal(p.ICC, good) || len(p.Notes) != 1 {
		t.Errorf("grey with an RGB profile: %d channels, %d bytes, %q", p.Channels, len(p.ICC), p.Notes)
	}
	equalSamples(t, "grey with an RGB profile", p.Pix16, []uint16{7, 7, 7, 65535, 65535, 65535})

	// A profile that cannot be used leaves the word to the next chunk.
	p = openBytes(t, pngFile(1, 1, 8, pngRGB, rgb, iCCP(fakeICC("CMYK", 200)), pngChunk("sRGB", []byte{0})))
	if p.Space == nil || p.Space.ID != "srgb" {
		t.Errorf("space %v, want sRGB", p.Space)
	}
}

// 200 MB of zeros in 200 KB: refused before it is unpacked, which the other
// reader in reach would do.
func TestPNGProfileBomb(t *testing.T) {
	bomb := pngFile(1, 1, 8, pngRGB, []uint16{1, 2, 3}, iCCP(make([]byte, 4*MaxICCBytes)))
	if len(bomb) > 1<<20 {
		t.Fatalf("the bomb has %d bytes", len(bomb))
	}
	var err error
	grown := allocated(func() { _, err = OpenReader(t.Context(), "bomb", bytes.NewReader(bomb)) })
	wantKind(t, err, TooLarge, "bomb")
	// The buffer doubles until it holds the limit.
	if grown > 6*MaxICCBytes {
		t.Errorf("%d bytes were allocated", grown)
	}
}

func TestPNGRefused(t *testing.T) {
	good := pngFile(2, 2, 8, pngRGB, noise(12, 8, 1), pngChunk("tEXt", []byte("a\x00b")))
	edit := func(at int, v ...byte) []byte {
		b := bytes.Clone(good)
		copy(b[at:], v)
		be.PutUint32(b[29:], be.Uint32(pngChunk("IHDR", b[16:29])[21:]))
		return b
	}
	for _, c := range []struct {
		what string
		data []byte
		kind Kind
	}{
		{"signature alone", good[:8], Damaged},
		{"no header", append([]byte(pngSignature), good[33:]...), Damaged},
		{"two headers", append(bytes.Clone(good[:33]), good[8:]...), Damaged},
		{"no pixels", append(bytes.Clone(good[:33]), pngChunk("IEND", nil)...), Damaged},
		{"no end", good[:len(good)-12], Damaged},
		{"width 0", edit(16, 0, 0, 0, 0), Damaged},
		{"2^31 wide", edit(16, 0x7f, 0xff, 0xff, 0xff), TooLarge},
		{"16000 x 12000", edit(16, 0, 0, 0x3e, 0x80, 0, 0, 0x2e, 0xe0), Damaged},
		{"colour type 5", edit(25, 5), Damaged},
		{"3 bits", edit(24, 3), Unsupported},
		{"interlace 7", edit(28, 7), Damaged},
		{"wrong checksum", append(bytes.Clone(good[:29]), append([]byte{0, 0, 0, 0}, good[33:]...)...), Damaged},
		{"fewer rows than said", edit(23, 9), Damaged},
	} {
		_, err := OpenReader(t.Context(), c.what, bytes.NewReader(c.data))
		wantKind(t, err, c.kind, c.what)
	}
}

// Real files against the metadata reader of another library.
func TestPNGRealProfiles(t *testing.T) {
	for _, name := range []string{"p3_ring.png", "rec2020_red.png", "small_rec2020_linear16.png", "small_rec709_v4_16.png", "swapped_channels.png", "cat_srgb.png"} {
		data := read(t, cached(t, "photos/"+name))
		p := openBytes(t, data)
		md, err := pngmeta.ExtractMetadata(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		other, err := md.ICCProfileData()
		if err != nil || len(other) == 0 || !bytes.Equal(p.ICC, other) {
			t.Errorf("%s: profile of %d bytes, the other reader has %d, error %v", name, len(p.ICC), len(other), err)
		}
		if p.W != int(md.PixelWidth) || p.H != int(md.PixelHeight) {
			t.Errorf("%s: %d x %d, the other reader has %d x %d", name, p.W, p.H, md.PixelWidth, md.PixelHeight)
		}
	}
}
