package kernel

import (
	"encoding/binary"

	"firstsheet/proof/raster"
)

// The twin for three channels, which nearly all pictures have: the same arithmetic
// without loops over channels.

// found is where a number lies on its axis, and the nodes below that.
type found struct{ x, at uint32 }

// lookup is that for all numbers of 8 bits.
type lookup [3][256]found

func (f *form) find(channel int, v uint32) found {
	x := min(v*f.dark, f.offset+v*f.light)
	return found{x, x >> (f.bits & 31) * f.stride[channel][0]}
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

func twin3(t Table, src raster.Pixels, out Out) (wanted int) {
	f := t.of(src.Deep())
	var table *lookup
	if !src.Deep() {
		table = f.lookup()
	}
	for i := range src.W * src.H {
		var a, b, c found
		if at := i * src.Channels; table == nil {
			p := src.P16[at : at+3 : at+3]
			a, b, c = f.find(0, uint32(p[0])), f.find(1, uint32(p[1])), f.find(2, uint32(p[2]))
		} else {
			p := src.P8[at : at+3 : at+3]
			a, b, c = table[0][p[0]], table[1][p[1]], table[2][p[2]]
		}
		at, shift := a.at+b.at+c.at, uint32(0)
		if t.Cells != nil {
			if cell := t.Cells[at]; cell&Wanted != 0 {
				out.Wanted[at] = 1
				wanted++
			} else if at, shift = cell/Shifts, cell%Shifts; shift > 0 {
				at += f.within(&a, 0, shift) + f.within(&b, 1, shift) + f.within(&c, 2, shift)
			}
		}
		high, low := order(f.step(a.x, 0, shift), f.step(b.x, 1, shift))
		middle, low := order(low, f.step(c.x, 2, shift))
		high, middle = order(high, middle)
		n0, n1 := &t.Nodes[at], &t.Nodes[at+high&0xffff]
		n2, n3 := &t.Nodes[at+high&0xffff+middle&0xffff], &t.Nodes[at+high&0xffff+middle&0xffff+low&0xffff]
		w1, w2, w3 := uint64(high>>16), uint64(middle>>16), uint64(low>>16)
		w0, w1, w2 := weightOne-w1, w1-w2, w2-w3
		if out.Bytes != nil {
			a, b, c, d := n0.Numbers, n1.Numbers, n2.Numbers, n3.Numbers
			word := fields(a, b, c, d, w0, w1, w2, w3) | fields(a>>16, b>>16, c>>16, d>>16, w0, w1, w2, w3)<<16
			binary.LittleEndian.PutUint32(out.Bytes[4*i:4*i+4:4*i+4], toByte(word)|toByte(word>>16)<<8|toByte(word>>32)<<16|toByte(word>>48)<<24)
		}
		if out.Delta != nil || out.Tally != nil {
			a, b, c, d := n0.Figures, n1.Figures, n2.Figures, n3.Figures
			out.figures(i, fields(a, b, c, d, w0, w1, w2, w3)|fields(a>>16, b>>16, c>>16, d>>16, w0, w1, w2, w3)<<16)
		}
	}
	return wanted
}

// within goes on to a place in a patch and returns the nodes below it there.
func (f *form) within(p *found, channel int, shift uint32) uint32 {
	p.x = p.x & (1<<(f.bits&31) - 1) << (shift & 31)
	return p.x >> (f.bits & 31) * f.stride[channel][shift]
}

func (f *form) step(x uint32, channel int, shift uint32) uint32 {
	return x<<((31-f.bits)&31)&0x7fff_0000 | f.stride[channel][shift]
}

// order returns the larger step first. Which one that is cannot be foreseen, so there
// is no branch.
func order(a, b uint32) (high, low uint32) {
	d := int32(a - b)
	less := uint32(d & (d >> 31))
	return a - less, b + less
}

// fields mixes lanes 0 and 2 of four words.
func fields(a, b, c, d, w0, w1, w2, w3 uint64) uint64 {
	return (a&evenLanes*w0 + b&evenLanes*w1 + c&evenLanes*w2 + d&evenLanes*w3 + halfFields) >> 15 & evenLanes
}
