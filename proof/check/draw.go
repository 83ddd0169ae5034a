package check

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"firstsheet/assets"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/register"
	"firstsheet/proof/space"
)

// Draw returns the sheet as a picture in its space, with the profile embedded. It
// looks at ctx between rows.
func (s *Sheet) Draw(ctx context.Context) (*photo.Picture, error) {
	c := newCanvas(s)
	c.stopped = func() bool { return ctx.Err() != nil }
	for _, part := range []func(*canvas) error{
		(*canvas).marks, (*canvas).title, (*canvas).patches, (*canvas).ramps, (*canvas).lines, (*canvas).picture,
	} {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := part(c); err != nil {
			return nil, fmt.Errorf("check: %w", err)
		}
	}
	if err := ctx.Err(); err != nil { // the last part may be half there
		return nil, err
	}
	return c.done(), nil
}

// canvas is a sheet on its way, 16 bits a channel. Its coordinates are the design's.
type canvas struct {
	sheet *Sheet
	k     float64 // pixels a unit
	x, y  float64 // pixel of the design's origin
	pix   []uint16
	faces map[string]font.Face
	// stopped tells that what is being drawn is not wanted any more.
	stopped func() bool
}

func newCanvas(s *Sheet) *canvas {
	origin := s.toPage(register.Point{})
	c := &canvas{sheet: s, k: s.Page.scale / 25.4 * s.PPI, x: origin.X / 25.4 * s.PPI, y: origin.Y / 25.4 * s.PPI,
		pix: make([]uint16, 3*s.W*s.H), faces: map[string]font.Face{}}
	for i := range c.pix {
		c.pix[i] = 65535
	}
	return c
}

// done returns the picture, at the sheet's depth.
func (c *canvas) done() *photo.Picture {
	for _, f := range c.faces {
		f.Close()
	}
	s := c.sheet
	p := &photo.Picture{W: s.W, H: s.H, Channels: 3, Depth: s.Depth, ICC: s.Space.ICC()}
	if s.Depth == 16 {
		p.Pix16 = c.pix
		return p
	}
	p.Pix8 = make([]uint8, len(c.pix))
	for i, v := range c.pix {
		p.Pix8[i] = uint8((uint32(v) + 128) / 257)
	}
	return p
}

// pixels returns the pixels of a part of the design.
func (c *canvas) pixels(r rect) image.Rectangle {
	at := func(v, o float64) int { return int(math.Round(o + v*c.k)) }
	return image.Rect(at(r.x, c.x), at(r.y, c.y), at(r.x+r.w, c.x), at(r.y+r.h, c.y)).
		Intersect(image.Rect(0, 0, c.sheet.W, c.sheet.H))
}

func (c *canvas) set(x, y int, rgb [3]float64) {
	at := 3 * (y*c.sheet.W + x)
	for k, v := range rgb {
		c.pix[at+k] = uint16(math.Round(65535 * min(max(v, 0), 1)))
	}
}

// paint fills a part of the design with what of says of each place in it, both from
// 0 to 1.
func (c *canvas) paint(r rect, of func(u, v float64) [3]float64) {
	p := c.pixels(r)
	for y := p.Min.Y; y < p.Max.Y && !c.stopped(); y++ {
		for x := p.Min.X; x < p.Max.X; x++ {
			c.set(x, y, of((float64(x-p.Min.X)+0.5)/float64(p.Dx()), (float64(y-p.Min.Y)+0.5)/float64(p.Dy())))
		}
	}
}

func (c *canvas) fill(r rect, rgb [3]float64) {
	c.paint(r, func(_, _ float64) [3]float64 { return rgb })
}

// across fills a part of the design with columns.
func (c *canvas) across(r rect, of func(u float64) [3]float64) {
	p := c.pixels(r)
	column := make([][3]float64, p.Dx())
	for x := range column {
		column[x] = of((float64(x) + 0.5) / float64(len(column)))
	}
	for y := p.Min.Y; y < p.Max.Y; y++ {
		for x, rgb := range column {
			c.set(p.Min.X+x, y, rgb)
		}
	}
}

var black = [3]float64{}

