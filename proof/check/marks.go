package check

import (
	"math"
	"slices"

	"firstsheet/proof/photo"
	"firstsheet/proof/register"
)

// ScanError says why a scan cannot be read, in words for the person.
type ScanError struct{ Reason string }

func (e *ScanError) Error() string { return "check: " + e.Reason }

// searchSide is the longer side of the picture that is looked through for marks: a
// sheet's mark is 20 pixels wide in it.
const searchSide = 1600

// darkness tells which pixels are darker than their surroundings by a good part of
// what is white there.
type darkness struct {
	w, h int
	dark []bool
}

func darknessOf(g register.Gray) darkness {
	mean := g.Means(max(g.W, g.H) / 24) // a mark and the paper around it
	d := darkness{g.W, g.H, make([]bool, len(g.Values))}
	for i, v := range g.Values {
		d.dark[i] = v < 0.8*mean[i]
	}
	return d
}

// ring is a round mark that was found: its middle, in pixels of the small picture, and
// its outer radius.
type ring struct {
	at register.Point
	r  float64
	n  int // lines that cross it
}

// rings finds round marks: places where lines both ways cross dark, light, dark,
// light, dark as 1, 1, 2, 1, 1.
func (g darkness) rings() []ring {
	at := func(x, y int) bool { return g.dark[y*g.w+x] }
	var found []ring
	for y := range g.h {
		for _, c := range crossings(g.w, func(x int) bool { return at(x, y) }) {
			x := int(c.middle)
			// The line down through the middle must cross the same.
			for _, d := range crossings(g.h, func(y int) bool { return at(x, y) }) {
				if math.Abs(d.middle-float64(y)) > max(1.5, c.length/12) || d.length > 1.8*c.length || c.length > 1.8*d.length {
					continue
				}
				found = join(found, ring{register.Point{X: c.middle + 0.5, Y: d.middle + 0.5}, (c.length + d.length) / 4, 1})
			}
		}
	}
	// A third of a mark's lines cross its inner disc; of what only looks like one along
	// a line or two, far fewer.
	found = slices.DeleteFunc(found, func(r ring) bool { return r.n < 2 || float64(r.n) < 0.15*r.r })
	// The marks are of one size, up to the slant; letters and lines are smaller.
	var largest float64
	for _, r := range found {
		largest = max(largest, r.r)
	}
	return slices.DeleteFunc(found, func(r ring) bool { return r.r < 0.4*largest })
}

// join adds a crossing to the ring it belongs to.
func join(rings []ring, r ring) []ring {
	for i := range rings {
		o := &rings[i]
		if math.Hypot(o.at.X-r.at.X, o.at.Y-r.at.Y) < o.r {
			n := float64(o.n)
			o.at = register.Point{X: (o.at.X*n + r.at.X) / (n + 1), Y: (o.at.Y*n + r.at.Y) / (n + 1)}
			o.r = (o.r*n + r.r) / (n + 1)
			o.n++
			return rings
		}
	}
	return append(rings, r)
}

type crossing struct{ middle, length float64 }

// crossings returns where a line crosses a mark through its middle.
func crossings(n int, dark func(int) bool) []crossing {
	var starts []int // where runs begin, dark ones at even places
	is := false
	for i := range n {
		if dark(i) != is {
			is = !is
			starts = append(starts, i)
		}
	}
	starts = append(starts, n)
	var out []crossing
	for i := 0; i+5 < len(starts); i += 2 {
		from, to := starts[i], starts[i+5]
		length := float64(to - from)
		if length < 8 {
			continue
		}
		good := true
		for k, share := range [5]float64{1, 1, 2, 1, 1} {
			want := length * share / 6
			if run := float64(starts[i+k+1] - starts[i+k]); math.Abs(run-want) > max(1.6, 0.45*want) {
				good = false
			}
		}
		if good {
			out = append(out, crossing{float64(starts[i+2]+starts[i+3]-1) / 2, length})
		}
	}
	return out
}

// mostRings bounds the search for the five among what looks like a mark.
const mostRings = 16

// locate returns the map from the design to the picture's pixels.
func locate(p *photo.Picture) (register.Homography, error) {
	small, by := register.Small(p, searchSide)
	rings := darknessOf(small).rings()
	if len(rings) > mostRings {
		// The truest marks are crossed by the most lines.
		for i := range rings {
			for k := i; k > 0 && rings[k].n > rings[k-1].n; k-- {
				rings[k], rings[k-1] = rings[k-1], rings[k]
			}
		}
		rings = rings[:mostRings]
	}
	h, mirrored, ok := fitMarks(rings)
	switch {
	case ok && mirrored:
		return h, &ScanError{"the sheet is mirrored in this picture: turn it over, left and right are exchanged"}
	case !ok && len(rings) == 0:
		return h, &ScanError{"this is no check sheet: none of its five round marks is in the picture"}
	case !ok:
		return h, &ScanError{"the check sheet's five round marks are not all in the picture: scan the whole sheet with all four corners, the two marks of its first corner among them"}
	}
	return h.Then(register.Homography{by, 0, 0, 0, by, 0, 0, 0, 1}), nil
}

// fitMarks tries which rings are the corners: the fifth mark and the marks' sizes must
// be where and what the corners say.
func fitMarks(rings []ring) (best register.Homography, mirrored, ok bool) {
	m := marks()
	corners := m[:4]
	least := math.Inf(1)
	n := len(rings)
	for a := range n {
		for b := range n {
			for c := range n {
				for d := range n {
					if a == b || a == c || a == d || b == c || b == d || c == d {
						continue
					}
					quad := []register.Point{rings[a].at, rings[b].at, rings[c].at, rings[d].at}
					turn, convex := winding(quad)
					if !convex {
						continue
					}
					h, err := register.FitHomography(corners, quad)
					if err != nil {
						continue
					}
					off := misfit(h, rings, m)
					if off < least {
						best, mirrored, least, ok = h, turn < 0, off, true
					}
				}
			}
		}
	}
	return best, mirrored, ok
}

// winding returns the sense in which a quadrilateral is gone round, above 0 for
// clockwise with y down, and whether it is convex.
func winding(q []register.Point) (turn float64, convex bool) {
	for i := range 4 {
		a, b, c := q[i], q[(i+1)%4], q[(i+2)%4]
		z := (b.X-a.X)*(c.Y-b.Y) - (b.Y-a.Y)*(c.X-b.X)
		if i > 0 && z*turn <= 0 {
			return 0, false
		}
		turn = z
	}
	return turn, true
}

// misfit is how badly five rings lie where a map puts the marks, infinite where they
// are not the marks. It is in radii of a mark.
func misfit(h register.Homography, rings []ring, m [5]register.Point) float64 {
	const allowed = 0.6
	var worst float64
	taken := map[int]bool{}
	for _, p := range m {
		at := h.Apply(p)
		r := (distance(at, h.Apply(register.Point{X: p.X + markRadius, Y: p.Y})) + distance(at, h.Apply(register.Point{X: p.X, Y: p.Y + markRadius}))) / 2
		near, which := math.Inf(1), -1
		for i, c := range rings {
			if off := distance(c.at, at)/r + math.Abs(math.Log(c.r/r)); off < near {
				near, which = off, i
			}
		}
		if !(near < allowed) || taken[which] {
			return math.Inf(1)
		}
		taken[which] = true
		worst = max(worst, near)
	}
	return worst
}

func distance(a, b register.Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }
