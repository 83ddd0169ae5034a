package proof

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"sync/atomic"

	"firstsheet/proof/cie"
	"firstsheet/proof/kernel"
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
	// Darker is the share darker than the paper's black, see [Value].
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

// Tally counts figures, colour by colour: the one place where it is decided what is
// in which band, what is darker than the paper, and what a percentile is.
type Tally struct {
	pixels, darker, sum float64
	reach               [Bands]float64
	deltas              []weighted
}

type weighted struct{ deltaE00, pixels float64 }

// rank95 is the rank among so many of the smallest that 95 of a hundred do not exceed.
func rank95(n float64) float64 { return math.Ceil(n * 95 / 100) }

// Add counts a colour that stands for so many pixels, a whole number: its difference
// in print, its reach, and whether it is darker than the paper's black, as [Value]
// has them.
func (t *Tally) Add(deltaE00, reach float64, darker bool, pixels float64) {
	t.pixels += pixels
	t.sum += deltaE00 * pixels
	t.deltas = append(t.deltas, weighted{deltaE00, pixels})
	if darker {
		t.darker += pixels
		return
	}
	band := 0
	for band < len(bandEdges) && reach >= bandEdges[band] {
		band++
	}
	t.reach[band] += pixels
}

// Figures returns what was counted; all are 0 when nothing was.
func (t *Tally) Figures() Figures {
	f := Figures{Pixels: int64(t.pixels)}
	if t.pixels == 0 {
		return f
	}
	for i, n := range t.reach {
		f.Reach[i] = n / t.pixels
	}
	f.Darker, f.Mean = t.darker/t.pixels, t.sum/t.pixels
	sorted := slices.SortedFunc(slices.Values(t.deltas), func(a, b weighted) int { return cmp.Compare(a.deltaE00, b.deltaE00) })
	f.Max = sorted[len(sorted)-1].deltaE00
	rank, seen := rank95(t.pixels), 0.0
	for _, d := range sorted {
		if seen += d.pixels; seen >= rank {
			f.P95 = d.deltaE00
			break
		}
	}
	return f
}

// Count counts the figures of a plan over a whole picture. progress, which may be
// nil, is told now and then how much is done, 0 to 1, from any goroutine. It returns
// the context's error when it was stopped, else a *[PlanError] or a *[ProfileError].
//
// Pictures of up to 131072 pixels, grey ones and those in inks are counted by the exact chain
// over the colours that [CountColours] takes: exact for the first two; noise in inks
// had shares off by 0.13 points of a hundred, Mean by 0.002, P95 by 0.014 and Max by 0.25.
//
// Every pixel of other pictures, or every colour of one that [Picture.Index] has indexed, is
// read from a fine grid. Mean is mended by 4096 of the pixels in the exact chain, and
// Max is the chain's own. Against the chain of every pixel of the demo
// picture, on each demo paper, right and with each slip, shares were off by up to 0.17
// points of a hundred, Mean by 0.004, P95 by 0.08 and Max not at all; of noise over a wide
// space, shares by 0.25 points, Mean by 0.001, P95 by 0.01. Of a photograph with much at the
// edge of a paper's reach (testdata's flower as Adobe RGB, on the matte cotton and on an
// idealised CMYK) the two bands on both sides of 1 were off by 0.74 points each, others by
// up to 0.31, the share from 2 on by 0.1.
func (e *Engine) Count(ctx context.Context, p Plan, pic *Picture, progress func(done float64)) (Figures, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	c, err := e.chainFor(p, pic)
	if err != nil {
		return Figures{}, err
	}
	defer c.Close()
	if byChain(pic.pixels.W*pic.pixels.H, pic.pixels.Channels) {
		colours, err := pic.Colours(ctx)
		if err != nil {
			return Figures{}, err
		}
		return c.figures(ctx, colours, progress)
	}
	g, err := e.Grid(ctx, p, Fine)
	if err != nil {
		return Figures{}, err
	}
	k := newCounting(g, pic.pixels.W*pic.pixels.H, pic.pixels.Channels, pic.pixels.Deep())
	src, own := pic.pixels, weights{alpha: pic.alpha}
	k.sample(0, src, own)
	if x := pic.index.Load(); x != nil {
		src, own = x.colours, weights{pixels: x.pixels}
	}
	if err := k.read(ctx, nil, 0, src, own, progress); err != nil {
		return Figures{}, err
	}
	return k.figures(ctx, c.core)
}

