package rank

import (
	"math"
	"slices"
	"sort"
)

// Check is one line of the rule: a figure and what is asked of it.
type Check struct {
	// Tell says in words what is asked.
	Tell string
	// met reports whether the figures meet it, and how they stand, in words.
	met func(f Figures) (ok bool, stand string)
}

// What the checks ask. Own choice, from what is commonly seen and accepted: 4
// degrees at the chroma of skin are about 2 ΔE00, which common practice takes
// as visible side by side; a p95 of 4 is twice that, as acceptable is
// about twice just seen (Xu, Tong and Gong 2013).
const (
	maxSkinOff   = 4.0
	skinPresent  = 0.01
	maxPinOff    = 6.0
	halfShadow   = 0.5
	minShadow    = 0.8
	minHighlight = 0.8
	maxRough     = 0.02
	maxOut       = 0.05
	maxP95       = 4.0

	// alike is the difference of mean ΔE00 below which two ways are as good as
	// each other: far below anything that is seen.
	alike = 0.1
	// gradation is the share of gradients lost that counts as a step: what lies
	// within one is not told apart by eye (own choice).
	gradation = 0.02
	// fewTenths is the gain in mean ΔE00 for which compensation is not given up:
	// on is the trade's all-round choice (common practice, no source).
	fewTenths = 0.5
	// samePrint is how near the figures of two ways lie that print the same.
	samePrint = 0.005
)

// Checks returns the checks in the order in which they are told.
func Checks() []Check {
	return []Check{
		{checkSkin, func(f Figures) (bool, string) {
			return f.SkinShare < skinPresent || f.SkinOff <= maxSkinOff, standSkin(f)
		}},
		{checkPins, func(f Figures) (bool, string) {
			_, off := f.PinOff()
			return off <= maxPinOff, standPins(f)
		}},
		{checkHalf, func(f Figures) (bool, string) {
			return f.Shadows.Share() >= halfShadow, standHalf(f.Shadows)
		}},
		{checkShadow, func(f Figures) (bool, string) {
			return f.Shadows.Share() >= minShadow, standSeparation(f.Shadows, shadowWord)
		}},
		{checkHighlight, func(f Figures) (bool, string) {
			return f.Highlights.Share() >= minHighlight, standSeparation(f.Highlights, highlightWord)
		}},
		{checkSmooth, func(f Figures) (bool, string) {
			return f.Smoothness.Lost() <= maxRough, standSmooth(f)
		}},
		{checkOut, func(f Figures) (bool, string) {
			return f.Out <= maxOut, standOut(f)
		}},
		{checkP95, func(f Figures) (bool, string) {
			return f.P95 <= maxP95, standP95(f)
		}},
	}
}

// Place is a candidate with its figures and how it fares by the rule.
type Place struct {
	Candidate
	Figures Figures `json:"figures"`
	// Failed lists how the figures stand that fail a check, in words.
	Failed []string `json:"failed,omitempty"`
	failed []int    // the checks of Failed
	// AsGood says that the candidate is as good as the first by the rule.
	AsGood bool    `json:"asGood"`
	mean   float64 // what stands for the mean ΔE00 in the order
}

// Verdict is the outcome of the rule.
type Verdict struct {
	// Order holds the candidates, best first.
	Order []Place `json:"order"`
	// Reason says in one sentence why the first is first; "" without a candidate.
	Reason string `json:"reason"`
	// Why says the same at more length, Against what speaks against it. Against may
	// be empty.
	Why     []string `json:"why"`
	Against []string `json:"against"`
	// Rule is the rule itself, a line each, to be shown beside the outcome.
	Rule []string `json:"rule"`
}

// tones returns how much separation is kept at the worse end of the scale, in
// tenths, and no more than the checks ask: beyond that the mean decides.
func (f Figures) tones() int {
	return int(math.Round(10 * min(f.Shadows.Share(), f.Highlights.Share(), minShadow)))
}

// lost returns how many steps of gradation are lost.
func (f Figures) lost() int { return int(math.Round(f.Smoothness.Lost() / gradation)) }

// better compares two places by the rule up to the mean: below 0 where a is the
// better, 0 where only the mean can decide.
func better(a, b *Place) int {
	if d := len(a.Failed) - len(b.Failed); d != 0 {
		return d
	}
	if d := b.Figures.tones() - a.Figures.tones(); d != 0 {
		return d
	}
	return a.Figures.lost() - b.Figures.lost()
}

