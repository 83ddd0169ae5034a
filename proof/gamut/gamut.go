// Package gamut finds where a device's colours end: the boundary in CIELAB, its
// volume, and its outline at each hue; and how a picture's colours lie in it.
//
//	device's colours ──▶ Boundary ──▶ Outline (cut at any lightness or hue)
//	picture          ──▶ Cloud (all pixels at full size, those alike together)
//
// The boundary is a radius for each direction from a centre on the neutral axis,
// as in the segment maxima method (Morovic and Luo 2000), but taken from the
// surface itself and not from scattered samples: every two-dimensional face of
// the device's cube is sampled on a grid, its triangles are cut by the
// directions, and the outermost cut counts. The boundary is therefore that of
// a solid which is seen whole from its centre; dents that look away from the
// centre are filled. Gamuts of printers and displays are nearly such solids.
//
// Which Lab is meant, relative or absolute, is the caller's choice; the white is
// D50.
package gamut

import (
	"context"
	"fmt"
	"math"

	"firstsheet/proof/cie"
)

// Look returns the colours of device numbers, interleaved and 0 to 1: for a
// paper what its A2B table says.
type Look func(ctx context.Context, numbers []float64) ([]cie.Lab, error)

// The grid of directions, 2 degrees of hue by 2 degrees of elevation: the volume
// is summed over it, and its cells list the triangles that a ray may meet.
const (
	hues       = 180
	elevations = 90 // from white (0) to black (90), both included
)

// sliceElevations are the rays of a slice, finer than the grid so that cusps keep
// their points.
const sliceElevations = 360

// Boundary is the surface of a gamut. It is immutable and may be used by many
// goroutines.
type Boundary struct {
	centre    cie.Lab
	white     cie.Lab // the lightest corner
	black     cie.Lab // the darkest corner
	triangles [][3]place
	cells     [hues][elevations][]int32 // triangles by direction
	radius    [hues][elevations + 1]float64
}

// MaxChannels is the most channels of a device: 8 inks have 1,792 faces.
const MaxChannels = 8

// New finds the boundary of a device of the given number of channels. nodes is
// the number of samples along an edge of a face, 17 to 33 for a smooth outline. It
// returns ctx.Err() when cancelled, and look's own errors.
func New(ctx context.Context, channels, nodes int, look Look) (*Boundary, error) {
	if channels < 1 || channels > MaxChannels || nodes < 2 {
		return nil, fmt.Errorf("gamut: %d channels by %d nodes", channels, nodes)
	}
	b := &Boundary{}
	if err := b.corners(ctx, channels, look); err != nil {
		return nil, err
	}
	b.centre = cie.Lab{L: (b.white.L + b.black.L) / 2}
	for i := 0; i < channels; i++ {
		for j := i + 1; j < channels; j++ {
			for fixed := 0; fixed < 1<<(channels-2); fixed++ {
				if err := ctx.Err(); err != nil {
					return nil, err
				}
				if err := b.face(ctx, channels, nodes, i, j, fixed, look); err != nil {
					return nil, err
				}
			}
		}
	}
	if err := b.sweep(ctx); err != nil {
		return nil, err
	}
	return b, nil
}

// corners finds the lightest and the darkest corner of the device's cube.
func (b *Boundary) corners(ctx context.Context, channels int, look Look) error {
	var numbers []float64
	for k := 0; k < 1<<channels; k++ {
		for c := 0; c < channels; c++ {
			numbers = append(numbers, float64(k>>c&1))
		}
	}
	colours, err := evaluate(ctx, numbers, channels, look)
	if err != nil {
		return err
	}
	b.white, b.black = colours[0], colours[0]
	for _, c := range colours[1:] {
		if c.L > b.white.L {
			b.white = c
		}
		if c.L < b.black.L {
			b.black = c
		}
	}
	if !(b.white.L-b.black.L > 0) {
		return fmt.Errorf("gamut: white and black have one lightness, %.1f", b.white.L)
	}
	return nil
}

func evaluate(ctx context.Context, numbers []float64, channels int, look Look) ([]cie.Lab, error) {
	colours, err := look(ctx, numbers)
	if err != nil {
		return nil, err
	}
	if len(colours) != len(numbers)/channels {
		return nil, fmt.Errorf("gamut: %d colours for %d numbers of %d channels", len(colours), len(numbers), channels)
	}
	for _, c := range colours {
		if s := c.L + c.A + c.B; math.IsNaN(s) || math.IsInf(s, 0) {
			return nil, fmt.Errorf("gamut: the device has a colour that is no number (%v)", c)
		}
	}
	return colours, nil
}

