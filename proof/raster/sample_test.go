package raster_test

import (
	"context"
	"image"
	"math"
	"testing"

	"firstsheet/proof/raster"
)

// inCell lays a picture of pw by ph pixels into a cell of w by h so that the picture
// point (x, y) is in the cell's middle, as far as no side stays empty.
func inCell(w, h int, scale, x, y float64, pw, ph int) raster.View {
	dw, dh := max(int(float64(pw)*scale+0.5), 1), max(int(float64(ph)*scale+0.5), 1)
	vw, vh := min(dw, w), min(dh, h)
	left, top := (w-vw)/2, (h-vh)/2
	ox := min(max(int(math.Round(float64(vw)/2-x*scale)), vw-dw), 0)
	oy := min(max(int(math.Round(float64(vh)/2-y*scale)), vh-dh), 0)
	return raster.View{Visible: image.Rect(left, top, left+vw, top+vh), Scale: scale, X0: left + ox, Y0: top + oy}
}

// ramp is a picture whose neighbours all differ.
func ramp(w, h int) raster.Pixels {
	p := raster.New(w, h, 3, false)
	for y := range h {
		for x := range w {
			i := 3 * (y*w + x)
			p.P8[i], p.P8[i+1], p.P8[i+2] = uint8(x), uint8(x+3*y), uint8(255-x+y)
		}
	}
	return p
}

func TestSample(t *testing.T) {
	full := ramp(300, 200)
	levels := raster.Levels(full)
	t.Run("one to one is a copy", func(t *testing.T) {
		p := inCell(128, 128, 1, 150, 90, 300, 200)
		got := raster.Sample(context.Background(), levels, p)
		for y := range got.H {
			for x := range got.W {
				sx, sy := p.Visible.Min.X+x-p.X0, p.Visible.Min.Y+y-p.Y0
				a, b := got.At(nil, x, y), full.At(nil, sx, sy)
				if a[0] != b[0] || a[1] != b[1] || a[2] != b[2] {
					t.Fatalf("pixel %d, %d = %v, want %v", x, y, a, b)
				}
			}
		}
	})
	t.Run("an output pixel is the mean of what it covers", func(t *testing.T) {
		// Full size only, so that no level stands between: the brute mean is exact.
		for _, scale := range []float64{0.37, 0.5, 0.83, 1.6, 3} {
			p := inCell(128, 128, scale, 150, 90, 300, 200)
			got := raster.Sample(context.Background(), []raster.Pixels{full}, p)
			for _, at := range [][2]int{{0, 0}, {7, 3}, {got.W / 2, got.H / 3}, {got.W - 1, got.H - 1}} {
				x, y := at[0], at[1]
				want := bruteMean(full, float64(p.Visible.Min.X+x-p.X0)/scale, float64(p.Visible.Min.Y+y-p.Y0)/scale, 1/scale)
				have := got.At(nil, x, y)[1]
				// The mean is rounded to 16 bits once and summed in 32-bit floats.
				if math.Abs(have-want) > 4.0/65535 {
					t.Errorf("scale %g, pixel %d, %d = %.5f, want %.5f", scale, x, y, have, want)
				}
			}
		}
	})
	t.Run("a flat picture stays flat at any size", func(t *testing.T) {
		flat := raster.New(333, 217, 3, false)
		for i := range flat.P8 {
			flat.P8[i] = 97
		}
		for _, scale := range []float64{0.01, 0.21, 0.5, 0.99, 1, 1.7} {
			p := inCell(90, 70, scale, 100, 100, 333, 217)
			got := raster.Sample(context.Background(), raster.Levels(flat), p)
			for x := range got.W {
				if v := got.At(nil, x, got.H/2)[0]; math.Abs(v-97.0/255) > 2.0/65535 {
					t.Fatalf("scale %g: %v at %d, want %v", scale, v, x, 97.0/255)
				}
			}
		}
	})
}

// bruteMean integrates over a square of the picture in steps of a 64th of it.
func bruteMean(p raster.Pixels, x0, y0, size float64) float64 {
	const n = 256
	var sum, count float64
	for j := range n {
		for i := range n {
			x, y := x0+(float64(i)+0.5)*size/n, y0+(float64(j)+0.5)*size/n
			if x < 0 || y < 0 || x >= float64(p.W) || y >= float64(p.H) {
				continue
			}
			sum += float64(p.P8[3*(int(y)*p.W+int(x))+1]) / 255
			count++
		}
	}
	return sum / count
}
