package chart

import (
	"context"
	"errors"
	"testing"

	"firstsheet/proof/stoptest"
)

// What takes seconds stops within.
func TestLongWorkStops(t *testing.T) {
	ctx := stoptest.EndsAfter(context.Background(), 5)
	if target, err := NewTarget(ctx, TargetOptions{Patches: 400}); !errors.Is(err, context.Canceled) || target != nil {
		t.Errorf("a chart was designed: %v", err)
	}
	if n := ctx.Beyond(); n > 5 {
		t.Errorf("it went on for %d looks", n)
	}
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	ps := patchPoints(measured(t, 1500, pearlInk.rgb, 0.3).Patches)
	if _, err := solveUntil(ended, ps, kernel{3, 1e-3, 3}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("a factorisation was waited for: %v", err)
	}
}
