package photo

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// sample is one channel of one pixel.
type sample interface{ uint8 | uint16 }

// maxOf returns the largest value of a sample type: 255 or 65535.
func maxOf[T sample]() uint32 { return uint32(^T(0)) }

// bandRows is how many rows are worked on between two looks at the context: a
// few milliseconds of a wide picture.
const bandRows = 64

// bands calls do for bands of rows [y0, y1) that cover 0 to h, from several
// goroutines, until all is done or the context ends, whose error it returns.
func bands(ctx context.Context, h int, do func(y0, y1 int)) error {
	return parallel(ctx, (h+bandRows-1)/bandRows, func(i int) error {
		do(i*bandRows, min(h, (i+1)*bandRows))
		return nil
	})
}

// parallel calls do(0) to do(n-1), each once, from as many goroutines as there
// are processors. It stops early when the context ends or a call fails and
// returns that error; of several errors the one with the lowest index that was
// met. A panic in do is raised in the caller's goroutine, where it can be
// recovered.
func parallel(ctx context.Context, n int, do func(i int) error) error {
	workers := min(runtime.GOMAXPROCS(0), n)
	var (
		next     atomic.Int64
		stop     atomic.Bool
		mu       sync.Mutex
		firstAt  = n
		firstErr error
		panicked any
		wg       sync.WaitGroup
	)
	for range workers {
		wg.Go(func() {
			defer func() {
				if v := recover(); v != nil {
					stop.Store(true)
					mu.Lock()
					panicked = v
					mu.Unlock()
				}
			}()
			for !stop.Load() && ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				if err := do(i); err != nil {
					stop.Store(true)
					mu.Lock()
					if i < firstAt {
						firstAt, firstErr = i, err
					}
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
	if panicked != nil {
		panic(panicked)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return firstErr
}
