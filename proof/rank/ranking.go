package rank

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
)

// Engine is what the package asks of the engine; *proof.Engine is one.
type Engine interface {
	// Chain returns the exact chain of a plan. The caller closes it.
	Chain(p proof.Plan) (*proof.Chain, error)
	// Count counts the figures of a plan over a whole picture.
	Count(ctx context.Context, p proof.Plan, pic *proof.Picture, progress func(done float64)) (proof.Figures, error)
}

// Way is one way to print: a paper, an intent, compensation on or off.
type Way struct {
	Paper        string // the caller's ID
	Name         string // the paper's name
	Intent       proof.Intent
	Compensation bool
}

// Key tells ways apart.
func (w Way) Key() string { return fmt.Sprintf("%s|%d|%t", w.Paper, w.Intent, w.Compensation) }

// candidate is the way as the ranking names it; white and black are absolute.
func (w Way) candidate(white, black cie.Lab) Candidate {
	return Candidate{ID: w.Key(), Paper: w.Name, Intent: w.Intent.String(), Compensation: w.Compensation,
		White: white, Black: black}
}

// Paper is one that ways are made for.
type Paper struct {
	ID, Name string
	// Forced tells whether compensation can't be left out with an intent.
	Forced func(proof.Intent) bool
}

// Ways crosses papers with intents and compensation. Pairs that can't differ are
// named once: compensation does nothing with the absolute intent, and can't be
// left out where the profile forces it. left says in words what was left out.
func Ways(papers []Paper, intents []proof.Intent, compensation []bool) (ways []Way, left []string) {
	said := map[string]bool{}
	say := func(s string) {
		if !said[s] {
			said[s] = true
			left = append(left, s)
		}
	}
	for _, p := range papers {
		for _, i := range intents {
			seen := map[bool]bool{}
			for _, c := range compensation {
				use := c
				switch {
				case i == proof.AbsoluteColorimetric && c:
					use = false
					say("Compensation does nothing with the absolute intent: it is ranked once, without.")
				case !c && p.Forced != nil && p.Forced(i):
					use = true
					say(fmt.Sprintf("With a version 4 profile and the %s intent compensation can’t be left out: %s is ranked once, with it.", i, p.Name))
				}
				if seen[use] {
					continue
				}
				seen[use] = true
				ways = append(ways, Way{p.ID, p.Name, i, use})
			}
		}
	}
	return ways, left
}

// small is the longer side of the reduced picture that smoothness is judged on.
const small = 400

// Gather reads what is ranked of a picture: the whole for its figures, the colours that
// stand for it, a reduced picture, the pixels under the pins. alpha has W*H entries or is nil.
func Gather(ctx context.Context, full raster.Pixels, alpha []uint8, pins []pin.Pin, progress func(float64)) (*Picture, error) {
	if full.W*full.H == 0 {
		return nil, ErrEmpty
	}
	colours, err := proof.CountColours(ctx, full, alpha, progress)
	if err != nil {
		return nil, err
	}
	if len(colours.Pixels) == 0 {
		return nil, ErrEmpty
	}
	p := &Picture{Whole: proof.NewPicture(full, alpha), Channels: full.Channels, Numbers: colours.Numbers, Weights: colours.Pixels}
	if p.Small, p.W, p.H = reduce(ctx, full, alpha); ctx.Err() != nil {
		return nil, ctx.Err()
	}
	for _, q := range pins {
		s := Spot{Name: q.Name}
		for _, at := range q.Pixels(full.W, full.H) {
			if alpha == nil || alpha[at.Y*full.W+at.X] > 0 {
				s.Numbers = full.At(s.Numbers, at.X, at.Y)
			}
		}
		if len(s.Numbers) > 0 {
			p.Spots = append(p.Spots, s)
		}
	}
	return p, nil
}

