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
//   - nothing gets darker as white is mixed in, or lighter as black is;
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
	sweeps, fewSweeps = 200, 40
	settled           = 0.05
)

// whole is a table being solved.
type whole struct {
	*inverter
	grid        int
	target      []cie.Lab
	at          []device
	off         []float64 // as each by itself
	print       []cie.Lab
	tint, shade []cie.Lab // which way white and black lie
	measure     []form
	room        [][3]float64 // how far the neighbour above on each axis may be
	awake       []bool
	ring        []uint8
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
// distances off, which it changes.
func (b *builder) evenOut(what string, at []device, off []float64) error {
	grid := b.spec.InverseGrid
	w := &whole{inverter: b.inverse, grid: grid, at: at, off: off}
	n := len(at)
	w.target, w.print = make([]cie.Lab, n), make([]cie.Lab, n)
	w.tint, w.shade = make([]cie.Lab, n), make([]cie.Lab, n)
	w.measure, w.room, w.awake = make([]form, n), make([][3]float64, n), make([]bool, n)
	for i := range at {
		w.target[i] = nodeLab(grid, i)
		w.tint[i], w.shade[i] = ways(w.target[i])
		w.look(i)
	}
	for i := range at {
		for axis := range 3 {
			if j := w.beside(i, 2*axis); j >= 0 {
				w.room[i][axis] = slack * cie.DeltaE00(w.target[i], w.target[j])
			}
		}
	}
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
		for i, c := range w.target {
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
		return int(w.ring[i]) == ring && w.off[i] > inside && (w.target[i].A != 0 || w.target[i].B != 0)
	}
	for i := range w.at {
		w.awake[i] = open(i)
	}
	moved := make([]bool, len(w.at))
	most := sweeps
	if ring == outside {
		most = fewSweeps
	}
	for s := range most {
		// Neighbours are of two colours, as on a chessboard: those of one colour are
		// moved at a time, so that the order of the cores changes nothing.
		odd := func(i int) bool { return (i/grid/grid+i/grid%grid+i%grid+s)%2 != 0 }
		err := b.spread(grid, func(plane int) {
			for i := plane * grid * grid; i < (plane+1)*grid*grid; i++ {
				if w.awake[i] && !odd(i) {
					moved[i] = w.move(i)
				}
			}
		})
		if err != nil {
			return err
		}
		busy := false
		for i := range w.at {
			if odd(i) {
				busy = busy || w.awake[i]
				continue
			}
			w.awake[i] = moved[i]
			if !moved[i] {
				continue
			}
			moved[i] = false
			busy = true
			for side := range 6 {
				if j := w.beside(i, side); j >= 0 && open(j) {
					w.awake[j] = true
				}
			}
		}
		if !busy {
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
	wish := 0.0
	if w.forward.channels == 4 {
		wish = w.black(w.target[i])
	}
	weight := 1 / math.Sqrt(max(w.off[i], nearEnough))
	strength := math.Sqrt(tie)
	lighter, darker := w.order(i)
	p := problem{maxResiduals, func(d *device) [maxResiduals]float64 {
		c := w.forward.at(d[:w.forward.channels])
		r := w.residuals(w.target[i], wish, d, c)
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
		r[maxResiduals-2] = 2 * strength * max(c.L-lighter, 0)
		r[maxResiduals-1] = 2 * strength * max(darker-c.L, 0)
		return r
	}}
	before := w.print[i]
	d, _ := w.descend(p, false, w.at[i], 2)
	w.keepLimit(&d)
	w.at[i] = d
	w.look(i)
	return cie.DeltaE76(before, w.print[i]) > settled
}

// order returns the bounds of the printed lightness of node i that keep tones in
// order: on the way from its colour to white nothing may be darker, on the way to
// black nothing lighter.
func (w *whole) order(i int) (lighter, darker float64) {
	lighter, darker = math.Inf(1), math.Inf(-1)
	if l, ok := w.ahead(i, w.tint[i]); ok {
		lighter = l
	}
	if l, ok := w.ahead(i, w.shade[i]); ok {
		darker = l
	}
	return lighter, darker
}

// ahead returns the printed lightness a little way from node i: that of its
// neighbours on that side, each by the share of the way that is its axis's. It
// returns false where there is no neighbour.
func (w *whole) ahead(i int, way cie.Lab) (float64, bool) {
	sum, weight := 0.0, 0.0
	for axis, x := range [3]float64{way.L, way.A, way.B} {
		side := 2 * axis
		if x < 0 {
			side++
		}
		if j := w.beside(i, side); j >= 0 && x != 0 {
			k := math.Abs(x / (axisOf(w.target[j], side) - axisOf(w.target[i], side)))
			sum += k * w.print[j].L
			weight += k
		}
	}
	return sum / weight, weight > 0
}

// ways returns which way a colour goes when a picture adds white to it and when it
// adds black, as the numbers of sRGB do; outside of sRGB that of a colour at its
// surface.
func ways(c cie.Lab) (tint, shade cie.Lab) {
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
	return to(1), to(0)
}

// axisOf returns the component of c along which a side lies.
func axisOf(c cie.Lab, side int) float64 { return [3]float64{c.L, c.A, c.B}[side/2] }
