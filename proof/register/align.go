package register

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"firstsheet/proof/photo"
)

// Match is where a picture lies in a photograph.
type Match struct {
	// Map takes the original's pixels to the photograph's.
	Map Homography
	// Alike is the correlation of both pictures' local contrast once they lie on each
	// other, at most 1. Prints of the same picture reach 0.7 and more, others stay
	// below 0.35 (tried on simulated photographs).
	Alike float64
	// Corners are the picture's corners in the photograph, clockwise from its own upper
	// left one.
	Corners [4]Point
}

// LeastAlike is the least correlation at which two pictures are taken for the same.
const LeastAlike = 0.5

// ErrOther is returned where the photograph shows another picture, or its place in it
// is not found.
var ErrOther = errors.New("register: this is a photograph of something else, or the print cannot be found in it")

// ErrTiny is returned for pictures too small to be compared.
var ErrTiny = errors.New("register: the picture is too small to be compared")

// The steps of the search: pixels of the original's longer side.
var steps = [...]int{64, 128, 256, 400}

// Align finds where original lies in photograph. corners, nil or four of the
// photograph's pixels, are the picture's corners set by hand, clockwise from the
// upper left of what the photograph shows; the picture may still lie on its side or
// upside down.
//
// progress, nil for none, is told how far it is, 0 to 1. It returns ErrOther with the best match that was found, ErrTiny, or ctx's error.
func Align(ctx context.Context, original, photograph *photo.Picture, corners []Point, progress func(float64)) (Match, error) {
	tell := func(done float64) {
		if progress != nil {
			progress(done)
		}
	}
	if min(original.W, original.H, photograph.W, photograph.H) < 64 {
		return Match{}, ErrTiny
	}
	const working = 1000
	o, byO := Small(original, steps[len(steps)-1])
	p, byP := Small(photograph, working)
	a := aligner{original: o, photograph: p}
	var quads [][4]Point
	byHand := len(corners) == 4
	if byHand {
		var q [4]Point
		for i, c := range corners {
			q[i] = Point{c.X / byP, c.Y / byP}
		}
		quads = append(quads, q)
	} else {
		quads = append(quads, frame(p))
		if q, ok := outline(photograph); ok {
			for i := range q {
				q[i] = Point{q[i].X / byP, q[i].Y / byP}
			}
			quads = append(quads, q)
		}
	}
	coarse, middle := a.level(steps[0]), a.level(steps[1])
	tell(0.15)
	found := a.starts(coarse, quads, byHand)
	tell(0.3)
	for i := range found {
		if err := ctx.Err(); err != nil {
			return Match{}, err
		}
		found[i] = coarse.refine(found[i].h)
	}
	sortStarts(found)
	const finalists = 2
	found = found[:min(finalists, len(found))]
	for i := range found {
		found[i] = middle.refine(found[i].h)
		tell(0.4 + 0.15*float64(i))
	}
	sortStarts(found)
	best, alike := Identity(), -1.0
	if len(found) > 0 {
		best, alike = found[0].h, found[0].score
	}
	for _, s := range steps[2:] {
		if err := ctx.Err(); err != nil {
			return Match{}, err
		}
		if alike < LeastAlike/2 {
			break // not worth a closer look
		}
		best, alike = a.polish(best, s)
		tell(0.6 + 0.4*float64(s)/float64(steps[len(steps)-1]))
	}
	m := Match{Alike: alike}
	m.Map = Homography{1 / byO, 0, 0, 0, 1 / byO, 0, 0, 0, 1}.Then(best).Then(Homography{byP, 0, 0, 0, byP, 0, 0, 0, 1})
	w, h := float64(original.W), float64(original.H)
	for i, c := range [4]Point{{0, 0}, {w, 0}, {w, h}, {0, h}} {
		m.Corners[i] = m.Map.Apply(c)
	}
	if !(alike >= LeastAlike) {
		return m, ErrOther
	}
	return m, nil
}

func frame(g Gray) [4]Point {
	w, h := float64(g.W), float64(g.H)
	return [4]Point{{0, 0}, {w, 0}, {w, h}, {0, h}}
}

// aligner holds both pictures, the photograph at a working size.
type aligner struct{ original, photograph Gray }

// margins that a print may have, as shares of the sheet's shorter side.
var margins = []float64{0, 0.01, 0.02, 0.03, 0.045, 0.06, 0.08, 0.1, 0.13, 0.16, 0.2, 0.25}

