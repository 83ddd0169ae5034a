package gamut

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"strconv"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"firstsheet/proof/cie"
)

// Pattern is how a line is drawn: outlines are told apart by pattern, so that
// nobody needs to tell colours apart that aren't the subject.
type Pattern uint8

// The patterns, in the order to use them.
const (
	Solid Pattern = iota
	Dashed
	Dotted
	DashDot
)

// dashes holds the lengths of strokes and gaps, in units of 1/96 inch.
func (p Pattern) dashes() []float64 {
	switch p {
	case Dashed:
		return []float64{9, 5}
	case Dotted:
		return []float64{1.5, 4.5}
	case DashDot:
		return []float64{9, 4, 1.5, 4}
	}
	return nil
}

// Outline is a line in a plot with its label in the key.
type Outline struct {
	Label   string
	Points  []cie.Lab
	Closed  bool
	Pattern Pattern
}

// Mark is a pin in a plot: a ring at the original's colour and, if Moved, an
// arrow to the print's.
type Mark struct {
	Label    string
	Original cie.Lab
	Print    cie.Lab
	Moved    bool
}

// Axes chooses the plane of a plot.
type Axes uint8

const (
	// AB is the a*b* plane seen along L*.
	AB Axes = iota
	// LC is L* over C*, of one hue.
	LC
)

// NearLightness returns the colours whose L* differs from lightness by at most
// half: what belongs into a slice of the a*b* plane.
func NearLightness(colours []cie.Lab, lightness, half float64) []cie.Lab {
	var out []cie.Lab
	for _, c := range colours {
		if math.Abs(c.L-lightness) <= half {
			out = append(out, c)
		}
	}
	return out
}

// NearHue returns the colours whose hue differs by at most half degrees, and
// the neutrals (C* below 2), which belong to every hue: what belongs into a
// slice of the L*C* plane.
func NearHue(colours []cie.Lab, hue, half float64) []cie.Lab {
	var out []cie.Lab
	for _, c := range colours {
		if c.Chroma() < 2 || math.Abs(cie.HueTurn(hue, c.Hue())) <= half {
			out = append(out, c)
		}
	}
	return out
}

// Plot is a diagram of colours against gamuts. The colours in it are the
// colours themselves.
type Plot struct {
	Axes Axes
	// Title is written above the diagram.
	Title string
	// Colours are drawn as dots, in this order: a later one covers an earlier.
	Colours  []cie.Lab
	Outlines []Outline
	Marks    []Mark
	// W and H are the image's size in pixels; Scale is how many pixels a unit of
	// 1/96 inch has, 1 or more.
	W, H  int
	Scale float64
	// Screen returns the screen's numbers of colours, clipped and rounded as for
	// any picture that is shown.
	Screen func([]cie.Lab) ([]color.RGBA, error)
}

// Limits of a plot's size in pixels: below 120 no axis fits, 8192 is twice the
// width of a 4K screen.
const (
	MinSide = 120
	MaxSide = 8192
)

// desk is the neutral grey behind all pictures.
var desk = cie.Lab{L: 50}

// Draw returns the diagram as a tight opaque image. Lines are drawn in white
// with a black rim, so that they show on any colour.
func (p Plot) Draw() (*image.RGBA, error) {
	if p.W < MinSide || p.H < MinSide || p.W > MaxSide || p.H > MaxSide || !(p.Scale >= 0.5 && p.Scale <= 8) {
		return nil, fmt.Errorf("gamut: plot of %d by %d pixels at scale %g", p.W, p.H, p.Scale)
	}
	if p.Screen == nil {
		return nil, errors.New("gamut: plot without a screen")
	}
	ground, err := p.Screen([]cie.Lab{desk, {L: 42}, {L: 20}, {L: 97}})
	if err != nil {
		return nil, err
	}
	dots, err := p.Screen(p.Colours)
	if err != nil {
		return nil, err
	}
	if len(ground) != 4 || len(dots) != len(p.Colours) {
		return nil, fmt.Errorf("gamut: %d screen colours for %d", len(dots), len(p.Colours))
	}
	face, err := newFace(11 * p.Scale)
	if err != nil {
		return nil, err
	}
	defer face.Close()
	c := &canvas{
		img: image.NewRGBA(image.Rect(0, 0, p.W, p.H)), scale: p.Scale, face: face,
		ground: ground[0], grid: ground[1], dark: ground[2], light: ground[3],
	}
	draw.Draw(c.img, c.img.Bounds(), image.NewUniform(opaque(c.ground)), image.Point{}, draw.Src)
	f := p.frame(c)
	f.axes(c)
	for i, q := range p.Colours {
		c.dot(f.place(q), dots[i])
	}
	for _, o := range p.Outlines {
		var line []point
		for _, q := range o.Points {
			line = append(line, f.place(q))
		}
		if o.Closed && len(line) > 0 {
			line = append(line, line[0])
		}
		c.line(line, o.Pattern)
	}
	for _, m := range p.Marks {
		c.mark(f, m)
	}
	c.key(f, p.Outlines)
	c.text(p.Title, point{f.left, f.top - 8*p.Scale}, 0, c.light)
	return c.img, nil
}

