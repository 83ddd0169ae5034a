package view

import (
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"

	"firstsheet/app/plot"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/words"
)

// The diagrams' own greys: they are the same in light and dark surroundings, as
// the desk is, because colours are judged on them.
var (
	plotGround = color.RGBA{119, 119, 119, 255}
	plotGrid   = color.RGBA{133, 133, 133, 255}
	plotAxis   = color.RGBA{166, 166, 166, 255}
	plotInk    = color.RGBA{250, 250, 250, 255}
	plotRim    = color.RGBA{24, 24, 24, 255}
	plotPlate  = color.NRGBA{24, 24, 24, 205}
	plotBare   = color.RGBA{12, 12, 12, 255}
)

const plotText = 13

// axesOf are a diagram's axes for a size in device pixels, device pixels per unit, and
// the largest chroma.
type axesOf func(w, h int, scale, most float64) plot.Axes

func flatAxes(w, h int, scale, most float64) plot.Axes {
	m := int(math.Round(32 * scale))
	side := min(w, h) - 2*m
	x, y := (w-side)/2, (h-side)/2
	return plot.Axes{Box: image.Rect(x, y, x+side, y+side), X0: -most, X1: most, Y0: -most, Y1: most}
}

func fallAxes(w, h int, scale, most float64) plot.Axes {
	m := int(math.Round(30 * scale))
	left := int(math.Round(40 * scale))
	return plot.Axes{Box: image.Rect(left, m, w-m/2, h-m), X0: 0, X1: most, Y0: 0, Y1: 100}
}

// diagram is a cut through the scene, being painted.
type diagram struct {
	*plot.Sheet
	scene *vergeScene
	cut   gamut.Cut
	which string // what the cut holds, in words
	slice gamut.Slice
	axes  plot.Axes
	scale float64
	words []widget.Word
}

func (sc *vergeScene) diagram(cut gamut.Cut, which string, axes axesOf, w, h int, scale float64) *diagram {
	return &diagram{plot.New(w, h, plotGround), sc, cut, which, cut.Slice(sc.points), axes(w, h, scale, sc.most), scale, nil}
}

// flat is the diagram from above, a* to the right and b* upwards.
func (sc *vergeScene) flat(w, h int, scale float64) *diagram {
	d := sc.diagram(gamut.AtLightness(sc.light), "at this lightness", flatAxes, w, h, scale)
	step := tick(d.axes.Unit(), 40*scale)
	for t := -math.Floor(sc.most/step) * step; t <= sc.most; t += step {
		d.upright(t, t == 0)
		d.level(t, t == 0)
		if t != 0 {
			d.nameBelow(t)
			d.nameBeside(t, 4)
		}
	}
	d.squares()
	sin, cos := math.Sincos(sc.hue * math.Pi / 180)
	d.otherCut(0, 0, cos*sc.most, sin*sc.most)
	d.outlines(true, d.roomyPlaces())
	d.pins()
	b, o := d.box(), d.axes.At(0, 0)
	d.bare("−a*  green", b.x0+5*scale, o.Y-10*scale, fyne.TextAlignLeading)
	d.bare("+a*  red", b.x1-5*scale, o.Y-10*scale, fyne.TextAlignTrailing)
	d.bare("+b*  yellow", o.X+6*scale, b.y0+10*scale, fyne.TextAlignLeading)
	d.bare("−b*  blue", o.X+6*scale, b.y1-10*scale, fyne.TextAlignLeading)
	return d
}