// face adds the face in which channels i and j vary and the others are 0 or 1
// as the bits of fixed say.
func (b *Boundary) face(ctx context.Context, channels, nodes, i, j, fixed int, look Look) error {
	numbers := make([]float64, 0, nodes*nodes*channels)
	for y := 0; y < nodes; y++ {
		for x := 0; x < nodes; x++ {
			bit := 0
			for c := 0; c < channels; c++ {
				switch c {
				case i:
					numbers = append(numbers, float64(x)/float64(nodes-1))
				case j:
					numbers = append(numbers, float64(y)/float64(nodes-1))
				default:
					numbers = append(numbers, float64(fixed>>bit&1))
					bit++
				}
			}
		}
	}
	colours, err := evaluate(ctx, numbers, channels, look)
	if err != nil {
		return err
	}
	for y := 0; y+1 < nodes; y++ {
		for x := 0; x+1 < nodes; x++ {
			k := y*nodes + x
			b.triangle(colours[k], colours[k+1], colours[k+nodes])
			b.triangle(colours[k+1], colours[k+nodes+1], colours[k+nodes])
		}
	}
	return nil
}

// place is a spot relative to the centre: L*, a*, b*.
type place [3]float64

func (v place) minus(w place) place { return place{v[0] - w[0], v[1] - w[1], v[2] - w[2]} }
func (v place) dot(w place) float64 { return v[0]*w[0] + v[1]*w[1] + v[2]*w[2] }
func (v place) cross(w place) place {
	return place{v[1]*w[2] - v[2]*w[1], v[2]*w[0] - v[0]*w[2], v[0]*w[1] - v[1]*w[0]}
}

func (b *Boundary) from(c cie.Lab) place {
	return place{c.L - b.centre.L, c.A - b.centre.A, c.B - b.centre.B}
}

// direction returns the unit vector of a hue and elevation in units of the grid.
func direction(hue, elevation float64) place {
	sinE, cosE := math.Sincos(math.Pi * elevation / elevations)
	sinH, cosH := math.Sincos(2 * math.Pi * hue / hues)
	return place{cosE, sinE * cosH, sinE * sinH}
}

// angles returns a place's hue and elevation in units of the grid.
func (v place) angles() (hue, elevation float64) {
	r := math.Sqrt(v.dot(v))
	if r == 0 {
		return 0, 0
	}
	hue = math.Atan2(v[2], v[1]) * hues / (2 * math.Pi)
	if hue < 0 {
		hue += hues
	}
	return hue, math.Acos(max(-1, min(1, v[0]/r))) * elevations / math.Pi
}

// triangle enters a triangle in every cell of directions that it may cover.
func (b *Boundary) triangle(p, q, r cie.Lab) {
	corners := [3]place{b.from(p), b.from(q), b.from(r)}
	var h, e [3]float64
	for i, v := range corners {
		h[i], e[i] = v.angles()
	}
	// One cell more each way: edges are arcs and bulge towards the poles.
	e0 := max(0, int(min(e[0], e[1], e[2]))-1)
	e1 := min(elevations-1, int(max(e[0], e[1], e[2]))+1)
	if max(h[0], h[1], h[2])-min(h[0], h[1], h[2]) > hues/2 { // over the seam, or around a pole
		for i := range h {
			if h[i] < hues/2 {
				h[i] += hues
			}
		}
	}
	h0, h1 := min(h[0], h[1], h[2]), max(h[0], h[1], h[2])
	from, to := int(h0)-1, int(h1)+1
	if h1-h0 > hues/2-1 || e0 <= 2 || e1 >= elevations-3 {
		from, to = 0, hues-1
	}
	n := int32(len(b.triangles))
	b.triangles = append(b.triangles, corners)
	for i := from; i <= to; i++ {
		hue := ((i % hues) + hues) % hues
		for el := e0; el <= e1; el++ {
			b.cells[hue][el] = append(b.cells[hue][el], n)
		}
	}
}

// ray returns the distance of the outermost cut along v, a unit vector with the
// given angles, 0 when nothing is met.
func (b *Boundary) ray(v place, hue, elevation float64) float64 {
	most := 0.0
	for _, k := range b.cells[int(hue)%hues][min(int(elevation), elevations-1)] {
		if t := cut(v, &b.triangles[k]); t > most {
			most = t
		}
	}
	return most
}

// cut returns the distance at which the ray from the origin along d passes
// through the triangle, 0 when it does not. Source: Möller and Trumbore,
// "Fast, Minimum Storage Ray/Triangle Intersection", Journal of Graphics Tools 2
// (1997).
func cut(d place, t *[3]place) float64 {
	const slack = 1e-9 // shared edges belong to both triangles
	e1, e2 := t[1].minus(t[0]), t[2].minus(t[0])
	p := d.cross(e2)
	det := e1.dot(p)
	if math.Abs(det) < 1e-12 {
		return 0
	}
	s := place{}.minus(t[0])
	u := s.dot(p) / det
	if u < -slack || u > 1+slack {
		return 0
	}
	q := s.cross(e1)
	v := d.dot(q) / det
	if v < -slack || u+v > 1+slack {
		return 0
	}
	return max(0, e2.dot(q)/det)
}

