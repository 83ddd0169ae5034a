package rank

import (
	"context"
	"errors"
	"testing"

	"firstsheet/proof"
)

// Two papers by two intents by compensation make seven ways, of which one paper can't be
// printed on; each is told before it is measured.
func TestQuestion(t *testing.T) {
	e, coated := engine(t), profile(t, "FOGRA39L_coated.icc")
	reason := errors.New("no such paper")
	q := Question{
		Picture:      proof.NewPicture(patches(20, 20, [3]uint8{200, 30, 40}, [3]uint8{120, 120, 120}), nil),
		Papers:       []Paper{{ID: "a", Name: "coated"}, {ID: "b", Name: "lost", Forced: func(i proof.Intent) bool { return i == proof.Perceptual }}},
		Intents:      []proof.Intent{proof.Perceptual, proof.RelativeColorimetric},
		Compensation: []bool{true, false},
		Plan: func(w Way) (proof.Plan, error) {
			if w.Paper == "b" {
				return proof.Plan{}, reason
			}
			return proof.Plan{Source: srgb, Paper: coated, Screen: srgb,
				Conversions: []proof.Conversion{{From: srgb, To: coated, Intent: w.Intent, BPC: w.Compensation}}}, nil
		},
	}
	var steps []Step
	out, left, err := q.Answer(context.Background(), e, func(s Step) { steps = append(steps, s) })
	if err != nil {
		t.Fatal(err)
	}
	if len(out.Verdict.Order) != 4 || len(out.Refused) != 3 || !errors.Is(out.Refused[0].Err, reason) {
		t.Errorf("%d in order, %d refused, want 4 and 3", len(out.Verdict.Order), len(out.Refused))
	}
	if len(left) != 1 {
		t.Errorf("left out: %q, want the pair that version 4 forces", left)
	}
	told := map[string]bool{}
	for i, s := range steps { // two papers at a time: one or two ways are under way
		told[s.Next.Key()] = true
		if s.All != 7 || s.Done != i && s.Done != i-1 {
			t.Errorf("step %d is %+v", i, s)
		}
	}
	if len(told) != 7 {
		t.Errorf("steps %+v", steps)
	}
	q.Picture = proof.NewPicture(q.Picture.Pixels(), make([]uint8, 400))
	if _, _, err := q.Answer(context.Background(), e, nil); !errors.Is(err, ErrEmpty) {
		t.Errorf("nothing to see: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := q.Answer(ctx, e, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}