// text writes a line whose letters' foot is at y, size units high.
func (c *canvas) text(bold bool, size, x, y float64, text string) error {
	key := fmt.Sprint(bold, size)
	face, ok := c.faces[key]
	if !ok {
		data := goregular.TTF
		if bold {
			data = gobold.TTF
		}
		f, err := opentype.Parse(data)
		if err != nil {
			return err
		}
		if face, err = opentype.NewFace(f, &opentype.FaceOptions{Size: size * c.k, DPI: 72}); err != nil {
			return err
		}
		c.faces[key] = face
	}
	width := font.MeasureString(face, text).Ceil() + 2
	height := int(2 * size * c.k)
	mask := image.NewAlpha(image.Rect(0, 0, width, height))
	d := font.Drawer{Dst: mask, Src: image.Opaque, Face: face, Dot: fixed.P(0, height*2/3)}
	d.DrawString(text)
	left, foot := int(c.x+x*c.k), int(c.y+y*c.k)
	for my := range height {
		for mx := range width {
			a := float64(mask.AlphaAt(mx, my).A) / 255
			px, py := left+mx, foot+my-height*2/3
			if a == 0 || px < 0 || py < 0 || px >= c.sheet.W || py >= c.sheet.H {
				continue
			}
			at := 3 * (py*c.sheet.W + px)
			for k := range 3 {
				c.pix[at+k] = uint16(float64(c.pix[at+k]) * (1 - a))
			}
		}
	}
	return nil
}

// marks draws the round marks.
func (c *canvas) marks() error {
	for _, m := range marks() {
		c.paint(rect{m.X - markRadius, m.Y - markRadius, 2 * markRadius, 2 * markRadius}, func(u, v float64) [3]float64 {
			r := math.Hypot(2*u-1, 2*v-1)
			if r < 1.0/3 || r > 2.0/3 && r < 1 {
				return black
			}
			return [3]float64{1, 1, 1}
		})
	}
	return nil
}

// title writes what the sheet is and how it is used, and lines to fill in.
func (c *canvas) title() error {
	s := c.sheet
	foot := designH - 1.5
	for _, l := range []struct {
		bold       bool
		size, x, y float64
		text       string
	}{
		{true, 5, 20, 1.5, "Firstsheet check sheet"},
		{false, 2.5, 20, 6, fmt.Sprintf("%s, %s at %g ppi, %d bits. Print at 100 %% size. First with the driver alone handling colour, then by the route in question.", s.Space.Name, s.Page.Name, s.PPI, s.Depth)},
		{false, 2.5, 20, 9.6, "Judge it dry and by daylight: greys without a cast, no two dark steps alike, no bands. It may be scanned with all marks in sight."},
		{false, 2.6, 8, foot - 3.4, "printer ________________________   paper ________________________   media setting ________________________"},
		{false, 2.6, 8, foot + 1.4, "ink ____________________________   who converts __________________   printed on _____________________________"},
	} {
		if err := c.text(l.bold, l.size, l.x, l.y, l.text); err != nil {
			return err
		}
	}
	return nil
}

// patches draws the even fields with the names of their rows.
func (c *canvas) patches() error {
	where := places(c.sheet.Patches)
	last := -1.0
	for i, p := range c.sheet.Patches {
		c.fill(where[i], p.RGB)
		if i > 0 && c.sheet.Patches[i-1].Group == p.Group && where[i].y == last {
			continue
		}
		last = where[i].y
		name := fmt.Sprintf("%s, from %s", p.Group, p.ID)
		x := where[i].x
		if p.Group == Whites { // bare paper is read in the rest of the gap
			continue
		}
		if p.Group == Blacks {
			name = "near black, from " + p.ID + "; near white, from W01"
		}
		if err := c.text(false, 2.4, x, where[i].y-1.2, name); err != nil {
			return err
		}
	}
	return nil
}

// ramps draws even gradients, in which a printer or a table shows bands.
func (c *canvas) ramps() error {
	r := ramps()
	lab := func(l, a, b float64) [3]float64 { return c.sheet.Space.FromLab(cie.Lab{L: l, A: a, B: b}) }
	grey := func(v float64) [3]float64 { return [3]float64{v, v, v} }
	bars := []struct {
		name string
		of   func(t float64) [3]float64
	}{
		{"black to white", grey},
		{"the dark tenth", func(t float64) [3]float64 { return grey(t / 10) }},
		{"hues", func(t float64) [3]float64 { return hueBetween(6 * t) }},
		{"evening sky", func(t float64) [3]float64 { return lab(92-50*t, 6*(1-t), 12-44*t) }},
		{"skin, light to dark", func(t float64) [3]float64 { return lab(88-68*t, 8+9*math.Sin(math.Pi*t), 12+12*math.Sin(math.Pi*t)) }},
	}
	const name = 3.0
	h := r.h/float64(len(bars)) - name - 0.6
	for i, bar := range bars {
		y := r.y + float64(i)*(h+name+0.6)
		if err := c.text(false, 2.4, r.x, y+name-0.8, bar.name); err != nil {
			return err
		}
		c.across(rect{r.x, y + name, r.w, h}, bar.of)
	}
	return nil
}

