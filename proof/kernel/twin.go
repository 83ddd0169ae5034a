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
	halfFields = 1<<14 | 1<<46 // one half of a weight in both fields, to round
)

// path is the way from a cell's lowest corner to its highest one: at, then a step along
// each axis, the one with the largest fraction first. A step is its weight in the upper
// half and the nodes to go in the lower.
type path struct {
	at   uint32
	step [MaxChannels]uint32
}

func twin(t Table, src raster.Pixels, out Out) (wanted int) {
	if t.Channels == 3 {
		return twin3(t, src, out)
	}
	for i := range src.W * src.H {
		p, missing := place(t, src, i, out.Wanted)
		wanted += missing
		if out.Bytes != nil {
			putBytes(out.Bytes[4*i:4*i+4:4*i+4], t.numbers(&p))
		}
		if out.Delta != nil || out.Tally != nil {
			out.figures(i, t.figures(&p))
		}
	}
	return wanted
}

// figures writes and counts a pixel's figures.
func (out *Out) figures(i int, word uint64) {
	v := Lanes(word)
	if out.Delta != nil {
		out.Delta[i], out.Reach[i], out.Light[i] = v[0], v[1], v[2]
	}
	if out.Tally != nil {
		out.Tally.add(v[0], v[1], v[2])
	}
}

// place finds a pixel's path.
func place(t Table, src raster.Pixels, i int, wanted []uint8) (p path, missing int) {
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
			wanted[p.at], missing = 1, 1
		} else {
			p.at, shift = cell/Shifts, cell%Shifts
		}
	}
	for k := range n {
		if shift > 0 {
			p.at += f.within(&x[k], k, shift)
		}
		step := f.step(x[k].x, k, shift)
		j := k
		for ; j > 0 && p.step[j-1] < step; j-- {
			p.step[j] = p.step[j-1]
		}
		p.step[j] = step
	}
	return p, missing
}

// sum is a weighted sum of words.
type sum struct{ even, odd uint64 }

func (s *sum) add(word, weight uint64) {
	s.even += word & evenLanes * weight
	s.odd += word >> 16 & evenLanes * weight
}

func (s *sum) word() uint64 {
	return (s.even+halfFields)>>15&evenLanes | (s.odd+halfFields)>>15&evenLanes<<16
}

func (t Table) numbers(p *path) uint64 {
	var s sum
	at, weight := p.at, uint32(weightOne)
	for _, step := range p.step[:t.Channels] {
		s.add(t.Nodes[at].Numbers, uint64(weight-step>>16))
		at, weight = at+step&0xffff, step>>16
	}
	s.add(t.Nodes[at].Numbers, uint64(weight))
	return s.word()
}

func (t Table) figures(p *path) uint64 {
	var s sum
	at, weight := p.at, uint32(weightOne)
	for _, step := range p.step[:t.Channels] {
		s.add(t.Nodes[at].Figures, uint64(weight-step>>16))
		at, weight = at+step&0xffff, step>>16
	}
	s.add(t.Nodes[at].Figures, uint64(weight))
	return s.word()
}

// putBytes rounds four numbers to 8 bits each, clipping them.
func putBytes(dst []uint8, numbers uint64) {
	binary.LittleEndian.PutUint32(dst, toByte(numbers)|toByte(numbers>>16)<<8|toByte(numbers>>32)<<16|toByte(numbers>>48)<<24)
}

func toByte(word uint64) uint32 {
	v := (int32(word&0xffff) - byteBias) >> numberBits
	if uint32(v) > 255 { // seldom, and then often for neighbours too
		return uint32(^(v >> 31) & 255)
	}
	return uint32(v)
}

// At reads the table at one pixel of src, both words, unrounded to bytes.
func (t Table) At(src raster.Pixels, i int, wanted []uint8) (n Node, missing int) {
	p, missing := place(t, src, i, wanted)
	return Node{t.numbers(&p), t.figures(&p)}, missing
}
