package profile

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
)

// SpecError says what is wrong with a Spec.
type SpecError struct{ Reason string }

func (e *SpecError) Error() string { return "profile: " + e.Reason }

func wrong(format string, args ...any) error { return &SpecError{fmt.Sprintf(format, args...)} }

const (
	// vivid and the knees of the two rendering styles are our own choice, judged
	// by the figures in the tests: a perceptual table leaves what is well inside
	// alone, a saturation table goes to the surface.
	perceptualKnee = 0.75
	saturationKnee = 0.92
	saturationLift = 0.30

	// referenceBlack is the luminance of the black of the perceptual reference
	// medium of version 4 (ICC.1:2010, 6.3.3.2: 0.30911 % of 89 %).
	referenceBlack = 0.0034731
)

// Build computes the profiles of spec, on all cores. Progress may be nil. When
// ctx is cancelled it returns ctx.Err() within a fraction of a second. The bytes
// depend on spec alone. Errors in spec are *SpecError.
func Build(ctx context.Context, spec Spec, progress Progress) (Result, error) {
	start := time.Now()
	if err := spec.complete(); err != nil {
		return Result{}, err
	}
	b := &builder{ctx: ctx, spec: spec, progress: progress}
	if err := b.run(); err != nil {
		return Result{}, err
	}
	b.result.Report.Took = time.Since(start)
	return b.result, nil
}

// complete checks the spec and fills in what was left open.
func (s *Spec) complete() error {
	if s.Forward == nil {
		return wrong("no forward model")
	}
	if s.Description == "" || s.Copyright == "" {
		return wrong("description and copyright must not be empty")
	}
	if s.Channels != 3 && s.Channels != 4 {
		return wrong("%d channels; only RGB (3) and CMYK (4) can be built", s.Channels)
	}
	if s.ForwardGrid == 0 {
		s.ForwardGrid = 33
		if s.Channels == 4 {
			s.ForwardGrid = 17
		}
	}
	if s.InverseGrid == 0 {
		s.InverseGrid = 33
	}
	if s.ForwardGrid < 3 || s.ForwardGrid > 65 || s.Channels == 4 && s.ForwardGrid > 33 {
		return wrong("a forward grid of %d nodes", s.ForwardGrid)
	}
	if s.InverseGrid < 3 || s.InverseGrid > 65 || s.InverseGrid%2 == 0 {
		return wrong("an inverse grid of %d nodes; it must be odd, 3 to 65", s.InverseGrid)
	}
	if s.TotalInk < 0 || s.TotalInk > 4 || s.TotalInk > 0 && s.TotalInk < 1 {
		return wrong("a total ink of %g; 1 to 4 is possible", s.TotalInk)
	}
	if s.Black == nil {
		s.Black = func(c cie.Lab) float64 {
			k := max((70-c.L)/70, 0)
			return 0.95 * k * math.Sqrt(k) * max(1-c.Chroma()/120, 0)
		}
	}
	return nil
}

type builder struct {
	ctx      context.Context
	spec     Spec
	progress Progress
	mu       sync.Mutex
	done     atomic.Int64
	total    int64

	white   cie.XYZ // absolute, as the profile's tag has it
	forward *table
	inverse *inverter
	gamut   *gamut
	result  Result
}

func (b *builder) run() error {
	if err := b.sample(); err != nil {
		return err
	}
	return b.tables()
}

// sample fills the forward table and makes ready what is found from it.
func (b *builder) sample() error {
	n := b.spec.Channels
	nodes := 1
	for range n {
		nodes *= b.spec.ForwardGrid
	}
	rows := b.spec.InverseGrid * b.spec.InverseGrid
	b.total = int64(nodes/64 + 10*rows) // five tables, found and then evened out

	white := b.spec.Forward(b.bare())
	if !(white.L > 20 && white.L < 110 && white.Chroma() < 60) {
		return wrong("a paper white of L* a* b* %.1f %.1f %.1f", white.L, white.A, white.B)
	}
	x := white.ToXYZ(cie.D50)
	// Rounded as the tag will be, so that relative and absolute colours agree.
	b.white = cie.XYZ{X: fixed(x.X), Y: fixed(x.Y), Z: fixed(x.Z)}

	b.forward = &table{channels: n, nodes: b.spec.ForwardGrid, values: make([]cie.Lab, nodes)}
	var bad atomic.Pointer[SpecError]
	err := b.parallel("forward table", (nodes+63)/64, func(block int) {
		d := make([]float64, n)
		for i := block * 64; i < min((block+1)*64, nodes); i++ {
			b.forward.device(i, d)
			c := b.relative(b.spec.Forward(d))
			if math.IsNaN(c.L+c.A+c.B) || math.IsInf(c.L+c.A+c.B, 0) {
				bad.Store(&SpecError{fmt.Sprintf("the forward model gives no colour for %.3f", d)})
				c = cie.Lab{}
			}
			// As it will be stored: what is inverted, measured and reported is the profile.
			b.forward.values[i] = encodingV2.stored(c)
		}
	})
	if err != nil {
		return err
	}
	if e := bad.Load(); e != nil {
		return e
	}
	if n == 3 {
		b.forward.values[nodes-1] = cie.Lab{L: 100}
	} else {
		b.forward.values[0] = cie.Lab{L: 100}
	}
	b.inverse = newInverter(b.forward, b.spec.TotalInk, b.spec.Black)
	b.gamut = newGamut(b.inverse)
	return nil
}

