package photo

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
)

func begun(t *testing.T, data []byte) *Reading {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.jpg")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := Begin(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(r.Close)
	return r
}

// Rows that are asked for by several goroutines, the last ones first, are those of the
// whole picture, whatever its format.
func TestRowsAreTheWhole(t *testing.T) {
	files := specimens(t)
	for _, name := range []string{"patches_cmyk.jpg", "patches_cmyk_progressive.jpg", "patches_420_progressive.jpg"} {
		files[name] = read(t, filepath.Join("testdata", name))
	}
	for name, data := range files {
		sameByRows(t, name, data)
	}
}

// sameByRows fails unless a file's rows, asked for by several goroutines, the last ones first, are
// those of the whole picture, and what is said of it is the same.
func sameByRows(t *testing.T, name string, data []byte) {
	t.Helper()
	whole, r := openBytes(t, data), begun(t, data)
	if r.W != whole.W || r.H != whole.H || r.Channels != whole.Channels || r.Depth != whole.Depth || !bytes.Equal(r.ICC, whole.ICC) {
		t.Errorf("%s: %+v", name, r.Picture)
	}
	opacities := whole.Alpha
	if opacities == nil {
		opacities = bytes.Repeat([]byte{255}, whole.W*whole.H)
	}
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var group sync.WaitGroup
	step := max(1, r.H/3)
	last := (r.H - 1) / step * step
	for y := last; y >= 0; y -= step {
		group.Go(func() {
			px, alpha, err := r.Rows(ctx, y, min(r.H, y+step))
			if err != nil {
				t.Errorf("%s: %v", name, err)
				stop() // who waits for these rows
				return
			}
			want := whole.Pixels().Rows(y, min(r.H, y+step))
			if px.W != want.W || px.H != want.H || px.Channels != want.Channels || !bytes.Equal(px.P8, want.P8) || !slices.Equal(px.P16, want.P16) {
				t.Errorf("%s: rows from %d differ", name, y)
			}
			if alpha == nil {
				alpha = bytes.Repeat([]byte{255}, px.W*px.H)
			}
			if !bytes.Equal(alpha, opacities[y*r.W:][:px.W*px.H]) {
				t.Errorf("%s: opacities from %d differ", name, y)
			}
			r.Done(px)
		})
	}
	group.Wait()
	if !slices.Equal(r.Notes, whole.Notes) || r.Opaque() != (whole.Alpha == nil) {
		t.Errorf("%s: opaque %v, notes %q, want %q", name, r.Opaque(), r.Notes, whole.Notes)
	}
}

// Samples of a JPEG that lies upright wait until they are asked for.
func TestReadingWaits(t *testing.T) {
	planes := [][]byte{{10, 200, 30, 90}, {128, 128, 128, 128}, {128, 128, 128, 128}}
	if r := begun(t, flatJPEG(2, planes)); r.Pix8 != nil {
		t.Error("its samples are there")
	} else if err := r.Whole(t.Context()); err != nil || len(r.Pix8) != 3*16*16 || r.Pix8[0] != 10 {
		t.Errorf("%d samples, %v", len(r.Pix8), err)
	}
	turned := flatJPEG(2, planes, jpegSegment(0xE1, append([]byte(exifMarker), exifBlock(be, 6, 0xFFFF, "")...)))
	if r := begun(t, turned); len(r.Pix8) != 3*16*16 || r.Pix8[0] != 30 {
		t.Error("it does not come upright")
	}
}

// What is wrong among the rows is told by who reads them, and who waits for them is let go
// with the context.
func TestReadingFails(t *testing.T) {
	planes := [][]byte{make([]byte, 400), make([]byte, 400), make([]byte, 400)}
	data := flatJPEG(4, planes)
	r := begun(t, data[:len(data)-100])
	_, _, err := r.Rows(t.Context(), 0, r.H)
	wantKind(t, err, Damaged, r.path)

	r = begun(t, data)
	ctx, cancel := context.WithCancel(t.Context())
	failed := make(chan error)
	go func() {
		_, _, err := r.Rows(ctx, 64, 128)
		failed <- err
	}()
	cancel()
	if err := <-failed; !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if _, _, err := r.Rows(ctx, 0, 64); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// A TIFF of thousands of tiles side by side, which would all be open at a time, is read whole.
func TestReadingManyTiles(t *testing.T) {
	s := tiffSpec{order: le, w: 8 * (MaxMemory/blockBuffers + 16), h: 9, bits: 8, samples: 1, photometric: tiffBlackIsZero, compression: tiffNone, tileW: 8, tileH: 16}
	s.data = make([]uint16, s.w*s.h)
	for i := range s.data {
		s.data[i] = uint16(i * 7 % 251)
	}
	r := begun(t, s.bytes())
	if len(r.Pix8) != len(s.data) {
		t.Fatalf("%d samples of %d are there", len(r.Pix8), len(s.data))
	}
	for i, v := range s.data {
		if r.Pix8[i] != uint8(v) {
			t.Fatalf("sample %d is %d, want %d", i, r.Pix8[i], v)
		}
	}
	s.w, s.data = 8*100, s.data[:8*100*s.h]
	if r = begun(t, s.bytes()); r.Pix8 != nil {
		t.Error("a hundred tiles are not read by rows")
	}
}

// A panorama of 420 megapixels is read by rows, and is too large to be read as a whole or
// where it cannot be.
func TestPanorama(t *testing.T) {
	const across, down = 2500, 2625
	plane := bytes.Repeat([]byte{128}, across*down)
	copy(plane, bytes.Repeat([]byte{200}, across))
	data := flatJPEG(across, [][]byte{plane, plane, plane})
	r := begun(t, data)
	px, _, err := r.Rows(t.Context(), 0, 16)
	if err != nil || r.W*r.H != 420_000_000 || len(px.P8) != 3*16*8*across {
		t.Fatalf("%d x %d, %d samples, %v", r.W, r.H, len(px.P8), err)
	}
	whole := begun(t, data)
	wantKind(t, whole.Whole(t.Context()), TooLarge, whole.path)
	_, err = OpenReader(t.Context(), "panorama", bytes.NewReader(data))
	wantKind(t, err, TooLarge, "panorama")
	turned := append(append([]byte{0xFF, 0xD8}, jpegSegment(0xE1, append([]byte(exifMarker), exifBlock(be, 6, 0xFFFF, "")...))...), data[2:]...)
	path := filepath.Join(t.TempDir(), "turned.jpg")
	if err := os.WriteFile(path, turned, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Begin(t.Context(), path)
	wantKind(t, err, TooLarge, path)
}
