package rank

import (
	"context"
	"errors"
	"fmt"
	"slices"
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

// Gather reads what is ranked of a picture: the colours that stand for it, a reduced
// picture, the pixels under the pins. It has the picture indexed, for it will be counted
// many times.
func Gather(ctx context.Context, whole *proof.Picture, pins []pin.Pin) (*Picture, error) {
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	full, alpha := whole.Pixels(), whole.Alpha()
	if full.W*full.H == 0 {
		return nil, ErrEmpty
	}
	var indexing sync.WaitGroup
	indexing.Go(func() { _ = whole.Index(ctx) }) // when it was stopped, the rest was too
	defer indexing.Wait()
	colours, err := whole.Colours(ctx)
	if err != nil {
		return nil, err
	}
	if len(colours.Pixels) == 0 {
		return nil, ErrEmpty
	}
	p := &Picture{Whole: whole, Channels: full.Channels, Numbers: colours.Numbers, Weights: colours.Pixels}
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
	if slices.Contains(alpha, 0) {
		return nil, 0, 0
	}
	k := min(1, float64(small)/float64(max(p.W, p.H)))
	w, h = max(1, int(float64(p.W)*k+0.5)), max(1, int(float64(p.H)*k+0.5))
	out = make([]float64, w*h*p.Channels)
	raster.InRows(h, func(lo, hi int) {
		for y := lo; y < hi && ctx.Err() == nil; y++ {
			row := out[y*w*p.Channels : (y+1)*w*p.Channels]
			if p.Deep() {
				means(row, p.P16, p, y, w, h)
			} else {
				means(row, p.P8, p, y, w, h)
			}
		}
	})
	return out, w, h
}

// means writes row y of w by h means of a picture's numbers.
func means[T uint8 | uint16](row []float64, numbers []T, p raster.Pixels, y, w, h int) {
	ch := p.Channels
	sum := make([]uint64, ch)
	y0, y1 := y*p.H/h, max((y+1)*p.H/h, y*p.H/h+1)
	for x := range w {
		x0, x1 := x*p.W/w, max((x+1)*p.W/w, x*p.W/w+1)
		clear(sum)
		for yy := y0; yy < y1; yy++ {
			for at := (yy*p.W + x0) * ch; at < (yy*p.W+x1)*ch; at += ch {
				for c, v := range numbers[at : at+ch] {
					sum[c] += uint64(v)
				}
			}
		}
		for c, v := range sum {
			row[x*ch+c] = float64(v) / float64(^T(0)) / float64((y1-y0)*(x1-x0))
		}
	}
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
// plan of a way; all have the picture's source. progress, which may be nil, is told how
// many ways are done and which one is next. It returns ctx.Err() when it was stopped; a
// way that can't be printed is listed with its reason and does not stop the others.
func Compute(ctx context.Context, e Engine, pic *Picture, ways []Way, plan func(Way) (proof.Plan, error), progress func(done int, next Way)) (Outcome, error) {
	out := Outcome{Ways: map[string]Way{}}
	m := measuring{engine: e, pic: pic, plan: plan}
	var places []Place
	for i, w := range ways {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		if progress != nil {
			progress(i, w)
		}
		place, err := m.measure(ctx, w)
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

// measuring takes figures of one way after another.
type measuring struct {
	engine  Engine
	pic     *Picture
	plan    func(Way) (proof.Plan, error)
	subject *Subject // nil before the first way that can be printed

	paper string // of the ways in done
	done  []done
}

// done is a way that was measured.
type done struct {
	printed []cie.Lab
	counted proof.Figures
}

// count has the engine count a way's figures, unless another way prints the very same on
// that paper: compensation often does nothing.
func (m *measuring) count(ctx context.Context, paper string, p proof.Plan, printed []cie.Lab) (proof.Figures, error) {
	if m.paper != paper {
		m.paper, m.done = paper, nil
	}
	for _, d := range m.done {
		if slices.Equal(d.printed, printed) {
			return d.counted, nil
		}
	}
	counted, err := m.engine.Count(ctx, p, m.pic.Whole, nil)
	if err == nil {
		m.done = append(m.done, done{printed, counted})
	}
	return counted, err
}

func (m *measuring) measure(ctx context.Context, w Way) (Place, error) {
	p, err := m.plan(w)
	if err != nil {
		return Place{}, err
	}
	chain, err := m.engine.Chain(p)
	if err != nil {
		return Place{}, err
	}
	defer chain.Close()
	if m.subject == nil {
		if m.subject, err = NewSubject(ctx, m.pic, chain.Originals); err != nil {
			return Place{}, err
		}
	}
	white, ok := p.Paper.MediaWhite()
	if !ok { // a profile that says no white is taken for a perfect one
		white = cie.Lab{L: 100}
	}
	printed, err := m.subject.Print(ctx, chain.Prints)
	if err != nil {
		return Place{}, err
	}
	counted, err := m.count(ctx, w.Paper, p, printed)
	if err != nil {
		return Place{}, err
	}
	place := Place{Candidate: w.candidate(white, chain.PaperBlack())}
	place.Figures, err = m.subject.Figures(ctx, place.Candidate, counted, printed)
	return place, err
}
