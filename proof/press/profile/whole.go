package profile

import (
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// A table of nearest colours taken one by one tears: beside a hollow of the gamut
// two neighbours may find their nearest colours on either side of it. So each colour
// is first followed out from a middle grey (see follow), which leads neighbours to
// the same side, and then the table is solved as a whole. The sum of all distances is
// to be least, while
//
//   - two neighbours differ in print by no more than slack times what they differ by
//     as they were asked for: the nearest point of a body without hollows never is
//     farther than that, so that elsewhere nothing changes;
//   - nothing gets darker as white is mixed in, or lighter as black is (see order);
//   - colours inside the gamut stay what they are.
//
// It is solved by visiting the nodes in turn, each moved to where its own part is
// least. The difference of two neighbours is measured by the mean of the metrics at
// both: by that of the other alone, what one gains by moving the other loses, and
// the table never comes to rest (hues ran away by 50 degrees).

const (
	// slack leaves room for the metric, which is not the same where a colour is and
	// where it is printed.
	slack = 1.1
	// tie is the weight of a difference beyond that, against a distance of the same
	// size.
	tie = 30
	// nearEnough bounds the weight of near colours: a distance counts by itself, not
	// by its square, or far colours, which no picture has, would decide for near ones.
	nearEnough = 2
	// sweeps bounds the work, fewSweeps that for colours no picture has; what moves
	// less than settled is left alone.
	sweeps, fewSweeps = 100, 20
	settled           = 0.05
)

// whole is a table being solved.
type whole struct {
	*inverter
	grid    int
	asked   []cie.Lab // the colours of the nodes
	goals   []goal    // what is to be printed for them
	at      []device
	off     []float64 // as each by itself
	print   []cie.Lab
	measure []form
	room    [][3]float64 // how far the neighbour above on each axis may be
	ways    [][2]way     // from each node to white and to black
	within  [][2]way     // from the middle of the cell that begins at each
	awake   []bool
	ring    []uint8
}

// form is the square of the CIEDE2000 difference of colours close to one, as a
// quadratic form of their difference in L*, a*, b*.
type form struct{ l, aa, ab, bb float64 }

// formAt returns the form at c, the derivative of a*'s stretch left out.
func formAt(c cie.Lab) form {
	chroma := c.Chroma()
	c7 := math.Pow(chroma, 7)
	stretch := 1 + 0.5*(1-math.Sqrt(c7/(c7+6103515625))) // 25^7
	a, b := stretch*c.A, c.B
	h := math.Atan2(b, a)
	r := math.Hypot(a, b)
	t := 1 - 0.17*math.Cos(h-math.Pi/6) + 0.24*math.Cos(2*h) + 0.32*math.Cos(3*h+math.Pi/30) - 0.20*math.Cos(4*h-63*math.Pi/180)
	l50 := (c.L - 50) * (c.L - 50)
	sL := 1 + 0.015*l50/math.Sqrt(20+l50)
	sC, sH := 1+0.045*r, 1+0.015*r*t
	r7 := math.Pow(r, 7)
	degrees := math.Mod(h*180/math.Pi+360, 360)
	bump := (degrees - 275) / 25
	rotation := -2 * math.Sqrt(r7/(r7+6103515625)) * math.Sin(60*math.Pi/180*math.Exp(-bump*bump))
	// Along (cos, sin) is chroma, across it hue.
	cc, hh, ch := 1/(sC*sC), 1/(sH*sH), rotation/(sC*sH)
	cos, sin := math.Cos(h), math.Sin(h)
	aa := cc*cos*cos + hh*sin*sin - ch*cos*sin
	bb := cc*sin*sin + hh*cos*cos + ch*cos*sin
	ab := (cc-hh)*cos*sin + ch*(cos*cos-sin*sin)/2
	return form{1 / (sL * sL), aa * stretch * stretch, ab * stretch, bb}
}

func (f *form) mean(g *form) form {
	return form{(f.l + g.l) / 2, (f.aa + g.aa) / 2, (f.ab + g.ab) / 2, (f.bb + g.bb) / 2}
}

func (f *form) between(c, d *cie.Lab) float64 {
	l, a, b := c.L-d.L, c.A-d.A, c.B-d.B
	return math.Sqrt(max(f.l*l*l+f.aa*a*a+2*f.ab*a*b+f.bb*b*b, 0))
}

// evenOut solves the table as a whole, from the nearest colours at and their
// distances off, which it changes, to the colours that its nodes are to print.
func (b *builder) evenOut(what string, target []cie.Lab, at []device, off []float64) error {
	grid := b.spec.InverseGrid
	n := len(at)
	w := &whole{inverter: b.inverse, grid: grid, at: at, off: off,
		asked: make([]cie.Lab, n), goals: make([]goal, n), print: make([]cie.Lab, n), measure: make([]form, n),
		room: make([][3]float64, n), awake: make([]bool, n)}
	for i := range at {
		w.asked[i], w.goals[i] = nodeLab(grid, i), w.goal(target[i])
		w.look(i)
	}
	for i := range at {
		for axis := range 3 {
			if j := w.beside(i, 2*axis); j >= 0 {
				w.room[i][axis] = slack * cie.DeltaE00(target[i], target[j])
			}
		}
	}
	w.findWays()
	w.sortOut()
	for ring := range outside + 1 {
		if err := b.settle(w, ring); err != nil {
			return err
		}
		for range grid * grid / (outside + 1) {
			b.step(what)
		}
	}
	return nil
}

// The rings of colours: inside the first belong the colours of sRGB, which every
// picture is full of, inside the second those of ROMM RGB; outside is the rest. A
// ring is solved without regard to those around it and then stays, so that colours
// that no picture has tear at none that are used.
const outside = 2

// sortOut puts every node into its ring: the smallest space that holds it or one
// of the corners of a cell that it belongs to.
func (w *whole) sortOut() {
	w.ring = make([]uint8, len(w.at))
	for i := range w.ring {
		w.ring[i] = outside
	}
	romm, _ := space.ByID("romm")
	for ring, holds := range []func(cie.Lab) bool{within(space.SRGB()), within(romm)} {
		for i, c := range w.asked {
			if !holds(c) {
				continue
			}
			around(w.grid, i, func(j int) { w.ring[j] = min(w.ring[j], uint8(ring)) })
		}
	}
}

// around calls f with the nodes of all cells that node i is a corner of, itself
// among them.
func around(grid, i int, f func(j int)) {
	at := [3]int{i / grid / grid, i / grid % grid, i % grid}
	for n := range 27 {
		j, in := 0, true
		for axis, d := range [3]int{n/9 - 1, n/3%3 - 1, n%3 - 1} {
			k := at[axis] + d
			in = in && k >= 0 && k < grid
			j = j*grid + k
		}
		if in {
			f(j)
		}
	}
}

// within returns whether an RGB space holds a colour.
func within(s space.Space) func(cie.Lab) bool {
	inverse, _ := s.ToXYZ().Inverse()
	return func(c cie.Lab) bool {
		x := c.ToXYZ(cie.D50)
		v := inverse.Apply([3]float64{x.X, x.Y, x.Z})
		return min(v[0], v[1], v[2]) >= 0 && max(v[0], v[1], v[2]) <= 1
	}
}

// settle solves the nodes of one ring.
func (b *builder) settle(w *whole, ring int) error {
	grid := w.grid
	// What is darker than black is black, without a pull from the dark colours beside.
	open := func(i int) bool {
		return int(w.ring[i]) == ring && w.off[i] > inside && w.asked[i].Chroma() != 0
	}
	for i := range w.at {
		w.awake[i] = open(i)
	}
	moved := make([]bool, len(w.at))
	most := sweeps
	if ring == outside {
		most = fewSweeps
	}
	// Nodes that share a cell take turns, so that the order of the cores changes
	// nothing: there are eight sorts, by whether each place in the grid is odd.
	const sorts = 8
	still := 0
	for s := range most * sorts {
		turn := s % sorts
		err := b.spread(grid, func(plane int) {
			if plane&1 != turn>>2 {
				return
			}
			for y := turn >> 1 & 1; y < grid; y += 2 {
				for z := turn & 1; z < grid; z += 2 {
					if i := (plane*grid+y)*grid + z; w.awake[i] {
						w.awake[i] = false
						moved[i] = w.move(i)
					}
				}
			}
		})
		if err != nil {
			return err
		}
		still++
		for i := range w.at {
			if moved[i] {
				moved[i] = false
				still = 0
				around(grid, i, func(j int) { w.awake[j] = open(j) })
			}
		}
		if still >= sorts {
			break
		}
	}
	return nil
}

// inside is the distance up to which a colour counts as found exactly.
const inside = 1e-3

// look reads what node i prints.
func (w *whole) look(i int) {
	w.print[i] = w.forward.at(w.at[i][:w.forward.channels])
	w.measure[i] = formAt(w.print[i])
}

// beside returns the neighbour of node i on a side (up and down along each of the
// three axes), or -1.
func (w *whole) beside(i, side int) int {
	stride := [3]int{w.grid * w.grid, w.grid, 1}[side/2]
	k := i / stride % w.grid
	if side%2 == 0 {
		if k == w.grid-1 {
			return -1
		}
		return i + stride
	}
	if k == 0 {
		return -1
	}
	return i - stride
}

// move moves node i to where its distance and its ties are least, its neighbours
// staying where they are, and returns whether it moved.
func (w *whole) move(i int) bool {
	var neighbours [6]int
	var room [6]float64
	for side := range neighbours {
		j := w.beside(i, side)
		neighbours[side] = j
		switch {
		case j < 0:
		case w.ring[j] > w.ring[i]:
			neighbours[side] = -1
		case side%2 == 0:
			room[side] = w.room[i][side/2]
		default:
			room[side] = w.room[j][side/2]
		}
	}
	weight := 1 / math.Sqrt(max(w.off[i], nearEnough))
	strength := math.Sqrt(tie)
	orders, ordered := w.orders(i)
	p := problem{tieResiduals + ordered, func(d *device) [maxResiduals]float64 {
		c := w.forward.at(d[:w.forward.channels])
		r := w.residuals(&w.goals[i], d, c)
		for k := range 3 {
			r[k] *= weight
		}
		for side, j := range neighbours {
			if j < 0 {
				continue
			}
			m := w.measure[j].mean(&w.measure[i])
			if over := m.between(&c, &w.print[j]) - room[side]; over > 0 {
				r[ownResiduals+side] = strength * over
			}
		}
		for k, o := range orders[:ordered] {
			r[tieResiduals+k] = 2 * strength * max(o.least-o.slope*c.L, 0)
		}
		return r
	}}
	before := w.print[i]
	d, _ := w.descend(p, false, w.at[i], 2)
	w.keepLimit(&d)
	w.at[i] = d
	w.look(i)
	return cie.DeltaE76(before, w.print[i]) > settled
}
