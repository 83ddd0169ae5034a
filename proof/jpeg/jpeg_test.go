package jpeg_test

import (
	"bytes"
	"context"
	"errors"
	"image"
	stdjpeg "image/jpeg"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"firstsheet/proof/jpeg"
)

// noisy returns samples that no code makes short.
func noisy(n int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	out := make([]byte, n)
	for i := range out {
		out[i] = byte(r.Uint32())
	}
	return out
}

func patches(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "photo", "testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// decode reads a file by so many rows at a time.
func decode(ctx context.Context, data []byte, o jpeg.Options, rows int) (*jpeg.Decoder, []byte, error) {
	d, err := jpeg.Open(data)
	if err != nil {
		return nil, nil, err
	}
	defer d.Close()
	if err := d.Start(o); err != nil {
		return d, nil, err
	}
	stride := d.W * d.Channels
	out := make([]byte, stride*d.H)
	for y := 0; y < d.H; y += rows {
		if err := d.Rows(ctx, out[y*stride:min(y+rows, d.H)*stride]); err != nil {
			return d, nil, err
		}
	}
	return d, out, nil
}

func wantKind(t *testing.T, what string, err error, kind jpeg.Kind) {
	t.Helper()
	if e, ok := errors.AsType[*jpeg.Error](err); !ok || e.Kind != kind || e.Message == "" {
		t.Errorf("%s: %v, want an error that it is %v", what, err, kind)
	}
}

// At quality 100 grey comes back within the rounding of the transform; the standard
// library reads the same.
func TestRoundTrip(t *testing.T) {
	for _, channels := range []int{1, 3} {
		w, h := 77, 45
		in := noisy(w * h * channels)
		file, err := jpeg.Encode(jpeg.Shape{W: w, H: h, Channels: channels, Quality: 100, Interval: 7}, in)
		if err != nil {
			t.Fatal(err)
		}
		d, out, err := decode(t.Context(), file, jpeg.Options{}, 10)
		if err != nil || d.W != w || d.H != h || d.Channels != channels || d.Scans || d.Adobe {
			t.Fatalf("%+v, %v", d, err)
		}
		// Two roundings of the transform; of colour the matrix's besides.
		for i, most := 0, []int{0, 2, 0, 5}[channels]; i < len(in); i++ {
			if off := int(in[i]) - int(out[i]); max(off, -off) > most {
				t.Fatalf("%d channels: sample %d is %d, was %d", channels, i, out[i], in[i])
			}
		}
		img, err := stdjpeg.Decode(bytes.NewReader(file))
		if err != nil || img.Bounds() != image.Rect(0, 0, w, h) {
			t.Fatalf("the standard library: %v", err)
		}
	}
}

// A block of one coefficient is what T.81, A.3.3 makes of it: the mean times 8.
func TestCoefficients(t *testing.T) {
	const across, down = 3, 2
	coefficients := make([]int16, across*down*64)
	for i := range across * down {
		coefficients[64*i] = int16(8 * (20*i - 50))
	}
	file, err := jpeg.EncodeCoefficients(jpeg.Shape{W: 8*across - 3, H: 8*down - 1, Channels: 1, Quality: 100}, coefficients)
	if err != nil {
		t.Fatal(err)
	}
	d, out, err := decode(t.Context(), file, jpeg.Options{}, 100)
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range out {
		block := i/d.W/8*across + i%d.W/8
		if want := 128 + 20*block - 50; int(v) != want {
			t.Fatalf("sample %d is %d, want %d", i, v, want)
		}
	}
}

// T.81, table K.1 and K.2 begin with these; the scale is the library's own.
func TestSteps(t *testing.T) {
	half, err := jpeg.Steps(50)
	if err != nil || half[0][0] != 16 || half[0][1] != 11 || half[0][8] != 12 || half[1][0] != 17 || half[1][9] != 21 || half[1][63] != 99 {
		t.Errorf("at 50: %v, %v", half, err)
	}
	for i, steps := 0, must(jpeg.Steps(100)); i < 64; i++ {
		if steps[0][i] != 1 || steps[1][i] != 1 {
			t.Errorf("at 100 step %d is %d and %d", i, steps[0][i], steps[1][i])
		}
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// Raw, the three components are what is stored: luma and differences of a file that the
// library would make colours of.
func TestRaw(t *testing.T) {
	file := must(jpeg.Encode(jpeg.Shape{W: 8, H: 8, Channels: 3, Quality: 100}, bytes.Repeat([]byte{255, 0, 0}, 64)))
	// T.871, 7: red has the luma 76 and the differences 85 and 255 (255.5 is bounded).
	if _, out, err := decode(t.Context(), file, jpeg.Options{Raw: true}, 8); err != nil || !bytes.Equal(out[:3], []byte{76, 85, 255}) {
		t.Errorf("%v, %v", out[:3], err)
	}
}

// Cut anywhere, a file is refused, and none is read beyond its end.
func TestShort(t *testing.T) {
	for _, name := range []string{"patches_420_progressive.jpg", "patches_cmyk.jpg", "patches_cmyk_progressive.jpg"} {
		data := patches(t, name)
		if _, _, err := decode(t.Context(), data, jpeg.Options{}, 3); err != nil {
			t.Fatal(err)
		}
		for n := range data {
			if _, _, err := decode(t.Context(), bytes.Clone(data[:n]), jpeg.Options{}, 3); err == nil {
				t.Fatalf("%s opens with %d of %d bytes", name, n, len(data))
			} else if _, ok := errors.AsType[*jpeg.Error](err); !ok {
				t.Fatal(err)
			}
		}
	}
}

func TestRefused(t *testing.T) {
	good := must(jpeg.Encode(jpeg.Shape{W: 64, H: 64, Channels: 1, Quality: 90}, noisy(64*64)))
	edit := func(at int, v byte) []byte {
		data := bytes.Clone(good)
		data[bytes.Index(data, []byte{0xFF, 0xC0})+at] = v
		return data
	}
	noWidth := edit(7, 0)
	noWidth[bytes.Index(noWidth, []byte{0xFF, 0xC0})+8] = 0
	for what, c := range map[string]struct {
		data []byte
		kind jpeg.Kind
	}{
		"nothing":  {nil, jpeg.Short},
		"a text":   {[]byte("no picture"), jpeg.Damaged},
		"lossless": {edit(1, 0xC3), jpeg.Unsupported},
		"12 bits":  {edit(4, 12), jpeg.Unsupported},
		"no width": {noWidth, jpeg.Damaged},
		"no end":   {good[:len(good)-2], jpeg.Short},
	} {
		_, _, err := decode(t.Context(), c.data, jpeg.Options{}, 64)
		wantKind(t, what, err, c.kind)
	}
	flipped := bytes.Clone(good)
	flipped[len(flipped)/2], flipped[len(flipped)/2+1] = 0xFF, 0xD9
	_, _, err := decode(t.Context(), flipped, jpeg.Options{}, 64)
	wantKind(t, "an end mark in the middle", err, jpeg.Damaged)
	tall := patches(t, "patches_420_progressive.jpg")
	tall[bytes.Index(tall, []byte{0xFF, 0xC2})+5] = 40 // 10,000 rows
	_, _, err = decode(t.Context(), tall, jpeg.Options{Memory: 100_000}, 8)
	wantKind(t, "too little memory", err, jpeg.TooLarge)
}

// A context ends the reading of scans and of rows.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for _, name := range []string{"patches_420_progressive.jpg", "patches_cmyk.jpg"} {
		if _, _, err := decode(ctx, patches(t, name), jpeg.Options{}, 8); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestCloseTwice(t *testing.T) {
	d := must(jpeg.Open(patches(t, "patches_cmyk.jpg")))
	d.Close()
	d.Close()
}

// What a picture of 6 megapixels costs to read and write, beside the standard library.
func BenchmarkCodec(b *testing.B) {
	file, err := os.ReadFile(filepath.Join("..", "..", "assets", "regatta.jpg"))
	if err != nil {
		b.Fatal(err)
	}
	d, pixels, err := decode(b.Context(), file, jpeg.Options{}, 64)
	if err != nil {
		b.Fatal(err)
	}
	shape := jpeg.Shape{W: d.W, H: d.H, Channels: d.Channels, Quality: 98}
	for _, c := range []struct {
		name string
		do   func() error
	}{
		{"decode", func() error { _, _, err := decode(b.Context(), file, jpeg.Options{}, 64); return err }},
		{"decode/library", func() error { _, err := stdjpeg.Decode(bytes.NewReader(file)); return err }},
		{"encode", func() error { _, err := jpeg.Encode(shape, pixels); return err }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if err := c.do(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(d.W*d.H)*float64(b.N)/1e6/b.Elapsed().Seconds(), "MP/s")
		})
	}
}
