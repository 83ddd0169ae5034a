package proof

import (
	"context"
	"sync"

	"firstsheet/proof/kernel"
)

// base is what a grid shares with every other of the same source and reach paper:
// originals and reaches, which take half of the time that a grid takes.
type base struct {
	original []float64 // Lab
	reach    []float64 // ΔE00

	// The same between the lattice's nodes, where a fine grid was refined.
	mu      sync.Mutex
	between map[point]goal
}

// goal is what a colour is compared with, as exact as the transforms that tell it.
type goal struct {
	original [3]float32 // Lab
	reach    float32
}

// mostGoals bounds what a base keeps between its nodes: 12 MB. A photograph takes a
// hundred thousand.
const mostGoals = 1 << 18

// newBase computes what grids of that quality share.
func newBase(ctx context.Context, c *core, q Quality) (*base, error) {
	l, err := newLatticeOf(c.plan.Source.Channels(), q)
	if err != nil {
		return nil, err
	}
	b := &base{original: make([]float64, 3*l.Total), reach: make([]float64, l.Total), between: map[point]goal{}}
	return b, inSteps(ctx, l, func(lo, hi int, numbers []float64) error {
		return c.goals(b.original[3*lo:3*hi], b.reach[lo:hi], numbers)
	})
}

// goals computes originals and reaches of numbers.
func (c *core) goals(original, reach, numbers []float64) error {
	if err := c.original(original, numbers); err != nil {
		return err
	}
	return c.reach(reach, original)
}

// nodes computes nodes at points between those of the base, see [core.nodes].
func (b *base) nodes(c *core, dst []kernel.Node, points []point, numbers []float64, stored int) error {
	goals, missing := b.known(points)
	if err := c.fill(goals, missing, numbers); err != nil {
		return err
	}
	b.keep(points, goals, missing)
	original, reach := make([]float64, 0, 3*len(points)), make([]float64, 0, len(points))
	for _, g := range goals {
		original = append(original, float64(g.original[0]), float64(g.original[1]), float64(g.original[2]))
		reach = append(reach, float64(g.reach))
	}
	return c.nodes(dst, numbers, original, reach, stored)
}

// known returns what is known of points, and which ones are missing.
func (b *base) known(points []point) (goals []goal, missing []int) {
	goals = make([]goal, len(points))
	b.mu.Lock()
	defer b.mu.Unlock()
	for i, p := range points {
		g, ok := b.between[p]
		if goals[i] = g; !ok {
			missing = append(missing, i)
		}
	}
	return goals, missing
}

// fill computes the goals that are missing, for numbers of all of them.
func (c *core) fill(goals []goal, missing []int, numbers []float64) error {
	channels := c.plan.Source.Channels()
	some := make([]float64, 0, len(missing)*channels)
	for _, i := range missing {
		some = append(some, numbers[i*channels:(i+1)*channels]...)
	}
	original, reach := make([]float64, 3*len(missing)), make([]float64, len(missing))
	if err := c.goals(original, reach, some); err != nil {
		return err
	}
	for k, i := range missing {
		l := original[3*k : 3*k+3]
		goals[i] = goal{[3]float32{float32(l[0]), float32(l[1]), float32(l[2])}, float32(reach[k])}
	}
	return nil
}

// keep takes in some of the goals of points.
func (b *base) keep(points []point, goals []goal, which []int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, i := range which {
		if len(b.between) < mostGoals {
			b.between[points[i]] = goals[i]
		}
	}
}