// reduce averages the picture down to small pixels on its longer side, not
// rounded. A picture with see-through parts has no reduced picture: their edges
// would count as gradients.
func reduce(ctx context.Context, p raster.Pixels, alpha []uint8) (out []float64, w, h int) {
	for _, a := range alpha {
		if a == 0 {
			return nil, 0, 0
		}
	}
	k := min(1, float64(small)/float64(max(p.W, p.H)))
	w, h = max(1, int(float64(p.W)*k+0.5)), max(1, int(float64(p.H)*k+0.5))
	ch := p.Channels
	out = make([]float64, 0, w*h*ch)
	sum := make([]uint64, ch)
	for y := range h {
		if ctx.Err() != nil {
			return nil, 0, 0
		}
		y0, y1 := y*p.H/h, max((y+1)*p.H/h, y*p.H/h+1)
		for x := range w {
			x0, x1 := x*p.W/w, max((x+1)*p.W/w, x*p.W/w+1)
			clear(sum)
			full := 255.0
			for yy := y0; yy < y1; yy++ {
				from, to := (yy*p.W+x0)*ch, (yy*p.W+x1)*ch
				if p.Deep() {
					full = 65535
					for i := from; i < to; i++ {
						sum[(i-from)%ch] += uint64(p.P16[i])
					}
				} else {
					for i := from; i < to; i++ {
						sum[(i-from)%ch] += uint64(p.P8[i])
					}
				}
			}
			for _, v := range sum {
				out = append(out, float64(v)/full/float64((y1-y0)*(x1-x0)))
			}
		}
	}
	return out, w, h
}

// Refused is a way that can't be printed, with the reason.
type Refused struct {
	Way
	Err error
}

// Outcome is a finished ranking.
type Outcome struct {
	Verdict Verdict
	Ways    map[string]Way // by the candidate's ID
	Refused []Refused
}

// Compute takes the figures of each way and puts them in order. plan returns the
// plan of a way. progress, which may be nil, is told how many ways are done and
// which one is next. It returns ctx.Err() when it was stopped; a way that can't
// be printed is listed with its reason and does not stop the others.
func Compute(ctx context.Context, e Engine, pic *Picture, ways []Way, plan func(Way) (proof.Plan, error), progress func(done int, next Way)) (Outcome, error) {
	out := Outcome{Ways: map[string]Way{}}
	var places []Place
	for i, w := range ways {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		if progress != nil {
			progress(i, w)
		}
		place, err := figures(ctx, e, pic, w, plan)
		switch {
		case ctx.Err() != nil:
			return out, ctx.Err()
		case errors.Is(err, ErrEmpty):
			return out, err
		case err != nil:
			out.Refused = append(out.Refused, Refused{w, err})
			continue
		}
		out.Ways[w.Key()] = w
		places = append(places, place)
	}
	out.Verdict = Order(places)
	return out, nil
}

func figures(ctx context.Context, e Engine, pic *Picture, w Way, plan func(Way) (proof.Plan, error)) (Place, error) {
	p, err := plan(w)
	if err != nil {
		return Place{}, err
	}
	chain, err := e.Chain(p)
	if err != nil {
		return Place{}, err
	}
	defer chain.Close()
	white, ok := p.Paper.MediaWhite()
	if !ok { // a profile that says no white is taken for a perfect one
		white = cie.Lab{L: 100}
	}
	place := Place{Candidate: w.candidate(white, chain.PaperBlack())}
	place.Figures, err = Evaluate(ctx, pic, place.Candidate, func(_ context.Context, numbers []float64) ([]Value, error) {
		return convert(chain, numbers, pic.Channels)
	})
	if err != nil {
		return place, err
	}
	whole, err := e.Count(ctx, p, pic.Whole, nil)
	place.Figures.count(whole)
	return place, err
}

// convert runs colours through a chain, a part of them on each core.
func convert(chain *proof.Chain, numbers []float64, channels int) ([]Value, error) {
	n, parts := len(numbers)/channels, runtime.GOMAXPROCS(0)
	out, failed := make([]Value, n), make([]error, parts)
	var group sync.WaitGroup
	for part := range parts {
		lo, hi := part*n/parts, (part+1)*n/parts
		group.Go(func() {
			values := make([]proof.Value, hi-lo)
			failed[part] = chain.Values(values, numbers[lo*channels:hi*channels])
			for i, v := range values {
				out[lo+i] = Value{Original: v.Original, Print: v.Relative, Reach: v.Reach, Darker: v.Darker}
			}
		})
	}
	group.Wait()
	return out, errors.Join(failed...)
}
