package proof

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"

	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
)

// Prints runs the same numbers through many plans and returns what each prints, relative
// to the paper's white: [Value.Relative] of each colour, to the same digits as its chain.
//
// src are interleaved numbers of the plans' common source, 0 to 1. Plans that begin alike
// share that part of the way: hundreds of ways to go wrong with one picture cost a few
// dozen links. progress, nil for none, is told from any goroutine how much is done, 0 to 1.
// The error is a *[PlanError], a *[ProfileError], or ctx's. Nothing is kept.
func (e *Engine) Prints(ctx context.Context, plans []Plan, src []float64, progress func(float64)) ([][]cie.Lab, error) {
	for _, p := range plans {
		if err := p.Check(); err != nil {
			return nil, err
		}
		if p.Paper == nil || p.Source.Channels() != plans[0].Source.Channels() || len(src)%p.Source.Channels() != 0 {
			return nil, &PlanError{fmt.Sprintf("%d numbers cannot be printed by plans of %s", len(src), p.Source.Name())}
		}
	}
	s, err := newSharing(src)
	if err != nil {
		return nil, err
	}
	defer s.close()
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	out := make([][]cie.Lab, len(plans))
	var next, done atomic.Int64
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(plans)) {
		workers.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(plans) {
					return
				}
				var err error
				if out[i], err = s.prints(plans[i]); err != nil {
					stop(err)
					return
				}
				if progress != nil {
					progress(float64(done.Add(1)) / float64(len(plans)))
				}
			}
		})
	}
	workers.Wait()
	return out, context.Cause(ctx)
}

// sharing runs plans over the same numbers. It may be used from many goroutines.
type sharing struct {
	ctx  *lcms.Context
	open *opener
	src  []float64

	mu    sync.Mutex // guards parts, and the opening of links
	parts map[string]*part
}

// part is what comes out at some place of a way: computed once, by whoever needs it first.
type part struct {
	once    sync.Once
	numbers []float64
	err     error
}

func newSharing(src []float64) (*sharing, error) {
	ctx, err := lcms.NewContext()
	if err != nil {
		return nil, err
	}
	open, err := newOpener(ctx)
	if err != nil {
		ctx.Close()
		return nil, err
	}
	return &sharing{ctx: ctx, open: open, src: src, parts: map[string]*part{}}, nil
}

func (s *sharing) close() {
	s.open.links.close()
	s.open.close()
	s.ctx.Close()
}

// at returns what comes out at the place of a way that key names.
func (s *sharing) at(key string, compute func() ([]float64, error)) ([]float64, error) {
	s.mu.Lock()
	p := s.parts[key]
	if p == nil {
		p = &part{}
		s.parts[key] = p
	}
	s.mu.Unlock()
	p.once.Do(func() { p.numbers, p.err = compute() })
	return p.numbers, p.err
}

// link returns a link, nil standing for Lab.
func (s *sharing) link(from, to *Profile, intent Intent, bpc bool) (*link, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.open.link(from, to, intent, bpc)
}

// through sends numbers through a link.
func (s *sharing) through(from, to *Profile, intent Intent, bpc bool, numbers []float64) ([]float64, error) {
	l, err := s.link(from, to, intent, bpc)
	if err != nil {
		return nil, err
	}
	in, out := l.Channels()
	next := make([]float64, len(numbers)/in*out)
	return next, l.run(next, numbers)
}

// begin returns what the first conversion of a plan takes: the numbers, or their originals
// of that source.
func (s *sharing) begin(p Plan) (source *Profile, numbers []float64, err error) {
	if len(p.Conversions) == 0 {
		return p.Source, s.src, nil
	}
	s.mu.Lock()
	fromLab, err := s.open.fromLab(p.Source, p.Conversions[0])
	s.mu.Unlock()
	if !fromLab || err != nil {
		return p.Conversions[0].From, s.src, err
	}
	numbers, err = s.at(p.Source.ID(), func() ([]float64, error) {
		return s.through(p.Source, nil, RelativeColorimetric, false, s.src)
	})
	return nil, numbers, err
}

// prints runs one plan.
func (s *sharing) prints(p Plan) ([]cie.Lab, error) {
	from, numbers, err := s.begin(p)
	if err != nil {
		return nil, err
	}
	key := p.Source.ID()
	for i, c := range p.Conversions {
		if i > 0 {
			from = c.From
		}
		clipped := c.Clipped || i == len(p.Conversions)-1 // what goes to the printer is
		key += fmt.Sprintf("|%s>%s %d %t %t", idOf(from), c.To.ID(), c.Intent, c.BPC, clipped)
		in := numbers
		if numbers, err = s.at(key, func() ([]float64, error) {
			out, err := s.through(from, c.To, c.Intent, c.BPC, in)
			if err == nil && clipped {
				clipAll(out)
			}
			return out, err
		}); err != nil {
			return nil, err
		}
	}
	if len(p.Conversions) == 0 {
		numbers = append([]float64(nil), numbers...)
		clipAll(numbers)
	}
	device := numbers
	relative, err := s.at(key+"|"+p.Paper.ID(), func() ([]float64, error) {
		return s.through(p.Paper, nil, RelativeColorimetric, false, device)
	})
	if err != nil {
		return nil, err
	}
	if p.Mishap != nil {
		relative = append([]float64(nil), relative...)
		p.spoil(device, relative, nil)
	}
	return labs(relative), nil
}
