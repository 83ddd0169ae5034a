package photo

import (
	"bytes"
	"context"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"testing"
)

// photograph returns one of 3.4 megapixels, with 8 bits and with 16.
func photograph(b *testing.B) (p, deep *Picture) {
	p = open(b, filepath.Join("..", "..", "testdata", "cache", "photos", "flower.png"))
	q := *p
	q.Depth, q.Pix8, q.Pix16 = 16, nil, make([]uint16, len(p.Pix8))
	for i, v := range p.Pix8 {
		q.Pix16[i] = uint16(v)*257 + uint16(i*31%200) // as busy in its lower bits as a real one
	}
	return p, &q
}

// What a photograph costs to unpack, as other programs write it, beside the standard library's
// decoder of PNG. With -cpu 1 the time is that of one processor.
func BenchmarkUnpack(b *testing.B) {
	p, deep := photograph(b)
	encoded := func(m image.Image) []byte {
		var out bytes.Buffer
		if err := png.Encode(&out, m); err != nil {
			b.Fatal(err)
		}
		return out.Bytes()
	}
	wide := image.NewRGBA64(p.Bounds())
	for i := range p.W * p.H {
		for c := range 3 {
			be.PutUint16(wide.Pix[8*i+2*c:], deep.Pix16[3*i+c])
		}
		be.PutUint16(wide.Pix[8*i+6:], 65535)
	}
	ours := func(b *testing.B, data []byte) {
		if _, err := OpenReader(b.Context(), "memory", bytes.NewReader(data)); err != nil {
			b.Fatal(err)
		}
	}
	library := func(b *testing.B, data []byte) {
		if _, err := png.Decode(bytes.NewReader(data)); err != nil {
			b.Fatal(err)
		}
	}
	for _, c := range []struct {
		name   string
		data   []byte
		unpack func(b *testing.B, data []byte)
	}{
		{"PNG8", encoded(asRGBA(p)), ours},
		{"PNG8-library", encoded(asRGBA(p)), library},
		{"PNG16", encoded(wide), ours},
		{"PNG16-library", encoded(wide), library},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				c.unpack(b, c.data)
			}
			b.ReportMetric(float64(p.W*p.H)*float64(b.N)/1e6/b.Elapsed().Seconds(), "MP/s")
		})
	}
}

// What a photograph costs to pack, beside the standard library's encoders on the same
// picture.
func BenchmarkPack(b *testing.B) {
	p, deep := photograph(b)
	file := func(b *testing.B) *os.File {
		f, err := os.Create(filepath.Join(b.TempDir(), "out"))
		if err != nil {
			b.Fatal(err)
		}
		b.Cleanup(func() { f.Close() })
		return f
	}
	for _, c := range []struct {
		name string
		pack func(ctx context.Context, f *os.File) error
	}{
		{"PNG8", func(ctx context.Context, f *os.File) error { return writePNG(ctx, f, p.Rows(), WriteOptions{}) }},
		{"PNG8-library", func(_ context.Context, f *os.File) error {
			return (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(f, asRGBA(p))
		}},
		{"JPEG", func(ctx context.Context, f *os.File) error { return writeJPEG(ctx, f, p.Rows(), WriteOptions{}) }},
		{"JPEG-library-420", func(_ context.Context, f *os.File) error {
			return jpeg.Encode(f, asRGBA(p), &jpeg.Options{Quality: 95})
		}},
		{"PNG16", func(ctx context.Context, f *os.File) error { return writePNG(ctx, f, deep.Rows(), WriteOptions{}) }},
		{"TIFF16-ZIP", func(ctx context.Context, f *os.File) error { return writeTIFF(ctx, f, deep.Rows(), WriteOptions{}) }},
		{"TIFF16-LZW", func(ctx context.Context, f *os.File) error {
			return writeTIFF(ctx, f, deep.Rows(), WriteOptions{Packing: LZW})
		}},
	} {
		b.Run(c.name, func(b *testing.B) {
			f := file(b)
			for range b.N {
				if _, err := f.Seek(0, io.SeekStart); err != nil {
					b.Fatal(err)
				}
				if err := f.Truncate(0); err != nil {
					b.Fatal(err)
				}
				if err := c.pack(b.Context(), f); err != nil {
					b.Fatal(err)
				}
			}
			info, err := f.Stat()
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(p.W*p.H)*float64(b.N)/1e6/b.Elapsed().Seconds(), "MP/s")
			b.ReportMetric(float64(info.Size())/1e6, "MB")
		})
	}
}

func asRGBA(p *Picture) *image.RGBA {
	m := image.NewRGBA(p.Bounds())
	for i := range p.W * p.H {
		copy(m.Pix[4*i:], p.Pix8[3*i:3*i+3])
		m.Pix[4*i+3] = 255
	}
	return m
}

// What ten megapixels in tiles cost to open, the first time in a program aside.
func BenchmarkHEIF(b *testing.B) {
	for _, name := range []string{"patches_420_p3.heic", "patches_8bit.avif"} {
		data := remade(b, heif(b, name), "mif1", 20, 20)
		b.Run(name, func(b *testing.B) {
			openBytes(b, data)
			b.SetBytes(20 * 192 * 20 * 128) // pixels: MB/s are megapixels a second
			for b.Loop() {
				openBytes(b, data)
			}
		})
	}
}