// starts returns the likeliest few ways in which the picture fills a sheet: turned by
// quarters, with an even margin on two sides at least.
func (a aligner) starts(level level, quads [][4]Point, byHand bool) []start {
	var all []start
	w, h := float64(a.original.W), float64(a.original.H)
	mine := []Point{{0, 0}, {w, 0}, {w, h}, {0, h}}
	for _, q := range quads {
		for turn := range 4 {
			var to [4]Point
			for i := range to {
				to[i] = q[(i+turn)%4]
			}
			// The sheet as long and wide as it looks, the picture centred in it.
			across := (distance(to[0], to[1]) + distance(to[3], to[2])) / 2
			down := (distance(to[1], to[2]) + distance(to[0], to[3])) / 2
			sheet := []Point{{0, 0}, {across, 0}, {across, down}, {0, down}}
			place, err := FitHomography(sheet, to[:])
			if err != nil {
				continue
			}
			try := func(x, y float64) {
				inside := []Point{{x, y}, {across - x, y}, {across - x, down - y}, {x, down - y}}
				if put, err := FitHomography(mine, inside); err == nil {
					m := put.Then(place)
					all = append(all, start{m, level.score(m)})
				}
			}
			if byHand {
				try(0, 0)
				continue
			}
			for _, m := range margins {
				margin := m * min(across, down)
				try(margin, margin)
				// As wide as the margin lets, as high as the picture is.
				if y := (down - (across-2*margin)*h/w) / 2; y > 0 {
					try(margin, y)
				}
				if x := (across - (down-2*margin)*w/h) / 2; x > 0 {
					try(x, margin)
				}
			}
		}
	}
	sortStarts(all)
	const few = 6
	return all[:min(few, len(all))]
}

// start is a map that may be the right one.
type start struct {
	h     Homography
	score float64
}

func sortStarts(all []start) {
	slices.SortStableFunc(all, func(a, b start) int { return cmp.Compare(b.score, a.score) })
}

