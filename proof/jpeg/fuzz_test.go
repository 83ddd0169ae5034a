package jpeg_test

import (
	"errors"
	"testing"

	"firstsheet/proof/jpeg"
)

// FuzzDecode requires of any bytes and in each way of reading them: rows or a typed error.
// Under AddressSanitizer:
//
//	go test -asan -run '^$' -fuzz FuzzDecode -fuzzminimizetime 0 -parallel 1 ./proof/jpeg
func FuzzDecode(f *testing.F) {
	for _, name := range []string{"patches_420_progressive.jpg", "patches_cmyk.jpg", "patches_cmyk_progressive.jpg"} {
		data := patches(f, name)
		f.Add(data, false)
	}
	for _, s := range []jpeg.Shape{{W: 40, H: 30, Channels: 3, Quality: 90}, {W: 33, H: 17, Channels: 1, Quality: 40, Interval: 2}} {
		data := must(jpeg.Encode(s, noisy(s.W*s.H*s.Channels)))
		f.Add(data, true)
		f.Add(data, false)
	}
	f.Fuzz(func(t *testing.T, data []byte, raw bool) {
		d, err := jpeg.Open(data)
		if err == nil {
			defer d.Close()
			if d.W*d.H > 1<<16 {
				return
			}
			if err = d.Start(jpeg.Options{Raw: raw, Memory: 16 << 20}); err == nil {
				for y, row := 0, make([]byte, d.W*d.Channels); y < d.H && err == nil; y++ {
					err = d.Rows(t.Context(), row)
				}
			}
		}
		if e, ok := errors.AsType[*jpeg.Error](err); err != nil && (!ok || e.Kind == 0 || e.Message == "") {
			t.Errorf("%v", err)
		}
	})
}
