package gamut

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// screen shows colours in sRGB.
func screen(colours []cie.Lab) ([]color.RGBA, error) {
	s := space.SRGB()
	var out []color.RGBA
	for _, c := range colours {
		v := s.FromLab(c)
		b := func(x float64) uint8 { return uint8(math.Round(255 * max(0, min(1, x)))) }
		out = append(out, color.RGBA{b(v[0]), b(v[1]), b(v[2]), 255})
	}
	return out, nil
}

func demoPlot(t *testing.T, axes Axes, scale float64) Plot {
	t.Helper()
	s := space.SRGB()
	b := must(t, 3, 17, func(d []float64) cie.Lab { return s.ToLab(d[0], d[1], d[2]) })
	small := must(t, 3, 17, func(d []float64) cie.Lab {
		c := s.ToLab(d[0], d[1], d[2])
		c.L, c.A, c.B = 16+c.L*0.84, c.A*0.6, c.B*0.6
		return c
	})
	var dots []cie.Lab
	for i := range 3000 {
		f := float64(i)
		dots = append(dots, cie.LCh{L: math.Mod(f*0.37, 100), C: math.Mod(f*0.11, 70), H: math.Mod(f*1.7, 360)}.Lab())
	}
	p := Plot{Axes: axes, Title: "pearl and matte at L* 50", Colours: dots, W: int(520 * scale), H: int(480 * scale), Scale: scale, Screen: screen,
		Marks: []Mark{{Label: "shirt", Original: cie.Lab{L: 44, A: 64, B: 42}, Print: cie.Lab{L: 43, A: 45, B: 44}, Moved: true}, {Label: "tar", Original: cie.Lab{L: 12}}}}
	if axes == LC {
		p.Outlines = []Outline{{Label: "pearl", Points: b.HueSlice(33)}, {Label: "matte", Points: small.HueSlice(33), Pattern: Dashed}}
	} else {
		p.Outlines = []Outline{{Label: "pearl", Points: b.LightnessSlice(50), Closed: true}, {Label: "matte", Points: small.LightnessSlice(50), Closed: true, Pattern: Dotted}}
	}
	return p
}

