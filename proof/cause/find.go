package cause

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/setup"
)

// Answer is what explains a print.
type Answer struct {
	// Verdict sums up in a sentence or two.
	Verdict string
	// Causes are ranked, the likeliest first. Their probabilities add up to one.
	Causes []Cause
	// Tied are groups of causes, by their IDs, that the evidence cannot tell apart: the
	// first one's group holds the true cause with a probability of [TieShare] if the
	// true cause is among those that are known at all. A cause that stands alone is in
	// no group.
	Tied [][]string
	// Unseen are the IDs of causes that this kind of evidence is blind to: what lies
	// in how the print was looked at, to an instrument.
	Unseen []string
	// Explained says that the first cause fits the evidence within its stated noise.
	// Without it no known cause does, and the probabilities say little.
	Explained bool
	// Next is the check that would decide most.
	Next Check
	// Cautions are sentences on what the answer rests on.
	Cautions []string
}

// Cause is one explanation: the right route, some slips, or a mishap.
type Cause struct {
	// ID is the slips' IDs joined by commas as a command line takes them, "none" for
	// the right route.
	ID string
	// Slips are the IDs of package slip, empty for the right route. A mishap that is
	// no slip stands alone with an ID of its own.
	Slips []string
	// Name is what people call it.
	Name        string
	Probability float64
	// MeanDeltaE00 is the mean difference of the observed colours from those that
	// the likeliest variant predicts, NaN where no colours are observed.
	MeanDeltaE00 float64
	// Apart is how far the predicted colours are from those of the likeliest other
	// cause's, root mean square over the places, in standard deviations of the
	// evidence; NaN where no colours are observed.
	Apart float64
	// Recognise and Prevent are general advice.
	Recognise, Prevent string
	// Variants are the ways in which it can have happened, the likeliest first: at
	// least one. Those that change nothing against a simpler cause are among the
	// simpler cause's, after its own.
	Variants []Variant
}

// Variant is one way in which a cause can have happened.
type Variant struct {
	// Slips are those that were made; they are not the cause's where they change
	// nothing against it.
	Slips []string
	// Detail tells what was taken for what, "" where there is no choice.
	Detail      string
	Probability float64
	// Setup prints what was observed, for a sheet of its own.
	Setup setup.Setup
	// NeedsSecond says that the set-up's second intent counts.
	NeedsSecond bool
	// ChangesNothing says that it prints the same as the cause that it is listed
	// with, at the places that were looked at.
	ChangesNothing bool
	// Predicted are the colours that it predicts at the places of the evidence, each
	// kind of evidence after the other.
	Predicted    []cie.Lab
	MeanDeltaE00 float64
}

// TieShare is the probability that is left to the causes tied with the first.
const TieShare = 0.98

// sameLook is the largest ΔE00 at any place up to which two hypotheses print the
// same: what profiles and rounding are off by.
const sameLook = 0.3

// Engine runs plans; *proof.Engine is one.
type Engine interface {
	setup.Chains
	Prints(ctx context.Context, plans []proof.Plan, src []float64, progress func(float64)) ([][]cie.Lab, error)
}

// Find ranks what explains the evidence in a case. Several pieces of evidence
// count together.
//
// It returns an *EvidenceError that says what is wrong with the evidence, an error
// of the case's set-up as [setup.Setup.Plan] does, or ctx's. It may be called from
// several goroutines.
//
// Source: Bayes' rule; the noise models are in the package comment.
func Find(ctx context.Context, engine Engine, c Case, evidence ...Evidence) (Answer, error) {
	f, err := find(ctx, engine, c, evidence)
	if err != nil {
		return Answer{}, err
	}
	return f.answer(), nil
}

// find weighs all hypotheses.
func find(ctx context.Context, engine Engine, c Case, evidence []Evidence) (*finding, error) {
	if len(evidence) == 0 {
		return nil, evidenceError("nothing is known of the print yet: read pins, choose words or open a photo of it")
	}
	for _, e := range evidence {
		if err := e.check(); err != nil {
			return nil, err
		}
	}
	all, err := c.hypotheses()
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(evidence, Evidence.seen) {
		// What lies in the eye alone is told once, not beside every other slip.
		all = slices.DeleteFunc(all, func(h *hypothesis) bool { return h.unseen && len(h.slips) > 1 })
	}
	f := &finding{all: all, evidence: evidence, prior: c.prior()}
	if err := f.predict(ctx, engine, c); err != nil {
		return nil, err
	}
	f.weigh()
	f.fold()
	return f, nil
}

