package rank

import (
	"fmt"
	"math"
)

// All English of the package is in this file.

const (
	shadowWord    = "shadow"
	highlightWord = "highlight"
)

var (
	checkSkin      = fmt.Sprintf("skin-like colours, if there are 1 %% or more, turn by %g degrees of hue or less on average", maxSkinOff)
	checkPins      = fmt.Sprintf("no pin turns by more than %g degrees of hue", maxPinOff)
	checkHalf      = fmt.Sprintf("at least half of the steps below L* %g stay distinguishable", ShadowTo)
	checkShadow    = fmt.Sprintf("at least %g %% of the steps below L* %g stay distinguishable", 100*minShadow, ShadowTo)
	checkHighlight = fmt.Sprintf("at least %g %% of the steps above L* %g stay distinguishable", 100*minHighlight, HighlightsIn)
	checkSmooth    = fmt.Sprintf("at most %g %% of the gradients are flattened or broken", 100*maxRough)
	checkOut       = fmt.Sprintf("at most %g %% of the picture is out of reach by more than %g ΔE00", 100*maxOut, OutOfReach)
	checkP95       = fmt.Sprintf("95 %% of the picture prints within %g ΔE00", maxP95)
)

func rule() []string {
	lines := []string{"Fewer failed checks come first:"}
	for _, c := range Checks() {
		lines = append(lines, c.Tell)
	}
	return append(lines,
		fmt.Sprintf("Of two that fail equally many, the one that keeps more steps at the worse end of the scale comes first, in tenths and up to %g %%; then the one that loses fewer gradients, in steps of %g %%; then the smaller mean ΔE00.", 100*minShadow, 100*gradation),
		fmt.Sprintf("Leaving compensation out counts for nothing where it gains less than %g ΔE00 on average.", fewTenths),
		fmt.Sprintf("Within %g ΔE00 of the first they are as good as each other.", alike))
}

// Name tells a candidate in words: "pearl, relative colorimetric, compensation
// on".
func (c Candidate) Name() string {
	s := c.Paper + ", " + c.Intent
	if c.Either {
		return s + ", compensation on or off alike"
	}
	if c.Compensation {
		return s + ", compensation on"
	}
	return s + ", compensation off"
}

func percent(share float64) string {
	p := 100 * share
	switch {
	case p == 0:
		return "0 %"
	case p < 0.1:
		return "less than 0.1 %"
	case p < 10:
		return fmt.Sprintf("%.1f %%", p)
	}
	return fmt.Sprintf("%.0f %%", p)
}

func standSkin(f Figures) string {
	return fmt.Sprintf("skin-like colours turn by %.1f degrees on average", f.SkinOff)
}

func standPins(f Figures) string {
	name, off := f.PinOff()
	return fmt.Sprintf("the pin %s turns by %.0f degrees", name, off)
}

func standSeparation(s Separation, end string) string {
	return fmt.Sprintf("%d of %d %s steps stay distinguishable", s.Kept, s.Steps, end)
}

func standHalf(s Separation) string {
	return fmt.Sprintf("fewer than half of the %d shadow steps stay distinguishable", s.Steps)
}

func standSmooth(f Figures) string {
	return fmt.Sprintf("%s of the gradients are flattened, %s broken",
		percent(float64(f.Smoothness.Flattened)/math.Max(1, float64(f.Smoothness.Pairs))),
		percent(float64(f.Smoothness.Broken)/math.Max(1, float64(f.Smoothness.Pairs))))
}

func standOut(f Figures) string { return percent(f.Out) + " of the picture is out of reach" }

func standP95(f Figures) string {
	return fmt.Sprintf("5 %% of the picture is off by %.1f ΔE00 or more", f.P95)
}

