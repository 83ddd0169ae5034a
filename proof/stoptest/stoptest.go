// Package stoptest helps tests to stop long work in its midst, at the same place each time.
package stoptest

import (
	"context"
	"sync/atomic"
)

// Context ends by itself after its error has been asked for a number of times.
type Context struct {
	context.Context
	left *atomic.Int64
}

// EndsAfter returns a context that is canceled from its n+1st look on.
func EndsAfter(ctx context.Context, n int) Context {
	c := Context{ctx, new(atomic.Int64)}
	c.left.Store(int64(n))
	return c
}

// Err implements context.Context.
func (c Context) Err() error {
	if c.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// Beyond returns how many looks were taken after the end.
func (c Context) Beyond() int { return int(max(-c.left.Load(), 0)) }
