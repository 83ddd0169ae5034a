package chart

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
)

// endsAfter is a context that ends by itself after it has been looked at n times.
type endsAfter struct {
	context.Context
	left atomic.Int64
}

func (c *endsAfter) Err() error {
	if c.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// What takes seconds stops within.
func TestLongWorkStops(t *testing.T) {
	ctx := &endsAfter{Context: context.Background()}
	ctx.left.Store(5)
	if target, err := NewTarget(ctx, TargetOptions{Patches: 400}); !errors.Is(err, context.Canceled) || target != nil {
		t.Errorf("a chart was designed: %v", err)
	}
	if ctx.left.Load() < -5 {
		t.Errorf("it went on for %d looks", -ctx.left.Load())
	}
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	ps := patchPoints(measured(t, 1500, pearlInk.rgb, 0.3).Patches)
	if _, err := solveUntil(ended, ps, kernel{3, 1e-3, 3}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("a factorisation was waited for: %v", err)
	}
}
