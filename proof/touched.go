package proof

import (
	"context"

	"firstsheet/proof/kernel"
)

// touched are the nodes of cells that are refined together: of all their corners, and half
// way between. Neighbours share them.
type touched struct {
	halves
	steps []int   // from the place of a cell to those of its patch's nodes
	at    []int32 // for each place the node, counted from 1
	nodes []kernel.Node
}

// touch samples the nodes of cells that are not known yet.
func (f *field) touch(ctx context.Context, cells []int) (*touched, error) {
	l, h := f.table.Lattice, halvesOf(f.table.Lattice)
	t := &touched{halves: h, at: make([]int32, h.total())}
	patch := patchPoints(l.Channels, 1)
	for _, p := range patch {
		step, _ := h.place(p)
		t.steps = append(t.steps, step)
	}
	var wanted []int // nodes
	var points []point
	for _, c := range cells {
		lowest := pointOf(l, c)
		first, _ := h.place(lowest)
		for i, step := range t.steps {
			if t.at[first+step] != 0 {
				continue
			}
			p, known := lowest+patch[i], kernel.Node{}
			if node, is := nodeAt(l, p); is && f.sampled[node] {
				known = f.table.Nodes[node]
			} else {
				wanted, points = append(wanted, len(t.nodes)), append(points, p)
			}
			t.nodes = append(t.nodes, known)
			t.at[first+step] = int32(len(t.nodes))
		}
	}
	sampled, err := f.sample(ctx, points)
	if err != nil {
		return nil, err
	}
	for i, at := range wanted {
		t.nodes[at] = sampled[i]
	}
	f.take(points, sampled)
	return t, nil
}

// patch appends the nodes of a cell's patch of two steps.
func (t *touched) patch(dst []kernel.Node, cell point) []kernel.Node {
	first, _ := t.place(cell)
	for _, step := range t.steps {
		dst = append(dst, t.nodes[t.at[first+step]-1])
	}
	return dst
}
