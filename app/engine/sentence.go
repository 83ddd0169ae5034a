package engine

import (
	"context"
	"fmt"
	"math"
	"strings"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/mishap"
	"firstsheet/proof/pin"
	"firstsheet/proof/rank"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/words"
)

// correct is what a slip's doing is compared with.
const correct = "compared with the correct proof"

// Sentence implements session.Engine.
func (e *Engine) Sentence(ctx context.Context, pic *session.Picture, set setup.Setup, pins []pin.Pin, values []session.PinValue, chosen int, fig *proof.Figures) (session.Told, error) {
	nothing := session.Told{Pin: -1}
	if set.Paper == "" {
		return nothing, nil
	}
	plan, err := e.Plan(pic, set)
	if err != nil {
		return nothing, err
	}
	if chosen >= len(values) || chosen >= 0 && !values[chosen].Known {
		chosen = -1
	}
	if set.Wrong() {
		return e.slipSentence(ctx, pic, set, plan, pins, values, chosen)
	}
	if chosen < 0 {
		chosen = lead(values, func(v session.PinValue) float64 { return v.DeltaE00 })
	}
	name := plan.Paper.Name()
	if chosen >= 0 {
		c := words.Compare(values[chosen].Original, values[chosen].Counted)
		return session.Say(c.OnSheet(name, pins[chosen].Name), chosen), nil
	}
	if fig == nil {
		return nothing, nil
	}
	return session.Say(fmt.Sprintf("on %s, %s of this picture is out of reach and %s is darker than the paper’s black",
		name, words.Share(fig.Outside(2)), words.Share(fig.Darker)), -1), nil
}

// lead returns the pin that a sheet's sentence speaks of: the first one, which is
// put where it matters most, unless it hardly changes; then the one that changes
// most. -1 where nothing is known.
func lead(values []session.PinValue, change func(session.PinValue) float64) int {
	chosen, most := -1, 0.0
	for i, v := range values {
		if !v.Known {
			continue
		}
		d := change(v)
		if i == 0 && d >= 1 {
			return 0
		}
		if d > most {
			most, chosen = d, i
		}
	}
	return chosen
}

// slipSentence names the slips and tells what they do themselves: they are compared
// with the proof as it should be, for what the paper can't reach is none of their making.
// It speaks of the chosen pin, else of what changes most: a pin, the shadows, the whole.
func (e *Engine) slipSentence(ctx context.Context, pic *session.Picture, set setup.Setup, plan proof.Plan,
	pins []pin.Pin, values []session.PinValue, chosen int) (session.Told, error) {
	named := slipName(set) + ": "
	right, err := e.Plan(pic, set.Right())
	if err != nil {
		return session.Told{Pin: -1}, err
	}
	onPaper := plan
	onPaper.Dim = right.Dim
	if onPaper.Key() == right.Key() {
		return session.Say(named+onScreen(plan, pins, values, chosen), chosen), nil
	}
	reason := slip.Reason(onPaper)
	if reason == "" {
		return session.SayWhy(named+"it changes nothing here", ": ", idle(set, plan), -1), nil
	}
	if chosen >= 0 {
		return ofPin(named, values[chosen], pins[chosen].Name, reason, chosen), nil
	}
	effect, err := e.effect(ctx, pic, plan, right)
	if err != nil {
		return session.Told{Pin: -1}, err
	}
	n := lead(values, func(v session.PinValue) float64 { return own(v).DeltaE00 })
	most := 0.0 // ΔE00 of the leading pin
	if n >= 0 {
		most = own(values[n]).DeltaE00
	}
	switch {
	case effect.black[1]-effect.black[0] >= blockedShare && most < blockedUpTo:
		return session.Say(fmt.Sprintf("%sshadows block up: %s of the picture prints as one black, on the correct proof %s",
			named, words.Share(effect.black[1]), words.Share(effect.black[0])), -1), nil
	case effect.lost() >= 2 && float64(effect.lost()) > most:
		return session.Say(fmt.Sprintf("%sshadows run together: of %d steps of tone below L* %g that the correct proof keeps apart, %d are left",
			named, effect.right.Kept, float64(rank.ShadowTo), effect.wrong.Kept), -1), nil
	case n >= 0 && !own(values[n]).Same():
		return ofPin(named, values[n], pins[n].Name, reason, n), nil
	case effect.mean >= 1:
		return session.SayWhy(fmt.Sprintf("%sthe whole picture changes by %s on average, %s",
			named, words.DeltaE00(effect.mean), correct), ", because ", reason, -1), nil
	}
	return session.SayWhy(named+"nothing in this picture shows it by as much as ΔE00 1", ", though ", reason, -1), nil
}

// own is what a slip itself does to a pin.
func own(v session.PinValue) words.Change { return words.Compare(v.Right, v.Counted) }

