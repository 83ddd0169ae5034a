package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math/rand/v2"
	"testing"
)

// libraryPNG reads a PNG through the standard library, in this package's terms.
func libraryPNG(t *testing.T, data []byte, grey bool) *Picture {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	p, err := fromImage(t.Context(), img, fullRange, grey)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// interlacedPNG builds a PNG whose pixels stand in seven passes (PNG 8.2), by picking each
// pixel's pass from the pattern of eight by eight that the standard shows.
func interlacedPNG(w, h, depth int, colourType byte, samples []uint16, chunks ...[]byte) []byte {
	const pattern = "1646264677777777565656567777777736463646777777775656565677777777"
	n := len(samples) / (w * h)
	var rows [][]uint16
	for pass := byte('1'); pass <= '7'; pass++ {
		for y := range h {
			var row []uint16
			for x := range w {
				if pattern[y%8*8+x%8] == pass {
					row = append(row, samples[(y*w+x)*n:(y*w+x+1)*n]...)
				}
			}
			if row != nil {
				rows = append(rows, row)
			}
		}
	}
	return pngOf(w, h, depth, colourType, 1, rows, chunks...)
}

// Every kind of PNG is what the standard library makes of it, plain and interlaced, with and
// without a transparent colour.
func TestPNGKinds(t *testing.T) {
	palette := func(bits int) []byte {
		b := make([]byte, 3<<bits)
		for i := range b {
			b[i] = byte(i * 37)
		}
		return pngChunk("PLTE", b)
	}
	for _, c := range []struct {
		colourType byte
		depths     []int
		samples    int
		key        func(depth int) []byte
	}{
		{pngGrey, []int{1, 2, 4, 8, 16}, 1, func(int) []byte { return []byte{0, 1} }},
		{pngRGB, []int{8, 16}, 3, func(int) []byte { return []byte{0, 1, 0, 0, 0, 1} }},
		{pngPalette, []int{1, 2, 4, 8}, 1, func(int) []byte { return []byte{255, 51} }},
		{pngGreyAlpha, []int{8, 16}, 2, nil},
		{pngRGBA, []int{8, 16}, 4, nil},
	} {
		for _, depth := range c.depths {
			for _, size := range [][2]int{{1, 1}, {3, 2}, {5, 9}, {37, 29}} {
				w, h := size[0], size[1]
				data := noise(w*h*c.samples, depth, 7)
				for i := range data {
					data[i] &= 1 | uint16(i/9%3)*0xFFFF&(1<<depth-1) // often 0 or 1, which are the keys
				}
				var chunks [][]byte
				if c.colourType == pngPalette {
					chunks = append(chunks, palette(depth))
				}
				for _, keyed := range []bool{false, true} {
					if keyed && c.key == nil {
						continue
					}
					if keyed {
						chunks = append(chunks, pngChunk("tRNS", c.key(depth)))
					}
					for what, file := range map[string][]byte{
						"plain":      pngFile(w, h, depth, c.colourType, data, chunks...),
						"interlaced": interlacedPNG(w, h, depth, c.colourType, data, chunks...),
					} {
						what = fmt.Sprintf("%s, type %d, %d bits, %d x %d, key %v", what, c.colourType, depth, w, h, keyed)
						got, want := openBytes(t, file), libraryPNG(t, file, c.colourType == pngGrey || c.colourType == pngGreyAlpha)
						if got.Channels != want.Channels || got.Depth != want.Depth || !bytes.Equal(got.Alpha, want.Alpha) || len(got.Notes) != len(want.Notes) {
							t.Errorf("%s: %d channels of %d bits, alpha %v, notes %q; want %d of %d, %v, %q", what, got.Channels, got.Depth, got.Alpha, got.Notes, want.Channels, want.Depth, want.Alpha, want.Notes)
						}
						equalSamples(t, what, got.samples(), want.samples())
						sameByRows(t, what, file)
					}
				}
			}
		}
	}
}

// Under each filter, for pixels of each size, rows are those of the standard library, whose
// encoder chooses among all filters.
func TestPNGFilters(t *testing.T) {
	const w, h = 61, 40
	r := rand.New(rand.NewPCG(4, 2))
	pix := make([]byte, 8*w*h)
	for i := range pix {
		pix[i] = byte(i/8*3 + r.IntN(5)*r.IntN(i/w/8+1)) // smooth above, wild below
	}
	bounds := image.Rect(0, 0, w, h)
	opaque := image.NewNRGBA64(bounds)
	for i := range opaque.Pix {
		if opaque.Pix[i] = pix[i]; i%8 >= 6 {
			opaque.Pix[i] = 255
		}
	}
	for what, img := range map[string]image.Image{
		"1 byte":  &image.Gray{Pix: pix, Stride: w, Rect: bounds},
		"2 bytes": &image.Gray16{Pix: pix, Stride: 2 * w, Rect: bounds},
		"3 bytes": &opaqueImage{image.NRGBA{Pix: pix, Stride: 4 * w, Rect: bounds}},
		"4 bytes": &image.NRGBA{Pix: pix, Stride: 4 * w, Rect: bounds},
		"6 bytes": opaque,
		"8 bytes": &image.NRGBA64{Pix: pix, Stride: 8 * w, Rect: bounds},
	} {
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		got, want := openBytes(t, b.Bytes()), libraryPNG(t, b.Bytes(), false)
		equalSamples(t, what, got.samples(), want.samples())
		if !bytes.Equal(got.Alpha, want.Alpha) {
			t.Errorf("%s: opacities differ", what)
		}
		sameByRows(t, what, b.Bytes())
		broken := bytes.Clone(b.Bytes())
		broken[bytes.Index(broken, []byte("IDAT"))+20] ^= 1
		_, err := OpenReader(t.Context(), "broken", bytes.NewReader(broken))
		wantKind(t, err, Damaged, "broken")
	}
	for filter := range byte(5) {
		row, above := []byte{1, 2, 3, 200, 5, 250}, []byte{9, 8, 100, 6, 255, 4}
		if err := unfilter(filter, row, above, 2); err != nil {
			t.Error(err)
		}
		want := [][]byte{{1, 2, 3, 200, 5, 250}, {1, 2, 4, 202, 9, 196}, {10, 10, 103, 206, 4, 254}, {5, 6, 55, 206, 160, 99}, {10, 10, 103, 208, 4, 202}}[filter]
		if !bytes.Equal(row, want) {
			t.Errorf("filter %d gives %v, want %v", filter, row, want)
		}
	}
	if err := unfilter(5, nil, nil, 2); err == nil {
		t.Error("filter 5 is taken")
	}
}

// opaqueImage is written without opacities.
type opaqueImage struct{ image.NRGBA }

func (*opaqueImage) Opaque() bool { return true }

func (m *opaqueImage) At(x, y int) color.Color {
	c := m.NRGBAAt(x, y)
	c.A = 255
	return c
}

// The predictor is the standard's for all that can stand around a byte (PNG 9.4).
func TestPaeth(t *testing.T) {
	distance := func(a, b int) int { return max(a-b, b-a) }
	for a := range 256 {
		for b := range 256 {
			for c := range 256 {
				p := a + b - c
				want := c
				switch pa, pb, pc := distance(p, a), distance(p, b), distance(p, c); {
				case pa <= pb && pa <= pc:
					want = a
				case pb <= pc:
					want = b
				}
				if got := paeth(a, b, c); int(got) != want {
					t.Fatalf("of %d, %d, %d: %d, want %d", a, b, c, got, want)
				}
			}
		}
	}
}

// What stands where it must not, or is of a size that it must not have, is refused in words.
func TestPNGChunksRefused(t *testing.T) {
	rgb, index := noise(12, 8, 1), []uint16{0, 1, 0, 1}
	plte := pngChunk("PLTE", []byte{1, 2, 3, 4, 5, 6})
	good := pngFile(2, 2, 8, pngRGB, rgb)
	idat := bytes.Index(good, []byte("IDAT")) - 4
	n := int(be.Uint32(good[idat:]))
	body := good[idat+8 : idat+8+n]
	parts := func(between ...[]byte) []byte { // the pixels in two chunks
		out := append(bytes.Clone(good[:idat]), pngChunk("IDAT", body[:5])...)
		for _, c := range between {
			out = append(out, c...)
		}
		return append(append(out, pngChunk("IDAT", body[5:])...), pngChunk("IEND", nil)...)
	}
	badSum := pngChunk("tEXt", []byte("a\x00b"))
	badSum[len(badSum)-1] ^= 1
	for what, c := range map[string]struct {
		data []byte
		kind Kind
	}{
		"no palette":                    {pngFile(2, 2, 8, pngPalette, index), Damaged},
		"half an entry":                 {pngFile(2, 2, 8, pngPalette, index, pngChunk("PLTE", []byte{1, 2, 3, 4})), Damaged},
		"too many entries":              {pngFile(2, 2, 1, pngPalette, index, pngChunk("PLTE", make([]byte, 9))), Damaged},
		"opacities without end":         {pngFile(2, 2, 8, pngPalette, index, plte, pngChunk("tRNS", make([]byte, 257))), Damaged},
		"two bytes as the key of RGB":   {pngFile(2, 2, 8, pngRGB, rgb, pngChunk("tRNS", make([]byte, 2))), Damaged},
		"a key beside opacities":        {pngFile(1, 3, 8, pngRGBA, rgb, pngChunk("tRNS", make([]byte, 6))), Damaged},
		"4 bits of RGB":                 {pngFile(2, 2, 4, pngRGB, noise(12, 4, 1)), Unsupported},
		"another chunk among pixels":    {parts(pngChunk("tEXt", []byte("a\x00b"))), Damaged},
		"a bad sum before the pixels":   {append(bytes.Clone(good[:33]), append(badSum, good[33:]...)...), Damaged},
		"a bad sum behind the pixels":   {append(bytes.Clone(good[:len(good)-12]), append(badSum, good[len(good)-12:]...)...), Damaged},
		"a bad sum of the end":          {append(bytes.Clone(good[:len(good)-1]), 0), Damaged},
		"more rows than the header's":   {append(bytes.Clone(good[:8]), append(pngChunk("IHDR", append(be.AppendUint32(be.AppendUint32(nil, 2), 1), 8, 2, 0, 0, 0)), good[33:]...)...), Damaged},
		"a wrong sum of all the pixels": {pngWith(good, idat, n, func(b []byte) { b[len(b)-1] ^= 1 }), Damaged},
	} {
		_, err := OpenReader(t.Context(), what, bytes.NewReader(c.data))
		wantKind(t, err, c.kind, what)
	}
	for what, data := range map[string][]byte{"two chunks of pixels": parts(), "an empty one among them": parts(pngChunk("IDAT", nil))} {
		equalSamples(t, what, openBytes(t, data).samples(), rgb)
	}
}

// pngWith changes the contents of a chunk.
func pngWith(file []byte, at, n int, change func(body []byte)) []byte {
	body := bytes.Clone(file[at+8 : at+8+n])
	change(body)
	return append(append(bytes.Clone(file[:at]), pngChunk(string(file[at+4:at+8]), body)...), file[at+12+n:]...)
}
