package printfile

import (
	"math"
	"math/rand/v2"
)

// noiseSide is the side of the tile of blue noise; larger ones look the same.
const noiseSide = 64

// noise is a tile of thresholds between 0 and 1, each of its 4096 values once, so
// spread that no part of it is lighter or rougher than another: what rounding with
// it adds is too fine to be seen.
type noise [noiseSide * noiseSide]float32

// newNoise makes the tile by voids and clusters: of a pattern of points it finds again
// and again the tightest cluster or the largest void, and so ranks all places.
//
// Source: Ulichney, The void-and-cluster method for dither array generation, Proc.
// SPIE 1913 (1993); from memory, with its width of 1.5.
func newNoise() *noise {
	f := newVoids()
	// Some points at random, then moved until the tightest cluster is the largest void.
	random := rand.New(rand.NewPCG(20, 93))
	for f.points < len(f.set)/10 {
		if at := random.IntN(len(f.set)); !f.set[at] {
			f.put(at, true)
		}
	}
	for {
		from := f.extreme(true)
		f.put(from, false)
		to := f.extreme(false)
		f.put(to, true)
		if from == to {
			break
		}
	}
	var rank [noiseSide * noiseSide]int
	first := *f
	for n := first.points - 1; n >= 0; n-- {
		at := first.extreme(true)
		first.put(at, false)
		rank[at] = n
	}
	for n := f.points; n < len(f.set); n++ {
		at := f.extreme(false)
		f.put(at, true)
		rank[at] = n
	}
	var out noise
	for i, n := range rank {
		out[i] = (float32(n) + 0.5) / float32(len(rank))
	}
	return &out
}

// voids is a pattern of points on a tile that repeats, and how crowded each place is.
type voids struct {
	set     [noiseSide * noiseSide]bool
	crowd   [noiseSide * noiseSide]float64
	weights [noiseSide * noiseSide]float64
	points  int
}

func newVoids() *voids {
	f := &voids{}
	const sigma = 1.5
	for y := range noiseSide {
		for x := range noiseSide {
			dx, dy := float64(min(x, noiseSide-x)), float64(min(y, noiseSide-y))
			f.weights[y*noiseSide+x] = math.Exp(-(dx*dx + dy*dy) / (2 * sigma * sigma))
		}
	}
	return f
}

// put sets or takes a point.
func (f *voids) put(at int, set bool) {
	sign := 1.0
	if !set {
		sign = -1
	}
	f.set[at] = set
	f.points += int(sign)
	const reach = 9 // six standard deviations
	x0, y0 := at%noiseSide, at/noiseSide
	for dy := -reach; dy <= reach; dy++ {
		for dx := -reach; dx <= reach; dx++ {
			x, y := (x0+dx+noiseSide)%noiseSide, (y0+dy+noiseSide)%noiseSide
			f.crowd[y*noiseSide+x] += sign * f.weights[max(dy, -dy)*noiseSide+max(dx, -dx)]
		}
	}
}

// extreme returns the most crowded point, or the least crowded free place.
func (f *voids) extreme(point bool) int {
	best := -1
	for i, set := range f.set {
		if set == point && (best < 0 || point == (f.crowd[i] > f.crowd[best]) && f.crowd[i] != f.crowd[best]) {
			best = i
		}
	}
	return best
}

// at returns the threshold of a pixel's channel. Channels look at the tile in places
// far from each other, so that their grains do not fall together.
func (n *noise) at(x, y, channel int) float32 {
	x, y = x+channel*23, y+channel*37
	return n[y%noiseSide*noiseSide+x%noiseSide]
}
