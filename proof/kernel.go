package proof

import (
	"math"

	"firstsheet/proof/raster"
)

// A grid node packs four 16-bit lanes into one word. Two multiplications then
// weigh all four: lanes 0 and 2 in one, 1 and 3 in the other, each in a field of
// 32 bits. Weights have 15 bits and sum to 1<<15, so a field never overflows.
const (
	evenLanes  = 0x0000_ffff_0000_ffff
	weightOne  = 1 << 15
	halfFields = 1<<14 | 1<<46 // one half of a weight in both fields, to round
)

func pack(a, b, c, d uint16) uint64 {
	return uint64(a) | uint64(b)<<16 | uint64(c)<<32 | uint64(d)<<48
}

// axis says where a number falls on one axis of a grid: the node below it in the
// upper half, already times the axis' stride, and the 15-bit fraction in the lower.
// The nodes stand closer in the dark quarter, where blocked shadows bend the chain
// most: two straight pieces, of which the lower is always the right one.
type axis struct {
	table       [256]uint64 // for 8-bit numbers
	dark, light uint64      // nodes a step of a 16-bit number, times 1<<47
	offset      uint64
	stride      uint64
}

// darkPart is where the nodes begin to stand wider, as a share of full scale.
const darkPart = 0.25

// darkNodes returns how many of n-1 steps the dark part gets: one and a half times
// its share.
func darkNodes(n int) int { return (n - 1) * 3 / 8 }

// nodeValue returns the number, 0 to 1, at node i of n.
func nodeValue(i, n int) float64 {
	if m := darkNodes(n); i <= m {
		return darkPart * float64(i) / float64(m)
	} else {
		return darkPart + (1-darkPart)*float64(i-m)/float64(n-1-m)
	}
}

// newAxis places full scale on n nodes. The grid must be padded by one stride past
// its last node, which is then read with weight 0.
func newAxis(n, stride int) axis {
	const one = 1 << 47
	m := float64(darkNodes(n))
	a := axis{
		dark:   uint64(math.Round(m * one / (darkPart * 65535))),
		light:  uint64(math.Floor((float64(n-1) - m) * one / ((1 - darkPart) * 65535))),
		stride: uint64(stride),
	}
	a.offset = uint64(n-1)*one - 65535*a.light // full scale falls on the last node
	for v := range a.table {
		a.table[v] = a.at16(uint16(v) * 257)
	}
	return a
}

func (a *axis) at16(v uint16) uint64 {
	x := min(uint64(v)*a.dark, a.offset+uint64(v)*a.light)
	return (x>>47)*a.stride<<32 | x>>32&(weightOne-1)
}

// read3 interpolates one colour of a three-dimensional grid tetrahedrally: the
// cell's cube is cut into six along its neutral diagonal, so greys stay on a line
// between nodes. (Trilinear reading tints greys, for the corners of a cell pull
// unevenly.) Where the cell has a patch, that is read instead; patches is nil in a
// grid without any.
func read3(nodes []uint64, patches []patch, x, y, z uint64, sx, sy, sz uint32) uint64 {
	fx, fy, fz := x&0xffffffff, y&0xffffffff, z&0xffffffff
	base := uint32(x>>32) + uint32(y>>32) + uint32(z>>32)
	a := nodes[base]
	if patches != nil && a>>patchLane != 0 {
		return patches[a>>patchLane-1].read(x, y, z)
	}
	f1, f2, f3 := fx, fy, fz
	s1, s2 := sx, sx+sy
	switch {
	case fx >= fy && fy >= fz:
	case fx >= fz && fz >= fy:
		f2, f3, s2 = fz, fy, sx+sz
	case fz >= fx && fx >= fy:
		f1, f2, f3, s1, s2 = fz, fx, fy, sz, sx+sz
	case fy >= fx && fx >= fz:
		f1, f2, f3, s1, s2 = fy, fx, fz, sy, sx+sy
	case fy >= fz && fz >= fx:
		f1, f2, f3, s1, s2 = fy, fz, fx, sy, sy+sz
	default:
		f1, f2, f3, s1, s2 = fz, fy, fx, sz, sy+sz
	}
	b, c, d := nodes[base+s1], nodes[base+s2], nodes[base+sx+sy+sz]
	wa, wb, wc, wd := weightOne-f1, f1-f2, f2-f3, f3
	even := a&evenLanes*wa + b&evenLanes*wb + c&evenLanes*wc + d&evenLanes*wd + halfFields
	odd := a>>16&evenLanes*wa + b>>16&evenLanes*wb + c>>16&evenLanes*wc + d>>16&evenLanes*wd + halfFields
	return even>>15&evenLanes | odd>>15&evenLanes<<16
}