func distance(a, b Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// level is both pictures evened at one size of the original's.
type level struct {
	t, p Gray
	// by are pixels of the aligner's pictures to one of the level's.
	byT, byP float64
	// edge is how many pixels along the original's edge are not compared: there the
	// surroundings in the photograph are margin and table.
	edge int
	// reach is how far the surroundings go that a pixel is evened by.
	reach int
}

// level returns the pictures at a size, the photograph such that the sheet has about
// as many pixels in it.
func (a aligner) level(side int) level {
	byT := max(1, float64(max(a.original.W, a.original.H))/float64(side))
	byP := max(1, float64(max(a.photograph.W, a.photograph.H))/(1.6*float64(side)))
	reach := max(3, side/16)
	return level{a.original.shrunk(byT).evened(reach), a.photograph.shrunk(byP).evened(reach), byT, byP, reach, reach}
}

// toLevel and fromLevel take a map between the aligner's pictures and the level's.
func (l level) toLevel(h Homography) Homography {
	return Homography{l.byT, 0, 0, 0, l.byT, 0, 0, 0, 1}.Then(h).Then(Homography{1 / l.byP, 0, 0, 0, 1 / l.byP, 0, 0, 0, 1})
}

func (l level) fromLevel(h Homography) Homography {
	return Homography{1 / l.byT, 0, 0, 0, 1 / l.byT, 0, 0, 0, 1}.Then(h).Then(Homography{l.byP, 0, 0, 0, l.byP, 0, 0, 0, 1})
}

// least is how many pixels of the original must lie in the photograph: seven tenths.
func (l level) least() float64 {
	return 0.7 * float64((l.t.W-2*l.edge)*(l.t.H-2*l.edge))
}

// score returns the correlation under a map, minus 1 where too little of the picture
// is inside.
func (l level) score(h Homography) float64 {
	h = l.toLevel(h)
	var n, st, si, stt, sii, sti float64
	for y := l.edge; y < l.t.H-l.edge; y++ {
		for x := l.edge; x < l.t.W-l.edge; x++ {
			i, _, _, ok := l.p.at(h.Apply(Point{float64(x) + 0.5, float64(y) + 0.5}))
			if !ok {
				continue
			}
			t := l.t.Values[y*l.t.W+x]
			n++
			st, si, stt, sii, sti = st+t, si+i, stt+t*t, sii+i*i, sti+t*i
		}
	}
	if n < l.least() {
		return -1
	}
	v := (stt - st*st/n) * (sii - si*si/n)
	if v <= 0 {
		return -1
	}
	return (sti - st*si/n) / math.Sqrt(v)
}

// refine improves a map by raising the correlation.
//
// Source: Evangelidis and Psarakis, Parametric image alignment using enhanced
// correlation coefficient maximization, IEEE TPAMI 30 (2008) 1858, equations from
// memory.
func (l level) refine(h Homography) start {
	best, most := h, l.score(h)
	now := l.toLevel(h)
	const rounds = 20
	worse := 0
	for range rounds {
		next, ok := l.step(now)
		if !ok {
			break
		}
		now = next
		back := l.fromLevel(now)
		switch score := l.score(back); {
		case score > most+1e-5:
			best, most, worse = back, score, 0
		case worse == 3:
			return start{best, most}
		default:
			worse++
		}
	}
	return start{best, most}
}

// polish improves a good map further: the photograph is laid onto the original first
// and evened there, so that both are evened by the same surroundings. Evened where it
// lies, a slant and what is around the print move the corners by several pixels.
func (a aligner) polish(h Homography, side int) (Homography, float64) {
	l := a.level(side)
	plain := a.photograph.shrunk(l.byP)
	l.edge = 1
	best, most := h, -1.0
	const rounds = 3
	for range rounds {
		there := l.toLevel(h)
		laid := Gray{l.t.W, l.t.H, make([]float64, len(l.t.Values))}
		for y := range laid.H {
			for x := range laid.W {
				laid.Values[y*laid.W+x] = plain.nearest(there.Apply(Point{float64(x) + 0.5, float64(y) + 0.5}))
			}
		}
		on := level{l.t, laid.evened(l.reach), 1, 1, l.edge, l.reach}
		if score := on.score(Identity()); score > most {
			best, most = h, score
		}
		d := Identity()
		for range 5 {
			next, ok := on.step(d)
			if !ok {
				break
			}
			d = next
		}
		h = l.fromLevel(d.Then(there))
	}
	return best, most
}

// nearest returns the value at a place, outside that of the edge.
func (g Gray) nearest(p Point) float64 {
	v, _, _, _ := g.at(Point{min(max(p.X, 0.5), float64(g.W)-0.501), min(max(p.Y, 0.5), float64(g.H)-0.501)})
	return v
}

// step returns the map after one step.
func (l level) step(h Homography) (Homography, bool) {
	// Places of the original run from -1 to 1 here, so that all eight unknowns are of
	// one size.
	half := float64(max(l.t.W, l.t.H)) / 2
	cx, cy := float64(l.t.W)/2, float64(l.t.H)/2
	unit := Homography{half, 0, cx, 0, half, cy, 0, 0, 1}
	g := unit.Then(h)
	var normal [64]float64
	var sg, gt, gi [8]float64 // sums of the slopes, alone and with each picture's values
	var n, st, si, ti, ii float64
	for y := l.edge; y < l.t.H-l.edge; y++ {
		for x := l.edge; x < l.t.W-l.edge; x++ {
			u, v := (float64(x)+0.5-cx)/half, (float64(y)+0.5-cy)/half
			w := g[6]*u + g[7]*v + 1
			at := g.Apply(Point{u, v})
			i, dx, dy, ok := l.p.at(at)
			if !ok {
				continue
			}
			t := l.t.Values[y*l.t.W+x]
			dx, dy = dx/w, dy/w
			k := -(dx*at.X + dy*at.Y)
			s := [8]float64{dx * u, dx * v, dx, dy * u, dy * v, dy, k * u, k * v}
			for a, sa := range s {
				sg[a] += sa
				gt[a] += sa * t
				gi[a] += sa * i
				for b := a; b < 8; b++ {
					normal[8*a+b] += sa * s[b]
				}
			}
			n, st, si, ti, ii = n+1, st+t, si+i, ti+t*i, ii+i*i
		}
	}
	if n < l.least() {
		return h, false
	}
	// Both pictures less their means.
	for a := range sg {
		gt[a] -= sg[a] * st / n
		gi[a] -= sg[a] * si / n
	}
	ti, ii = ti-st*si/n, ii-si*si/n
	var c mat.Cholesky
	if !c.Factorize(mat.NewSymDense(8, normal[:])) {
		return h, false
	}
	var xt, xi mat.VecDense
	vt, vi := mat.NewVecDense(8, gt[:]), mat.NewVecDense(8, gi[:])
	if c.SolveVecTo(&xt, vt) != nil || c.SolveVecTo(&xi, vi) != nil {
		return h, false
	}
	above := ii - mat.Dot(vi, &xi)
	below := ti - mat.Dot(vt, &xi)
	if below <= 0 {
		return h, false
	}
	lambda := above / below
	for k := range 8 {
		g[k] += lambda*xt.AtVec(k) - xi.AtVec(k)
		if math.IsNaN(g[k]) {
			return h, false
		}
	}
	back, err := unit.Inverse()
	if err != nil {
		return h, false
	}
	return back.Then(g), true
}
