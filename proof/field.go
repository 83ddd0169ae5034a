package proof

import (
	"context"
	"runtime"
	"slices"
	"sync"

	"firstsheet/proof/kernel"
	"firstsheet/proof/raster"
)

// field is a table and how it is filled. A field of a fine grid is sampled and refined
// where pictures touch it: such a cell is sampled at its corners and in its middle, and
// read from a patch where the plan bends there. Far outside a paper's reach the nearest
// printable colour can change within a step or two of the picture's numbers (from black
// to a lighter blue, say), and no regular grid that fills in time follows that.
type field struct {
	way      kernel.Way
	numbers  []float64 // along an axis, by coordinate
	evaluate eval

	refining sync.Mutex   // of those who want the same cells one refines them
	sampled  []bool       // the lattice's nodes; guarded by refining
	mu       sync.RWMutex // guards the table
	table    kernel.Table
}

// eval computes nodes at points, whose numbers, 0 to 1, are interleaved.
type eval func(dst []kernel.Node, points []point, numbers []float64) error

// fillStep is how many nodes are computed between two looks at the context.
const fillStep = 512

// newField returns a field of a grid of that quality, none of whose nodes is sampled yet.
func newField(l *kernel.Lattice, q Quality, by eval) *field {
	f := &field{way: kernel.Best(), evaluate: by, sampled: make([]bool, l.Total)}
	for i := range (l.N-1)<<finest + 1 {
		f.numbers = append(f.numbers, l.Between(uint16(i), finest))
	}
	f.table = kernel.Table{Lattice: l, Nodes: make([]kernel.Node, l.Total)}
	if q != Fine {
		return f
	}
	f.table.Cells = make([]uint32, l.Total)
	for i := range f.table.Cells {
		f.table.Cells[i] = kernel.Cell(i, 0) | kernel.Wanted
	}
	return f
}

// begin takes over the nodes of another field with the same lattice.
func (f *field) begin(as *field) {
	copy(f.table.Nodes, as.table.Nodes)
	copy(f.sampled, as.sampled)
}

// fill samples all nodes.
func (f *field) fill(ctx context.Context) error {
	f.refining.Lock()
	defer f.refining.Unlock()
	points := make([]point, f.table.Total)
	for i := range points {
		points[i] = pointOf(f.table.Lattice, i)
	}
	nodes, err := f.sample(ctx, points)
	if err == nil {
		f.take(points, nodes)
	}
	return err
}

// sample computes the nodes at points, on all cores.
func (f *field) sample(ctx context.Context, points []point) ([]kernel.Node, error) {
	nodes := make([]kernel.Node, len(points))
	return nodes, inParallel(ctx, len(points), fillStep, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(lo, hi int) error { return f.compute(nodes[lo:hi], points[lo:hi]) }
	})
}

// compute computes the nodes at points.
func (f *field) compute(dst []kernel.Node, points []point) error {
	channels := f.table.Channels
	numbers := make([]float64, 0, len(points)*channels)
	for _, p := range points {
		for k := range channels {
			numbers = append(numbers, f.numbers[p.coordinate(k, channels)])
		}
	}
	return f.evaluate(dst, points, numbers)
}

// take takes in those nodes that are the lattice's own; the caller has refining.
func (f *field) take(points []point, nodes []kernel.Node) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for i, p := range points {
		if node, is := nodeAt(f.table.Lattice, p); is {
			f.table.Nodes[node], f.sampled[node] = nodes[i], true
		}
	}
}

// wants marks cells that are to be refined, by the node they begin at.
type wants []uint8

// wants returns room for them; nil for no field and for one that is not refined.
func (f *field) wants() wants {
	if f == nil || f.table.Cells == nil {
		return nil
	}
	return make(wants, f.table.Total)
}

// fresh reports whether no cell of a field that is refined was looked at yet.
func (f *field) fresh() bool {
	f.mu.RLock()
	defer f.mu.RUnlock()
	return f.table.Cells != nil && len(f.table.Nodes) == f.table.Total
}

// take adds what other marks and clears it.
func (w wants) take(other wants) {
	for i, v := range other {
		w[i] |= v
	}
	clear(other)
}

// walk reads the field.
func (f *field) walk(src raster.Pixels, out kernel.Out, w wants) (wanted bool) {
	f.mu.RLock()
	defer f.mu.RUnlock()
	out.Wanted = w
	return kernel.Walk(f.way, f.table, src, out)
}

const (
	// maxPatchNodes bounds the room that a field takes: 50 MB. A photograph takes two
	// hundred thousand nodes; only noise over a whole space of inks comes near it.
	maxPatchNodes = 12 << 18
	// mostCells bounds how many cells are touched together, which takes 40 bytes a node: more
	// than a photograph has.
	mostCells = 1 << 14
	// refineCells at least are refined by one goroutine, and more of many: larger patches of
	// neighbours share nodes.
	refineCells = 64
)

// refine samples the wanted cells.
func (f *field) refine(ctx context.Context, w wants) error {
	if len(w) == 0 {
		return nil
	}
	f.refining.Lock()
	defer f.refining.Unlock()
	var cells []int
	for i, v := range w {
		if v != 0 && f.table.Cells[i]&kernel.Wanted == kernel.Wanted {
			cells = append(cells, i)
		}
	}
	for part := range slices.Chunk(cells, mostCells) {
		if err := f.refineTogether(ctx, part); err != nil {
			return err
		}
	}
	return nil
}

func (f *field) refineTogether(ctx context.Context, cells []int) error {
	t, err := f.touch(ctx, cells)
	if err != nil {
		return err
	}
	f.mu.Lock()
	f.table.Nodes = slices.Grow(f.table.Nodes, len(cells)*f.table.PatchSize(1)) // nearly all get one
	f.mu.Unlock()
	workers := runtime.GOMAXPROCS(0)
	return inParallel(ctx, len(cells), max(refineCells, len(cells)/(8*workers)), workers, func() func(lo, hi int) error {
		r := newRefiner(f, t)
		return func(lo, hi int) error {
			done, err := r.refine(cells[lo:hi])
			if err == nil {
				f.put(done)
			}
			return err
		}
	})
}

// put takes refined cells into the table.
func (f *field) put(done []refined) {
	f.mu.Lock()
	defer f.mu.Unlock()
	t := &f.table
	for _, d := range done {
		switch {
		case t.Cells[d.cell]&kernel.Wanted == 0: // somebody else was faster
		case d.nodes == nil || len(t.Nodes)+len(d.nodes) > t.Total+maxPatchNodes:
			t.Cells[d.cell] = kernel.Cell(d.cell, 0)
		default:
			t.Cells[d.cell] = kernel.Cell(len(t.Nodes), d.shift)
			t.Nodes = append(t.Nodes, d.nodes...)
		}
	}
}
