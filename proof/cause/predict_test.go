package cause

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"

	"firstsheet/proof"
)

// What is shared between hypotheses changes no digit: each prints what its own chain does.
func TestPrintsAreTheChains(t *testing.T) {
	engine := proof.NewEngine()
	defer engine.Close()
	all, err := demoCase(t, "pearl").hypotheses()
	if err != nil {
		t.Fatal(err)
	}
	var plans []proof.Plan
	var src []float64
	for _, h := range all {
		plans = append(plans, h.plan)
	}
	for _, n := range twelve() {
		for _, v := range n {
			src = append(src, v/255)
		}
	}
	var mu sync.Mutex
	var told []float64
	prints, err := engine.Prints(context.Background(), plans, src, func(done float64) {
		mu.Lock()
		defer mu.Unlock()
		told = append(told, done)
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range plans {
		if i%7 != 0 && all[i].mishap == nil {
			continue // one in seven is enough of a sample
		}
		chain, err := engine.Chain(p)
		if err != nil {
			t.Fatal(err)
		}
		values := make([]proof.Value, len(src)/3)
		if err := chain.Values(values, src); err != nil {
			t.Fatal(err)
		}
		chain.Close()
		for k, v := range values {
			if v.Relative != prints[i][k] {
				t.Fatalf("%s, colour %d: %v, its chain says %v", idOf(all[i]), k, prints[i][k], v.Relative)
			}
		}
	}
	if len(told) != len(plans) || slices.Max(told) != 1 {
		t.Errorf("%d plans, told %d times, %g at most", len(plans), len(told), slices.Max(told))
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := engine.Prints(ctx, plans, src, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	if _, err := engine.Prints(context.Background(), plans, src[:4], nil); !errors.Is(err, proof.ErrPlan) {
		t.Errorf("numbers of no whole colours: %v", err)
	}
}