func opaque(c color.RGBA) color.RGBA { c.A = 255; return c }

func newFace(size float64) (font.Face, error) {
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingNone})
}

type point struct{ x, y float64 }

// frame is where the diagram lies in the image and how colours are placed in it.
type frame struct {
	kind                     Axes
	left, top, right, bottom float64 // pixels
	x0, y0                   float64 // the values at left, bottom
	unit                     float64 // pixels per Lab unit, both ways
	xTo, yTo                 float64
}

func (f frame) xy(c cie.Lab) (x, y float64) {
	if f.kind == LC {
		return c.Chroma(), c.L
	}
	return c.A, c.B
}

func (f frame) place(c cie.Lab) point {
	x, y := f.xy(c)
	return point{f.left + (x-f.x0)*f.unit, f.bottom - (y-f.y0)*f.unit}
}

// tick is the distance of the axes' numbers, in Lab units.
const tick = 20

// frame fits the axes to all that is drawn, the same unit both ways.
func (p Plot) frame(c *canvas) frame {
	f := frame{kind: p.Axes}
	x0, x1, y0, y1 := -2.0*tick, 2.0*tick, -2.0*tick, 2.0*tick
	if p.Axes == LC {
		x0, y0, y1 = 0, 0, 100
	}
	grow := func(q cie.Lab) {
		x, y := f.xy(q)
		if math.IsNaN(x+y) || math.Abs(x) > 400 || math.Abs(y) > 400 {
			return // no such colour: it is drawn outside
		}
		x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
	}
	for _, q := range p.Colours {
		grow(q)
	}
	for _, o := range p.Outlines {
		for _, q := range o.Points {
			grow(q)
		}
	}
	for _, m := range p.Marks {
		grow(m.Original)
		if m.Moved {
			grow(m.Print)
		}
	}
	const slack = 0.5 // Lab units that do not start a new tick
	down := func(v float64) float64 { return math.Floor((v+slack)/tick) * tick }
	up := func(v float64) float64 { return math.Ceil((v-slack)/tick) * tick }
	x0, x1, y0, y1 = down(x0), up(x1), down(y0), up(y1)
	f.left, f.top = 44*c.scale, 28*c.scale
	f.right, f.bottom = float64(p.W)-14*c.scale, float64(p.H)-38*c.scale
	f.unit = max(0.05, min((f.right-f.left)/(x1-x0), (f.bottom-f.top)/(y1-y0)))
	// The diagram is centred in the room that the equal unit leaves.
	spareX, spareY := (f.right-f.left)-f.unit*(x1-x0), (f.bottom-f.top)-f.unit*(y1-y0)
	f.left, f.right = f.left+spareX/2, f.right-spareX/2
	f.top, f.bottom = f.top+spareY/2, f.bottom-spareY/2
	f.x0, f.y0, f.xTo, f.yTo = x0, y0, x1, y1
	return f
}

