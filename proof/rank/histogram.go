package rank

import "fmt"

// Histogram counts the colours of a picture at full size in cells of its own
// numbers, so that a picture of any size costs the exact chain some ten
// thousand conversions.
//
// Cells of RGB are 8 levels of 255 wide, in the darkest and in the lightest
// quarter of all three channels 2 levels, since separation is judged there. A
// cell answers with the mean of its pixels, not with its centre. Grey has a cell
// for each of 256 levels, CMYK 16 levels a channel. The zero value is of no use;
// see [NewHistogram]. It is not safe for concurrent use: count parts of a
// picture apart and [Histogram.Merge] them.
type Histogram struct {
	channels int
	sum      []float64 // cells * channels, 0..1
	count    []float64
}

const (
	cellBits  = 5
	side      = 1 << cellBits // cells along an edge
	cube      = side * side * side
	fineFrom  = 192 // of 255: light colours have all channels from here
	fineUpTo  = 63  // dark colours have all channels up to here
	fineShift = 1
	inkBits   = 4
)

// NewHistogram returns an empty histogram of pixels of 1, 3 or 4 channels.
func NewHistogram(channels int) (*Histogram, error) {
	var cells int
	switch channels {
	case 1:
		cells = 256
	case 3:
		cells = 3 * cube
	case 4:
		cells = 1 << (4 * inkBits)
	default:
		return nil, fmt.Errorf("rank: no histogram of %d channels", channels)
	}
	return &Histogram{channels: channels, sum: make([]float64, cells*channels), count: make([]float64, cells)}, nil
}

// Add8 counts pixels of 8 bits, interleaved. alpha holds a value for each pixel
// or is nil; pixels of alpha 0 are left out, as in all figures.
func (h *Histogram) Add8(pix, alpha []uint8) {
	const full = 255
	for i, n := 0, len(pix)/h.channels; i < n; i++ {
		if alpha != nil && alpha[i] == 0 {
			continue
		}
		p := pix[i*h.channels : i*h.channels+h.channels]
		var cell int
		switch h.channels {
		case 1:
			cell = int(p[0])
		case 3:
			cell = cellRGB(p[0], p[1], p[2])
		default:
			cell = cellCMYK(p[0], p[1], p[2], p[3])
		}
		h.count[cell]++
		for c, v := range p {
			h.sum[cell*h.channels+c] += float64(v) / full
		}
	}
}

// Add16 counts pixels of 16 bits, otherwise as [Histogram.Add8].
func (h *Histogram) Add16(pix []uint16, alpha []uint8) {
	const full = 65535
	for i, n := 0, len(pix)/h.channels; i < n; i++ {
		if alpha != nil && alpha[i] == 0 {
			continue
		}
		p := pix[i*h.channels : i*h.channels+h.channels]
		var b [4]uint8
		for c, v := range p {
			b[c] = uint8(v >> 8)
		}
		var cell int
		switch h.channels {
		case 1:
			cell = int(b[0])
		case 3:
			cell = cellRGB(b[0], b[1], b[2])
		default:
			cell = cellCMYK(b[0], b[1], b[2], b[3])
		}
		h.count[cell]++
		for c, v := range p {
			h.sum[cell*h.channels+c] += float64(v) / full
		}
	}
}

func cellRGB(r, g, b uint8) int {
	const coarse = 8 - cellBits
	switch {
	case max(r, g, b) <= fineUpTo:
		return cube + (int(r>>fineShift)*side+int(g>>fineShift))*side + int(b>>fineShift)
	case min(r, g, b) >= fineFrom:
		return 2*cube + (int((r-fineFrom)>>fineShift)*side+int((g-fineFrom)>>fineShift))*side + int((b-fineFrom)>>fineShift)
	}
	return (int(r>>coarse)*side+int(g>>coarse))*side + int(b>>coarse)
}

func cellCMYK(c, m, y, k uint8) int {
	const shift = 8 - inkBits
	return ((int(c>>shift)<<inkBits+int(m>>shift))<<inkBits+int(y>>shift))<<inkBits + int(k>>shift)
}

// Merge adds the counts of another histogram of the same channels.
func (h *Histogram) Merge(other *Histogram) error {
	if other.channels != h.channels {
		return fmt.Errorf("rank: histograms of %d and %d channels", h.channels, other.channels)
	}
	for i, v := range other.sum {
		h.sum[i] += v
	}
	for i, v := range other.count {
		h.count[i] += v
	}
	return nil
}

// Colours returns the mean numbers of every cell that holds pixels, interleaved
// and 0 to 1, and how many pixels each holds.
func (h *Histogram) Colours() (numbers, weights []float64) {
	for i, n := range h.count {
		if n == 0 {
			continue
		}
		weights = append(weights, n)
		for c := range h.channels {
			numbers = append(numbers, h.sum[i*h.channels+c]/n)
		}
	}
	return numbers, weights
}
