package proof

import (
	"errors"
	"sync"
	"testing"

	"firstsheet/proof/lcms"
	"firstsheet/proof/space"
)

func original(t *testing.T, e *Engine) *Chain {
	t.Helper()
	c, err := e.Chain(Plan{Source: SpaceProfile(space.SRGB()), Screen: SpaceProfile(space.SRGB())})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Whoever closes twice takes nothing from the others who have the same plan's chain.
func TestClosingTwiceHurtsNobody(t *testing.T) {
	before := lcms.Live()
	e := NewEngine()
	careless, careful := original(t, e), original(t, e)
	for range 3 {
		careless.Close()
	}
	e.Close()
	if got := careful.Value([]float64{1, 1, 1}).Original.L; got < 99.99 || got > 100.01 {
		t.Errorf("white is L* %g after another's chain was closed, want 100", got)
	}
	careful.Close()
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}

func TestClosedChainRefuses(t *testing.T) {
	e := NewEngine()
	defer e.Close()
	c := original(t, e)
	c.Close()
	if err := c.Values(make([]Value, 1), []float64{1, 1, 1}); !errors.Is(err, ErrClosed) {
		t.Errorf("Values of a closed chain: %v, want ErrClosed", err)
	}
	if _, err := c.Device([]float64{1, 1, 1}); !errors.Is(err, ErrClosed) {
		t.Errorf("Device of a closed chain: %v, want ErrClosed", err)
	}
}

// Chains that are closed in the middle of a call end it properly.
func TestCloseWhileOthersCompute(t *testing.T) {
	before := lcms.Live()
	for range 20 {
		e := NewEngine()
		c := original(t, e)
		e.Close() // so that c is the last one
		var group sync.WaitGroup
		for range 3 {
			group.Go(func() {
				values, src := make([]Value, 500), make([]float64, 1500)
				for {
					if err := c.Values(values, src); err != nil {
						if !errors.Is(err, ErrClosed) {
							t.Error(err)
						}
						return
					}
				}
			})
		}
		c.Close()
		group.Wait()
	}
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}

// Numbers of another count of channels are refused, not run.
func TestChainRefusesOtherChannels(t *testing.T) {
	e := NewEngine()
	defer e.Close()
	c := original(t, e)
	defer c.Close()
	for _, k := range []struct{ colours, numbers int }{{1, 1}, {1, 4}, {2, 3}, {0, 3}} {
		if err := c.Values(make([]Value, k.colours), make([]float64, k.numbers)); !errors.Is(err, ErrPlan) {
			t.Errorf("%d colours of %d numbers: %v, want a *PlanError", k.colours, k.numbers, err)
		}
	}
	if _, err := c.Device(make([]float64, 4)); !errors.Is(err, ErrPlan) {
		t.Errorf("Device of 4 numbers: %v, want a *PlanError", err)
	}
	if err := c.Values(nil, nil); err != nil {
		t.Errorf("no colours: %v", err)
	}
}
