package proof

import (
	"sync"

	"firstsheet/proof/kernel"
)

// base is what a grid shares with every other of the same source and reach paper:
// originals and reaches, which take half of the time that a grid takes. They are computed
// where a grid first asks for them.
type base struct {
	halves

	mu      sync.Mutex
	goals   []goal         // of the halves, by their places
	known   []bool         // which ones are
	between map[point]goal // of points between them, where larger patches are
}

// goal is what a colour is compared with, as exact as the transforms that tell it.
type goal struct {
	original [3]float32 // Lab
	reach    float32
}

// mostGoals bounds what a base keeps between its halves: 12 MB. A photograph takes ten
// thousand.
const mostGoals = 1 << 18

func newBase(l *kernel.Lattice) *base {
	h := halvesOf(l)
	return &base{halves: h, goals: make([]goal, h.total()), known: make([]bool, h.total()), between: map[point]goal{}}
}

// nodes computes nodes at points, see [core.nodes].
func (b *base) nodes(c *core, dst []kernel.Node, points []point, numbers []float64, stored int) error {
	goals, missing := b.find(points)
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

// find returns what is known of points, and which ones are missing.
func (b *base) find(points []point) (goals []goal, missing []int) {
	goals = make([]goal, len(points))
	b.mu.Lock()
	defer b.mu.Unlock()
	for i, p := range points {
		var ok bool
		if place, is := b.place(p); is {
			goals[i], ok = b.goals[place], b.known[place]
		} else {
			goals[i], ok = b.between[p]
		}
		if !ok {
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
	if err := c.original(original, some); err != nil {
		return err
	}
	if err := c.reach(reach, original); err != nil {
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
		if place, is := b.place(points[i]); is {
			b.goals[place], b.known[place] = goals[i], true
		} else if len(b.between) < mostGoals {
			b.between[points[i]] = goals[i]
		}
	}
}