// tables finds the tables from Lab, writes the profiles and measures them.
func (b *builder) tables() error {
	colorimetric, reach, err := b.invertAll("colorimetric table", nil)
	if err != nil {
		return err
	}
	styled := map[string][]device{}
	for _, s := range []struct {
		key, what string
		style     style
	}{
		{"perceptual2", "perceptual table", style{0, perceptualKnee, 0}},
		{"saturation2", "saturation table", style{0, saturationKnee, saturationLift}},
		{"perceptual4", "perceptual table, version 4", style{referenceBlack, perceptualKnee, 0}},
		{"saturation4", "saturation table, version 4", style{referenceBlack, saturationKnee, saturationLift}},
	} {
		d, _, err := b.invertAll(s.what, func(c cie.Lab) cie.Lab { return b.gamut.render(c, s.style) })
		if err != nil {
			return err
		}
		styled[s.key] = d
	}

	v2 := []icc.Lut{b.inverseLut(encodingV2, styled["perceptual2"]), b.inverseLut(encodingV2, colorimetric), b.inverseLut(encodingV2, styled["saturation2"])}
	v4 := []icc.Lut{b.inverseLut(encodingV4, styled["perceptual4"]), b.inverseLut(encodingV4, colorimetric), b.inverseLut(encodingV4, styled["saturation4"])}
	if b.result.V2, err = b.write2(b.forwardLut(encodingV2, nil), v2, b.gamutLut(encodingV2, reach)); err != nil {
		return err
	}
	if b.result.V4, err = b.write4(v4, b.gamutLut(encodingV4, reach)); err != nil {
		return err
	}
	return b.report()
}

// bare returns the device numbers of no ink.
func (b *builder) bare() []float64 {
	if b.spec.Channels == 3 {
		return []float64{1, 1, 1}
	}
	return make([]float64, b.spec.Channels)
}

func fixed(v float64) float64 { return math.Round(v*65536) / 65536 }

// relative returns an absolute colour relative to the paper's white.
func (b *builder) relative(c cie.Lab) cie.Lab {
	x := c.ToXYZ(cie.D50)
	return cie.XYZ{X: x.X * cie.D50.X / b.white.X, Y: x.Y / b.white.Y, Z: x.Z * cie.D50.Z / b.white.Z}.ToLab(cie.D50)
}

func (b *builder) absolute(c cie.Lab) cie.Lab {
	x := c.ToXYZ(cie.D50)
	return cie.XYZ{X: x.X / cie.D50.X * b.white.X, Y: x.Y * b.white.Y, Z: x.Z / cie.D50.Z * b.white.Z}.ToLab(cie.D50)
}

// parallel runs n jobs on all cores and reports progress.
func (b *builder) parallel(what string, n int, job func(int)) error {
	return b.spread(n, func(i int) {
		job(i)
		b.step(what)
	})
}

// spread is parallel without progress.
func (b *builder) spread(n int, job func(int)) error {
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wait.Go(func() {
			for b.ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				job(i)
			}
		})
	}
	wait.Wait()
	return b.ctx.Err()
}

func (b *builder) step(what string) {
	done := b.done.Add(1)
	if b.progress == nil || done%64 != 0 {
		return
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	// Read again: another goroutine may have come first, and the bar must not go
	// back.
	b.progress(min(float64(b.done.Load())/float64(b.total), 1), what)
}

// whiteExcess makes white come out as bare paper to the last bit although a* = 0
// does not fall exactly on a node in 16 bits.
const whiteExcess = 2e-4

// invertAll finds the device numbers of every node of the inverse grid, after
// render if there is one, and how far off each is.
func (b *builder) invertAll(what string, render func(cie.Lab) cie.Lab) ([]device, []float64, error) {
	grid := b.spec.InverseGrid
	out := make([]device, grid*grid*grid)
	target := make([]cie.Lab, len(out))
	off := make([]float64, len(out))
	white := device{-whiteExcess, -whiteExcess, -whiteExcess, -whiteExcess}
	if b.spec.Channels == 3 {
		white = device{1 + whiteExcess, 1 + whiteExcess, 1 + whiteExcess}
	}
	err := b.parallel(what, grid*grid, func(row int) {
		var near *device
		for k := range grid {
			i := row*grid + k
			c := nodeLab(grid, i)
			if c == (cie.Lab{L: 100}) {
				out[i], target[i] = white, c
				continue
			}
			find := b.inverse.follow
			if render != nil {
				c, find = render(c), b.inverse.invert
			}
			target[i] = c
			out[i], off[i] = find(c, near)
			near = &out[i]
		}
	})
	if err != nil {
		return nil, nil, err
	}
	if err := b.evenOut(what, target, out, off); err != nil {
		return nil, nil, err
	}
	// Only cells that the gamut's surface passes through ask for more than there is.
	cut := make([]bool, len(out))
	for i := range out {
		if off[i] <= inside {
			around(grid, i, func(j int) { cut[j] = true })
		}
	}
	for i, d := range out {
		if cut[i] && off[i] > inside {
			out[i] = b.inverse.extend(target[i], d)
		}
	}
	return out, off, nil
}
