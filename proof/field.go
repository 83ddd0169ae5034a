package proof

import (
	"context"
	"runtime"
	"slices"
	"sync"

	"firstsheet/proof/kernel"
	"firstsheet/proof/raster"
)

// field is a table and how it is filled. A field of a fine grid is refined where
// pictures touch it: such a cell is sampled at its middle, and read from a patch
// where the plan bends there. Far outside a paper's reach the nearest printable colour
// can change within a step or two of the picture's numbers (from black to a lighter
// blue, say), and no regular grid that fills in time follows that.
type field struct {
	way      kernel.Way
	lattice  []kernel.Node // the table's first nodes, which do not change
	evaluate eval          // nil for a field that is not refined

	refining sync.Mutex   // of those who want the same cells one refines them
	mu       sync.RWMutex // guards the table of a field that is refined
	table    kernel.Table
}

// eval computes nodes at points, whose numbers, 0 to 1, are interleaved.
type eval func(dst []kernel.Node, points []point, numbers []float64) error

// fillStep is how many nodes are computed between two looks at the context.
const fillStep = 2048

// newField fills the nodes of a lattice.
func newField(ctx context.Context, l *kernel.Lattice, fill func(lo, hi int, dst []kernel.Node, numbers []float64) error) (*field, error) {
	nodes := make([]kernel.Node, l.Total)
	err := inSteps(ctx, l, func(lo, hi int, numbers []float64) error { return fill(lo, hi, nodes[lo:hi], numbers) })
	return &field{way: kernel.Best(), lattice: nodes, table: kernel.Table{Lattice: l, Nodes: nodes}}, err
}

// inSteps hands all nodes to work, some at a time, on all cores.
func inSteps(ctx context.Context, l *kernel.Lattice, work func(lo, hi int, numbers []float64) error) error {
	return inParallel(ctx, l.Total, fillStep, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		var numbers []float64
		return func(lo, hi int) error {
			numbers = l.Numbers(numbers[:0], lo, hi)
			return work(lo, hi, numbers)
		}
	})
}

// refinable returns a field that begins as this one and is refined by what evaluates its nodes.
func (f *field) refinable(by eval) *field {
	t := kernel.Table{Lattice: f.table.Lattice, Nodes: slices.Clone(f.lattice), Cells: make([]uint32, f.table.Total)}
	for i := range t.Cells {
		t.Cells[i] = kernel.Cell(i, 0) | kernel.Wanted
	}
	return &field{way: f.way, lattice: f.lattice, evaluate: by, table: t}
}

// wants marks cells that are to be refined, by the node they begin at.
type wants []uint8

// wants returns room for them; nil for no field and for one that is not refined.
func (f *field) wants() wants {
	if f == nil || f.evaluate == nil {
		return nil
	}
	return make(wants, f.table.Total)
}

// fresh reports whether no cell of a field that is refined was looked at yet.
func (f *field) fresh() bool {
	f.mu.RLock()
	defer f.mu.RUnlock()
	return f.evaluate != nil && len(f.table.Nodes) == f.table.Total
}

// take adds what other marks and clears it.
func (w wants) take(other wants) {
	for i, v := range other {
		w[i] |= v
	}
	clear(other)
}

// walk reads the field.
func (f *field) walk(src raster.Pixels, out kernel.Out, w wants) (wanted int) {
	f.mu.RLock()
	defer f.mu.RUnlock()
	out.Wanted = w
	return kernel.Walk(f.way, f.table, src, out)
}

const (
	// maxPatchNodes bounds the room that a field takes: 50 MB. A photograph takes two
	// hundred thousand nodes; only noise over a whole space of inks comes near it.
	maxPatchNodes = 12 << 18
	// refineCells at least are refined together, and more of many: neighbours share nodes.
	refineCells = 64
)

// refine samples the wanted cells anew.
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
	workers := runtime.GOMAXPROCS(0)
	return inParallel(ctx, len(cells), max(refineCells, len(cells)/(8*workers)), workers, func() func(lo, hi int) error {
		r := newRefiner(f)
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