// finding is one search on its way.
type finding struct {
	all      []*hypothesis // the right route first
	evidence []Evidence
	prior    Prior
	// looks[h][e] are the colours of evidence e under hypothesis h; more and patches
	// those of places and patches that could be measured.
	looks         [][][]cie.Lab
	more, patches [][]cie.Lab
	moreSpots     []Spot
	post          []float64 // probability of each hypothesis
	home          []int     // the hypothesis that each prints the same as, or itself
}

func (f *finding) predict(ctx context.Context, engine Engine, c Case) error {
	p := &predictor{engine: engine, channels: f.all[0].plan.Source.Channels()}
	var spans [][]span
	for _, e := range f.evidence {
		s, err := p.ask(e.spots())
		if err != nil {
			return err
		}
		spans = append(spans, s)
	}
	f.moreSpots = c.More
	more, err := p.ask(c.More)
	if err != nil {
		return err
	}
	patches, err := p.ask(patchSpots(p.channels))
	if err != nil {
		return err
	}
	values, err := p.run(ctx, f.all, c.Progress)
	if err != nil {
		return err
	}
	for i, h := range f.all {
		var looks [][]cie.Lab
		measured := values[i]
		if h.unseen && h.mishap != nil {
			measured = values[0] // an instrument brings its own light
		}
		for k, e := range f.evidence {
			of := measured
			if e.seen() {
				of = values[i]
			}
			looks = append(looks, h.colours(of, spans[k], e.seen()))
		}
		f.looks = append(f.looks, looks)
		f.more = append(f.more, h.colours(measured, more, false))
		f.patches = append(f.patches, h.colours(measured, patches, false))
	}
	return nil
}

// weigh finds the probability of each hypothesis.
func (f *finding) weigh() {
	f.post = make([]float64, len(f.all))
	most := math.Inf(-1)
	for i, h := range f.all {
		f.post[i] = math.Log(h.prior) // minus infinity where it is ruled out beforehand
		for k, e := range f.evidence {
			f.post[i] += e.logLikelihood(h, f.looks[0][k], f.looks[i][k])
		}
		most = max(most, f.post[i])
	}
	var sum float64
	for i, v := range f.post {
		f.post[i] = math.Exp(v - most)
		sum += f.post[i]
	}
	for i := range f.post {
		f.post[i] /= sum
	}
}

// fold finds for each hypothesis a simpler one that prints the same: of part of its
// slips, or the right route.
func (f *finding) fold() {
	f.home = make([]int, len(f.all))
	for i, h := range f.all {
		f.home[i] = i
		for k, simpler := range f.all[:i] {
			if f.home[k] == k && len(simpler.slips) < len(h.slips) && contains(h.slips, simpler.slips) && f.alike(i, k) {
				f.home[i] = k
				break
			}
		}
	}
}

func contains(all, some []string) bool {
	for _, s := range some {
		if !slices.Contains(all, s) {
			return false
		}
	}
	return true
}

// alike reports whether two hypotheses print the same at all places. Without places
// nothing is known to be the same.
func (f *finding) alike(i, k int) bool {
	n := 0
	for e := range f.evidence {
		for j, c := range f.looks[i][e] {
			n++
			// ΔE00 is at most a few times ΔE76 near grey, and dear.
			if d := f.looks[k][e][j]; cie.DeltaE76(c, d) > 8*sameLook || cie.DeltaE00(c, d) > sameLook {
				return false
			}
		}
	}
	return n > 0
}

// answer sums up.
func (f *finding) answer() Answer {
	var a Answer
	groups := f.groups()
	for _, g := range groups {
		a.Causes = append(a.Causes, f.cause(g))
	}
	f.separate(groups, a.Causes)
	a.Tied = f.tied(groups, a.Causes)
	a.Unseen = f.unseen()
	a.Explained = f.explained(groups[0].members[0])
	a.Next = f.next(groups, a)
	a.Verdict = f.verdict(a)
	a.Cautions = f.cautions(a)
	return a
}

// group are the hypotheses of one cause, its own before those that change nothing
// against it, each part the likeliest first.
type group struct {
	id          string
	members     []int
	probability float64
}

func (f *finding) groups() []group {
	byID := map[string]*group{}
	for i := range f.all {
		id := f.all[f.home[i]].cause()
		g := byID[id]
		if g == nil {
			g = &group{id: id}
			byID[id] = g
		}
		g.members = append(g.members, i)
		g.probability += f.post[i]
	}
	var all []group
	for _, g := range byID {
		slices.SortStableFunc(g.members, func(i, k int) int {
			own := func(i int) int {
				if f.home[i] == i {
					return 0
				}
				return 1
			}
			return cmp.Or(cmp.Compare(own(i), own(k)), cmp.Compare(f.post[k], f.post[i]), cmp.Compare(i, k))
		})
		all = append(all, *g)
	}
	slices.SortFunc(all, func(a, b group) int {
		return cmp.Or(cmp.Compare(b.probability, a.probability), cmp.Compare(a.members[0], b.members[0]))
	})
	return all
}

