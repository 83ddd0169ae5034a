package proof

import (
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/kernel"
	"firstsheet/proof/space"
)

// bends are the sizes of patches: from which bend of a cell on it has one of 2, 4 and 8
// steps. A bend is the difference between what is sampled at a cell's middles and what its
// corners alone give there: ΔE00 between the colours, or by how much the figures are off.
var bends = [kernel.Shifts]float64{1: 0.03, 2: 0.8, 3: 4}

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
	look func(word uint64) cie.Lab

	// The nodes that were sampled for a few cells that are refined together: neighbours
	// share them, and larger patches those of smaller ones.
	nodes   []kernel.Node
	at      map[point]int
	wanted  []int     // nodes that are yet to be sampled
	numbers []float64 // theirs
}

// point is a place on the lattice that is as fine as the largest patches.
type point [4]uint16

func newRefiner(f *field) *refiner {
	return &refiner{field: f, look: sRGBLook(), at: map[point]int{}}
}

// refine decides about cells and samples their patches.
func (r *refiner) refine(cells []int) ([]refined, error) {
	r.nodes = r.nodes[:0]
	clear(r.at)
	for _, c := range cells {
		r.points(c, 1, r.want)
	}
	if err := r.sample(); err != nil {
		return nil, err
	}
	done := make([]refined, len(cells))
	for i, c := range cells {
		done[i] = refined{cell: c, shift: r.shift(c)}
		r.points(c, done[i].shift, r.want)
	}
	if err := r.sample(); err != nil {
		return nil, err
	}
	for i := range done {
		if d := &done[i]; d.shift > 0 {
			d.nodes = make([]kernel.Node, 0, r.table.PatchSize(d.shift))
			r.points(d.cell, d.shift, func(p point, _, _ int) { d.nodes = append(d.nodes, r.nodes[r.at[p]]) })
		}
	}
	return done, nil
}

// points names the nodes of a patch in order, and for a patch of two steps the
// corners of the cell between which each lies.
func (r *refiner) points(cell, shift int, use func(p point, from, to int)) {
	const finest = kernel.Shifts - 1
	l := r.table.Lattice
	steps := 1 << shift
	var lowest, i point
	for k := range l.Channels {
		lowest[k] = uint16(cell / l.Stride(k) % l.N << finest)
	}
	for range l.PatchSize(shift) {
		p, from, to := lowest, cell, cell
		for k := range l.Channels {
			p[k] += i[k] << (finest - shift)
			from += int(i[k]) / steps * l.Stride(k)
			to += (int(i[k]) + steps - 1) / steps * l.Stride(k)
		}
		use(p, from, to)
		for k := l.Channels - 1; k >= 0; k-- {
			if i[k]++; int(i[k]) <= steps {
				break
			}
			i[k] = 0
		}
	}
}

// want notes a node that is not there yet; corners of the cell are the lattice's own.
func (r *refiner) want(p point, from, to int) {
	if _, ok := r.at[p]; ok {
		return
	}
	r.at[p] = len(r.nodes)
	if from == to {
		r.nodes = append(r.nodes, r.lattice[from])
		return
	}
	r.wanted = append(r.wanted, len(r.nodes))
	r.nodes = append(r.nodes, kernel.Node{})
	l := r.table.Lattice
	for k := range l.Channels {
		r.numbers = append(r.numbers, l.Between(p[k], kernel.Shifts-1))
	}
}

// sample computes the nodes that were noted.
func (r *refiner) sample() error {
	nodes := make([]kernel.Node, len(r.wanted))
	if err := r.evaluate(nodes, r.numbers); err != nil {
		return err
	}
	for i, at := range r.wanted {
		r.nodes[at] = nodes[i]
	}
	r.wanted, r.numbers = r.wanted[:0], r.numbers[:0]
	return nil
}

// shift returns the size of patch that a cell needs.
func (r *refiner) shift(cell int) int {
	weight := 1.0
	if r.dark(cell) {
		weight = darkWeight
	}
	bend := 0.0
	r.points(cell, 1, func(p point, from, to int) {
		if from != to {
			bend = max(bend, r.bend(r.nodes[r.at[p]], middle(r.lattice[from], r.lattice[to])))
		}
	})
	for s := r.table.MostShift(); s > 0; s-- {
		if bend*weight >= bends[s] {
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

// bend returns how far two nodes are apart.
func (r *refiner) bend(a, b kernel.Node) float64 {
	p, q := kernel.Lanes(a.Figures), kernel.Lanes(b.Figures)
	off := max(math.Abs(float64(p[0]-q[0])), math.Abs(float64(p[1]-q[1]))) / kernel.DeltaScale
	return max(cie.DeltaE00(r.look(a.Numbers), r.look(b.Numbers)), off)
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
