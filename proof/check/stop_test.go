package check

import (
	"context"
	"errors"
	"testing"

	"firstsheet/proof/space"
	"firstsheet/proof/stoptest"
)

// Drawing looks between rows: it stops within a part, and no half drawn sheet comes out.
func TestDrawingStops(t *testing.T) {
	s, err := New(Options{Page: "a4", PPI: 300, Depth: 8, Space: space.SRGB()})
	if err != nil {
		t.Fatal(err)
	}
	ctx := stoptest.EndsAfter(context.Background(), 100)
	if p, err := s.Draw(ctx); !errors.Is(err, context.Canceled) || p != nil {
		t.Errorf("%v", err)
	}
}
