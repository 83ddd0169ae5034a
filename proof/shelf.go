package proof

import (
	"context"
	"sync"
)

// shelf keeps the values that were asked for last. Callers who at the same time want
// one that is not there share the work of making it. It may be used from several
// goroutines at once.
type shelf[V any] struct {
	limit int
	// hold counts another user of a value and drop one less. A value that was just
	// made has one user, who made it.
	hold, drop func(V)

	mu     sync.Mutex
	closed bool
	values map[string]V
	order  []string // the least lately used first
	making map[string]*making[V]
	made   int // how many were begun, for tests
}

// making is a value that is on its way to those who wait for it.
type making[V any] struct {
	done    chan struct{} // closed when value and err stand
	stop    context.CancelFunc
	waiting int
	value   V
	err     error
}

// newShelf keeps up to limit values. hold and drop may be nil.
func newShelf[V any](limit int, hold, drop func(V)) *shelf[V] {
	if hold == nil {
		hold, drop = func(V) {}, func(V) {}
	}
	return &shelf[V]{limit: limit, hold: hold, drop: drop, values: map[string]V{}, making: map[string]*making[V]{}}
}

// get returns the value of that key, for which the caller counts as a user: from the
// shelf or made anew, once for all who are waiting for it. It returns the context's
// error when that ends first; the making goes on for as long as anybody still waits,
// and the last one to leave waits for its end.
func (s *shelf[V]) get(ctx context.Context, key string, create func(context.Context) (V, error)) (V, error) {
	var none V
	s.mu.Lock()
	if v, ok := s.values[key]; ok {
		s.touch(key)
		s.hold(v)
		s.mu.Unlock()
		return v, nil
	}
	if err := ctx.Err(); err != nil {
		s.mu.Unlock()
		return none, err
	}
	m := s.making[key]
	if m == nil {
		m = s.begin(ctx, key, create)
	}
	m.waiting++
	s.mu.Unlock()
	select {
	case <-m.done:
		return m.value, m.err
	case <-ctx.Done():
		s.leave(key, m)
		return none, ctx.Err()
	}
}

// has returns the value of that key where it is on the shelf, the caller counting as a user.
func (s *shelf[V]) has(key string) (v V, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if v, ok = s.values[key]; ok {
		s.hold(v)
	}
	return v, ok
}

// begin makes a value in the background; the caller has the lock.
func (s *shelf[V]) begin(ctx context.Context, key string, create func(context.Context) (V, error)) *making[V] {
	// Not the first caller's context: others may wait for the value longer.
	own, stop := context.WithCancel(context.WithoutCancel(ctx))
	m := &making[V]{done: make(chan struct{}), stop: stop}
	s.making[key] = m
	s.made++
	go func() {
		defer stop()
		v, err := create(own)
		s.finish(key, m, v, err)
	}()
	return m
}

// finish hands a value to all who wait for it and keeps it.
func (s *shelf[V]) finish(key string, m *making[V], v V, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer close(m.done)
	if s.making[key] == m {
		delete(s.making, key)
	}
	if m.value, m.err = v, err; err != nil {
		return
	}
	for range m.waiting {
		s.hold(v)
	}
	if s.closed {
		s.drop(v)
	} else {
		s.put(key, v)
	}
}

// leave counts somebody who waits no longer.
func (s *shelf[V]) leave(key string, m *making[V]) {
	s.mu.Lock()
	select {
	case <-m.done: // it came after all
		if m.err == nil {
			s.drop(m.value)
		}
		s.mu.Unlock()
		return
	default:
	}
	m.waiting--
	last := m.waiting == 0
	if last { // whoever comes now begins anew
		m.stop()
		delete(s.making, key)
	}
	s.mu.Unlock()
	if last {
		<-m.done
	}
}

// put keeps a value; its maker's use becomes the shelf's own.
func (s *shelf[V]) put(key string, v V) {
	if old, ok := s.values[key]; ok {
		s.drop(old)
	}
	s.values[key] = v
	s.touch(key)
	for len(s.order) > s.limit {
		s.drop(s.values[s.order[0]])
		delete(s.values, s.order[0])
		s.order = s.order[1:]
	}
}

func (s *shelf[V]) touch(key string) {
	for i, k := range s.order {
		if k == key {
			s.order = append(s.order[:i], s.order[i+1:]...)
			break
		}
	}
	s.order = append(s.order, key)
}

// close lets go of everything. From now on values are made as before and not kept.
func (s *shelf[V]) close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	for _, v := range s.values {
		s.drop(v)
	}
	clear(s.values)
	s.order = nil
}
