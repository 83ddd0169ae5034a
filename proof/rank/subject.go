package rank

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/words"
)

// Convert returns what an exact chain makes of colours: D50 Lab, relative to the white of
// what they are seen on. numbers are the picture's own, interleaved and 0 to 1. It may be
// called from several goroutines.
type Convert func(numbers []float64) ([]cie.Lab, error)

// Subject is a picture with what all ways to print it share: which of its colours tell
// anything, and their originals. It does not change and may be used from several goroutines.
type Subject struct {
	channels int
	numbers  []float64 // of the colours that are printed: those below, in turn

	tones                *Tones // of skin-like ones, shadows and highlights
	weights              []float64
	skin                 []skin
	skinWeight, all      float64 // in pixels
	spots                []spot
	gradients            []gradient // their a and b are counted from the first pair
	firstSpot, firstPair int        // where they begin in what was printed
}

// skin is a skin-like colour.
type skin struct {
	at  int
	hue float64
}

// spot is a pin: how many pixels it has, and their mean.
type spot struct {
	name     string
	pixels   int
	original cie.Lab
}

// NewSubject looks at a picture. originals tells its colours; its errors come back, and
// ctx.Err() when it was stopped.
func NewSubject(ctx context.Context, p *Picture, originals Convert) (*Subject, error) {
	if p.Channels <= 0 || len(p.Weights) == 0 || len(p.Numbers) != len(p.Weights)*p.Channels {
		return nil, fmt.Errorf("%w: %d numbers of %d channels for %d weights", ErrEmpty, len(p.Numbers), p.Channels, len(p.Weights))
	}
	if len(p.Small) != p.W*p.H*p.Channels {
		return nil, fmt.Errorf("rank: reduced picture of %d by %d by %d with %d numbers", p.W, p.H, p.Channels, len(p.Small))
	}
	s := &Subject{channels: p.Channels}
	for _, look := range []func(context.Context, *Picture, Convert) error{s.lookAtColours, s.lookAtSpots, s.lookAtGradients, s.takeAny} {
		if err := look(ctx, p, originals); err != nil {
			return nil, err
		}
	}
	if s.all <= 0 {
		return nil, ErrEmpty
	}
	return s, nil
}

// lookAtColours takes skin-like colours, shadows and highlights.
func (s *Subject) lookAtColours(ctx context.Context, p *Picture, originals Convert) error {
	seen, err := convert(ctx, originals, p.Numbers, p.Channels)
	if err != nil {
		return err
	}
	var taken []cie.Lab
	for i, o := range seen {
		s.all += p.Weights[i]
		like := words.SkinLike(o)
		if like {
			s.skin = append(s.skin, skin{len(taken), o.Hue()})
			s.skinWeight += p.Weights[i]
		}
		if like || atAnEnd(o) {
			taken = append(taken, o)
			s.weights = append(s.weights, p.Weights[i])
			s.numbers = append(s.numbers, p.Numbers[i*p.Channels:(i+1)*p.Channels]...)
		}
	}
	s.tones = NewTones(taken, s.weights, s.all)
	return nil
}

func (s *Subject) lookAtSpots(ctx context.Context, p *Picture, originals Convert) error {
	s.firstSpot = len(s.numbers) / s.channels
	for _, q := range p.Spots {
		seen, err := convert(ctx, originals, q.Numbers, p.Channels)
		if err != nil {
			return err
		}
		if len(seen) == 0 {
			continue
		}
		mean, err := pin.Average(seen)
		if err != nil {
			return err
		}
		s.spots = append(s.spots, spot{q.Name, len(seen), mean.Lab})
		s.numbers = append(s.numbers, q.Numbers...)
	}
	return nil
}

func (s *Subject) lookAtGradients(ctx context.Context, p *Picture, originals Convert) error {
	s.firstPair = len(s.numbers) / s.channels
	seen, err := convert(ctx, originals, p.Small, p.Channels)
	if err != nil {
		return err
	}
	if s.gradients, err = gradients(ctx, seen, p.W, p.H); err != nil {
		return err
	}
	place := make([]int32, len(seen)) // among the printed ones, counted from 1
	put := func(pixel int32) int32 {
		if place[pixel] == 0 {
			s.numbers = append(s.numbers, p.Small[int(pixel)*p.Channels:(int(pixel)+1)*p.Channels]...)
			place[pixel] = int32(len(s.numbers)/s.channels - s.firstPair)
		}
		return place[pixel] - 1
	}
	for i := range s.gradients {
		g := &s.gradients[i]
		g.a, g.b = put(g.a), put(g.b)
	}
	return nil
}

