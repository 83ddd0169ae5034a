package kernel

import "math"

// Tally counts figures of pixels.
type Tally struct {
	Limits
	Pixels int
	counts
}

// Limits say what is counted, by lanes; they are laid out as fs_limits.
type Limits struct {
	Black  int16        // the L* below which a pixel is darker than the paper and in no band
	Edges  [Edges]int16 // the reaches from which on it is over an edge
	Binned Span         // the differences among which ranks are found, see [Tally.Rank]
}

// Span are lanes from From up to but not including To.
type Span struct{ From, To int16 }

// Between are the lanes of differences in ΔE00 from the one to the other, in whole bins.
func Between(lo, hi float64) Span {
	const within = 1<<binBits - 1
	return Span{DeltaLane(lo) &^ within, int16(min(int(DeltaLane(hi)|within)+1, math.MaxInt16))}
}

// All are all lanes.
func All() Span { return Span{0, math.MaxInt16} }

// Edges is how many edges a tally has.
const Edges = 4

// counts are laid out as fs_tally.
type counts struct {
	sum    uint64
	lower  uint64 // than what is binned
	darker uint64
	over   [Edges]uint64
	most   uint32
	bins   [2048]uint32
}

// binBits are the bits of a difference that fall into one bin.
const binBits = 4

// Darker returns how many pixels are below Black.
func (t *Tally) Darker() int { return int(t.darker) }

// Over returns how many of the other pixels reach each edge.
func (t *Tally) Over() (over [Edges]int) {
	for i, n := range t.over {
		over[i] = int(n)
	}
	return over
}

// Mean returns the mean difference in ΔE00.
func (t *Tally) Mean() float64 { return float64(t.sum) / DeltaScale / float64(t.Pixels) }

// Max returns the largest difference in ΔE00.
func (t *Tally) Max() float64 { return float64(t.most) / DeltaScale }

// Rank returns the difference in ΔE00 that the given number of pixels do not exceed,
// counted in steps of 1/32 and told in proportion within the step: within 1/32. It is
// known where that difference lies in Binned: a narrow span makes counting a third faster.
func (t *Tally) Rank(pixels float64) (deltaE00 float64, known bool) {
	seen := float64(t.lower)
	if pixels <= seen {
		return 0, false
	}
	for i, n := range t.bins {
		if n > 0 && seen+float64(n) >= pixels {
			part := (pixels - seen) / float64(n)
			return min((float64(i)+part)*binWidth, t.Max()), true
		}
		seen += float64(n)
	}
	return 0, false
}

const binWidth = (1 << binBits) / float64(DeltaScale)

// Add adds what another tally with the same limits counted.
func (t *Tally) Add(u *Tally) {
	t.Pixels += u.Pixels
	t.sum += u.sum
	t.lower += u.lower
	t.darker += u.darker
	t.most = max(t.most, u.most)
	for i := range t.over {
		t.over[i] += u.over[i]
	}
	for i := int(u.Binned.From >> binBits); i <= int(u.most>>binBits); i++ {
		t.bins[i] += u.bins[i]
	}
}

// Weigh counts lanes that were written, each for so many pixels.
func (t *Tally) Weigh(lanes Out, pixels []uint32) {
	for i, n := range pixels {
		if n > 0 {
			t.weigh(lanes.Delta[i], lanes.Reach[i], lanes.Light[i], n)
		}
	}
}

func (t *Tally) weigh(delta, reach, light int16, pixels uint32) {
	t.Pixels += int(pixels)
	t.sum += uint64(delta) * uint64(pixels)
	t.most = max(t.most, uint32(delta))
	switch {
	case delta < t.Binned.From:
		t.lower += uint64(pixels)
	case delta < t.Binned.To:
		t.bins[uint16(delta)&0x7fff>>binBits] += pixels
	}
	if light < t.Black {
		t.darker += uint64(pixels)
		return
	}
	for e, edge := range t.Edges {
		if reach < edge {
			break
		}
		t.over[e] += uint64(pixels)
	}
}

func (t *Tally) add(delta, reach, light int16) { t.weigh(delta, reach, light, 1) }
