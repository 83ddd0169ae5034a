package kernel

import (
	"encoding/binary"

	"firstsheet/proof/raster"
)

// The twin for three channels, which nearly all pictures have: the same arithmetic
// without loops over channels, and a block of pixels at a time, as in C.

// found is where a number lies on its axis, the nodes below that, and the step from there.
type found struct{ x, at, step uint32 }

// lookup is that for all numbers of 8 bits.
type lookup [3][256]found

func (f *form) find(channel int, v uint32) found {
	x := min(v*f.dark, f.offset+v*f.light)
	return found{x, x >> (f.bits & 31) * f.stride[channel][0], f.step(x, channel, 0)}
}

func (f *form) lookup() *lookup {
	var l lookup
	for k := range l {
		for v := range l[k] {
			l[k][v] = f.find(k, uint32(v))
		}
	}
	return &l
}

// within goes on from a place to one in a patch: the nodes below it there, and the step.
func (f *form) within(x uint32, channel int, shift uint32) (below, step uint32) {
	x = x & (1<<(f.bits&31) - 1) << (shift & 31)
	return x >> (f.bits & 31) * f.stride[channel][shift], f.step(x, channel, shift)
}

func (f *form) step(x uint32, channel int, shift uint32) uint32 {
	return x<<((31-f.bits)&31)&0x7fff_0000 | f.stride[channel][shift]
}

// path3 is a path of three steps, see path.
type path3 struct{ at, high, middle, low uint32 }

const block = 64 // pixels that are placed before they are mixed

func twin3(t Table, src raster.Pixels, out Out) (wanted bool) {
	p := placer{Table: t, src: src, form: t.of(src.Deep()), wanted: out.Wanted}
	if !src.Deep() {
		p.lookup = p.form.lookup()
	}
	var room [block]path3
	for lo := 0; lo < src.W*src.H; lo += block {
		paths := room[:min(block, src.W*src.H-lo)]
		wanted = p.place(paths, lo) || wanted
		if out.Bytes != nil {
			bytes3(out.Bytes[4*lo:4*(lo+len(paths))], t.Nodes, paths)
		}
		if out.Delta != nil || out.Tally != nil {
			out.figures3(lo, t.Nodes, paths)
		}
	}
	return wanted
}

// placer finds the paths of a picture's pixels.
type placer struct {
	Table
	src    raster.Pixels
	form   *form
	lookup *lookup // for numbers of 8 bits
	near   [3]found
	wanted []uint8
}

// find returns where the numbers of 16 bits from entry i of the picture on lie, until it is
// called again.
func (p *placer) find(i int) (a, b, c *found) {
	for k, v := range p.src.P16[i : i+3 : i+3] {
		p.near[k] = p.form.find(k, uint32(v))
	}
	return &p.near[0], &p.near[1], &p.near[2]
}

// place finds the paths of pixels from lo on and reports whether any lies in a wanted cell.
func (p *placer) place(paths []path3, lo int) (wanted bool) {
	cells, known := p.Cells, p.lookup
	for i := range paths {
		var a, b, c *found
		if at := (lo + i) * p.src.Channels; known == nil {
			a, b, c = p.find(at)
		} else {
			v := p.src.P8[at : at+3 : at+3]
			a, b, c = &known[0][v[0]], &known[1][v[1]], &known[2][v[2]]
		}
		node, high, middle, low := a.at+b.at+c.at, a.step, b.step, c.step
		if cells != nil {
			cell := cells[node]
			if cell&Wanted != 0 {
				p.wanted[node], wanted = 1, true
			} else if shift := cell % Shifts; shift > 0 {
				node = cell / Shifts
				var x, y, z uint32
				x, high = p.form.within(a.x, 0, shift)
				y, middle = p.form.within(b.x, 1, shift)
				z, low = p.form.within(c.x, 2, shift)
				node += x + y + z
			}
		}
		high, middle = order(high, middle)
		middle, low = order(middle, low)
		high, middle = order(high, middle)
		paths[i] = path3{node, high, middle, low}
	}
	return wanted
}

// order returns the larger step first. Which one that is cannot be foreseen, so there
// is no branch.
func order(a, b uint32) (high, low uint32) {
	d := int32(a - b)
	less := uint32(d & (d >> 31))
	return a - less, b + less
}

// next returns the step's weight and the node behind it.
func next(at, step uint32) (weight uint64, node uint32) { return uint64(step >> 16), at + step&0xffff }

// bytes3 writes four bytes a path.
func bytes3(dst []uint8, nodes []Node, paths []path3) {
	for i := range paths {
		p := &paths[i]
		high, b := next(p.at, p.high)
		middle, c := next(b, p.middle)
		low, d := next(c, p.low)
		s := sum{}.plus(nodes[p.at].Numbers, weightOne-high)
		s = s.plus(nodes[b].Numbers, high-middle)
		s = s.plus(nodes[c].Numbers, middle-low)
		s = s.plus(nodes[d].Numbers, low)
		bytes, ok := s.quickBytes()
		if !ok { // seldom, and then often for neighbours too
			bytes = s.rounded().bytes()
		}
		binary.LittleEndian.PutUint32(dst[4*i:], bytes)
	}
}

// figures3 writes and counts the figures of paths, the first of which is pixel lo.
func (out *Out) figures3(lo int, nodes []Node, paths []path3) {
	for i := range paths {
		p := &paths[i]
		high, b := next(p.at, p.high)
		middle, c := next(b, p.middle)
		low, d := next(c, p.low)
		s := sum{}.plus(nodes[p.at].Figures, weightOne-high)
		s = s.plus(nodes[b].Figures, high-middle)
		s = s.plus(nodes[c].Figures, middle-low)
		s = s.plus(nodes[d].Figures, low).rounded()
		out.figures(lo+i, int16(s.even), int16(s.odd), int16(s.even>>32))
	}
}
