package lesson

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"firstsheet/proof"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/words"
)

// mistakes makes a step of every slip that can be made here, the one that turns the
// leading pin most first, and a sentence on each that can't.
func (k *maker) mistakes(ctx context.Context, tell func(float64)) (made []Step, cannot []string, err error) {
	slips := slip.All()
	for i, s := range slips {
		step, err := k.mistake(ctx, s)
		switch {
		case ctx.Err() != nil:
			return nil, nil, ctx.Err()
		case err != nil:
			cannot = append(cannot, words.Stop(words.Capital(s.Name)+": "+reason(err)))
		default:
			made = append(made, step)
		}
		tell(float64(i+1) / float64(len(slips)))
	}
	order(made)
	for i := range made {
		made[i].Place = fmt.Sprintf("mistake %d of %d; the one that turns %s most comes first", i+1, len(made), k.what())
	}
	return made, cannot, nil
}

// reason is why a mistake can't be made: it does not fit the plan, or a profile that it
// would need can't be used.
func reason(err error) string {
	if no, ok := errors.AsType[*proof.PlanError](err); ok {
		return no.Reason
	}
	return err.Error()
}

// mistake makes the step of one mistake. Where it can be made in several ways, the
// one that takes the pins farthest is shown.
func (k *maker) mistake(ctx context.Context, s slip.Slip) (Step, error) {
	var best Step
	var no error // why the first way can't be
	far, possible := -1.0, 0
	for _, set := range k.choices.Ways(k.Right, s) {
		step, err := k.tried(ctx, s, set)
		if ctx.Err() != nil {
			return best, ctx.Err()
		}
		if err != nil {
			if no == nil {
				no = err
			}
			continue
		}
		possible++
		k.tries = append(k.tries, step)
		if d := step.apart(); d > far {
			far, best = d, step
		}
	}
	if possible == 0 {
		return best, no
	}
	if possible > 1 {
		best.Chosen += fmt.Sprintf(", of %d possible ones the one that takes the pins farthest", possible)
	}
	lead := best.Rows[0]
	best.Lead = append(best.Lead, words.Stop(lead.Change.Because(lead.Pin, best.Reason)))
	return best, nil
}

// tried makes a step of one way to make a mistake.
func (k *maker) tried(ctx context.Context, s slip.Slip, set setup.Setup) (Step, error) {
	plan, err := set.Plan(k.Find)
	if err == nil {
		err = s.Shows(plan)
	}
	if err != nil {
		return Step{}, err
	}
	wrong, err := k.read(ctx, plan)
	if err != nil {
		return Step{}, err
	}
	step := Step{Kind: Mistake, ID: s.ID, Name: s.Name, Title: words.Capital(s.Name), Setup: set, Plan: plan, Route: plan.Route(), At: -1,
		Dim: luminance(plan), OnScreen: s.OnScreen, Reason: slip.Reason(plan), Recognise: s.Recognise, Prevent: s.Prevent, Notes: plan.Notes()}
	if how := set.How(s, k.Find); how != "" {
		step.Chosen = "here " + how
	}
	for i := range wrong {
		step.Rows = append(step.Rows, Row{Pin: k.Pins[i].Name, Right: k.right[i], Wrong: wrong[i],
			Change: words.Compare(k.right[i].Seen, wrong[i].Seen)})
	}
	return step, nil
}

// apart is the mean ΔE00 of the pins.
func (s Step) apart() float64 {
	var sum float64
	for _, r := range s.Rows {
		sum += r.Change.DeltaE00 / float64(len(s.Rows))
	}
	return sum
}

// order puts the mistake that turns the leading pin most first; where it has no hue to
// turn, the difference decides.
func order(steps []Step) {
	slices.SortStableFunc(steps, func(a, b Step) int {
		x, y := a.Rows[0].Change, b.Rows[0].Change
		by := math.Abs(y.Turn) - math.Abs(x.Turn)
		if math.Abs(by) < 0.5 {
			by = y.DeltaE00 - x.DeltaE00
		}
		switch {
		case by < 0:
			return -1
		case by > 0:
			return 1
		}
		return 0
	})
}
