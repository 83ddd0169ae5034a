package proof

import (
	"context"
	"runtime"
	"slices"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// A fine grid of three numbers is finer still where its plan bends: such a cell is
// read from a patch of its own. Far outside a paper's reach the nearest printable
// colour can change within a step or two of the picture's numbers (from black to a
// lighter blue, say), and no regular grid that fills in time follows that: 65 nodes
// an axis alone were off by up to ΔE00 3.8 at the 99.9th percentile.
const (
	patchLane = 48 // the fourth lane of a node names its cell's patch, from 1; 0 is none
	// A patch has patchSteps cells along an edge, a steep one steepSteps.
	patchSteps, steepSteps = 3, 6
	// maxPatchNodes bounds the time and the room that one grid takes: 25 MB. The worst
	// bent cells come first. The demo papers take 0.1 to 3 million nodes.
	maxPatchNodes = 12 << 18

	// bendUnit is the step in which bends are counted, leastBend the bend from which on a
	// cell is refined, and steepBend from which on more. Dark cells are weighed up: in
	// deep shadows, where all colours lie close together, every cell counts.
	bendUnit   = 1.0 / 64 // ΔE00
	leastBend  = 48
	steepBend  = 512
	darkWeight = 6
)

// patch is a finer piece of a field over one cell: steps cells along each edge.
type patch struct {
	steps uint64
	nodes []uint64
}

func patchSize(steps int) int { return (steps + 1) * (steps + 1) * (steps + 1) }

// read interpolates a colour of the cell: x, y and z are places on the grid's axes,
// whose fractions alone matter here.
func (p *patch) read(x, y, z uint64) uint64 {
	sub := func(v, stride uint64) uint64 {
		f := v & 0xffffffff * p.steps
		return f/weightOne*stride<<32 | f%weightOne
	}
	sy := p.steps + 1
	sx := sy * sy
	return read3(p.nodes, nil, sub(x, sx), sub(y, sy), sub(z, 1), uint32(sx), uint32(sy), 1)
}

// bentCell is a cell worth a patch: the node it begins at, how far it bends, and the
// steps that it gets.
type bentCell struct{ at, bend, steps int }

// refine finds the cells of a filled field where the plan bends most, samples them
// anew by eval and gives the field their patches. look tells the colour of a node.
func (l *lattice) refine(ctx context.Context, f *field, look func(node uint64) cie.Lab, eval func(dst []uint64, numbers []float64) error) error {
	cells, err := l.bentCells(ctx, f.nodes, look)
	if err != nil {
		return err
	}
	patches := make([]patch, len(cells))
	const step = 16 // patches between two looks at the context
	err = inParallel(ctx, len(cells), step, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(lo, hi int) error {
			var numbers []float64
			for _, c := range cells[lo:hi] {
				numbers = l.patchNumbers(numbers, c)
			}
			nodes := make([]uint64, len(numbers)/3)
			if err := eval(nodes, numbers); err != nil {
				return err
			}
			for i, c := range cells[lo:hi] {
				n := patchSize(c.steps)
				patches[lo+i] = patch{uint64(c.steps), nodes[:n:n]}
				nodes = nodes[n:]
			}
			return nil
		}
	})
	if err != nil {
		return err
	}
	for i, c := range cells {
		f.nodes[c.at] |= uint64(i+1) << patchLane
	}
	f.patches = patches
	return nil
}

// bentCells returns the cells that are worth a patch, the worst first.
func (l *lattice) bentCells(ctx context.Context, nodes []uint64, look func(uint64) cie.Lab) ([]bentCell, error) {
	bends, err := l.bends(ctx, nodes, look)
	if err != nil {
		return nil, err
	}
	sx, sy, sz := int(l.axes[0].stride), int(l.axes[1].stride), int(l.axes[2].stride)
	dark := darkNodes(l.n)
	var cells []bentCell
	for x := range l.n - 1 {
		for y := range l.n - 1 {
			for z := range l.n - 1 {
				at := x*sx + y*sy + z*sz
				bend := int(max(bends[at], bends[at+sx], bends[at+sy], bends[at+sz],
					bends[at+sx+sy], bends[at+sx+sz], bends[at+sy+sz], bends[at+sx+sy+sz]))
				if max(x, y, z) < dark {
					bend *= darkWeight
				}
				switch {
				case bend >= steepBend:
					cells = append(cells, bentCell{at, bend, steepSteps})
				case bend >= leastBend:
					cells = append(cells, bentCell{at, bend, patchSteps})
				}
			}
		}
	}
	slices.SortFunc(cells, func(a, b bentCell) int { return b.bend - a.bend })
	room := maxPatchNodes
	for i, c := range cells {
		if room -= patchSize(c.steps); room < 0 {
			return cells[:i], nil
		}
	}
	return cells, nil
}

// bends returns for every node how far its colour is off what reading every second
// node alone would give there, in bendUnits.
func (l *lattice) bends(ctx context.Context, nodes []uint64, look func(uint64) cie.Lab) ([]uint16, error) {
	ax, ay, az := &l.axes[0], &l.axes[1], &l.axes[2]
	sx, sy, sz := uint32(2*ax.stride), uint32(2*ay.stride), uint32(2*az.stride)
	place := func(i int, a *axis) uint64 {
		from := min(i&^1, l.n-3)
		return uint64(from)*a.stride<<32 | uint64(i-from)*weightOne/2
	}
	off := make([]uint16, l.total)
	err := inParallel(ctx, l.n, 1, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(lo, hi int) error {
			at := lo * int(ax.stride)
			for x := lo; x < hi; x++ {
				for y := range l.n {
					for z := range l.n {
						if (x|y|z)&1 != 0 {
							between := read3(nodes, nil, place(x, ax), place(y, ay), place(z, az), sx, sy, sz)
							off[at] = lane(cie.DeltaE00(look(nodes[at]), look(between)) / bendUnit)
						}
						at++
					}
				}
			}
			return nil
		}
	})
	return off, err
}

// patchNumbers appends the numbers at the nodes of the patch over a cell.
func (l *lattice) patchNumbers(dst []float64, c bentCell) []float64 {
	var axes [3][]float64
	for k := range axes {
		i := c.at / int(l.axes[k].stride) % l.n
		from, to := nodeValue(i, l.n), nodeValue(i+1, l.n)
		for s := range c.steps + 1 {
			axes[k] = append(axes[k], from+(to-from)*float64(s)/float64(c.steps))
		}
	}
	for _, x := range axes[0] {
		for _, y := range axes[1] {
			for _, z := range axes[2] {
				dst = append(dst, x, y, z)
			}
		}
	}
	return dst
}

// laneLook returns what tells the colour of a node's three lanes, roughly: the
// numbers, which decode makes of lanes, are taken for sRGB.
func laneLook(decode func(lane float64) float64) func(node uint64) cie.Lab {
	const step = 64 // lanes
	var linear [1<<16/step + 1]float64
	for i := range linear {
		linear[i] = space.SRGB().Decode(clip01(decode(float64(i * step))))
	}
	toXYZ := space.SRGB().ToXYZ()
	at := func(lane uint64) float64 {
		i, f := lane/step, float64(lane%step)/step
		return linear[i]*(1-f) + linear[i+1]*f
	}
	return func(node uint64) cie.Lab {
		v := toXYZ.Apply([3]float64{at(node & 0xffff), at(node >> 16 & 0xffff), at(node >> 32 & 0xffff)})
		return cie.XYZ{X: v[0], Y: v[1], Z: v[2]}.ToLab(cie.D50)
	}
}
