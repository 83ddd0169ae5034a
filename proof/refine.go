package proof

import (
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/kernel"
	"firstsheet/proof/space"
)

// A bend is the difference between what is sampled at a cell's middles and what its
// corners alone give there. These are the sizes of patches: from which bend of colours, in
// ΔE00, and of figures on a cell has one of 2, 4 and 8 steps. Figures are given large
// patches sooner: reach has creases, and bands have edges.
var (
	colourBends = [kernel.Shifts]float64{1: 0.08, 2: 1.6, 3: 6}
	figureBends = [kernel.Shifts]float64{1: 0.05, 2: 1.6, 3: 3}
)

// darkWeight weighs dark cells up: in deep shadows, where all colours lie close
// together, every cell counts.
const darkWeight = 3

// refined is what a cell becomes: the nodes of a patch, or none where it is flat.
type refined struct {
	cell, shift int
	nodes       []kernel.Node
}

// finest is the shift of the largest patches.
const finest = kernel.Shifts - 1

// point is a place on the lattice that is as fine as the largest patches: its
// coordinates, 16 bits each, the last channel's lowest.
type point uint64

// pointOf returns the point of a node.
func pointOf(l *kernel.Lattice, node int) (p point) {
	for k := range l.Channels {
		p = p<<16 | point(node/l.Stride(k)%l.N<<finest)
	}
	return p
}

// node returns the node at a point, and whether there is one.
func (p point) node(l *kernel.Lattice) (node int, is bool) {
	for k := range l.Channels {
		at := p.coordinate(k, l.Channels)
		if at%(1<<finest) != 0 {
			return 0, false
		}
		node += at >> finest * l.Stride(k)
	}
	return node, true
}

func (p point) coordinate(k, channels int) int { return int(p >> (16 * (channels - 1 - k)) & 0xffff) }

// spot is a node of a patch as seen from the cell: the way to its point, and to the
// two of the lattice's nodes between which it lies in a patch of two steps.
type spot struct {
	point    point
	from, to int
}

// spots returns the nodes of a patch in order.
func spots(l *kernel.Lattice, shift int) []spot {
	steps := 1 << shift
	all := []spot{{}}
	for k := range l.Channels {
		var next []spot
		for _, s := range all {
			for i := range steps + 1 {
				next = append(next, spot{
					point: s.point<<16 | point(i<<(finest-shift)),
					from:  s.from + i/steps*l.Stride(k),
					to:    s.to + (i+steps-1)/steps*l.Stride(k),
				})
			}
		}
		all = next
	}
	return all
}

// refiner refines cells, in one goroutine.
type refiner struct {
	*field
	lattice []kernel.Node // the corners of the cells are sampled
	look    func(word uint64) cie.Lab
	spots   [kernel.Shifts][]spot
	steps   []float64 // the numbers along an axis, by coordinate

	// The nodes that were sampled for a few cells that are refined together: neighbours
	// share them, and larger patches those of smaller ones.
	nodes   []kernel.Node
	at      map[point]int
	wanted  []int     // nodes that are yet to be sampled
	points  []point   // theirs
	numbers []float64 // and their numbers
}

func newRefiner(f *field, lattice []kernel.Node) *refiner {
	r := &refiner{field: f, lattice: lattice, look: sRGBLook(), at: map[point]int{}}
	l := f.table.Lattice
	for shift := 1; shift <= l.MostShift(); shift++ {
		r.spots[shift] = spots(l, shift)
	}
	for i := range (l.N-1)<<finest + 1 {
		r.steps = append(r.steps, l.Between(uint16(i), finest))
	}
	return r
}

// refine decides about cells and samples their patches.
func (r *refiner) refine(cells []int) ([]refined, error) {
	r.nodes = r.nodes[:0]
	clear(r.at)
	patches := make([][]int, len(cells))
	for i, c := range cells {
		patches[i] = r.patch(c, 1)
	}
	if err := r.sample(); err != nil {
		return nil, err
	}
	done := make([]refined, len(cells))
	for i, c := range cells {
		done[i] = refined{cell: c, shift: r.shift(c, patches[i])}
		if shift := done[i].shift; shift > 1 {
			patches[i] = r.patch(c, shift)
		}
	}
	if err := r.sample(); err != nil {
		return nil, err
	}
	for i := range done {
		if d := &done[i]; d.shift > 0 {
			d.nodes = make([]kernel.Node, len(patches[i]))
			for k, at := range patches[i] {
				d.nodes[k] = r.nodes[at]
			}
		}
	}
	return done, nil
}