// hueBetween returns the full numbers at a place of the hue circle, 0 to 6.
func hueBetween(t float64) [3]float64 {
	i := int(t)
	a, b, f := hueAt(i%6), hueAt((i+1)%6), t-float64(i)
	for k := range a {
		a[k] += (b[k] - a[k]) * f
	}
	return a
}

// lines draws what shows resolution: lines one to four pixels wide both ways, a star
// of wedges, letters getting smaller.
func (c *canvas) lines() error {
	r := lower()
	size := 16.0
	for i := range 4 {
		width := i + 1
		p := c.pixels(rect{r.x + float64(i)*(size+2), r.y + 4, size, size})
		for y := p.Min.Y; y < p.Max.Y; y++ {
			for x := p.Min.X; x < p.Max.X; x++ {
				at := x - p.Min.X
				if y-p.Min.Y > p.Dy()/2 {
					at = y - p.Min.Y
				}
				if at/width%2 == 0 {
					c.set(x, y, black)
				}
			}
		}
		if err := c.text(false, 2.4, r.x+float64(i)*(size+2), r.y+2.6, fmt.Sprintf("%d pixel", width)); err != nil {
			return err
		}
	}
	star := min(44, r.h-size-8)
	c.paint(rect{r.x, r.y + size + 7, star, star}, func(u, v float64) [3]float64 {
		x, y := 2*u-1, 2*v-1
		const wedges = 36
		if math.Hypot(x, y) < 1 && math.Sin(wedges*math.Atan2(y, x)) > 0 {
			return black
		}
		return [3]float64{1, 1, 1}
	})
	y := r.y + size + 10
	for _, points := range []float64{9, 7, 6, 5, 4, 3} {
		mm := points / 72 * 25.4 / c.sheet.Page.scale
		if err := c.text(false, mm, r.x+star+3, y, fmt.Sprintf("%g point letters", points)); err != nil {
			return err
		}
		y += mm + 2
	}
	return nil
}

// picture draws part of the demo scene.
func (c *canvas) picture() error {
	scene, err := photo.OpenReader(context.Background(), "demo scene", bytes.NewReader(assets.RegattaDeep()))
	if err != nil {
		return err
	}
	romm, ok := space.ByID("romm")
	if !ok || scene.Channels != 3 {
		return fmt.Errorf("the demo scene cannot be drawn")
	}
	r := lower()
	const left = 76.0
	w := r.w - left
	h := min(r.h, w*float64(scene.H)/float64(scene.W))
	convert := converter(romm, c.sheet.Space)
	across := float64(scene.W)
	down := h / w * across
	up := (float64(scene.H) - down) / 2
	c.paint(rect{r.x + left, r.y, w, h}, func(u, v float64) [3]float64 {
		return convert(bilinear(scene, u*across-0.5, up+v*down-0.5))
	})
	return nil
}

// converter returns the colorimetric conversion of numbers between two spaces.
func converter(from, to space.Space) func([3]float64) [3]float64 {
	inverse, _ := to.ToXYZ().Inverse() // a space's primaries span the plane
	m := inverse.Mul(from.ToXYZ())
	return func(v [3]float64) [3]float64 {
		for i := range v {
			v[i] = from.Decode(v[i])
		}
		v = m.Apply(v)
		for i := range v {
			v[i] = to.Encode(v[i])
		}
		return v
	}
}

// bilinear reads a picture between its pixels, their middles being whole numbers.
func bilinear(p *photo.Picture, x, y float64) [3]float64 {
	x, y = min(max(x, 0), float64(p.W-1)), min(max(y, 0), float64(p.H-1))
	x0, y0 := min(int(x), p.W-2), min(int(y), p.H-2)
	fx, fy := x-float64(x0), y-float64(y0)
	at := func(x, y, k int) float64 {
		i := 3*(y*p.W+x) + k
		if p.Depth == 16 {
			return float64(p.Pix16[i]) / 65535
		}
		return float64(p.Pix8[i]) / 255
	}
	var out [3]float64
	for k := range out {
		a := at(x0, y0, k)*(1-fx) + at(x0+1, y0, k)*fx
		b := at(x0, y0+1, k)*(1-fx) + at(x0+1, y0+1, k)*fx
		out[k] = a*(1-fy) + b*fy
	}
	return out
}
