package kernel

// Tally counts figures of pixels. Black and Edges are set before: the lane of L* below
// which a pixel is darker than the paper and in no band, and the lanes of reach from which on
// it is over an edge.
type Tally struct {
	Black  int16
	Edges  [Edges]int16
	Pixels int
	counts
}

// Edges is how many edges a tally has.
const Edges = 4

// counts are laid out as fs_tally.
type counts struct {
	sum    uint64
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
// counted in steps of 1/32 and told in proportion within the step: within 1/32.
func (t *Tally) Rank(pixels float64) float64 {
	seen := 0.0
	for i, n := range t.bins {
		if n > 0 && seen+float64(n) >= pixels {
			part := (pixels - seen) / float64(n)
			return min((float64(i)+part)*binWidth, t.Max())
		}
		seen += float64(n)
	}
	return t.Max()
}

const binWidth = (1 << binBits) / float64(DeltaScale)

// Add adds what another tally counted.
func (t *Tally) Add(u *Tally) {
	t.Pixels += u.Pixels
	t.sum += u.sum
	t.darker += u.darker
	t.most = max(t.most, u.most)
	for i := range t.over {
		t.over[i] += u.over[i]
	}
	for i, n := range u.bins[:u.most>>binBits+1] {
		t.bins[i] += n
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
	t.bins[uint16(delta)&0x7fff>>binBits] += pixels
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
