// Package plot draws diagrams to device pixels: a neutral ground, a grid,
// squares of colour, and lines told apart by their pattern. Everything is
// antialiased where it is a line and exact where it is a patch, and the result is
// a tight opaque image with origin 0, as the window's rasters need it.
package plot

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"golang.org/x/image/vector"
)

// Pt is a place in device pixels.
type Pt struct{ X, Y float64 }

// Axes maps two quantities to device pixels: X0 to X1 from left to right, Y0 to
// Y1 from bottom to top of Box.
type Axes struct {
	Box            image.Rectangle
	X0, X1, Y0, Y1 float64
}

// At returns where a pair of quantities lies.
func (a Axes) At(x, y float64) Pt {
	return Pt{
		float64(a.Box.Min.X) + (x-a.X0)/(a.X1-a.X0)*float64(a.Box.Dx()),
		float64(a.Box.Max.Y) - (y-a.Y0)/(a.Y1-a.Y0)*float64(a.Box.Dy()),
	}
}

// Back returns the quantities at a place.
func (a Axes) Back(p Pt) (x, y float64) {
	return a.X0 + (p.X-float64(a.Box.Min.X))/float64(a.Box.Dx())*(a.X1-a.X0),
		a.Y0 + (float64(a.Box.Max.Y)-p.Y)/float64(a.Box.Dy())*(a.Y1-a.Y0)
}

// Unit returns how many device pixels one unit of the first quantity takes.
func (a Axes) Unit() float64 { return float64(a.Box.Dx()) / (a.X1 - a.X0) }

// Pattern is a line's pattern: lengths of dashes and gaps in turn, in units of
// the line's width. Empty is an unbroken line.
type Pattern []float64

// Patterns lists line patterns that differ at a glance, in the order of use.
func Patterns() []Pattern {
	return []Pattern{
		nil,
		{7, 3.5},
		{1.2, 2.6},
		{8, 3, 1.2, 3},
		{3.2, 2.6},
		{14, 3, 1.2, 3, 1.2, 3},
		{22, 6},
		{3.2, 2.6, 1.2, 2.6},
	}
}

// Sheet is a drawing under way.
type Sheet struct{ Img *image.RGBA }

// New returns a drawing of w by h device pixels on a ground.
func New(w, h int, ground color.RGBA) *Sheet {
	ground.A = 255
	s := &Sheet{image.NewRGBA(image.Rect(0, 0, w, h))}
	draw.Draw(s.Img, s.Img.Rect, image.NewUniform(ground), image.Point{}, draw.Src)
	return s
}

// Fill paints a rectangle with exact bytes.
func (s *Sheet) Fill(r image.Rectangle, c color.RGBA) {
	c.A = 255
	draw.Draw(s.Img, r.Intersect(s.Img.Rect), image.NewUniform(c), image.Point{}, draw.Src)
}

// Square paints a square of whole device pixels around a place, inside clip.
func (s *Sheet) Square(p Pt, side float64, c color.RGBA, clip image.Rectangle) {
	n := max(int(math.Round(side)), 1)
	x, y := int(math.Round(p.X-float64(n)/2)), int(math.Round(p.Y-float64(n)/2))
	s.Fill(image.Rect(x, y, x+n, y+n).Intersect(clip), c)
}

// Rule draws a straight upright or level line of whole device pixels.
func (s *Sheet) Rule(x0, y0, x1, y1, width int, c color.RGBA) {
	w := max(width, 1)
	if y0 == y1 {
		s.Fill(image.Rect(min(x0, x1), y0-w/2, max(x0, x1), y0-w/2+w), c)
	} else {
		s.Fill(image.Rect(x0-w/2, min(y0, y1), x0-w/2+w, max(y0, y1)), c)
	}
}

// Line draws a line through points with a pattern. closed joins the last point to
// the first. Under it lies a rim of another colour, rim device pixels wide on
// each side, so that it shows on any ground; 0 leaves it out.
func (s *Sheet) Line(points []Pt, closed bool, width float64, pattern Pattern, ink, under color.RGBA, rim float64) {
	if len(points) < 2 {
		return
	}
	if closed {
		points = append(append([]Pt(nil), points...), points[0])
	}
	dashes := cutUp(points, pattern, width)
	if rim > 0 {
		s.strokes(dashes, width+2*rim, under)
	}
	s.strokes(dashes, width, ink)
}

// cutUp splits a line into its dashes.
func cutUp(points []Pt, pattern Pattern, width float64) [][]Pt {
	if len(pattern) == 0 {
		return [][]Pt{points}
	}
	var out [][]Pt
	k, left, on := 0, pattern[0]*width, true
	dash := []Pt{points[0]}
	for i := 0; i+1 < len(points); i++ {
		a, b := points[i], points[i+1]
		length := math.Hypot(b.X-a.X, b.Y-a.Y)
		for at := 0.0; length-at > 1e-9; {
			step := math.Min(left, length-at)
			at += step
			left -= step
			p := Pt{a.X + (b.X-a.X)*at/length, a.Y + (b.Y-a.Y)*at/length}
			if on {
				dash = append(dash, p)
			}
			if left <= 1e-9 {
				if on && len(dash) > 1 {
					out = append(out, dash)
				}
				on = !on
				k = (k + 1) % len(pattern)
				left = math.Max(pattern[k]*width, 1e-3)
				dash = []Pt{p}
			}
		}
	}
	if on && len(dash) > 1 {
		out = append(out, dash)
	}
	return out
}