// patch returns where the nodes of a cell's patch are, in order, and notes those that
// are not there yet; corners of the cell are the lattice's own.
func (r *refiner) patch(cell, shift int) []int {
	lowest := pointOf(r.table.Lattice, cell)
	nodes := make([]int, len(r.spots[shift]))
	for i, s := range r.spots[shift] {
		p := lowest + s.point
		at, ok := r.at[p]
		if !ok {
			at = len(r.nodes)
			r.at[p] = at
			if s.from == s.to {
				r.nodes = append(r.nodes, r.lattice[cell+s.from])
			} else {
				r.want(p)
			}
		}
		nodes[i] = at
	}
	return nodes
}

// want notes a node that is to be sampled.
func (r *refiner) want(p point) {
	r.wanted = append(r.wanted, len(r.nodes))
	r.nodes = append(r.nodes, kernel.Node{})
	r.points = append(r.points, p)
	channels := r.table.Channels
	for k := range channels {
		r.numbers = append(r.numbers, r.steps[p.coordinate(k, channels)])
	}
}

// sample computes the nodes that were noted.
func (r *refiner) sample() error {
	if len(r.wanted) == 0 {
		return nil
	}
	nodes := make([]kernel.Node, len(r.wanted))
	if err := r.evaluate(nodes, r.points, r.numbers); err != nil {
		return err
	}
	for i, at := range r.wanted {
		r.nodes[at] = nodes[i]
	}
	r.wanted, r.points, r.numbers = r.wanted[:0], r.points[:0], r.numbers[:0]
	return nil
}

// shift returns the size of patch that a cell needs, from its patch of two steps.
func (r *refiner) shift(cell int, patch []int) int {
	weight := 1.0
	if r.dark(cell) {
		weight = darkWeight
	}
	colour, figures := 0.0, 0.0
	for i, s := range r.spots[1] {
		if s.from == s.to {
			continue
		}
		a, b := r.nodes[patch[i]], middle(r.lattice[cell+s.from], r.lattice[cell+s.to])
		figures = max(figures, figuresOff(a, b))
		if (colour*weight < colourBends[1] && figures*weight < figureBends[1]) || !alike(a.Numbers, b.Numbers) {
			colour = max(colour, cie.DeltaE00(r.look(a.Numbers), r.look(b.Numbers)))
		}
	}
	for s := r.table.MostShift(); s > 0; s-- {
		if colour*weight >= colourBends[s] || figures*weight >= figureBends[s] {
			return s
		}
	}
	return 0
}

// dark reports whether a cell lies in the dark part of every axis.
func (r *refiner) dark(cell int) bool {
	l := r.table.Lattice
	for k := range l.Channels {
		if !l.Dark(cell / l.Stride(k) % l.N) {
			return false
		}
	}
	return true
}

// figuresOff returns by how much the figures of two nodes differ.
func figuresOff(a, b kernel.Node) float64 {
	p, q := kernel.Lanes(a.Figures), kernel.Lanes(b.Figures)
	return max(math.Abs(float64(p[0]-q[0])), math.Abs(float64(p[1]-q[1]))) / kernel.DeltaScale
}

// alikeLanes is by how much numbers may differ that are alike: a tenth of a step of 8
// bits, with which no two colours are far enough apart for a patch of four steps, dark
// ones neither.
const alikeLanes = 6

// alike reports whether two words of numbers are nearly the same.
func alike(a, b uint64) bool {
	p, q := kernel.Lanes(a), kernel.Lanes(b)
	for k := range p {
		if d := p[k] - q[k]; d < -alikeLanes || d > alikeLanes {
			return false
		}
	}
	return true
}

// middle returns the node half way between two.
func middle(a, b kernel.Node) kernel.Node {
	half := func(a, b uint64) uint64 {
		p, q := kernel.Lanes(a), kernel.Lanes(b)
		for k := range p {
			p[k] = int16((int(p[k]) + int(q[k])) / 2)
		}
		return kernel.Pack(p[0], p[1], p[2], p[3])
	}
	return kernel.Node{Numbers: half(a.Numbers, b.Numbers), Figures: half(a.Figures, b.Figures)}
}

// sRGBLook returns what tells the colour of a node's numbers, roughly: they are taken
// for sRGB, whatever they are.
func sRGBLook() func(word uint64) cie.Lab {
	const step = 32 // lanes
	var linear [1<<15/step + 1]float64
	for i := range linear {
		linear[i] = space.SRGB().Decode(clip01(kernel.Number(int16(min(i*step, kernel.MostLane)))))
	}
	toXYZ := space.SRGB().ToXYZ()
	at := func(lane int16) float64 {
		i, f := lane/step, float64(lane%step)/step
		return linear[i]*(1-f) + linear[i+1]*f
	}
	return func(word uint64) cie.Lab {
		n := kernel.Lanes(word)
		v := toXYZ.Apply([3]float64{at(n[0]), at(n[1]), at(n[2])})
		return cie.XYZ{X: v[0], Y: v[1], Z: v[2]}.ToLab(cie.D50)
	}
}
