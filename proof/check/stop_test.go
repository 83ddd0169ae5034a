package check

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"

	"firstsheet/proof/space"
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

// Drawing looks between rows: it stops within a part, and no half drawn sheet comes out.
func TestDrawingStops(t *testing.T) {
	s, err := New(Options{Page: "a4", PPI: 300, Depth: 8, Space: space.SRGB()})
	if err != nil {
		t.Fatal(err)
	}
	ctx := &endsAfter{Context: context.Background()}
	ctx.left.Store(100)
	if p, err := s.Draw(ctx); !errors.Is(err, context.Canceled) || p != nil {
		t.Errorf("%v", err)
	}
}