func TestDraw(t *testing.T) {
	for _, axes := range []Axes{AB, LC} {
		for _, scale := range []float64{1, 2} {
			p := demoPlot(t, axes, scale)
			img, err := p.Draw()
			if err != nil {
				t.Fatal(err)
			}
			if img.Bounds() != image.Rect(0, 0, p.W, p.H) || img.Stride != 4*p.W {
				t.Errorf("image %v, stride %d", img.Bounds(), img.Stride)
			}
			if dir := os.Getenv("FIRSTSHEET_SEE"); dir != "" {
				var b bytes.Buffer
				if err := png.Encode(&b, img); err != nil {
					t.Fatal(err)
				}
				name := dir + "/plot" + string(rune('0'+int(axes))) + string(rune('0'+int(scale))) + ".png"
				if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, _ := screen([]cie.Lab{desk})
			if got := img.RGBAAt(1, 1); got != want[0] {
				t.Errorf("background %v, want %v", got, want[0])
			}
			for i := 3; i < len(img.Pix); i += 4 {
				if img.Pix[i] != 255 {
					t.Fatal("the image is not opaque")
				}
			}
		}
	}
}

// A dot has the very numbers of its colour on screen, at its place.
func TestDotsAreTheColoursThemselves(t *testing.T) {
	for _, axes := range []Axes{AB, LC} {
		c := cie.Lab{L: 60, A: 30, B: -25}
		p := Plot{Axes: axes, Colours: []cie.Lab{c}, W: 400, H: 400, Scale: 1, Screen: screen}
		img, err := p.Draw()
		if err != nil {
			t.Fatal(err)
		}
		want, _ := screen(p.Colours)
		n, sx, sy := 0, 0.0, 0.0
		for y := range 400 {
			for x := range 400 {
				if img.RGBAAt(x, y) == want[0] {
					n, sx, sy = n+1, sx+float64(x), sy+float64(y)
				}
			}
		}
		if n < 4 {
			t.Fatalf("%d pixels of %v", n, want[0])
		}
		f := p.frame(&canvas{scale: 1})
		at := f.place(c)
		if math.Hypot(sx/float64(n)-at.x, sy/float64(n)-at.y) > 1.5 {
			t.Errorf("the dot is at %.1f, %.1f, want %.1f, %.1f", sx/float64(n), sy/float64(n), at.x, at.y)
		}
	}
}

// The patterns draw what their names say: full, 9 of 14, 1.5 of 6, 10.5 of 18.5.
func TestPatterns(t *testing.T) {
	c := &canvas{scale: 1}
	line := []point{{0, 0}, {30, 0}, {30, 40}, {630, 40}}
	for p, share := range map[Pattern]float64{Solid: 1, Dashed: 9.0 / 14, Dotted: 1.5 / 6, DashDot: 10.5 / 18.5} {
		sum := 0.0
		for _, s := range c.strokes(line, p) {
			sum += math.Hypot(s[1].x-s[0].x, s[1].y-s[0].y)
		}
		if got := sum / 670; math.Abs(got-share) > 0.02 {
			t.Errorf("pattern %d covers %.3f of the line, want %.3f", p, got, share)
		}
	}
}

func TestNear(t *testing.T) {
	colours := []cie.Lab{{L: 50}, {L: 56}, {L: 53, A: 40}, {L: 47, A: 40, B: -7}, {L: 44.9, A: 1}}
	if got := NearLightness(colours, 50, 5); len(got) != 3 {
		t.Errorf("near L* 50: %v", got)
	}
	if got := NearHue(colours, 355, 6); len(got) != 5 { // 0 and 350 degrees, three neutrals
		t.Errorf("near 355 degrees: %v", got)
	}
	if got := NearHue(colours, 10, 6); len(got) != 3 {
		t.Errorf("near 10 degrees: %v", got)
	}
}

// Rounding just past 100 does not add a row to the diagram.
func TestFrameOfLightness(t *testing.T) {
	p := Plot{Axes: LC, Colours: []cie.Lab{{L: 100 + 1e-9}, {L: -1e-9}}, W: 400, H: 400, Scale: 1, Screen: screen}
	if f := p.frame(&canvas{scale: 1}); f.y0 != 0 || f.yTo != 100 {
		t.Errorf("L* runs from %g to %g", f.y0, f.yTo)
	}
}

func TestDrawFailures(t *testing.T) {
	ok := Plot{W: 300, H: 300, Scale: 1, Screen: screen}
	if _, err := ok.Draw(); err != nil {
		t.Errorf("an empty plot: %v", err)
	}
	for _, spoil := range []func(*Plot){
		func(p *Plot) { p.W = 50 }, func(p *Plot) { p.H = 10000 }, func(p *Plot) { p.Scale = 0 },
		func(p *Plot) { p.Scale = math.NaN() }, func(p *Plot) { p.Screen = nil },
		func(p *Plot) {
			p.Screen = func([]cie.Lab) ([]color.RGBA, error) { return nil, errors.New("no screen") }
		},
		func(p *Plot) { p.Screen = func([]cie.Lab) ([]color.RGBA, error) { return nil, nil } },
	} {
		p := ok
		spoil(&p)
		if _, err := p.Draw(); err == nil {
			t.Errorf("drawn: %+v", p)
		}
	}
	wild := ok
	wild.Colours = []cie.Lab{{L: math.NaN()}, {L: 50, A: 1e9, B: math.Inf(1)}}
	wild.Marks = []Mark{{Label: "x", Original: cie.Lab{L: math.NaN(), A: math.NaN()}}}
	wild.Outlines = []Outline{{Points: []cie.Lab{{A: math.Inf(1)}, {A: 1}}}, {Label: "nothing"}}
	if _, err := wild.Draw(); err != nil {
		t.Errorf("colours that are none: %v", err)
	}
}
