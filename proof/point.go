package proof

import "firstsheet/proof/kernel"

// finest is the shift of the largest patches.
const finest = kernel.Shifts - 1

// point is a place on the lattice that is as fine as the largest patches: its
// coordinates, 16 bits each, the last channel's lowest.
type point uint64

func (p point) coordinate(k, channels int) int { return int(p >> (16 * (channels - 1 - k)) & 0xffff) }

// pointOf returns the point of a node.
func pointOf(l *kernel.Lattice, node int) (p point) {
	for k := range l.Channels {
		p = p<<16 | point(node/l.Stride(k)%l.N<<finest)
	}
	return p
}

// nodeAt returns the node at a point, and whether there is one.
func nodeAt(l *kernel.Lattice, p point) (node int, is bool) {
	for k := range l.Channels {
		at := p.coordinate(k, l.Channels)
		if at%(1<<finest) != 0 {
			return 0, false
		}
		node += at >> finest * l.Stride(k)
	}
	return node, true
}

// patchPoints returns the points of a patch's nodes in order, as seen from that of the cell.
func patchPoints(channels, shift int) []point {
	all := []point{0}
	for range channels {
		var next []point
		for _, p := range all {
			for i := range 1<<shift + 1 {
				next = append(next, p<<16|point(i<<(finest-shift)))
			}
		}
		all = next
	}
	return all
}

// patchEnds returns for each node of a patch the two between which it lies in the patch of half
// as many steps, which are one where it is a node of that, too.
func patchEnds(channels, shift int) [][2]int {
	all, n := [][2]int{{}}, 1<<(shift-1)+1
	for range channels {
		var next [][2]int
		for _, e := range all {
			for i := range 1<<shift + 1 {
				next = append(next, [2]int{n*e[0] + i/2, n*e[1] + (i+1)/2})
			}
		}
		all = next
	}
	return all
}

// patchParts returns the nodes of each half of a patch along all axes, a bit of the number of
// a part for each axis.
func patchParts(channels, shift int) (parts [][]int) {
	half, n := 1<<(shift-1), 1<<shift+1
	for part := range 1 << channels {
		all := []int{0}
		for k := range channels {
			var next []int
			for _, at := range all {
				for i := range half + 1 {
					next = append(next, at*n+part>>(channels-1-k)&1*half+i)
				}
			}
			all = next
		}
		parts = append(parts, all)
	}
	return parts
}

// halves are the points of a lattice and those half way between: what all cells are sampled
// at. They have places in order, the last channel's varying fastest.
type halves struct{ channels, n int }

func halvesOf(l *kernel.Lattice) halves { return halves{l.Channels, 2*l.N - 1} }

// total returns how many there are.
func (h halves) total() int {
	total := 1
	for range h.channels {
		total *= h.n
	}
	return total
}

// place returns the place of a point, and whether it is one of them. That of a sum is the
// sum of the places.
func (h halves) place(p point) (place int, is bool) {
	for k := range h.channels {
		at := p.coordinate(k, h.channels)
		if at%(1<<(finest-1)) != 0 {
			return 0, false
		}
		place = place*h.n + at>>(finest-1)
	}
	return place, true
}