// Glance returns what [Engine.Count] would say of 4096 of the picture's pixels alone,
// spread over it: in a few milliseconds by the exact chain, for as long as all are being
// counted. Like any such sample it is off by less than 1.6 points of a hundred in 19
// shares of 20; Max is seldom among them. Its Pixels are those that were looked at. It
// fails like Count.
func (e *Engine) Glance(ctx context.Context, p Plan, pic *Picture) (Figures, error) {
	c, err := e.chainFor(p, pic)
	if err != nil {
		return Figures{}, err
	}
	defer c.Close()
	row := someOf(somePixels, pic.pixels, weights{alpha: pic.alpha})
	colours := &Colours{Channels: row.Channels, Pixels: slices.Repeat([]float64{1}, row.W)}
	for i := range row.W {
		colours.Numbers = row.At(colours.Numbers, i, 0)
	}
	return c.figures(ctx, colours, func(float64) {})
}

// chainFor returns the chain of a plan that can be run and fits a picture.
func (e *Engine) chainFor(p Plan, pic *Picture) (*Chain, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	if err := pic.check(p.Source.Channels()); err != nil {
		return nil, err
	}
	return e.Chain(p)
}

// both returns the differences of pixels by the chain and by the grid.
func (c *core) both(ctx context.Context, g *Grid, src raster.Pixels) (exact []float64, sampled []Sample, err error) {
	var numbers []float64
	for i := range src.W {
		numbers = src.At(numbers, i, 0)
	}
	exact, sampled = make([]float64, src.W), make([]Sample, src.W)
	err = inParallel(ctx, src.W, 512, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(lo, hi int) error {
			_, err := c.differences(exact[lo:hi], numbers[lo*src.Channels:hi*src.Channels])
			return err
		}
	})
	if err != nil {
		return nil, nil, err
	}
	return exact, sampled, g.Samples(ctx, sampled, src)
}

// figuresStep is how many colours are computed between two looks at the context.
const figuresStep = 1024

// figures counts over a picture's colours by the exact chain.
func (c *core) figures(ctx context.Context, colours *Colours, progress func(done float64)) (Figures, error) {
	n, channels, numbers := len(colours.Pixels), colours.Channels, colours.Numbers
	delta, reach, darker := make([]float64, n), make([]float64, n), make([]bool, n)
	var done atomic.Int64
	err := inParallel(ctx, n, figuresStep, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(lo, hi int) error {
			original, err := c.differences(delta[lo:hi], numbers[lo*channels:hi*channels])
			if err != nil {
				return err
			}
			if err := c.reach(reach[lo:hi], original); err != nil {
				return err
			}
			for i := range darker[lo:hi] {
				darker[lo+i] = c.darker(labAt(original, i))
			}
			progress(float64(done.Add(int64(hi-lo))) / float64(n))
			return nil
		}
	})
	if err != nil {
		return Figures{}, err
	}
	var t Tally // in order, so that sums come out the same each time
	for i, pixels := range colours.Pixels {
		t.Add(delta[i], reach[i], darker[i], pixels)
	}
	return t.Figures(), nil
}

// tallied returns what a grid's pass has counted.
func tallied(t *kernel.Tally) Figures {
	if t.Pixels == 0 {
		return Figures{}
	}
	n := float64(t.Pixels)
	f := Figures{Pixels: int64(t.Pixels), Darker: float64(t.Darker()) / n, Mean: t.Mean(), Max: t.Max()}
	f.P95, _ = t.Rank(rank95(n))
	below := t.Pixels - t.Darker()
	for i, over := range t.Over() {
		f.Reach[i] = float64(below-over) / n
		below = over
	}
	f.Reach[len(bandEdges)] = float64(below) / n
	return f
}

// differences writes ΔE00 of colours and returns their originals.
func (c *core) differences(delta, src []float64) (original []float64, err error) {
	original = make([]float64, 3*len(delta))
	if err := c.original(original, src); err != nil {
		return nil, err
	}
	relative, absolute, err := c.look(src, original)
	if err != nil {
		return nil, err
	}
	counted := c.counted(original, relative, absolute)
	for i := range delta {
		delta[i] = cie.DeltaE00(labAt(original, i), labAt(counted, i))
	}
	return original, nil
}

// darker reports whether an original is darker than the paper's black as a proof shows
// it: both are lightnesses relative to their own white.
func (c *core) darker(original cie.Lab) bool { return original.L < c.deepest }
