package printfile

import (
	"context"
	"fmt"
	"image"
	"math"
	"os"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

const cache = "../../testdata/cache/"

func TestMain(m *testing.M) {
	code := m.Run()
	if n := lcms.Live(); n != 0 && code == 0 {
		fmt.Fprintf(os.Stderr, "%d handles of the library are still open\n", n)
		code = 1
	}
	os.Exit(code)
}

func engine(t testing.TB) *proof.Engine {
	e := proof.NewEngine()
	t.Cleanup(e.Close)
	return e
}

// named makes a source of a picture whose numbers are a built-in space's.
func named(t testing.TB, p *photo.Picture, id string) setup.Source {
	t.Helper()
	s, ok := space.ByID(id)
	if !ok {
		t.Fatalf("no space %s", id)
	}
	p.Space = &s
	src, err := setup.SourceOf(p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// drawn makes a 16-bit RGB picture; f returns numbers 0 to 1.
func drawn(w, h int, f func(x, y int) [3]float64) *photo.Picture {
	p := &photo.Picture{W: w, H: h, Channels: 3, Depth: 16, Pix16: make([]uint16, w*h*3)}
	for y := range h {
		for x := range w {
			for c, v := range f(x, y) {
				p.Pix16[(y*w+x)*3+c] = uint16(math.Round(min(max(v, 0), 1) * 65535))
			}
		}
	}
	return p
}

// prepared makes a print of a picture.
func prepared(t testing.TB, s setup.Source, j Job) *Print {
	t.Helper()
	p, err := Prepare(t.Context(), engine(t), setup.Files{Library: paper.Open(t.TempDir()), Picture: s.Profile}, s, j)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(p.Close)
	return p
}

// own is a job of the picture's own pixels, unsharpened.
func own(paper string) Job {
	return Job{Setup: setup.Usual(paper), Size: Size{By: OwnPixels}, PPI: 300}
}

// scaled is a job that brings the longer edge to so many pixels.
func scaled(paper string, long int) Job {
	return Job{Setup: setup.Usual(paper), Size: Size{By: LongEdge, Length: float64(long) / 300 * mmPerInch}, PPI: 300}
}

func preview(t testing.TB, p *Print) raster.Pixels {
	t.Helper()
	px, err := p.Preview(t.Context(), image.Rect(0, 0, p.layout.W, p.layout.H), p.layout.W, p.layout.H)
	if err != nil {
		t.Fatal(err)
	}
	return px
}

// meanLab is the colour of the mean light of a part of a picture, by the published
// definition of the space and not by the measured curves.
func meanLab(px raster.Pixels, s space.Space, r image.Rectangle) cie.Lab {
	var sum cie.XYZ
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			v := px.At(nil, x, y)
			c := s.ToLab(v[0], v[1], v[2]).ToXYZ(cie.D50)
			sum.X, sum.Y, sum.Z = sum.X+c.X, sum.Y+c.Y, sum.Z+c.Z
		}
	}
	n := float64(r.Dx() * r.Dy())
	return sum.Scale(1 / n).ToLab(cie.D50)
}

func pixelsOf(p *photo.Picture) raster.Pixels {
	return raster.Pixels{W: p.W, H: p.H, Channels: p.Channels, P8: p.Pix8, P16: p.Pix16}
}

// rows makes the file's pixels in bands of the given height.
func rows(t testing.TB, p *Print, depth, height int) raster.Pixels {
	t.Helper()
	r := p.Rows(depth)
	out := raster.New(r.W, r.H, r.Channels, depth == 16)
	for y := 0; y < r.H; y += height {
		b, err := r.Band(context.Background(), y, min(y+height, r.H))
		if err != nil {
			t.Fatal(err)
		}
		copy(out.P8[min(y*r.W*r.Channels, len(out.P8)):], b.P8)
		copy(out.P16[min(y*r.W*r.Channels, len(out.P16)):], b.P16)
	}
	return out
}
