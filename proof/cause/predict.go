package cause

import (
	"context"
	"fmt"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
)

// predictor runs numbers through the exact chain of each plan once.
type predictor struct {
	engine Engine
	// numbers are all that is asked about, channels each.
	numbers  []float64
	channels int
}

// ask adds the numbers of spots and returns which values will be theirs, spot by
// spot.
func (p *predictor) ask(spots []Spot) ([]span, error) {
	var spans []span
	for _, s := range spots {
		if len(s.Numbers) == 0 || len(s.Numbers)%p.channels != 0 {
			return nil, evidenceError("%s has %d numbers, and a colour of this original has %d", named(s.Name), len(s.Numbers), p.channels)
		}
		from := len(p.numbers) / p.channels
		p.numbers = append(p.numbers, s.Numbers...)
		spans = append(spans, span{from, len(p.numbers) / p.channels})
	}
	return spans, nil
}

func named(spot string) string {
	if spot == "" {
		return "a pin without a name"
	}
	return fmt.Sprintf("pin %q", spot)
}

// span is a run of values, from lo up to but not including hi.
type span struct{ lo, hi int }

// run returns what each hypothesis prints, those with equal plans sharing theirs.
func (p *predictor) run(ctx context.Context, all []*hypothesis, progress func(float64)) ([][]cie.Lab, error) {
	plans := map[string]int{}
	var todo []proof.Plan
	which := make([]int, len(all))
	for i, h := range all {
		key := h.plan.Key()
		n, ok := plans[key]
		if !ok {
			n = len(todo)
			plans[key] = n
			todo = append(todo, h.plan)
		}
		which[i] = n
	}
	results, err := p.engine.Prints(ctx, todo, p.numbers, progress)
	if err != nil {
		return nil, err
	}
	out := make([][]cie.Lab, len(all))
	for i := range all {
		out[i] = results[which[i]]
	}
	return out, nil
}

// colours returns the look of each span under a hypothesis.
func (h *hypothesis) colours(values []cie.Lab, spans []span, seen bool) []cie.Lab {
	out := make([]cie.Lab, len(spans))
	var some []cie.Lab
	for i, s := range spans {
		if s.hi-s.lo == 1 {
			out[i] = h.look(values[s.lo], seen)
			continue
		}
		some = some[:0]
		for _, v := range values[s.lo:s.hi] {
			some = append(some, h.look(v, seen))
		}
		r, _ := pin.Average(some) // a span is never empty
		out[i] = r.Lab
	}
	return out
}

// look returns a printed colour under a hypothesis: as measured, or as an eye sees it.
func (h *hypothesis) look(c cie.Lab, seen bool) cie.Lab {
	if seen && h.plan.Dim != 0 {
		return c.ToXYZ(cie.D50).Scale(h.plan.Dim).ToLab(cie.D50)
	}
	return c
}
