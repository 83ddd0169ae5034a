package session

import "testing"

// Cells are set so that the picture shows largest, the legends counted.
func TestColumns(t *testing.T) {
	flat := func(float64) float64 { return 50 }
	high := func(w float64) float64 {
		if w < 300 {
			return 120
		}
		return 90
	}
	for _, c := range []struct {
		n            int
		w, h, aspect float64
		legend       func(float64) float64
		want         int
	}{
		{1, 1000, 500, 1.5, flat, 1},
		{2, 1000, 500, 1.5, flat, 2},
		{2, 500, 1000, 1.5, flat, 1},
		{4, 1576, 760, 1.5, flat, 2},
		{4, 1000, 460, 1.5, high, 4}, // two rows of legends leave no height for pictures
		{4, 1000, 460, 0.67, high, 4},
		{3, 1000, 900, 2, flat, 2},
	} {
		if got := Columns(c.n, c.w, c.h, c.aspect, 16, c.legend); got != c.want {
			t.Errorf("%d pictures of %g on %g by %g in %d columns, want %d", c.n, c.aspect, c.w, c.h, got, c.want)
		}
	}
}
