package register

import (
	"math"
	"slices"

	"firstsheet/proof/photo"
)

// outline returns the corners of the largest thing that stands out from what lies
// along the photograph's edge, clockwise, the one nearest to the upper left corner
// first, in the photograph's pixels. ok is false where nothing does.
func outline(p *photo.Picture) (corners [4]Point, ok bool) {
	c := thumbnail(p)
	inside := c.standsOut()
	part := largest(inside, c.w, c.h)
	share := float64(len(part)) / float64(c.w*c.h)
	if share < 0.08 || share > 0.97 {
		return corners, false
	}
	hull := convexHull(part)
	if len(hull) < 4 {
		return corners, false
	}
	for len(hull) > 4 {
		// The corner that matters least goes.
		least, at := math.Inf(1), 0
		for i := range hull {
			if a := area(hull[(i+len(hull)-1)%len(hull)], hull[i], hull[(i+1)%len(hull)]); a < least {
				least, at = a, i
			}
		}
		hull = slices.Delete(hull, at, at+1)
	}
	first := 0
	for i, q := range hull {
		if q.X+q.Y < hull[first].X+hull[first].Y {
			first = i
		}
	}
	for i := range corners {
		q := hull[(first+i)%4]
		corners[i] = Point{q.X * c.by, q.Y * c.by}
	}
	return corners, true
}

// thumb is a small picture in three channels.
type thumb struct {
	w, h   int
	by     float64
	values [][3]float64
}

func thumbnail(p *photo.Picture) thumb {
	const side = 240
	by := max(1, float64(max(p.W, p.H))/side)
	t := thumb{w: max(1, int(float64(p.W)/by)), h: max(1, int(float64(p.H)/by)), by: by}
	t.values = make([][3]float64, t.w*t.h)
	count := make([]float64, t.w*t.h)
	var row []float64
	for y := range p.H {
		line := min(int(float64(y)/by), t.h-1) * t.w
		row = p.AppendRow(row[:0], y)
		for x := range p.W {
			i := line + min(int(float64(x)/by), t.w-1)
			for k := range 3 {
				t.values[i][k] += row[x*p.Channels+min(k, p.Channels-1)]
			}
			count[i]++
		}
	}
	for i, n := range count {
		for k := range 3 {
			t.values[i][k] /= n
		}
	}
	return t
}

// standsOut tells which pixels differ from the nearest part of the edge's colours.
func (t thumb) standsOut() []bool {
	// The edge in sixteen parts, each by its median: a table is seldom evenly lit.
	type part struct {
		at     Point
		colour [3]float64
	}
	var parts []part
	const n = 4
	band := max(2, min(t.w, t.h)/40)
	add := func(x0, y0, x1, y1 int) {
		var colour [3]float64
		var v []float64
		for k := range colour {
			v = v[:0]
			for y := y0; y < y1; y++ {
				for x := x0; x < x1; x++ {
					v = append(v, t.values[y*t.w+x][k])
				}
			}
			slices.Sort(v)
			colour[k] = v[len(v)/2]
		}
		parts = append(parts, part{Point{float64(x0+x1) / 2, float64(y0+y1) / 2}, colour})
	}
	for i := range n {
		x0, x1, y0, y1 := t.w*i/n, t.w*(i+1)/n, t.h*i/n, t.h*(i+1)/n
		add(x0, 0, x1, band)
		add(x0, t.h-band, x1, t.h)
		add(0, y0, band, y1)
		add(t.w-band, y0, t.w, y1)
	}
	far := make([]float64, len(t.values))
	for i, v := range t.values {
		at := Point{float64(i % t.w), float64(i / t.w)}
		var sum, all [3]float64
		for _, p := range parts {
			d := distance(at, p.at) + 1
			w := 1 / (d * d)
			for k := range 3 {
				sum[k] += w * p.colour[k]
				all[k] += w
			}
		}
		for k := range 3 {
			far[i] = max(far[i], math.Abs(v[k]-sum[k]/all[k]))
		}
	}
	limit := max(split(far), 0.06)
	out := make([]bool, len(far))
	for i, f := range far {
		out[i] = f > limit
	}
	return out
}

// split returns the value that parts values best in two.
//
// Source: Otsu, A threshold selection method from gray-level histograms (1979).
func split(values []float64) float64 {
	const bins = 128
	var count [bins]float64
	for _, v := range values {
		count[min(int(v*bins), bins-1)]++
	}
	var all, sum float64
	for b, n := range count {
		all, sum = all+n, sum+n*float64(b)
	}
	var below, low, most float64
	at := 0
	for b, n := range count {
		below, low = below+n, low+n*float64(b)
		if below == 0 || below == all {
			continue
		}
		d := low/below - (sum-low)/(all-below)
		if v := below * (all - below) * d * d; v > most {
			most, at = v, b
		}
	}
	return float64(at+1) / bins
}

// largest returns the pixels of the largest connected part.
func largest(inside []bool, w, h int) []Point {
	seen := make([]bool, len(inside))
	var best []int
	for i := range inside {
		if !inside[i] || seen[i] {
			continue
		}
		part := []int{i}
		seen[i] = true
		for n := 0; n < len(part); n++ {
			x, y := part[n]%w, part[n]/w
			for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				nx, ny := x+d[0], y+d[1]
				if nx < 0 || ny < 0 || nx >= w || ny >= h {
					continue
				}
				if k := ny*w + nx; inside[k] && !seen[k] {
					seen[k] = true
					part = append(part, k)
				}
			}
		}
		if len(part) > len(best) {
			best = part
		}
	}
	var out []Point
	for _, i := range best {
		out = append(out, Point{float64(i%w) + 0.5, float64(i/w) + 0.5})
	}
	return out
}

// convexHull returns the corners of the hull, clockwise with y down.
//
// Source: Andrew's monotone chain (1979).
func convexHull(points []Point) []Point {
	points = slices.Clone(points)
	slices.SortFunc(points, func(a, b Point) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	half := func(points []Point) []Point {
		var out []Point
		for _, p := range points {
			for len(out) >= 2 && cross(out[len(out)-2], out[len(out)-1], p) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		return out[:max(0, len(out)-1)]
	}
	lower := half(points)
	slices.Reverse(points)
	return append(lower, half(points)...)
}

func cross(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

func area(a, b, c Point) float64 { return math.Abs(cross(a, b, c)) / 2 }