// sweep finds the radius of every direction of the grid. Directions that no
// triangle meets get the mean of their neighbours, the poles one radius each.
func (b *Boundary) sweep(ctx context.Context) error {
	for h := range hues {
		if err := ctx.Err(); err != nil {
			return err
		}
		for e := range elevations + 1 {
			b.radius[h][e] = b.ray(direction(float64(h), float64(e)), float64(h), float64(e))
		}
	}
	for _, pole := range []int{0, elevations} {
		top := 0.0
		for h := range hues {
			top = max(top, b.radius[h][pole])
		}
		for h := range hues {
			b.radius[h][pole] = top
		}
	}
	for h := range hues {
		for e := range elevations + 1 {
			if b.radius[h][e] > 0 {
				continue
			}
			sum, n := 0.0, 0
			for dh := -1; dh <= 1; dh++ {
				for de := max(0, e-1); de <= min(elevations, e+1); de++ {
					if r := b.radius[(h+dh+hues)%hues][de]; r > 0 {
						sum, n = sum+r, n+1
					}
				}
			}
			if n > 0 {
				b.radius[h][e] = sum / float64(n)
			}
		}
	}
	return nil
}

// White and Black return the lightest and the darkest corner of the device.
func (b *Boundary) White() cie.Lab { return b.white }
func (b *Boundary) Black() cie.Lab { return b.black }

// Volume returns the volume of the gamut in cubic Lab units (CIE76): the radius
// cubed over the directions, each weighted with the solid angle it stands for.
// The figure depends on the white and on relative or absolute Lab; compare only
// like with like.
func (b *Boundary) Volume() float64 {
	sum := 0.0
	for e := range elevations + 1 {
		upper := math.Pi * max(0, float64(e)-0.5) / elevations
		lower := math.Pi * min(elevations, float64(e)+0.5) / elevations
		band := (math.Cos(upper) - math.Cos(lower)) * 2 * math.Pi / hues
		for h := range hues {
			r := b.radius[h][e]
			sum += r * r * r / 3 * band
		}
	}
	return sum
}

// reach returns the radius of the boundary in the direction of v, which need
// not be of unit length.
func (b *Boundary) reach(v place) float64 {
	r := math.Sqrt(v.dot(v))
	if r == 0 {
		return b.radius[0][0]
	}
	h, e := v.angles()
	if t := b.ray(place{v[0] / r, v[1] / r, v[2] / r}, h, e); t > 0 {
		return t
	}
	// A seam between triangles: the grid's neighbours.
	h0, e0 := int(h)%hues, min(int(e), elevations-1)
	h1 := (h0 + 1) % hues
	fh, fe := h-math.Floor(h), e-float64(e0)
	return (b.radius[h0][e0]*(1-fh)+b.radius[h1][e0]*fh)*(1-fe) +
		(b.radius[h0][e0+1]*(1-fh)+b.radius[h1][e0+1]*fh)*fe
}

// HueSlice returns the outline in the half plane of a hue, in degrees: an open
// line from white over the most saturated colour to black.
func (b *Boundary) HueSlice(hue float64) []cie.LCh {
	g := math.Mod(math.Mod(hue, 360)+360, 360) * hues / 360
	out := make([]cie.LCh, 0, sliceElevations+1)
	for i := range sliceElevations + 1 {
		e := float64(i) * elevations / sliceElevations
		r := 0.0
		switch i {
		case 0:
			r = b.radius[0][0]
		case sliceElevations:
			r = b.radius[0][elevations]
		default:
			r = b.reach(direction(g, e))
		}
		sin, cos := math.Sincos(math.Pi * e / elevations)
		out = append(out, cie.LCh{L: b.centre.L + r*cos, C: max(0, r*sin), H: hue})
	}
	return out
}

// ChromaAt returns the largest chroma of a line of [Boundary.HueSlice] at a
// lightness, 0 where it has nothing of that lightness.
func ChromaAt(line []cie.LCh, lightness float64) float64 {
	most := 0.0
	for i := 0; i+1 < len(line); i++ {
		p, q := line[i], line[i+1]
		if p.L < q.L {
			p, q = q, p
		}
		if lightness > p.L || lightness < q.L {
			continue
		}
		f := 0.0
		if p.L > q.L {
			f = (p.L - lightness) / (p.L - q.L)
		}
		most = max(most, p.C+(q.C-p.C)*f)
	}
	return most
}
