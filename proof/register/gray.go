package register

import (
	"math"

	"firstsheet/proof/photo"
)

// Gray is a picture of one value a pixel, W*H of them row by row. The middle of pixel
// x, y is at x + 0.5, y + 0.5.
type Gray struct {
	W, H   int
	Values []float64
}

// Small returns the mean of a picture's channels, shrunk by averaging so that its
// longer side has at most side pixels, and by how much it was shrunk: pixels of the
// picture to one of the result.
func Small(p *photo.Picture, side int) (Gray, float64) {
	by := max(1, float64(max(p.W, p.H))/float64(side))
	g := Gray{W: max(1, int(float64(p.W)/by)), H: max(1, int(float64(p.H)/by))}
	g.Values = make([]float64, g.W*g.H)
	count := make([]float64, g.W*g.H)
	var row []float64
	for y := range p.H {
		line := min(int(float64(y)/by), g.H-1) * g.W
		row = p.AppendRow(row[:0], y)
		for x := range p.W {
			i := line + min(int(float64(x)/by), g.W-1)
			var sum float64
			for _, v := range row[x*p.Channels : (x+1)*p.Channels] {
				sum += v
			}
			g.Values[i] += sum / float64(p.Channels)
			count[i]++
		}
	}
	for i, n := range count {
		g.Values[i] /= n
	}
	return g, by
}

// shrunk returns the picture by a factor of at least 1 smaller, by averaging.
func (g Gray) shrunk(by float64) Gray {
	if by <= 1 {
		return g
	}
	out := Gray{W: max(1, int(float64(g.W)/by)), H: max(1, int(float64(g.H)/by))}
	out.Values = make([]float64, out.W*out.H)
	sums := g.sums()
	for y := range out.H {
		y0, y1 := int(float64(y)*by), min(max(int(float64(y+1)*by), int(float64(y)*by)+1), g.H)
		for x := range out.W {
			x0, x1 := int(float64(x)*by), min(max(int(float64(x+1)*by), int(float64(x)*by)+1), g.W)
			out.Values[y*out.W+x] = sums.mean(x0, y0, x1, y1)
		}
	}
	return out
}

// table holds the sums of a picture's rectangles from its upper left corner.
type table struct {
	w      int
	values []float64
}

func (g Gray) sums() table {
	t := table{g.W + 1, make([]float64, (g.W+1)*(g.H+1))}
	for y := range g.H {
		var row float64
		for x := range g.W {
			row += g.Values[y*g.W+x]
			t.values[(y+1)*t.w+x+1] = t.values[y*t.w+x+1] + row
		}
	}
	return t
}

// mean returns the mean of the pixels from x0, y0 up to but not including x1, y1.
func (t table) mean(x0, y0, x1, y1 int) float64 {
	sum := t.values[y1*t.w+x1] - t.values[y0*t.w+x1] - t.values[y1*t.w+x0] + t.values[y0*t.w+x0]
	return sum / float64((x1-x0)*(y1-y0))
}

// Means returns for each pixel the mean of the square that reaches so many pixels
// around it.
func (g Gray) Means(reach int) []float64 {
	t := g.sums()
	out := make([]float64, len(g.Values))
	for y := range g.H {
		y0, y1 := max(0, y-reach), min(g.H, y+reach+1)
		for x := range g.W {
			out[y*g.W+x] = t.mean(max(0, x-reach), y0, min(g.W, x+reach+1), y1)
		}
	}
	return out
}

// evened returns how each pixel differs from its surroundings, in units of how much
// these differ among themselves: what is left of a picture when light, exposure and
// tone are taken out.
func (g Gray) evened(reach int) Gray {
	mean := g.Means(reach)
	squares := Gray{g.W, g.H, make([]float64, len(g.Values))}
	for i, v := range g.Values {
		squares.Values[i] = (v - mean[i]) * (v - mean[i])
	}
	spread := squares.Means(reach)
	const quiet = 0.01 // of white: below this there is noise alone
	out := Gray{g.W, g.H, make([]float64, len(g.Values))}
	for i, v := range g.Values {
		out.Values[i] = (v - mean[i]) / math.Sqrt(spread[i]+quiet*quiet)
	}
	return out
}

// at returns the value and its slopes at a place, and whether that is inside.
func (g Gray) at(p Point) (v, dx, dy float64, ok bool) {
	x, y := p.X-0.5, p.Y-0.5
	if !(x >= 0 && y >= 0 && x < float64(g.W-1) && y < float64(g.H-1)) {
		return 0, 0, 0, false
	}
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	k := j*g.W + i
	a, b, c, d := g.Values[k], g.Values[k+1], g.Values[k+g.W], g.Values[k+g.W+1]
	v = (a*(1-fx)+b*fx)*(1-fy) + (c*(1-fx)+d*fx)*fy
	return v, (b-a)*(1-fy) + (d-c)*fy, (c-a)*(1-fx) + (d-b)*fx, true
}
