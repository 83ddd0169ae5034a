// Command looks renders pictures that figures do not judge well on every demo paper, to
// be looked at whenever the tables have changed: the demo picture, a night sky with a
// moon, a sunset, a grey wedge with its darkest quarter apart, and a rainbow of all hues
// from black over the full colour to white. What was seen is written down in
// testdata/README.md; the pictures themselves are not kept.
//
//	go run ./assets/looks -out DIR
//
// One picture a paper is written. Its columns are the original, relative with and
// without compensation, perceptual, saturation, and absolute with the paper's white.
package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"os"
	"os/signal"
	"path/filepath"

	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

func main() {
	out := flag.String("out", ".", "folder to write to")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, *out); err != nil {
		fmt.Fprintln(os.Stderr, "looks:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, out string) error {
	pictures, err := pictures()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	engine := proof.NewEngine()
	defer engine.Close()
	for _, p := range paper.All() {
		sheet, err := look(ctx, engine, p.ID, pictures)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := png.Encode(&b, sheet); err != nil {
			return err
		}
		name := filepath.Join(out, p.ID+".png")
		if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
			return err
		}
		fmt.Println(name)
	}
	return nil
}

// picture is a picture and what its numbers are.
type picture struct {
	raster.Pixels
	source *proof.Profile
}

// The pictures are as large as a tile of the sheet; gap lies between.
const wide, high, gap = 300, 200, 8

// finder finds a picture's profile and the built-in papers.
type finder struct{ setup.Files }

func (f finder) Paper(ref string) (paper.Paper, error) {
	for _, p := range paper.All() {
		if p.ID == ref {
			return p, nil
		}
	}
	return paper.Paper{}, fmt.Errorf("no built-in paper is called %q", ref)
}

// look lays the pictures out beneath each other, as they are and by every way.
func look(ctx context.Context, engine *proof.Engine, on string, pictures []picture) (*image.RGBA, error) {
	ways := []setup.Setup{
		{},
		{Paper: on, Intent: proof.RelativeColorimetric, BPC: true},
		{Paper: on, Intent: proof.RelativeColorimetric},
		{Paper: on, Intent: proof.Perceptual, BPC: true},
		{Paper: on, Intent: proof.Saturation, BPC: true},
		{Paper: on, Intent: proof.AbsoluteColorimetric, White: proof.PaperWhite},
	}
	sheet := image.NewRGBA(image.Rect(0, 0, len(ways)*(wide+gap)+gap, len(pictures)*(high+gap)+gap))
	draw.Draw(sheet, sheet.Bounds(), image.NewUniform(color.Gray{118}), image.Point{}, draw.Src)
	for row, pic := range pictures {
		for column, way := range ways {
			plan, err := way.Plan(finder{setup.Files{Picture: pic.source}})
			if err != nil {
				return nil, err
			}
			grid, err := engine.Grid(ctx, plan, proof.Fine)
			if err != nil {
				return nil, err
			}
			tile := image.NewRGBA(image.Rect(0, 0, wide, high))
			if err := grid.Proof(ctx, tile.Pix, pic.Pixels); err != nil {
				return nil, err
			}
			at := image.Pt(gap+column*(wide+gap), gap+row*(high+gap))
			draw.Draw(sheet, tile.Bounds().Add(at), tile, image.Point{}, draw.Src)
		}
	}
	return sheet, nil
}

func pictures() ([]picture, error) {
	demo, err := demo()
	if err != nil {
		return nil, err
	}
	all := []picture{demo}
	for _, colour := range []func(x, y float64) [3]float64{night, sunset, wedge, rainbow} {
		all = append(all, drawn(colour))
	}
	return all, nil
}

// demo returns every tenth pixel of the demo picture.
func demo() (picture, error) {
	open, err := photo.OpenReader(context.Background(), "regatta.jpg", bytes.NewReader(assets.RegattaJPEG()))
	if err != nil {
		return picture{}, err
	}
	source, err := proof.NewProfile("demo", open.ICC)
	if err != nil {
		return picture{}, err
	}
	p := raster.New(wide, high, 3, false)
	for i := range wide * high {
		for ch, v := range open.At(i%wide*open.W/wide, i/wide*open.H/high) {
			p.P8[3*i+ch] = uint8(math.Round(255 * v))
		}
	}
	return picture{p, source}, nil
}

// drawn returns a picture in sRGB of a colour by its place, both from 0 to 1.
func drawn(colour func(x, y float64) [3]float64) picture {
	p := raster.New(wide, high, 3, false)
	for i := range wide * high {
		c := raster.RGBA(colour(float64(i%wide)/(wide-1), float64(i/wide)/(high-1)))
		p.P8[3*i], p.P8[3*i+1], p.P8[3*i+2] = c.R, c.G, c.B
	}
	return picture{p, proof.SpaceProfile(space.SRGB())}
}

func mix(a, b [3]float64, t float64) [3]float64 {
	t = min(max(t, 0), 1)
	for ch := range a {
		a[ch] += t * (b[ch] - a[ch])
	}
	return a
}

// night is a sky from nearly black to the full blue that screens show at dusk.
func night(x, y float64) [3]float64 {
	sky := mix([3]float64{0, 0, 0.02}, [3]float64{0.05, 0.1, 0.65}, y)
	moon := math.Hypot((x-0.7)*wide, (y-0.3)*high) / 20
	halo := 0.5 * math.Exp(-moon)
	if moon < 1 {
		halo = 1
	}
	return mix(sky, [3]float64{0.95, 0.95, 0.9}, halo)
}

func sunset(x, y float64) [3]float64 {
	sky := [][3]float64{{0.08, 0.1, 0.4}, {0.45, 0.2, 0.5}, {0.95, 0.35, 0.35}, {1, 0.6, 0.1}, {1, 0.9, 0.3}}
	t := y * float64(len(sky)-1)
	i := min(int(t), len(sky)-2)
	sun := math.Hypot((x-0.35)*wide, (y-0.8)*high) / 24
	return mix(mix(sky[i], sky[i+1], t-float64(i)), [3]float64{1, 1, 0.85}, 1.2*math.Exp(-sun*sun))
}

// wedge goes from black to white, and beneath from black to a quarter.
func wedge(x, y float64) [3]float64 {
	if y > 0.5 {
		x /= 4
	}
	return [3]float64{x, x, x}
}

func rainbow(x, y float64) (v [3]float64) {
	for ch := range v {
		v[ch] = min(max(2-math.Abs(math.Remainder(360*x-120*float64(ch), 360))/60, 0), 1)
	}
	if y < 0.5 {
		return mix([3]float64{}, v, 2*y)
	}
	return mix(v, [3]float64{1, 1, 1}, 2*y-1)
}
