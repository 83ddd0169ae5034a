package proof

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"

	"firstsheet/proof/raster"
)

// bandEdges are the ΔE00 at which one reach band ends and the next begins.
var bandEdges = [...]float64{1, 2, 4, 8}

// BandEdges returns the ΔE00 at which one reach band ends and the next begins.
func BandEdges() []float64 { return bandEdges[:] }

// Bands is the number of reach bands: below the first edge, between two edges,
// and from the last edge on.
const Bands = len(bandEdges) + 1

// Figures are the figures of one sheet over a whole picture. Shares are fractions
// of the pixels that are not fully transparent.
type Figures struct {
	// Pixels counts the pixels that are not fully transparent.
	Pixels int64 `json:"pixels"`
	// Reach is the share in each reach band; pixels darker than the paper are in none.
	Reach [Bands]float64 `json:"reach_bands"`
	// Darker is the share darker than the paper's black.
	Darker float64 `json:"darker_than_paper"`
	// Mean, P95 and Max tell ΔE00 of the print against the original; P95 by the
	// nearest rank.
	Mean float64 `json:"mean_dE00"`
	P95  float64 `json:"p95_dE00"`
	Max  float64 `json:"max_dE00"`
}

// Outside returns the share of the picture whose reach difference is at least the
// threshold, one of [BandEdges].
func (f Figures) Outside(threshold float64) float64 {
	var share float64
	for i, edge := range bandEdges {
		if edge >= threshold {
			share += f.Reach[i+1]
		}
	}
	return share
}

// tally counts the figure lanes of pixels.
type tally struct {
	delta  [1 << 16]uint32
	reach  [Bands]int64
	darker int64
	pixels int64
	band   [1 << 16]uint8
}

func newTally() *tally {
	t := &tally{}
	var band uint8
	for v := range t.band {
		for int(band) < len(bandEdges) && float64(v)*deltaStep >= bandEdges[band] {
			band++
		}
		t.band[v] = band
	}
	return t
}

// row adds one row of figure lanes; alpha may be nil.
func (t *tally) row(row []uint64, alpha []uint8, black uint64) {
	for x, v := range row {
		if alpha != nil && alpha[x] == 0 {
			continue
		}
		t.pixels++
		t.delta[v&0xffff]++
		if v>>32&0xffff < black {
			t.darker++
		} else {
			t.reach[t.band[v>>16&0xffff]]++
		}
	}
}

func (t *tally) add(o *tally) {
	for i, n := range o.delta {
		t.delta[i] += n
	}
	for i, n := range o.reach {
		t.reach[i] += n
	}
	t.darker += o.darker
	t.pixels += o.pixels
}

func (t *tally) figures() Figures {
	f := Figures{Pixels: t.pixels}
	if t.pixels == 0 {
		return f
	}
	all := float64(t.pixels)
	for i, n := range t.reach {
		f.Reach[i] = float64(n) / all
	}
	f.Darker = float64(t.darker) / all
	rank := (t.pixels*95 + 99) / 100 // nearest rank: the smallest that 95 % do not exceed
	var seen int64
	var sum float64
	for v, n := range t.delta {
		if n == 0 {
			continue
		}
		delta := float64(v) * deltaStep
		if seen < rank && seen+int64(n) >= rank {
			f.P95 = delta
		}
		seen += int64(n)
		sum += delta * float64(n)
		f.Max = delta
	}
	f.Mean = sum / all
	return f
}

// Figures reads every pixel of src in the grid and sums up. alpha has W*H entries
// or is nil; fully transparent pixels do not count. progress, which may be nil, is
// told now and then how much is done, 0 to 1, from any goroutine. One core is left
// to the rest of the program. It returns the context's error when it was stopped.
func (g *Grid) Figures(ctx context.Context, src raster.Pixels, alpha []uint8, progress func(done float64)) (Figures, error) {
	if err := fits(src, g.channels); err != nil {
		return Figures{}, err
	}
	black := g.blackLane()
	var mu sync.Mutex
	var tallies []*tally
	var rows atomic.Int64
	workers := max(1, runtime.GOMAXPROCS(0)-1)
	err := g.eachRow(ctx, src, workers, func() func(y int, row []uint64) {
		t := newTally()
		mu.Lock()
		tallies = append(tallies, t)
		mu.Unlock()
		return func(y int, row []uint64) {
			var a []uint8
			if alpha != nil {
				a = alpha[y*src.W : (y+1)*src.W]
			}
			t.row(row, a, black)
			if n := rows.Add(1); progress != nil && n%256 == 0 {
				progress(float64(n) / float64(src.H))
			}
		}
	}, g.figure)
	if err != nil {
		return Figures{}, err
	}
	sum := newTally()
	for _, t := range tallies {
		sum.add(t)
	}
	return sum.figures(), nil
}
