package raster_test

import (
	"context"
	"errors"
	"image"
	"testing"

	"firstsheet/proof/raster"
)

func TestFit(t *testing.T) {
	levels := raster.Levels(ramp(300, 200))
	for _, c := range [][4]int{{150, 150, 150, 100}, {600, 100, 150, 100}, {300, 200, 300, 200}, {9999, 9999, 2400, 1600}, {1, 1, 1, 1}} {
		if px, err := raster.Fit(context.Background(), levels, c[0], c[1]); err != nil || px.W != c[2] || px.H != c[3] {
			t.Errorf("into %d by %d: %d by %d, %v; want %d by %d", c[0], c[1], px.W, px.H, err, c[2], c[3])
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := raster.Fit(ctx, levels, 10, 10); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// At the picture's own size a part of it is its very numbers.
func TestCut(t *testing.T) {
	full := ramp(90, 60)
	px, err := raster.Cut(context.Background(), raster.Levels(full), image.Rect(20, 11, 61, 42), 41, 31)
	if err != nil || px.W != 41 || px.H != 31 {
		t.Fatalf("%d by %d, %v", px.W, px.H, err)
	}
	for y := range px.H {
		for x := range px.W {
			a, b := px.At(nil, x, y), full.At(nil, 20+x, 11+y)
			if a[0] != b[0] || a[1] != b[1] || a[2] != b[2] {
				t.Fatalf("pixel %d, %d: %v, want %v", x, y, a, b)
			}
		}
	}
}
