package photo

import (
	"testing"
)

// FuzzOpen requires of any bytes: no panic, a sound picture or a typed error, and
// memory in proportion to the limits. Seeds are the specimens of all formats.
//
//	go test -run '^$' -fuzz FuzzOpen -fuzzminimizetime 0 ./proof/photo
func FuzzOpen(f *testing.F) {
	for _, data := range specimens(f) {
		f.Add(data)
	}
	for _, name := range []string{"png_exif.png", "png_chrm_palette.png", "1x1_exif.jpg", "png_grey4.png"} {
		f.Add(read(f, cached(f, "photos/"+name)))
	}
	for _, name := range []string{"patches_420_p3.heic", "patches_10bit_turned.avif", "patches_tiles.avif", "patches_alpha.heic",
		"ramp_10bit_420.heic", "ramp_10bit_alpha.heic", "ramp_8bit_444.heic"} {
		f.Add(heif(f, name))
	}
	lim := limits{pixels: 1 << 14, file: 1 << 20}
	f.Fuzz(func(t *testing.T, data []byte) {
		// 2^14 pixels of 8 bytes, some copies of them, buffers of the decoders, a
		// profile that unpacks to its limit, and an input that is copied.
		const most = 64<<20 + 6*MaxICCBytes
		grown := allocated(func() { tryOpen(t, "fuzz", data, lim) })
		if grown > most+64*uint64(len(data)) {
			t.Errorf("%d bytes of input took %d bytes", len(data), grown)
		}
	})
}