// Order puts the candidates in order. The rule has four steps: the candidate
// that fails fewer of [Checks] is before the other; of two that fail equally
// many the one that keeps more separation, at the worse end of the scale, in
// tenths and up to 80 %, is first; then the one that loses fewer gradients, in
// steps of 2 %; then the one with the smaller mean ΔE00. Where all else is
// equal and the mean differs from the first's by less than 0.1 they are as good
// as each other, and stay as given.
//
// Gradation is before the mean because compensation for a weak black raises
// ΔE00 in all the shadows and yet is what keeps them open, and because a clipped
// gradient is nearer on average than a compressed one and yet is what is seen.
// For the same reason leaving compensation out counts for nothing where it gains
// less than 0.5. Two ways of one paper and intent that print the same are one
// place, that with compensation, whose candidate says so ([Candidate.Either]).
func Order(places []Place) Verdict {
	v := Verdict{Rule: rule()}
	checks := Checks()
	places = oneOfEach(places)
	v.Order = append(v.Order, places...)
	for i := range v.Order {
		p := &v.Order[i]
		p.Failed, p.failed, p.AsGood = nil, nil, false
		for k, c := range checks {
			if ok, stand := c.met(p.Figures); !ok {
				p.Failed, p.failed = append(p.Failed, stand), append(p.failed, k)
			}
		}
	}
	favourCompensation(v.Order)
	sort.SliceStable(v.Order, func(i, j int) bool {
		a, b := &v.Order[i], &v.Order[j]
		if d := better(a, b); d != 0 {
			return d < 0
		}
		if a.mean != b.mean {
			return a.mean < b.mean
		}
		return a.Compensation && !b.Compensation && a.sameWay(b.Candidate)
	})
	if len(v.Order) == 0 {
		return v
	}
	best := v.Order[0]
	equals := 0
	for i := range v.Order {
		p := &v.Order[i]
		p.AsGood = better(&best, p) == 0 && p.mean-best.mean < alike
		if p.AsGood {
			equals++
		}
	}
	// Equals were sorted by a difference that means nothing: as given again.
	given := map[string]int{}
	for i, p := range places {
		given[p.ID] = i
	}
	sort.SliceStable(v.Order[:equals], func(i, j int) bool {
		a, b := &v.Order[i], &v.Order[j]
		if a.sameWay(b.Candidate) && a.Compensation != b.Compensation {
			return a.Compensation
		}
		return given[a.ID] < given[b.ID]
	})
	v.Reason = reason(v.Order, equals, len(checks))
	v.Why = why(v.Order, equals, len(checks))
	v.Against = against(v.Order)
	return v
}

// sameWay tells whether two candidates differ at most in compensation.
func (c Candidate) sameWay(d Candidate) bool { return c.Paper == d.Paper && c.Intent == d.Intent }

// oneOfEach leaves out the way without compensation where the one with it prints
// the same.
func oneOfEach(places []Place) []Place {
	var out []Place
	for _, p := range places {
		twin := false
		for _, q := range places {
			if p.sameWay(q.Candidate) && p.Compensation != q.Compensation && p.Figures.samePrint(q.Figures) {
				twin = true
			}
		}
		if twin && !p.Compensation {
			continue
		}
		p.Either = twin
		out = append(out, p)
	}
	return out
}

// samePrint tells whether all that is measured of two prints is the same.
func (f Figures) samePrint(g Figures) bool {
	return math.Abs(f.Mean-g.Mean) < samePrint && math.Abs(f.P95-g.P95) < 10*samePrint && math.Abs(f.Max-g.Max) < 10*samePrint &&
		f.Shadows == g.Shadows && f.Highlights == g.Highlights && math.Abs(f.Smoothness.Lost()-g.Smoothness.Lost()) < samePrint
}

// favourCompensation sets what stands for the mean of each place: its own, but for
// a way with compensation that of the one without where that gains only a few
// tenths.
func favourCompensation(places []Place) {
	for i := range places {
		p := &places[i]
		p.mean = p.Figures.Mean
		for k := range places {
			q := &places[k]
			if gain := p.Figures.Mean - q.Figures.Mean; p.Compensation && !q.Compensation && p.sameWay(q.Candidate) && gain > 0 && gain < fewTenths {
				p.mean = q.Figures.Mean
			}
		}
	}
}

// missing returns how p fails a check that best passes.
func missing(best, p Place) string {
	for i, k := range p.failed {
		if !slices.Contains(best.failed, k) {
			return p.Failed[i]
		}
	}
	return p.Failed[0] // not reached: p fails more checks than best
}

// Margins from which another candidate's better figure is told.
const (
	tellSeparation = 0.1
	tellSmooth     = 0.02
	tellOut        = 0.02
	tellTurn       = 2.0
	tellP95        = 1.0
	tellRange      = 5.0
)

// against lists what the first fails, then where another is clearly better.
func against(order []Place) []string {
	best := order[0]
	out := append([]string(nil), best.Failed...)
	for _, r := range []struct {
		value  func(Figures) float64 // smaller is better
		margin float64
		tell   func(best, other Place) string
	}{
		{func(f Figures) float64 {
			if f.SkinShare < skinPresent {
				return 0
			}
			return f.SkinOff
		}, tellTurn, betterSkin},
		{func(f Figures) float64 { _, d := f.PinOff(); return d }, tellTurn, betterPins},
		{func(f Figures) float64 { return -f.Shadows.Share() }, tellSeparation, betterShadows},
		{func(f Figures) float64 { return -f.Highlights.Share() }, tellSeparation, betterHighlights},
		{func(f Figures) float64 { return f.Smoothness.Lost() }, tellSmooth, betterSmooth},
		{func(f Figures) float64 { return f.Out }, tellOut, betterOut},
		{func(f Figures) float64 { return f.P95 }, tellP95, betterP95},
		{func(f Figures) float64 { return -f.Range }, tellRange, betterRange},
	} {
		at, least := -1, r.value(best.Figures)-r.margin
		for i, p := range order[1:] {
			if v := r.value(p.Figures); v <= least && !math.IsNaN(v) {
				if at < 0 || v < r.value(order[at].Figures) {
					at = i + 1
				}
			}
		}
		if at > 0 {
			out = append(out, r.tell(best, order[at]))
		}
	}
	return out
}
