package profile

import (
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// The order of tones: on the way from a colour to white the print gets lighter, on
// the way to black darker. It is asked for at every node, by its neighbours on that
// side, and in the middle of every cell; at the nodes alone L* still fell by 0.5
// between them on ramps through blue.

// rise is how much lighter a print is to get at least, as a share of what is asked
// for: a little, for between the places that are looked at.
const rise = 0.15

// maxOrders is how many orders a node takes part in: to white and to black, its own and
// those of eight cells.
const maxOrders = 2 * (1 + 8)

// way is a direction in CIELAB from a place in the table. share is how much of it goes
// along each axis, counted in steps of the grid, with its sign; all of it is 1. least is
// the change of lightness asked for.
type way struct {
	share [3]float64
	least float64
}

// order asks of the printed lightness L of a node that slope times L be no less than
// least.
type order struct{ slope, least float64 }

// findWays fills in the ways to white and to black.
func (w *whole) findWays() {
	n, grid := len(w.asked), w.grid
	w.ways, w.within = make([][2]way, n), make([][2]way, n)
	for i, c := range w.asked {
		for k, d := range toWhiteAndBlack(c) {
			var steps [3]float64
			for axis, x := range components(d) {
				side := 2 * axis
				if x < 0 {
					side++
				}
				if j := w.beside(i, side); j >= 0 {
					steps[axis] = x / math.Abs(components(w.asked[j])[axis]-components(c)[axis])
				}
			}
			w.ways[i][k] = newWay(steps, d.L)
		}
		if min(grid-1-i/grid/grid, grid-1-i/grid%grid, grid-1-i%grid) == 0 {
			continue // no cell begins here
		}
		far := w.asked[i+(grid+1)*grid+1]
		size := cie.Lab{L: far.L - c.L, A: far.A - c.A, B: far.B - c.B}
		for k, d := range toWhiteAndBlack(cie.Lab{L: c.L + size.L/2, A: c.A + size.A/2, B: c.B + size.B/2}) {
			w.within[i][k] = newWay([3]float64{d.L / size.L, d.A / size.A, d.B / size.B}, d.L)
		}
	}
}

func newWay(steps [3]float64, light float64) (w way) {
	sum := math.Abs(steps[0]) + math.Abs(steps[1]) + math.Abs(steps[2])
	if sum == 0 {
		return w
	}
	for axis, x := range steps {
		w.share[axis] = x / sum
	}
	w.least = rise * math.Abs(light) / sum
	return w
}

// orders returns the orders that node i takes part in, those in cells with a node of a
// later ring left out.
func (w *whole) orders(i int) (all [maxOrders]order, n int) {
	for k, way := range w.ways[i] {
		up := [2]float64{1, -1}[k]
		if way.share == [3]float64{} {
			continue
		}
		ahead, sum := 0.0, 0.0
		for axis, x := range way.share {
			side := 2 * axis
			if x < 0 {
				side++
			}
			if x != 0 {
				ahead += math.Abs(x) * w.print[w.beside(i, side)].L
				sum += math.Abs(x)
			}
		}
		all[n] = order{-up * sum, way.least - up*ahead}
		n++
	}
	at := [3]int{i / w.grid / w.grid, i / w.grid % w.grid, i % w.grid}
	for corner := range 8 {
		up := [3]int{corner >> 2, corner >> 1 & 1, corner & 1}
		from := [3]int{at[0] - up[0], at[1] - up[1], at[2] - up[2]}
		if min(from[0], from[1], from[2]) < 0 || max(from[0], from[1], from[2]) > w.grid-2 {
			continue
		}
		base := (from[0]*w.grid+from[1])*w.grid + from[2]
		others, ok := w.edges(base, i)
		if !ok {
			continue
		}
		for k, way := range w.within[base] {
			o := order{least: 4 * way.least}
			for axis, x := range way.share {
				x *= [2]float64{1, -1}[k]
				o.slope += x * float64(2*up[axis]-1)
				o.least -= x * others[axis]
			}
			all[n] = o
			n++
		}
	}
	return all, n
}

// edges sums up the differences of printed lightness over a cell's four edges along
// each axis, without the part of node i. It returns false where a node of the cell
// belongs to a later ring than i.
func (w *whole) edges(base, i int) (sum [3]float64, ok bool) {
	for k := range 8 {
		up := [3]int{k >> 2, k >> 1 & 1, k & 1}
		j := base + (up[0]*w.grid+up[1])*w.grid + up[2]
		if w.ring[j] > w.ring[i] {
			return sum, false
		}
		if j == i {
			continue
		}
		for axis := range sum {
			sum[axis] += float64(2*up[axis]-1) * w.print[j].L
		}
	}
	return sum, true
}

// toWhiteAndBlack returns which way a colour goes when a picture adds white to it and
// when it adds black, as the numbers of sRGB do; outside of sRGB that of a colour at
// its surface.
func toWhiteAndBlack(c cie.Lab) [2]cie.Lab {
	const little = 1.0 / 32
	srgb := space.SRGB()
	v := srgb.FromLab(c)
	for ch := range v {
		v[ch] = clamp01(v[ch])
	}
	from := srgb.ToLab(v[0], v[1], v[2])
	to := func(end float64) cie.Lab {
		at := func(ch int) float64 { return v[ch] + little*(end-v[ch]) }
		moved := srgb.ToLab(at(0), at(1), at(2))
		return cie.Lab{L: moved.L - from.L, A: moved.A - from.A, B: moved.B - from.B}
	}
	return [2]cie.Lab{to(1), to(0)}
}

// components returns a colour's components in the order of the grid's axes.
func components(c cie.Lab) [3]float64 { return [3]float64{c.L, c.A, c.B} }