// axes draws the grid and its numbers; the axes through 0 are stronger.
func (f frame) axes(c *canvas) {
	step := float64(tick)
	for step*f.unit < 26*c.scale {
		step *= 2
	}
	for x := math.Ceil(f.x0/step) * step; x <= f.xTo; x += step {
		px := f.left + (x-f.x0)*f.unit
		c.rule(point{px, f.top}, point{px, f.bottom}, x == 0)
		c.text(number(x), point{px, f.bottom + 14*c.scale}, 0.5, c.light)
	}
	for y := math.Ceil(f.y0/step) * step; y <= f.yTo; y += step {
		py := f.bottom - (y-f.y0)*f.unit
		c.rule(point{f.left, py}, point{f.right, py}, y == 0)
		c.text(number(y), point{f.left - 6*c.scale, py + 4*c.scale}, 1, c.light)
	}
	xName, yName := "a*", "b*"
	if f.kind == LC {
		xName, yName = "C*", "L*"
	}
	c.text(xName, point{f.right, f.bottom + 28*c.scale}, 1, c.light)
	c.text(yName, point{f.left - 26*c.scale, f.top + 4*c.scale}, 1, c.light)
}

// number writes a figure with a true minus sign.
func number(v float64) string {
	if v < 0 {
		return "−" + strconv.Itoa(int(-v))
	}
	return strconv.Itoa(int(v))
}

type canvas struct {
	img                       *image.RGBA
	scale                     float64
	face                      font.Face
	ground, grid, dark, light color.RGBA
}

// fillPolygons paints the union of polygons with soft edges.
func (c *canvas) fillPolygons(polygons [][]point, paint color.RGBA) {
	if len(polygons) == 0 {
		return
	}
	b := c.img.Bounds()
	r := vector.NewRasterizer(b.Dx(), b.Dy())
	for _, g := range polygons {
		r.MoveTo(float32(g[0].x), float32(g[0].y))
		for _, q := range g[1:] {
			r.LineTo(float32(q.x), float32(q.y))
		}
		r.ClosePath()
	}
	r.Draw(c.img, b, image.NewUniform(opaque(paint)), image.Point{})
}

// bar returns a stroke as a rectangle, always turned the same way round so that
// overlapping strokes do not cancel out.
func bar(p, q point, width float64) []point {
	dx, dy := q.x-p.x, q.y-p.y
	l := math.Hypot(dx, dy)
	if l == 0 {
		return nil
	}
	nx, ny := -dy/l*width/2, dx/l*width/2
	ex, ey := dx/l*width/4, dy/l*width/4 // a little longer, to close corners
	return []point{{p.x - ex + nx, p.y - ey + ny}, {p.x - ex - nx, p.y - ey - ny}, {q.x + ex - nx, q.y + ey - ny}, {q.x + ex + nx, q.y + ey + ny}}
}

func (c *canvas) rule(p, q point, strong bool) {
	paint := c.grid
	if strong {
		paint = c.dark
	}
	c.fillPolygons([][]point{bar(p, q, max(1, c.scale))}, paint)
}

// strokes cuts a line by its pattern.
func (c *canvas) strokes(line []point, p Pattern) [][2]point {
	pattern := p.dashes()
	var out [][2]point
	on, left := true, math.Inf(1)
	k := 0
	if pattern != nil {
		left = pattern[0] * c.scale
	}
	for i := 0; i+1 < len(line); i++ {
		a, b := line[i], line[i+1]
		l := math.Hypot(b.x-a.x, b.y-a.y)
		if !(l > 0) || math.IsInf(l, 0) {
			continue
		}
		for done := 0.0; done < l; {
			d := min(left, l-done)
			if on {
				f, t := done/l, (done+d)/l
				out = append(out, [2]point{{a.x + (b.x-a.x)*f, a.y + (b.y-a.y)*f}, {a.x + (b.x-a.x)*t, a.y + (b.y-a.y)*t}})
			}
			done += d
			if left -= d; left <= 0 {
				k = (k + 1) % len(pattern)
				on, left = !on, pattern[k]*c.scale
			}
		}
	}
	return out
}

func (c *canvas) line(line []point, p Pattern) {
	strokes := c.strokes(line, p)
	for _, pen := range []struct {
		width float64
		paint color.RGBA
	}{{3.4 * c.scale, c.dark}, {1.5 * c.scale, c.light}} {
		var polygons [][]point
		for _, s := range strokes {
			if g := bar(s[0], s[1], pen.width); g != nil {
				polygons = append(polygons, g)
			}
		}
		c.fillPolygons(polygons, pen.paint)
	}
}

