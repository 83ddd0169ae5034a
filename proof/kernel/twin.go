package kernel

import (
	"encoding/binary"

	"firstsheet/proof/raster"
)

// The same walk in Go, for machines without a C of ours and to be tested against. Two
// multiplications weigh all four lanes of a word: lanes 0 and 2 in one, 1 and 3 in
// the other, each in a field of 32 bits. Weights have 15 bits and sum to 1<<15, so a
// field never overflows. The sum is rounded once, in C after each step: the lanes can
// differ by one or two.
const (
	evenLanes  = 0x0000_ffff_0000_ffff
	weightOne  = 1 << 15
	eachField  = 1<<32 + 1
	halfFields = weightOne / 2 * eachField // to round
)

// path is the way from a cell's lowest corner to its highest one: at, then a step along
// each axis, the one with the largest fraction first. A step is its weight in the upper
// half and the nodes to go in the lower.
type path struct {
	at   uint32
	step [MaxChannels]uint32
}

func twin(t Table, src raster.Pixels, out Out) (wanted bool) {
	if t.Channels == 3 {
		return twin3(t, src, out)
	}
	for i := range src.W * src.H {
		p, missing := place(t, src, i, out.Wanted)
		wanted = wanted || missing
		if out.Bytes != nil {
			binary.LittleEndian.PutUint32(out.Bytes[4*i:], t.mix(&p, false).bytes())
		}
		if out.Delta != nil || out.Tally != nil {
			s := t.mix(&p, true)
			out.figures(i, int16(s.even), int16(s.odd), int16(s.even>>32))
		}
	}
	return wanted
}

// figures writes and counts a pixel's figures.
func (out *Out) figures(i int, delta, reach, light int16) {
	if out.Delta != nil {
		out.Delta[i], out.Reach[i], out.Light[i] = delta, reach, light
	}
	if out.Tally != nil {
		out.Tally.weigh(delta, reach, light, 1)
	}
}

// place finds a pixel's path.
func place(t Table, src raster.Pixels, i int, wanted []uint8) (p path, missing bool) {
	f := t.of(src.Deep())
	n := t.Channels
	i *= src.Channels
	var x [MaxChannels]found
	for k := range n {
		var v uint32
		if src.P16 != nil {
			v = uint32(src.P16[i+k])
		} else {
			v = uint32(src.P8[i+k])
		}
		x[k] = f.find(k, v)
		p.at += x[k].at
	}
	shift := uint32(0)
	if t.Cells != nil {
		cell := t.Cells[p.at]
		if cell&Wanted != 0 {
			wanted[p.at], missing = 1, true
		} else {
			p.at, shift = cell/Shifts, cell%Shifts
		}
	}
	for k := range n {
		step := x[k].step
		if shift > 0 {
			var below uint32
			below, step = f.within(x[k].x, k, shift)
			p.at += below
		}
		j := k
		for ; j > 0 && p.step[j-1] < step; j-- {
			p.step[j] = p.step[j-1]
		}
		p.step[j] = step
	}
	return p, missing
}

// sum is a weighted sum of words: lanes 0 and 2, and lanes 1 and 3, a field each.
type sum struct{ even, odd uint64 }

func (s sum) plus(word, weight uint64) sum {
	return sum{s.even + word&evenLanes*weight, s.odd + word>>16&evenLanes*weight}
}

// rounded returns the sum's lanes, when all weights are in it.
func (s sum) rounded() sum {
	return sum{(s.even + halfFields) >> 15 & evenLanes, (s.odd + halfFields) >> 15 & evenLanes}
}

// bytes rounds a sum's lanes, four numbers, to 8 bits each and clips them.
//
//go:noinline
func (s sum) bytes() (bytes uint32) {
	for i, lane := range [...]uint64{s.even, s.odd, s.even >> 32, s.odd >> 32} {
		bytes |= uint32(min(max((int32(lane&0xffff)-byteBias)>>numberBits, 0), 255)) << (8 * i)
	}
	return bytes
}

// quickBytes does both where no number is clipped, else it says so. Numbers from 0 to 255
// leave the upper bits of a field empty.
func (s sum) quickBytes() (bytes uint32, ok bool) {
	const shift = 15 + numberBits
	const upper = 1<<32 - 1<<(shift+8)
	even, odd := s.even+halfFields-byteBias*weightOne*eachField, s.odd+halfFields-byteBias*weightOne*eachField
	both := even>>shift&(255*eachField) | odd>>shift&(255*eachField)<<8
	return uint32(both | both>>16), (even|odd)&(upper*eachField) == 0
}

func (s sum) word() uint64 { return s.even | s.odd<<16 }

// mix mixes the numbers of a path's nodes, or their figures.
func (t Table) mix(p *path, figures bool) sum {
	var s sum
	at, weight := p.at, uint64(weightOne)
	for _, step := range p.step[:t.Channels] {
		next, to := next(at, step)
		s = s.plus(t.Nodes[at].half(figures), weight-next)
		at, weight = to, next
	}
	return s.plus(t.Nodes[at].half(figures), weight).rounded()
}

func (n *Node) half(figures bool) uint64 {
	if figures {
		return n.Figures
	}
	return n.Numbers
}

// At reads the table at one pixel of src, both words, unrounded to bytes.
func (t Table) At(src raster.Pixels, i int, wanted []uint8) (n Node, missing bool) {
	p, missing := place(t, src, i, wanted)
	return Node{t.mix(&p, false).word(), t.mix(&p, true).word()}, missing
}
