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
// many ways are done and which one is begun. Both are called from any goroutine, progress
// by one at a time. It returns ctx.Err() when it was stopped; a way that can't be printed is
// listed with its reason and does not stop the others.
func Compute(ctx context.Context, e Engine, pic *Picture, ways []Way, plan func(Way) (proof.Plan, error), progress func(done int, next Way)) (Outcome, error) {
	m := &measuring{engine: e, pic: pic, plan: plan, ways: ways, told: progress, places: make([]Place, len(ways)), failed: make([]error, len(ways))}
	// Two papers at a time: one core computes while the other opens profiles.
	papers := make(chan []int)
	var group sync.WaitGroup
	for range 2 {
		group.Go(func() {
			for of := range papers {
				m.paper(ctx, of)
			}
		})
	}
	for _, of := range byPaper(ways) {
		papers <- of
	}
	close(papers)
	group.Wait()
	if err := ctx.Err(); err != nil {
		return Outcome{}, err
	}
	return m.outcome()
}

// byPaper returns the ways of each paper, by their places in ways.
func byPaper(ways []Way) (papers [][]int) {
	at := map[string]int{}
	for i, w := range ways {
		k, ok := at[w.Paper]
		if !ok {
			k = len(papers)
			at[w.Paper] = k
			papers = append(papers, nil)
		}
		papers[k] = append(papers[k], i)
	}
	return papers
}

// measuring takes figures of ways, of several papers at a time.
type measuring struct {
	engine Engine
	pic    *Picture
	plan   func(Way) (proof.Plan, error)
	ways   []Way
	told   func(done int, next Way)

	// For each way its place, or why it has none.
	places []Place
	failed []error

	mu      sync.Mutex
	ended   int      // ways
	subject *Subject // nil before the first way that can be printed
}

// done is a way that was measured.
type done struct {
	printed []cie.Lab
	counted proof.Figures
}

// paper measures the ways of one paper.
func (m *measuring) paper(ctx context.Context, ways []int) {
	var before []done
	for _, i := range ways {
		if ctx.Err() != nil {
			return
		}
		m.begin(m.ways[i])
		place, d, err := m.measure(ctx, m.ways[i], before)
		if err == nil {
			before = append(before, d)
		}
		m.places[i], m.failed[i] = place, err
		m.end()
	}
}

func (m *measuring) begin(w Way) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.told != nil {
		m.told(m.ended, w)
	}
}

func (m *measuring) end() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.ended++
}

// measure measures a way. One that prints the very same as one before, on the same paper, is
// not counted again: compensation often does nothing.
func (m *measuring) measure(ctx context.Context, w Way, before []done) (Place, done, error) {
	p, err := m.plan(w)
	if err != nil {
		return Place{}, done{}, err
	}
	chain, err := m.engine.Chain(p)
	if err != nil {
		return Place{}, done{}, err
	}
	defer chain.Close()
	subject, err := m.subjectBy(ctx, chain)
	if err != nil {
		return Place{}, done{}, err
	}
	white, ok := p.Paper.MediaWhite()
	if !ok { // a profile that says no white is taken for a perfect one
		white = cie.Lab{L: 100}
	}
	var d done
	if d.printed, err = subject.Print(ctx, chain.Prints); err != nil {
		return Place{}, done{}, err
	}
	if k := slices.IndexFunc(before, func(b done) bool { return slices.Equal(b.printed, d.printed) }); k >= 0 {
		d.counted = before[k].counted
	} else if d.counted, err = m.engine.Count(ctx, p, m.pic.Whole, nil); err != nil {
		return Place{}, done{}, err
	}
	place := Place{Candidate: w.candidate(white, chain.PaperBlack())}
	place.Figures, err = subject.Figures(ctx, place.Candidate, d.counted, d.printed)
	return place, d, err
}

// subjectBy returns what all ways print; the chain of the first one looks at it.
func (m *measuring) subjectBy(ctx context.Context, c *proof.Chain) (_ *Subject, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.subject == nil {
		m.subject, err = NewSubject(ctx, m.pic, c.Originals)
	}
	return m.subject, err
}

// outcome puts in order what was measured.
func (m *measuring) outcome() (Outcome, error) {
	out := Outcome{Ways: map[string]Way{}}
	var places []Place
	for i, w := range m.ways {
		switch err := m.failed[i]; {
		case errors.Is(err, ErrEmpty):
			return out, err
		case err != nil:
			out.Refused = append(out.Refused, Refused{w, err})
			continue
		}
		out.Ways[w.Key()] = w
		places = append(places, m.places[i])
	}
	out.Verdict = Order(places)
	return out, nil
}