func why(order []Place, equals, checks int) []string {
	best := order[0]
	out := []string{fmt.Sprintf("%s passes %d of %d checks", best.Name(), checks-len(best.Failed), checks)}
	out = append(out, fmt.Sprintf("its mean difference is %.1f ΔE00, 95 %% are within %.1f", best.Figures.Mean, best.Figures.P95))
	for i := 1; i < equals; i++ {
		out = append(out, fmt.Sprintf("%s is as good by these figures: choose by surface and handling", order[i].Name()))
	}
	if equals < len(order) {
		next := order[equals]
		switch {
		case len(next.Failed) > len(best.Failed):
			out = append(out, fmt.Sprintf("the next, %s, passes %d: %s", next.Name(), checks-len(next.Failed), missing(best, next)))
		case next.Figures.tones() == best.Figures.tones() && next.Figures.lost() != best.Figures.lost():
			out = append(out, fmt.Sprintf("the next, %s, passes as many, but loses more of the gradients: %s against %s", next.Name(),
				percent(next.Figures.Smoothness.Lost()), percent(best.Figures.Smoothness.Lost())))
		case next.Figures.tones() != best.Figures.tones():
			out = append(out, fmt.Sprintf("the next, %s, passes as many, but keeps fewer steps of tone at the ends: %s, %s", next.Name(),
				standSeparation(next.Figures.Shadows, shadowWord), standSeparation(next.Figures.Highlights, highlightWord)))
		default:
			out = append(out, fmt.Sprintf("the next, %s, passes as many, but its mean difference is %.1f ΔE00", next.Name(), next.Figures.Mean))
		}
	}
	return out
}

// reason says in one sentence why the first is before those that are not as good.
func reason(order []Place, equals, checks int) string {
	best := order[0]
	if equals == len(order) {
		if len(order) == 1 {
			return best.Name() + " is the only way looked at."
		}
		return fmt.Sprintf("%s is as good as the others by every figure, so choose by surface and handling.", best.Name())
	}
	next := order[equals]
	switch passed := checks - len(best.Failed); {
	case len(next.Failed) > len(best.Failed):
		return fmt.Sprintf("%s comes first because it passes %d of %d checks, the next, %s, %d.", best.Name(), passed, checks, next.Name(), checks-len(next.Failed))
	case next.Figures.tones() != best.Figures.tones():
		return fmt.Sprintf("%s comes first because it keeps more steps of tone in shadows and highlights than %s, with as many checks passed.", best.Name(), next.Name())
	case next.Figures.lost() != best.Figures.lost():
		return fmt.Sprintf("%s comes first because it loses %s of the gradients, %s %s, with as many checks passed.", best.Name(),
			percent(best.Figures.Smoothness.Lost()), next.Name(), percent(next.Figures.Smoothness.Lost()))
	case next.Figures.Mean <= best.Figures.Mean:
		return fmt.Sprintf("%s comes first because compensation is the safer choice, and %s is nearer by only %.1f ΔE00 on average.", best.Name(), next.Name(), best.Figures.Mean-next.Figures.Mean)
	}
	return fmt.Sprintf("%s comes first because it is nearer on average, by %.1f ΔE00 against %.1f for %s, with as many checks passed.", best.Name(),
		best.Figures.Mean, next.Figures.Mean, next.Name())
}

func clearly(other Place, what, his, mine string) string {
	return fmt.Sprintf("%s %s: %s against %s", other.Name(), what, his, mine)
}

func betterSkin(b, o Place) string {
	return clearly(o, "holds the hue of skin better", fmt.Sprintf("%.1f degrees", o.Figures.SkinOff), fmt.Sprintf("%.1f", b.Figures.SkinOff))
}

func betterPins(b, o Place) string {
	_, his := o.Figures.PinOff()
	name, mine := b.Figures.PinOff()
	return clearly(o, "holds the hue of the pins better", fmt.Sprintf("at most %.0f degrees", his), fmt.Sprintf("%.0f for %s", mine, name))
}

func betterShadows(b, o Place) string {
	return clearly(o, "keeps more shadow separation", percent(o.Figures.Shadows.Share()), percent(b.Figures.Shadows.Share()))
}

func betterHighlights(b, o Place) string {
	return clearly(o, "keeps more highlight separation", percent(o.Figures.Highlights.Share()), percent(b.Figures.Highlights.Share()))
}

func betterSmooth(b, o Place) string {
	return clearly(o, "loses less smoothness", percent(o.Figures.Smoothness.Lost()), percent(b.Figures.Smoothness.Lost()))
}