// fall is the diagram from the side, C* to the right and L* upwards.
func (sc *vergeScene) fall(w, h int, scale float64) *diagram {
	d := sc.diagram(gamut.AtHue(sc.hue), "of this hue", fallAxes, w, h, scale)
	for t := 0.0; t <= 100; t += 20 {
		d.level(t, false)
		d.nameBeside(t, 5)
	}
	step := tick(d.axes.Unit(), 40*scale)
	for t := 0.0; t <= sc.most; t += step {
		d.upright(t, t == 0)
		d.nameBelow(t)
	}
	d.squares()
	d.otherCut(0, sc.light, sc.most, sc.light)
	d.outlines(false, d.placesBelow())
	d.pins()
	b := d.box()
	d.bare("L*  black to white", b.x0-30*scale, b.y0-17*scale, fyne.TextAlignLeading)
	d.bare("C*  grey to vivid", b.x1-4*scale, b.y1-10*scale, fyne.TextAlignTrailing)
	return d
}

// told puts into words what the diagram shows of the picture.
func (d *diagram) told() string { return d.scene.sliceText(d.slice, d.which) }

// box is where the plot's ends are.
func (d *diagram) box() (b struct{ x0, y0, x1, y1 float64 }) {
	r := d.axes.Box
	b.x0, b.y0, b.x1, b.y1 = float64(r.Min.X), float64(r.Min.Y), float64(r.Max.X), float64(r.Max.Y)
	return b
}

func (d *diagram) at(p gamut.Place) plot.Pt { return d.axes.At(p.X, p.Y) }

// tick is the distance of grid lines, at least wide device pixels apart.
func tick(unit, wide float64) float64 {
	for _, t := range []float64{10, 20, 40} {
		if t*unit >= wide {
			return t
		}
	}
	return 80
}

func gridInk(axis bool) color.RGBA {
	if axis {
		return plotAxis
	}
	return plotGrid
}

func (d *diagram) upright(t float64, axis bool) {
	x := int(math.Round(d.axes.At(t, 0).X))
	d.Rule(x, d.axes.Box.Min.Y, x, d.axes.Box.Max.Y, int(d.scale), gridInk(axis))
}

func (d *diagram) level(t float64, axis bool) {
	y := int(math.Round(d.axes.At(0, t).Y))
	d.Rule(d.axes.Box.Min.X, y, d.axes.Box.Max.X, y, int(d.scale), gridInk(axis))
}

// nameBelow and nameBeside write the figure of a grid line at its end.
func (d *diagram) nameBelow(t float64) {
	d.bare(words.Whole(t), d.axes.At(t, 0).X, d.box().y1+9*d.scale, fyne.TextAlignCenter)
}

func (d *diagram) nameBeside(t, gap float64) {
	d.bare(words.Whole(t), d.box().x0-gap*d.scale, d.axes.At(0, t).Y, fyne.TextAlignTrailing)
}

// squares paints the picture's colours: each the size of a cell of the count, and never
// too small to be seen.
func (d *diagram) squares() {
	side := math.Max(2.2*d.axes.Unit(), 2*d.scale)
	for _, p := range d.slice.Points {
		d.Square(d.at(d.cut.Place(p.Lab)), side, p.Screen, d.axes.Box)
	}
}

// otherCut draws where the other diagram cuts through this one.
func (d *diagram) otherCut(x0, y0, x1, y1 float64) {
	d.Line([]plot.Pt{d.axes.At(x0, y0), d.axes.At(x1, y1)}, false, d.scale, plot.Pattern{3, 3}, plotInk, plotRim, 0)
}

// outlines draws where the papers end. name says where the name of a line stands.
func (d *diagram) outlines(closed bool, name func(i int, l sceneLine, line []plot.Pt) (plot.Pt, fyne.TextAlign)) {
	for i, l := range d.scene.lines {
		places := l.outline.In(d.cut)
		if places == nil {
			continue
		}
		line := make([]plot.Pt, len(places))
		for k, p := range places {
			line[k] = d.at(p)
		}
		width, rim := 1.8*d.scale, 0.9*d.scale
		if l.heavy {
			width, rim = 3*d.scale, d.scale
		}
		d.Line(line, closed, width, l.pattern, plotInk, plotRim, rim)
		p, align := name(i, l, line)
		d.word(l.name, p.X, p.Y, align, l.heavy)
	}
}

