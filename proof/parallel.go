package proof

import (
	"context"
	"sync"
	"sync/atomic"
)

// inParallel works on [0, total) in pieces of step, on at most workers goroutines,
// until the context ends or a piece fails; it returns the context's error then, or one
// of the failures. begin is called once in each goroutine and returns what works on one
// piece.
func inParallel(ctx context.Context, total, step, workers int, begin func() func(lo, hi int) error) error {
	outer := ctx
	ctx, stop := context.WithCancelCause(outer)
	defer stop(nil)
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(workers, (total+step-1)/step) {
		group.Go(func() {
			work := begin()
			for ctx.Err() == nil {
				lo := int(next.Add(int64(step))) - step
				if lo >= total {
					return
				}
				if err := work(lo, min(lo+step, total)); err != nil {
					stop(err)
				}
			}
		})
	}
	group.Wait()
	if err := outer.Err(); err != nil {
		return err
	}
	return context.Cause(ctx)
}