func betterOut(b, o Place) string {
	return clearly(o, "reaches more of the picture", percent(o.Figures.Out)+" out of reach", percent(b.Figures.Out))
}

func betterP95(b, o Place) string {
	return clearly(o, "has a smaller 95th percentile", fmt.Sprintf("%.1f ΔE00", o.Figures.P95), fmt.Sprintf("%.1f", b.Figures.P95))
}

func betterRange(b, o Place) string {
	return clearly(o, "has more contrast", fmt.Sprintf("%.0f L* from black to white", o.Figures.Range), fmt.Sprintf("%.0f", b.Figures.Range))
}

func togetherRule() []string {
	return []string{
		"Each picture is measured in every way and stands on each paper in the best of its own; then papers are compared over all pictures:",
		"the paper on which fewer checks fail in all comes first",
		"of two that fail equally many, the one that keeps more steps at the worse end of the scale",
		"then the one that loses fewer gradients",
		fmt.Sprintf("then the one with the smaller mean ΔE00; within %g they are as good as each other", alike),
	}
}

// passes tells how a picture stands on a paper.
func (s Served) passes() string {
	if s.Way == nil {
		return "can't be printed"
	}
	n := len(Checks())
	if s.failed() == 0 {
		return fmt.Sprintf("passes all %d checks", n)
	}
	return fmt.Sprintf("passes %d of %d checks", n-s.failed(), n)
}

// stand tells by how much one paper serves a picture better than another.
func stand(better, worse Served) (good, bad string) {
	switch {
	case better.failed() != worse.failed() || worse.Way == nil:
		bad = worse.passes()
		if worse.Way != nil {
			if at := missing(*better.Way, *worse.Way); at != "" {
				bad += ": " + at
			}
		}
		return better.passes(), bad
	case better.tones() != worse.tones():
		b, w := better.Way.Figures, worse.Way.Figures
		tell := func(f Figures) string {
			return standSeparation(f.Shadows, shadowWord) + ", " + standSeparation(f.Highlights, highlightWord)
		}
		return tell(b), tell(w)
	case better.lost() == worse.lost():
		tell := func(f Figures) string { return fmt.Sprintf("is off by %.1f ΔE00 on average", f.Mean) }
		return tell(better.Way.Figures), tell(worse.Way.Figures)
	}
	tell := func(f Figures) string { return "loses " + percent(f.Smoothness.Lost()) + " of its gradients" }
	return tell(better.Way.Figures), tell(worse.Way.Figures)
}

func togetherFor(s Served, next PaperPlace, other Served) string {
	good, bad := stand(s, other)
	return fmt.Sprintf("%s %s; on %s it %s", s.Picture, good, next.Name, bad)
}

func togetherAgainst(s Served, other PaperPlace, there Served) string {
	good, bad := stand(there, s)
	return fmt.Sprintf("%s %s; on %s it %s", s.Picture, bad, other.Name, good)
}

func togetherReason(order []PaperPlace, equals int) string {
	best := order[0]
	n := len(best.Pictures)
	checks := n * len(Checks())
	if len(order) == 1 {
		return best.Name + " is the only paper looked at."
	}
	if equals == len(order) {
		return fmt.Sprintf("%s is as good as the others for these %d pictures, so choose by surface and handling.", best.Name, n)
	}
	next := order[equals]
	switch {
	case best.Failed != next.Failed:
		return fmt.Sprintf("%s serves these %d pictures best: %d of %d checks pass in all, on the next, %s, %d.", best.Name, n, checks-best.Failed, checks, next.Name, checks-next.Failed)
	case best.tones != next.tones:
		return fmt.Sprintf("%s serves these %d pictures best: it keeps more steps of tone in shadows and highlights than %s, with as many checks passed.", best.Name, n, next.Name)
	case best.lost != next.lost:
		return fmt.Sprintf("%s serves these %d pictures best: it loses fewer gradients than %s, with as many checks passed.", best.Name, n, next.Name)
	}
	return fmt.Sprintf("%s serves these %d pictures best: it is nearer on average, by %.1f ΔE00 against %.1f on %s, with as many checks passed.", best.Name, n, best.Mean, next.Mean, next.Name)
}
