package kernel

import "math"

// Node is what a table says at one place: four numbers and four figures, a lane of 16
// bits each, the first in the lowest bits. Lanes run from 0 to MostLane.
//
//	Numbers  what the pixel is told, up to four channels, by [NumberLane]
//	Figures  difference and reach in ΔE00 by [DeltaLane], L* by [LightLane], nothing
//
// 16 bytes are one load of a vector register, and colour and figures come in it together.
type Node struct{ Numbers, Figures uint64 }

// MostLane is the largest lane: sums of rounded parts stay below 1 << 15 with it.
const MostLane = 32760

// Scales of the lanes.
const (
	numberBias  = 128 // numbers from -0.5 on have lanes, so that they are clipped by the pixel and not by the node
	numberBits  = 6
	numberScale = 1 << numberBits
	byteBias    = numberBias*numberScale - numberScale/2 // so that shifting rounds
	DeltaScale  = 512                                    // ΔE00 up to 64
	LightScale  = 320                                    // L* from 0 to 102
)

func lane(v float64) int16 {
	if !(v > 0) { // also NaN
		return 0
	}
	return int16(min(math.Round(v), MostLane))
}

// NumberLane encodes a number, 0 to 1, and a half beyond on either side.
func NumberLane(v float64) int16 { return lane((numberBias + 255*v) * numberScale) }

// DeltaLane encodes a difference in ΔE00.
func DeltaLane(v float64) int16 { return lane(v * DeltaScale) }

// LightLane encodes an L*.
func LightLane(v float64) int16 { return lane(v * LightScale) }

// Number returns what NumberLane encoded.
func Number(lane int16) float64 { return (float64(lane)/numberScale - numberBias) / 255 }

// Pack makes a word of four lanes.
func Pack(a, b, c, d int16) uint64 {
	return uint64(uint16(a)) | uint64(uint16(b))<<16 | uint64(uint16(c))<<32 | uint64(uint16(d))<<48
}

// Lanes takes a word apart.
func Lanes(word uint64) [4]int16 {
	return [4]int16{int16(word), int16(word >> 16), int16(word >> 32), int16(word >> 48)}
}

// Lattice is a regular arrangement of nodes over up to MaxChannels numbers of a
// picture. The last channel varies fastest.
//
// The nodes of an axis stand closer in the dark quarter, where blocked shadows bend
// colours most: two straight pieces, of which the lower is always the right one.
type Lattice struct {
	Channels, N int // nodes on each axis
	Total       int // nodes
	shallow     form
	deep        form // for numbers of 16 bits
}

// MaxChannels is the most numbers that a pixel of a picture may have.
const MaxChannels = 8

// form is a lattice for numbers of one depth, laid out as fs_lattice.
type form struct {
	channels int32
	bits     int32                       // of the fraction of a place
	stride   [MaxChannels][Shifts]uint32 // in nodes, below 1 << 15
	dark     uint32                      // a number's place on its axis is on the lower of
	light    uint32                      // two lines
	offset   uint32
}

// darkPart is where the nodes begin to stand wider, as a share of full scale.
const darkPart = 0.25

// darkNodes returns how many of n-1 steps the dark part gets: one and a half times
// its share, and never less than that, so that the lower line is the right one.
func darkNodes(n int) int { return ((n-1)*3 + 3) / 8 }

// NodeValue returns the number, 0 to 1, at node i of n.
func NodeValue(i, n int) float64 {
	if m := darkNodes(n); i <= m {
		return darkPart * float64(i) / float64(m)
	} else {
		return darkPart + (1-darkPart)*float64(i-m)/float64(n-1-m)
	}
}

// NewLattice arranges n nodes, at least 4, on each axis. n to the power of channels - 1
// is below 1 << 15.
func NewLattice(channels, n int) *Lattice {
	l := &Lattice{Channels: channels, N: n, Total: 1, shallow: newForm(channels, n, 255), deep: newForm(channels, n, 65535)}
	for range channels {
		l.Total *= n
	}
	return l
}

// newForm places the numbers 0 to most on n nodes. A place is the node below it and
// the fraction of the way to the next, of so many bits that all is just below 1 << 31.
func newForm(channels, n, most int) form {
	var f form
	f.channels = int32(channels)
	f.bits = 31
	for 1<<(31-f.bits) < n-1 {
		f.bits--
	}
	one := math.Ldexp(1, int(f.bits))
	m := float64(darkNodes(n))
	f.dark = uint32(math.Round(m * one / (darkPart * float64(most))))
	f.light = uint32(math.Floor((float64(n-1) - m) * one / ((1 - darkPart) * float64(most))))
	// Full scale is the very end of the last cell, so that none begins there.
	f.offset = uint32(float64(n-1)*one) - 1 - f.light*uint32(most)
	for shift := range Shifts {
		stride := 1
		for k := channels - 1; k >= 0; k-- {
			f.stride[k][shift] = uint32(stride)
			if shift == 0 {
				stride *= n
			} else {
				stride *= 1<<shift + 1
			}
		}
	}
	return f
}

// of returns the form for numbers of 8 or of 16 bits.
func (l *Lattice) of(deep bool) *form {
	if deep {
		return &l.deep
	}
	return &l.shallow
}

// Stride returns how many nodes lie from one to the next along an axis.
func (l *Lattice) Stride(channel int) int { return int(l.shallow.stride[channel][0]) }

// Numbers appends the numbers, 0 to 1, at the nodes from lo up to but not including hi.
func (l *Lattice) Numbers(dst []float64, lo, hi int) []float64 {
	for i := lo; i < hi; i++ {
		for k := range l.Channels {
			dst = append(dst, NodeValue(i/l.Stride(k)%l.N, l.N))
		}
	}
	return dst
}

// Patches. A cell is named by the node at its lowest corner.

// Shifts is how many sizes there are: a patch has 1<<shift cells along an edge, and
// shift 0 stands for the cell itself.
const Shifts = 4

// Wanted is a bit in the entry of a cell that has not been looked at, which has no patch.
const Wanted = 1 << 31

// Cell is the entry of a cell whose patch begins at node at; with shift 0, at is the
// cell's own node.
func Cell(at, shift int) uint32 { return uint32(at*Shifts + shift) }

// MostShift returns the shift of the largest patch: steps have room for so many nodes.
func (l *Lattice) MostShift() int {
	shift := Shifts - 1
	for l.PatchSize(shift)/(1<<shift+1) >= 1<<15 {
		shift--
	}
	return shift
}

// PatchSize returns how many nodes a patch has.
func (l *Lattice) PatchSize(shift int) int {
	size := 1
	for range l.Channels {
		size *= 1<<shift + 1
	}
	return size
}

// Between returns the number, 0 to 1, at a place on an axis that is counted in steps of
// 1/2^shift of the way between two nodes.
func (l *Lattice) Between(place uint16, shift int) float64 {
	i := min(int(place>>shift), l.N-2)
	from, to := NodeValue(i, l.N), NodeValue(i+1, l.N)
	return from + (to-from)*float64(int(place)-i<<shift)/float64(int(1)<<shift)
}

// Dark reports whether the cells that begin at node i of an axis lie in its dark part.
func (l *Lattice) Dark(i int) bool { return i < darkNodes(l.N) }

// Table is what is read: nodes over a lattice, and finer patches over some of its cells.
type Table struct {
	*Lattice
	Nodes []Node   // the lattice's own, then those of patches
	Cells []uint32 // one for each of the lattice's nodes; nil where no cell has a patch
}