// takeAny takes some colours of every kind, by which two prints can be told apart.
func (s *Subject) takeAny(_ context.Context, p *Picture, _ Convert) error {
	const some = 4096
	n := len(p.Weights)
	for i := 0; i < n; i += n/some + 1 {
		s.numbers = append(s.numbers, p.Numbers[i*p.Channels:(i+1)*p.Channels]...)
	}
	return nil
}

// Print prints the subject. It returns ctx.Err() when it was stopped, and Convert's errors.
func (s *Subject) Print(ctx context.Context, prints Convert) ([]cie.Lab, error) {
	return convert(ctx, prints, s.numbers, s.channels)
}

// Figures returns the figures of what [Subject.Print] printed. counted are the engine's. It
// returns ctx.Err() when it was stopped.
func (s *Subject) Figures(ctx context.Context, c Candidate, counted proof.Figures, printed []cie.Lab) (f Figures, err error) {
	f = Figures{SkinShare: s.skinWeight / s.all}
	f.count(counted)
	f.Range, f.Contrast = Range(c.White, c.Black)
	f.SkinTurn, f.SkinOff = s.turned(printed)
	f.Shadows, f.Highlights = s.tones.Separation(printed)
	if f.Pins, err = s.pins(printed[s.firstSpot:s.firstPair]); err != nil {
		return Figures{}, err
	}
	f.Smoothness, err = smoothness(ctx, s.gradients, printed[s.firstPair:])
	return f, err
}

// turned returns the mean turn of the hue of skin, and of its size.
func (s *Subject) turned(prints []cie.Lab) (turn, off float64) {
	coloured := 0.0
	for _, k := range s.skin {
		if p := prints[k.at]; p.Chroma() >= words.NamedChroma {
			by := cie.HueTurn(k.hue, p.Hue())
			coloured += s.weights[k.at]
			turn += s.weights[k.at] * by
			off += s.weights[k.at] * math.Abs(by)
		}
	}
	if coloured == 0 {
		return 0, 0
	}
	return turn / coloured, off / coloured
}

// pins returns the turn of each pin's mean colour.
func (s *Subject) pins(prints []cie.Lab) (turns []Turn, err error) {
	for _, q := range s.spots {
		mean, err := pin.Average(prints[:q.pixels])
		if err != nil {
			return nil, err
		}
		prints = prints[q.pixels:]
		t := Turn{Name: q.name, DeltaE00: cie.DeltaE00(q.original, mean.Lab)}
		if q.original.Chroma() >= words.NamedChroma && mean.Lab.Chroma() >= words.NamedChroma {
			t.Coloured, t.Degrees = true, cie.HueTurn(q.original.Hue(), mean.Lab.Hue())
		}
		turns = append(turns, t)
	}
	return turns, nil
}

// batch is how many colours are converted between two looks at the context.
const batch = 4096

// convert runs colours through a Convert, on all cores.
func convert(ctx context.Context, by Convert, numbers []float64, channels int) ([]cie.Lab, error) {
	out := make([]cie.Lab, len(numbers)/channels)
	err := onAllCores(ctx, len(out), batch, func(lo, hi int) error {
		some, err := by(numbers[lo*channels : hi*channels])
		if err == nil && len(some) != hi-lo {
			err = fmt.Errorf("rank: %d colours come of %d", len(some), hi-lo)
		}
		copy(out[lo:hi], some)
		return err
	})
	return out, err
}

// onAllCores works on [0, n) in pieces until one fails or ctx ends.
func onAllCores(ctx context.Context, n, piece int, work func(lo, hi int) error) error {
	var next atomic.Int64
	failed := make([]error, runtime.GOMAXPROCS(0))
	var group sync.WaitGroup
	for core := range failed {
		group.Go(func() {
			for ctx.Err() == nil && failed[core] == nil {
				lo := int(next.Add(int64(piece))) - piece
				if lo >= n {
					return
				}
				failed[core] = work(lo, min(lo+piece, n))
			}
		})
	}
	group.Wait()
	return errors.Join(append(failed, ctx.Err())...)
}