// roomyPlaces names closed lines where it is farthest from pins and other names.
func (d *diagram) roomyPlaces() func(int, sceneLine, []plot.Pt) (plot.Pt, fyne.TextAlign) {
	middle := d.axes.At(0, 0)
	taken := []plot.Pt{middle}
	for _, q := range d.scene.pins {
		if q.chosen || d.cut.Near(q.at) {
			at := d.at(d.cut.Place(q.at))
			taken = append(taken, at, plot.Pt{X: at.X + 40*d.scale, Y: at.Y})
		}
	}
	return func(_ int, _ sceneLine, line []plot.Pt) (plot.Pt, fyne.TextAlign) {
		p := roomiest(line, middle, 16*d.scale, taken)
		taken = append(taken, p)
		return p, fyne.TextAlignCenter
	}
}

// placesBelow names lines from white to black one beneath the other, beside their line.
func (d *diagram) placesBelow() func(int, sceneLine, []plot.Pt) (plot.Pt, fyne.TextAlign) {
	return func(i int, l sceneLine, _ []plot.Pt) (plot.Pt, fyne.TextAlign) {
		o := l.outline
		level := o.White.L - (o.White.L-o.Black.L)*(float64(i)+0.7)/(float64(len(d.scene.lines))+0.4)
		p := d.axes.At(o.Chroma(level, d.scene.hue), level)
		return plot.Pt{X: p.X + 10*d.scale, Y: p.Y}, fyne.TextAlignLeading
	}
}

// roomiest returns the place just outside a closed line round o that is farthest
// from all that is taken.
func roomiest(line []plot.Pt, o plot.Pt, out float64, taken []plot.Pt) plot.Pt {
	best, at := -1.0, o
	for k := 0; k < len(line); k += 6 {
		p := line[k]
		d := math.Hypot(p.X-o.X, p.Y-o.Y)
		if d == 0 {
			continue
		}
		p = plot.Pt{X: p.X + (p.X-o.X)/d*out, Y: p.Y + (p.Y-o.Y)/d*out}
		near := math.Inf(1)
		for _, t := range taken {
			near = math.Min(near, math.Hypot(p.X-t.X, 2*(p.Y-t.Y)))
		}
		if near > best {
			best, at = near, p
		}
	}
	return at
}

// pins marks the pins: a large ring in its own colour with its name for those of the
// slice, a small one for the others; an arrow leads to where the active sheet prints it.
func (d *diagram) pins() {
	place := func(c cie.Lab) plot.Pt { return d.at(d.cut.Place(c)) }
	scale := d.scale
	for _, p := range d.scene.pins {
		at := place(p.at)
		if !p.chosen && !d.cut.Near(p.at) {
			d.Ring(at, 3*scale, scale, plotInk, plotRim, 0.8*scale)
			continue
		}
		if p.moved {
			d.Arrow(at, place(p.goes), 8*scale, 1.6*scale, plotInk, plotRim, scale)
		}
		r := 6 * scale
		if p.chosen {
			r = 8 * scale
		}
		d.Disc(at, r, p.colour)
		d.Ring(at, r, 1.6*scale, plotInk, plotRim, scale)
		align, x := fyne.TextAlignLeading, at.X+r+7*scale
		if at.X > d.box().x1-80*scale {
			align, x = fyne.TextAlignTrailing, at.X-r-7*scale
		}
		d.word(p.name, x, at.Y, align, p.chosen)
	}
}

// word writes a name on a plate of its own, bare a figure or the end of an axis.
func (d *diagram) word(s string, x, y float64, align fyne.TextAlign, bold bool) {
	d.words = append(d.words, widget.Word{Text: s, X: x, Y: y, Align: align, Size: plotText, Bold: bold, Ink: plotInk, Plate: plotPlate})
}

func (d *diagram) bare(s string, x, y float64, align fyne.TextAlign) {
	d.words = append(d.words, widget.Word{Text: s, X: x, Y: y, Align: align, Size: plotText, Ink: plotBare})
}
