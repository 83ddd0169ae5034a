package rank

import (
	"context"

	"firstsheet/proof"
	"firstsheet/proof/pin"
)

// Question is what a ranking is asked: which ways to print one picture, each paper with
// each intent, with and without compensation.
type Question struct {
	// Picture is the picture at full size. Who asks about one several times hands over
	// the same: what it costs to look at it is spent once.
	Picture *proof.Picture
	Pins    []pin.Pin

	Papers       []Paper
	Intents      []proof.Intent
	Compensation []bool
	// Plan returns the plan of a way.
	Plan func(Way) (proof.Plan, error)
}

// Step is how far an answer has come: the way that is measured next, and how many of
// all are done.
type Step struct {
	Done, All int
	Next      Way
}

// Answer measures the picture and then every way over it, and puts the ways in order.
// left says in words which pairs were left out, as [Ways] does. progress may be nil; it
// is told each step from any goroutine, one at a time; Plan is called from any.
//
// It returns ctx.Err() when it was stopped and ErrEmpty for a picture without a visible
// pixel. A way that can't be printed is refused in the outcome and stops no other.
func (q Question) Answer(ctx context.Context, e Engine, progress func(Step)) (out Outcome, left []string, err error) {
	picture, err := Gather(ctx, q.Picture, q.Pins)
	if err != nil {
		return Outcome{}, nil, err
	}
	ways, left := Ways(q.Papers, q.Intents, q.Compensation)
	out, err = Compute(ctx, e, picture, ways, q.Plan, func(done int, next Way) {
		if progress != nil {
			progress(Step{done, len(ways), next})
		}
	})
	return out, left, err
}