// dot paints a colour as a square of whole pixels, so that it keeps its exact
// screen numbers.
func (c *canvas) dot(at point, paint color.RGBA) {
	if math.IsNaN(at.x + at.y) {
		return
	}
	half := max(1, int(math.Round(1.5*c.scale)))
	x, y := int(math.Floor(at.x)), int(math.Floor(at.y))
	r := image.Rect(x-half+1, y-half+1, x+half+1, y+half+1).Intersect(c.img.Bounds())
	draw.Draw(c.img, r, image.NewUniform(opaque(paint)), image.Point{}, draw.Src)
}

func circle(at point, r float64) []point {
	const n = 32
	out := make([]point, n)
	for i := range out {
		s, k := math.Sincos(2 * math.Pi * float64(i) / n)
		out[i] = point{at.x + r*k, at.y + r*s}
	}
	return out
}

func (c *canvas) ring(at point, r float64) {
	o := circle(at, r)
	c.line(append(o, o[0], o[1]), Solid)
}

func (c *canvas) mark(f frame, m Mark) {
	from := f.place(m.Original)
	if math.IsNaN(from.x + from.y) {
		return
	}
	r := 5 * c.scale
	c.ring(from, r)
	if m.Moved {
		to := f.place(m.Print)
		if l := math.Hypot(to.x-from.x, to.y-from.y); l > r+2*c.scale {
			ux, uy := (to.x-from.x)/l, (to.y-from.y)/l
			c.line([]point{{from.x + ux*r, from.y + uy*r}, to}, Solid)
			h := 6 * c.scale
			c.line([]point{{to.x - ux*h - uy*h/2, to.y - uy*h + ux*h/2}, to, {to.x - ux*h + uy*h/2, to.y - uy*h - ux*h/2}}, Solid)
		}
	}
	c.label(m.Label, point{from.x + 9*c.scale, from.y - 6*c.scale})
}

// label writes on a plate of the background, kept inside the image.
func (c *canvas) label(s string, at point) {
	if s == "" {
		return
	}
	w := float64(font.MeasureString(c.face, s)) / 64
	b := c.img.Bounds()
	at.x = min(at.x, float64(b.Dx())-w-6*c.scale)
	at.y = max(at.y, 14*c.scale)
	plate := image.Rect(int(at.x-3*c.scale), int(at.y-11*c.scale), int(at.x+w+3*c.scale), int(at.y+4*c.scale)).Intersect(b)
	draw.Draw(c.img, plate, image.NewUniform(opaque(c.grid)), image.Point{}, draw.Src)
	c.text(s, at, 0, c.light)
}

// text writes s with its baseline at the place; align 0 starts there, 0.5 is
// centred, 1 ends there.
func (c *canvas) text(s string, at point, align float64, paint color.RGBA) {
	w := float64(font.MeasureString(c.face, s)) / 64
	d := font.Drawer{
		Dst: c.img, Src: image.NewUniform(opaque(paint)), Face: c.face,
		Dot: fixed.Point26_6{X: fixed.Int26_6((at.x - align*w) * 64), Y: fixed.Int26_6(at.y * 64)},
	}
	d.DrawString(s)
}

// key lists the outlines with their patterns in the corner at top right.
func (c *canvas) key(f frame, outlines []Outline) {
	widest, rows := 0.0, 0
	for _, o := range outlines {
		if o.Label != "" {
			widest = max(widest, float64(font.MeasureString(c.face, o.Label))/64)
			rows++
		}
	}
	if rows == 0 {
		return
	}
	const sample, rowHeight = 34, 17
	w := widest + (sample+18)*c.scale
	x, y := f.right-w, f.top+4*c.scale
	plate := image.Rect(int(x), int(y), int(f.right), int(y+(float64(rows)*rowHeight+6)*c.scale)).Intersect(c.img.Bounds())
	draw.Draw(c.img, plate, image.NewUniform(opaque(c.grid)), image.Point{}, draw.Src)
	for _, o := range outlines {
		if o.Label == "" {
			continue
		}
		y += rowHeight * c.scale
		c.line([]point{{x + 6*c.scale, y - 4*c.scale}, {x + (6+sample)*c.scale, y - 4*c.scale}}, o.Pattern)
		c.text(o.Label, point{x + (12+sample)*c.scale, y}, 0, c.light)
	}
}
