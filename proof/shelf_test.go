package proof

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"firstsheet/proof/lcms"
	"firstsheet/proof/space"
)

// waitFor waits until so many wait for the value of a key.
func waitFor[V any](s *shelf[V], key string, waiting int) {
	for {
		s.mu.Lock()
		m := s.making[key]
		there := m != nil && m.waiting == waiting
		s.mu.Unlock()
		if there {
			return
		}
	}
}

func TestTogetherMadeOnce(t *testing.T) {
	s := newShelf[int](4, nil, nil)
	gate := make(chan struct{})
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			v, err := s.get(context.Background(), "a", func(context.Context) (int, error) { <-gate; return 7, nil })
			if v != 7 || err != nil {
				t.Errorf("got %d, %v", v, err)
			}
		})
	}
	waitFor(s, "a", 8)
	close(gate)
	group.Wait()
	if v, err := s.get(context.Background(), "a", nil); v != 7 || err != nil || s.made != 1 {
		t.Errorf("then %d, %v; made %d times, want once", v, err, s.made)
	}
}

// Whoever began may leave: those who came later still get the value.
func TestLeaderLeaves(t *testing.T) {
	s := newShelf[int](4, nil, nil)
	gate := make(chan struct{})
	create := func(ctx context.Context) (int, error) { <-gate; return 7, ctx.Err() }
	leading, leave := context.WithCancel(context.Background())
	var group sync.WaitGroup
	group.Go(func() {
		if _, err := s.get(leading, "a", create); !errors.Is(err, context.Canceled) {
			t.Errorf("the leader got %v, want its own context's error", err)
		}
	})
	waitFor(s, "a", 1)
	group.Go(func() {
		if v, err := s.get(context.Background(), "a", create); v != 7 || err != nil {
			t.Errorf("the follower got %d, %v", v, err)
		}
	})
	waitFor(s, "a", 2)
	leave()
	waitFor(s, "a", 1)
	close(gate)
	group.Wait()
	if s.made != 1 {
		t.Errorf("made %d times, want once", s.made)
	}
}

// When all have left the work is stopped, its end waited for, and the next one who
// comes begins anew.
func TestAllLeave(t *testing.T) {
	s := newShelf[int](4, nil, nil)
	ctx, cancel := context.WithCancel(context.Background())
	var ended atomic.Bool
	_, err := s.get(ctx, "a", func(own context.Context) (int, error) {
		cancel()
		<-own.Done()
		ended.Store(true)
		return 0, own.Err()
	})
	if !errors.Is(err, context.Canceled) || !ended.Load() {
		t.Errorf("got %v, work ended %t", err, ended.Load())
	}
	if v, err := s.get(context.Background(), "a", func(context.Context) (int, error) { return 3, nil }); v != 3 || err != nil {
		t.Errorf("then %d, %v", v, err)
	}
}

// Every value that leaves the shelf is dropped as often as it was held.
func TestShelfCountsUsers(t *testing.T) {
	type thing struct{ users int }
	var things []*thing
	s := newShelf(2, func(v *thing) { v.users++ }, func(v *thing) { v.users-- })
	create := func(context.Context) (*thing, error) {
		v := &thing{users: 1}
		things = append(things, v)
		return v, nil
	}
	take := func(key string) {
		v, err := s.get(context.Background(), key, create)
		if err != nil {
			t.Fatal(err)
		}
		v.users--
	}
	for _, key := range []string{"a", "b", "a", "c", "b", "d"} {
		take(key)
	}
	s.close()
	take("e")
	if len(s.values) != 0 {
		t.Errorf("%d values are kept after closing", len(s.values))
	}
	if s.made != 6 { // b was put away by c
		t.Errorf("made %d, want 6", s.made)
	}
	for i, v := range things {
		if v.users != 0 {
			t.Errorf("value %d has %d users left", i, v.users)
		}
	}
}

// Several callers who miss a grid together fill it once, and what grids of one source
// and paper share is computed once for them all.
func TestGridsAreFilledOnce(t *testing.T) {
	before := lcms.Live()
	e := NewEngine()
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc")
	intents := []Intent{Perceptual, RelativeColorimetric}
	grids := make([]*Grid, 8)
	var group sync.WaitGroup
	for i := range grids {
		group.Go(func() {
			var err error
			p := rightPlan(srgb, paper, intents[i%2], true, ScreenWhite)
			if grids[i], err = e.Grid(context.Background(), p, Good); err != nil {
				t.Error(err)
			}
		})
	}
	group.Wait()
	for i := range grids {
		if grids[i] != grids[i%2] {
			t.Errorf("caller %d has a grid of its own", i)
		}
	}
	if e.grids.made != 2 || e.bases.made != 1 || e.chains.made != 2 {
		t.Errorf("%d grids, %d bases and %d chains made, want 2, 1 and 2", e.grids.made, e.bases.made, e.chains.made)
	}
	e.Close()
	if _, err := e.Grid(context.Background(), rightPlan(srgb, paper, Saturation, true, ScreenWhite), Draft); err != nil {
		t.Error(err)
	}
	if n := len(e.grids.values) + len(e.bases.values) + len(e.chains.values); n != 0 {
		t.Errorf("%d things are kept by a closed engine", n)
	}
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}