// mix returns the weighted sum of two packed nodes; w is b's weight.
func mix(a, b, w uint64) uint64 {
	v := weightOne - w
	even := a&evenLanes*v + b&evenLanes*w + halfFields
	odd := a>>16&evenLanes*v + b>>16&evenLanes*w + halfFields
	return even>>15&evenLanes | odd>>15&evenLanes<<16
}

// lattice is a regular arrangement of nodes over one, three or four numbers. The
// nodes themselves are kept apart, so that several sets can share it.
type lattice struct {
	channels, n   int
	total, padded int // nodes, and nodes with the padding that reading needs
	axes          [4]axis
}

// newLattice arranges n nodes on each axis. The last channel varies fastest.
func newLattice(channels, n int) *lattice {
	l := &lattice{channels: channels, n: n, total: 1}
	pad := 1
	for k := channels - 1; k >= 0; k-- {
		l.axes[k] = newAxis(n, l.total)
		pad += l.total
		l.total *= n
	}
	l.padded = l.total + pad
	return l
}

// numbers returns the numbers at the nodes lo up to but not including hi.
func (l *lattice) numbers(lo, hi int) []float64 {
	src := make([]float64, (hi-lo)*l.channels)
	for i := lo; i < hi; i++ {
		rest := i
		for k := l.channels - 1; k >= 0; k-- {
			src[(i-lo)*l.channels+k] = nodeValue(rest%l.n, l.n)
			rest /= l.n
		}
	}
	return src
}

// field is a set of nodes over a lattice, and finer patches over some of its cells.
type field struct {
	nodes   []uint64
	patches []patch
}

// readRow interpolates one row of pixels.
func (l *lattice) readRow(dst []uint64, src raster.Pixels, f field) {
	switch l.channels {
	case 1:
		l.readRow1(dst, src, f.nodes)
	case 3:
		l.readRow3(dst, src, f)
	default:
		l.readRow4(dst, src, f.nodes)
	}
}

func (l *lattice) readRow1(dst []uint64, src raster.Pixels, nodes []uint64) {
	a := &l.axes[0]
	for i := range dst {
		var x uint64
		if src.P16 != nil {
			x = a.at16(src.P16[i])
		} else {
			x = a.table[src.P8[i]]
		}
		at := uint32(x >> 32)
		dst[i] = mix(nodes[at], nodes[at+1], x&0xffffffff)
	}
}

func (l *lattice) readRow3(dst []uint64, src raster.Pixels, f field) {
	ax, ay, az := &l.axes[0], &l.axes[1], &l.axes[2]
	sx, sy, sz := uint32(ax.stride), uint32(ay.stride), uint32(az.stride)
	if src.P16 != nil {
		for i := range dst {
			p := src.P16[3*i : 3*i+3 : 3*i+3]
			dst[i] = read3(f.nodes, f.patches, ax.at16(p[0]), ay.at16(p[1]), az.at16(p[2]), sx, sy, sz)
		}
		return
	}
	for i := range dst {
		p := src.P8[3*i : 3*i+3 : 3*i+3]
		dst[i] = read3(f.nodes, f.patches, ax.table[p[0]], ay.table[p[1]], az.table[p[2]], sx, sy, sz)
	}
}

// readRow4 reads two neighbouring three-dimensional grids and mixes them by the
// first channel.
func (l *lattice) readRow4(dst []uint64, src raster.Pixels, nodes []uint64) {
	ak, ax, ay, az := &l.axes[0], &l.axes[1], &l.axes[2], &l.axes[3]
	sx, sy, sz := uint32(ax.stride), uint32(ay.stride), uint32(az.stride)
	for i := range dst {
		var k, x, y, z uint64
		if src.P16 != nil {
			p := src.P16[4*i : 4*i+4 : 4*i+4]
			k, x, y, z = ak.at16(p[0]), ax.at16(p[1]), ay.at16(p[2]), az.at16(p[3])
		} else {
			p := src.P8[4*i : 4*i+4 : 4*i+4]
			k, x, y, z = ak.table[p[0]], ax.table[p[1]], ay.table[p[2]], az.table[p[3]]
		}
		near := nodes[k>>32:]
		a := read3(near, nil, x, y, z, sx, sy, sz)
		if w := k & 0xffffffff; w != 0 {
			a = mix(a, read3(near[ak.stride:], nil, x, y, z, sx, sy, sz), w)
		}
		dst[i] = a
	}
}