// ofPin tells what the named slips do to pin n and why.
func ofPin(named string, v session.PinValue, name, reason string, n int) session.Told {
	c := own(v)
	told := c.Of(name)
	if strings.HasPrefix(told, "This ") || strings.HasPrefix(told, "These ") {
		told = "t" + told[1:]
	}
	if c.Same() {
		return session.SayWhy(named+told, ": ", reason, n)
	}
	return session.SayWhy(named+correct+", "+told, ", because ", reason, n)
}

// slipName names what has gone wrong in a set-up.
func slipName(set setup.Setup) string {
	var names []string
	if set.Mishap != "" {
		names = append(names, mishap.Name(set.Mishap))
	}
	for _, id := range set.SlipIDs() {
		if s, ok := slip.ByID(id); ok {
			names = append(names, s.Name)
		}
	}
	return words.Capital(words.List(names))
}

// idle says why slips leave the route as it should be.
func idle(set setup.Setup, plan proof.Plan) string {
	for _, id := range set.SlipIDs() {
		if s, ok := slip.ByID(id); ok {
			if no, is := s.Shows(plan).(*proof.PlanError); is {
				return no.Reason
			}
		}
	}
	return "the route is as it should be"
}

// onScreen tells of slips that lie in how the print is looked at: of a pin as it is seen
// beside the screen, or of all. The print itself is as it should be.
func onScreen(plan proof.Plan, pins []pin.Pin, values []session.PinValue, chosen int) string {
	share := words.Share(plan.Dim)
	if plan.Dim == 0 || plan.Dim == 1 {
		return "the print has the luminance that it should have beside this screen"
	}
	what := "the print"
	change := words.Compare(cie.Lab{L: 100}, dimmed(cie.Lab{L: 100}, plan.Dim))
	if chosen >= 0 {
		what = words.The(pins[chosen].Name)
		change = words.Compare(values[chosen].Relative, dimmed(values[chosen].Relative, plan.Dim))
	}
	return fmt.Sprintf("beside it %s seems %s, with %s of the luminance it should have; the print itself is as it should be", what, change.Sentence(), share)
}

func dimmed(c cie.Lab, by float64) cie.Lab { return c.ToXYZ(cie.D50).Scale(by).ToLab(cie.D50) }

// Blocked shadows are spoken of where so much more of the picture has become one black,
// unless a pin changes by more than blockedUpTo ΔE00. Own choice.
const (
	blockedShare = 0.02
	blockedUpTo  = 4
	oneBlack     = 0.5 // L* above the darkest print that still is its black
)

// effect is what a slip does to the whole picture.
type effect struct {
	black        [2]float64      // share that prints as the deepest black: right and wrong
	mean         float64         // ΔE00 between the correct proof and the wrong one
	right, wrong rank.Separation // steps of tone that stay apart in the shadows
}

func (e effect) lost() int { return e.right.Kept - e.wrong.Kept }

// effectSide is the least longer side of the picture that a slip's effect is told from.
const effectSide = 250

// effect runs a small picture through the exact chains of both plans.
func (e *Engine) effect(ctx context.Context, pic *session.Picture, wrong, right proof.Plan) (effect, error) {
	small := pic.Small(effectSide)
	var looks [2]colours
	for i, plan := range []proof.Plan{right, wrong} {
		var err error
		if looks[i], err = e.colours(ctx, small, plan); err != nil {
			return effect{}, err
		}
	}
	var out effect
	deepest := math.Inf(1)
	for _, look := range looks {
		for _, c := range look.relative {
			deepest = min(deepest, c.L)
		}
	}
	n := float64(small.W * small.H)
	for i, look := range looks {
		for _, c := range look.relative {
			if c.L < deepest+oneBlack {
				out.black[i] += 1 / n
			}
		}
	}
	for k, c := range looks[0].counted {
		out.mean += cie.DeltaE00(c, looks[1].counted[k]) / n
	}
	weights := make([]float64, small.W*small.H)
	for k := range weights {
		weights[k] = 1
	}
	tones := rank.NewTones(looks[0].original, weights, n)
	out.right, _ = tones.Separation(looks[0].relative)
	out.wrong, _ = tones.Separation(looks[1].relative)
	return out, nil
}

// colours are what a plan makes of a picture, pixel by pixel, see [proof.Value]. There is no
// pointer in them: whoever allocates while the collector is at work helps it to follow
// pointers, the drawing goroutine too.
type colours struct{ original, relative, counted []cie.Lab }

func (e *Engine) colours(ctx context.Context, px raster.Pixels, plan proof.Plan) (colours, error) {
	c, err := e.Chain(plan)
	if err != nil {
		return colours{}, err
	}
	defer c.Close()
	n := px.W * px.H
	out := colours{make([]cie.Lab, 0, n), make([]cie.Lab, 0, n), make([]cie.Lab, 0, n)}
	return out, c.Picture(ctx, px, func(_ int, row []proof.Value) {
		for _, v := range row {
			out.original = append(out.original, v.Original)
			out.relative = append(out.relative, v.Relative)
			out.counted = append(out.counted, v.Counted)
		}
	})
}