// cause describes a group.
func (f *finding) cause(g group) Cause {
	first := f.all[g.members[0]]
	c := Cause{
		ID: idOf(first), Slips: append([]string{}, first.slips...), Name: nameOf(first), Probability: g.probability,
		Apart: math.NaN(),
	}
	c.Recognise, c.Prevent = advice(first)
	for _, i := range g.members {
		h := f.all[i]
		v := Variant{
			Slips: append([]string{}, h.slips...), Detail: detailOf(h), Probability: f.post[i], Setup: h.set, NeedsSecond: h.second(),
			ChangesNothing: f.home[i] != i, MeanDeltaE00: f.meanDifference(i),
		}
		for _, looks := range f.looks[i] {
			v.Predicted = append(v.Predicted, looks...)
		}
		c.Variants = append(c.Variants, v)
	}
	c.MeanDeltaE00 = c.Variants[0].MeanDeltaE00
	return c
}

// meanDifference is the mean ΔE00 of the observed colours from a hypothesis's.
func (f *finding) meanDifference(i int) float64 {
	var sum float64
	n := 0
	for k, e := range f.evidence {
		for j, c := range e.observed(f.looks[i][k]) {
			sum += cie.DeltaE00(c, f.looks[i][k][j])
			n++
		}
	}
	return sum / float64(n)
}

// apart is the root mean square distance of two hypotheses' colours in standard
// deviations, NaN where no colours are observed.
func (f *finding) apart(i, k int) float64 {
	var sum float64
	n := 0
	for e, evidence := range f.evidence {
		s := evidence.spread()
		if s == 0 {
			continue
		}
		for j, c := range f.looks[i][e] {
			d := cie.DeltaE76(c, f.looks[k][e][j]) / s
			sum += d * d
			n++
		}
	}
	return math.Sqrt(sum / float64(n))
}

// separate tells each cause how far it is from the likeliest other one.
func (f *finding) separate(groups []group, causes []Cause) {
	if len(groups) < 2 {
		return
	}
	for n := range groups {
		rival := 0
		if n == 0 {
			rival = 1
		}
		causes[n].Apart = f.apart(groups[n].members[0], groups[rival].members[0])
	}
}

// tied returns the causes that are left open together with the first: the fewest
// that hold TieShare, and those that print just the same as the first.
func (f *finding) tied(groups []group, causes []Cause) [][]string {
	var open []string
	var sum float64
	for i, g := range groups {
		open = append(open, causes[i].ID)
		if sum += g.probability; sum >= TieShare {
			break
		}
	}
	for _, i := range groups[0].members {
		h := f.all[i]
		// A slip more that shows nowhere is worth a word only as the sole one.
		if id := idOf(h); f.home[i] != i && !h.unseen && len(h.slips) == 1 && !slices.Contains(open, id) {
			open = append(open, id)
		}
	}
	if len(open) < 2 {
		return [][]string{}
	}
	return [][]string{open}
}

// unseen returns the causes that no piece of evidence can see.
func (f *finding) unseen() []string {
	out := []string{}
	if slices.ContainsFunc(f.evidence, Evidence.seen) {
		return out
	}
	for _, h := range f.all {
		if h.unseen {
			out = append(out, idOf(h))
		}
	}
	return out
}

// explained reports whether a hypothesis fits the observed colours within their
// noise: the sum of squares is one that chance alone exceeds once in 10,000 times.
// The worst place of eight or more may be a misreading.
func (f *finding) explained(i int) bool {
	for k, e := range f.evidence {
		s := e.spread()
		if s == 0 {
			continue
		}
		var squares []float64
		for j, c := range e.observed(f.looks[i][k]) {
			d := cie.DeltaE76(c, f.looks[i][k][j]) / s
			squares = append(squares, d*d)
		}
		slices.Sort(squares)
		if n := len(squares); n >= 8 {
			squares = squares[:n-1]
		}
		var sum float64
		for _, v := range squares {
			sum += v
		}
		const chance = 1e-4
		if (distuv.ChiSquared{K: float64(3 * len(squares))}).Survival(sum) < chance {
			return false
		}
	}
	return true
}