// brush gathers shapes and paints them at once; it covers no more of the drawing
// than they need.
type brush struct {
	z    *vector.Rasterizer
	area image.Rectangle
}

// brush returns a brush for shapes that lie within reach of points.
func (s *Sheet) brush(lines [][]Pt, reach float64) brush {
	low, high := Pt{math.Inf(1), math.Inf(1)}, Pt{math.Inf(-1), math.Inf(-1)}
	for _, l := range lines {
		for _, p := range l {
			low.X, low.Y = math.Min(low.X, p.X), math.Min(low.Y, p.Y)
			high.X, high.Y = math.Max(high.X, p.X), math.Max(high.Y, p.Y)
		}
	}
	// Clamped before they become whole numbers: a far point has no int.
	whole := func(v, most float64) int { return int(math.Max(-1, math.Min(v, most+1))) }
	w, h := float64(s.Img.Rect.Dx()), float64(s.Img.Rect.Dy())
	b := brush{area: image.Rect(whole(math.Floor(low.X-reach), w), whole(math.Floor(low.Y-reach), h),
		whole(math.Ceil(high.X+reach), w), whole(math.Ceil(high.Y+reach), h)).Intersect(s.Img.Rect)}
	b.z = vector.NewRasterizer(max(b.area.Dx(), 1), max(b.area.Dy(), 1))
	return b
}

func (b brush) paint(s *Sheet, c color.RGBA) {
	if !b.area.Empty() {
		b.z.Draw(s.Img, b.area, image.NewUniform(c), image.Point{})
	}
}

func (b brush) polygon(pts ...Pt) {
	for i, p := range pts {
		x, y := float32(p.X-float64(b.area.Min.X)), float32(p.Y-float64(b.area.Min.Y))
		if i == 0 {
			b.z.MoveTo(x, y)
		} else {
			b.z.LineTo(x, y)
		}
	}
	b.z.ClosePath()
}

// strokes paints lines of a width with round joints and ends.
func (s *Sheet) strokes(lines [][]Pt, width float64, c color.RGBA) {
	r := width / 2
	b := s.brush(lines, r+1)
	for _, l := range lines {
		for i, p := range l {
			if i+1 < len(l) {
				b.quad(p, l[i+1], r)
			}
			if r > 0.6 {
				b.disc(p, r)
			}
		}
	}
	b.paint(s, c)
}

// quad adds the rectangle of one stretch of a line. All shapes go round the same
// way, so that where they overlap they add up and do not cancel.
func (b brush) quad(p, q Pt, r float64) {
	length := math.Hypot(q.X-p.X, q.Y-p.Y)
	if length < 1e-9 {
		return
	}
	nx, ny := -(q.Y-p.Y)/length*r, (q.X-p.X)/length*r
	b.polygon(Pt{p.X + nx, p.Y + ny}, Pt{p.X - nx, p.Y - ny}, Pt{q.X - nx, q.Y - ny}, Pt{q.X + nx, q.Y + ny})
}

func (b brush) disc(p Pt, r float64) {
	const sides = 16
	pts := make([]Pt, sides)
	for i := range pts {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / sides)
		pts[i] = Pt{p.X + r*cos, p.Y + r*sin}
	}
	b.polygon(pts...)
}

// Disc paints a filled circle.
func (s *Sheet) Disc(p Pt, r float64, c color.RGBA) {
	b := s.brush([][]Pt{{p}}, r+1)
	b.disc(p, r)
	b.paint(s, c)
}

// Ring paints a circle's line with a rim.
func (s *Sheet) Ring(p Pt, r, width float64, ink, under color.RGBA, rim float64) {
	const sides = 48
	var pts []Pt
	for i := range sides {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / sides)
		pts = append(pts, Pt{p.X + r*cos, p.Y + r*sin})
	}
	s.Line(pts, true, width, nil, ink, under, rim)
}

// Arrow draws an arrow from a to b, its head size device pixels long.
func (s *Sheet) Arrow(a, b Pt, size, width float64, ink, under color.RGBA, rim float64) {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length < 1 {
		return
	}
	ux, uy := (b.X-a.X)/length, (b.Y-a.Y)/length
	h := math.Min(size, length)
	left := Pt{b.X - h*ux - h*0.5*uy, b.Y - h*uy + h*0.5*ux}
	right := Pt{b.X - h*ux + h*0.5*uy, b.Y - h*uy - h*0.5*ux}
	lines := [][]Pt{{a, b}, {left, b, right}}
	if rim > 0 {
		s.strokes(lines, width+2*rim, under)
	}
	s.strokes(lines, width, ink)
}
