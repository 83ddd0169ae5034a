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

// refiner refines cells, in one goroutine.
type refiner struct {
	*field
	*touched
	look   func(word uint64) cie.Lab
	points [kernel.Shifts][]point  // of patches
	ends   [kernel.Shifts][][2]int // see [patchEnds]
	parts  [kernel.Shifts][][]int  // see [patchParts]
	done   []kernel.Node

	// What was sampled for the larger patches of cells that are refined together:
	// neighbours share nodes.
	nodes  []kernel.Node
	at     map[point]int
	wanted []int   // nodes that are yet to be sampled
	places []point // theirs
}

func newRefiner(f *field, t *touched) *refiner {
	r := &refiner{field: f, touched: t, look: sRGBLook(), at: map[point]int{}}
	for shift := 1; shift <= f.table.MostShift(); shift++ {
		r.points[shift] = patchPoints(f.table.Channels, shift)
		r.ends[shift] = patchEnds(f.table.Channels, shift)
		r.parts[shift] = patchParts(f.table.Channels, shift)
	}
	return r
}

// refine decides about cells and samples their larger patches. What it returns is good until
// it is called again.
func (r *refiner) refine(cells []int) ([]refined, error) {
	r.nodes, r.done = r.nodes[:0], r.done[:0]
	clear(r.at)
	done := make([]refined, len(cells))
	for i, c := range cells {
		first := len(r.done)
		r.done = r.touched.patch(r.done, pointOf(r.table.Lattice, c))
		d := refined{cell: c, nodes: r.done[first:]}
		if d.shift = r.shift(c, d.nodes); d.shift == 0 {
			d.nodes = nil
		}
		done[i] = d
	}
	for shift := 2; shift < kernel.Shifts; shift++ {
		if err := r.double(done, shift); err != nil {
			return nil, err
		}
	}
	return done, nil
}

// double gives those cells that need as many steps patches of so many, from their patches of
// half as many.
func (r *refiner) double(cells []refined, shift int) error {
	larger := make([][]int, len(cells))
	for i, d := range cells {
		if d.shift >= shift {
			larger[i] = r.larger(d, shift)
		}
	}
	if err := r.sample(); err != nil {
		return err
	}
	for i, nodes := range larger {
		if nodes == nil {
			continue
		}
		first := len(r.done)
		for _, at := range nodes {
			r.done = append(r.done, r.nodes[at])
		}
		cells[i].nodes = r.done[first:]
	}
	return nil
}

// larger returns where the nodes of a cell's patch are, in order, and notes those that are to
// be sampled.
func (r *refiner) larger(d refined, shift int) []int {
	lowest := pointOf(r.table.Lattice, d.cell)
	flat := r.flat(d, shift)
	nodes := make([]int, len(r.points[shift]))
	for i, p := range r.points[shift] {
		e := r.ends[shift][i]
		if e[0] == e[1] || flat[i] {
			nodes[i] = len(r.nodes)
			r.nodes = append(r.nodes, middle(d.nodes[e[0]], d.nodes[e[1]]))
			continue
		}
		p += lowest
		at, ok := r.at[p]
		if !ok {
			at = len(r.nodes)
			r.at[p] = at
			r.nodes = append(r.nodes, kernel.Node{})
			r.wanted, r.places = append(r.wanted, at), append(r.places, p)
		}
		nodes[i] = at
	}
	return nodes
}

// flat tells which nodes of a patch are just the middles of their ends, from the patch of
// half as many steps: those of the parts of a cell that would not need more, were they a cell.
func (r *refiner) flat(d refined, shift int) []bool {
	flat := make([]bool, len(r.points[shift]))
	if shift == 2 { // a part of a patch of two steps has no middles
		return flat
	}
	for i := range flat {
		flat[i] = true
	}
	part := make([]kernel.Node, len(r.points[1]))
	for k, nodes := range r.parts[shift-1] {
		for i, at := range nodes {
			part[i] = d.nodes[at]
		}
		if r.shift(d.cell, part) > 1 {
			for _, at := range r.parts[shift][k] {
				flat[at] = false
			}
		}
	}
	return flat
}

// sample computes the nodes that were noted.
func (r *refiner) sample() error {
	nodes := make([]kernel.Node, len(r.wanted))
	if err := r.compute(nodes, r.places); err != nil {
		return err
	}
	for i, at := range r.wanted {
		r.nodes[at] = nodes[i]
	}
	r.wanted, r.places = r.wanted[:0], r.places[:0]
	return nil
}

// shift returns the size of patch that a cell needs, or a part of it, from its patch of two
// steps.
func (r *refiner) shift(cell int, patch []kernel.Node) int {
	weight := 1.0
	if r.dark(cell) {
		weight = darkWeight
	}
	ends := r.ends[1]
	var corners [1 << 4]kernel.Node
	for i, e := range ends {
		if e[0] == e[1] {
			corners[e[0]] = patch[i]
		}
	}
	colour, figures := 0.0, 0.0
	for i, e := range ends {
		if e[0] == e[1] {
			continue
		}
		a, b := patch[i], middle(corners[e[0]], corners[e[1]])
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
	srgb := space.SRGB()
	toXYZ := srgb.ToXYZ()
	var linear [1<<15/step + 1]float64
	for i := range linear {
		linear[i] = srgb.Decode(clip01(kernel.Number(int16(min(i*step, kernel.MostLane)))))
	}
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
