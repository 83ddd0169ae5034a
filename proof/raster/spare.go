package raster

import "runtime"

// Spare keeps memory of strips that are done with for those to come. It may be used from
// several goroutines at once.
type Spare[T any] chan []T

// NewSpare returns a Spare that keeps as many strips as there are processors.
func NewSpare[T any]() Spare[T] { return make(Spare[T], runtime.GOMAXPROCS(0)) }

// Get returns n numbers, which are not cleared.
func (s Spare[T]) Get(n int) []T {
	var b []T
	select {
	case b = <-s:
	default:
	}
	if cap(b) < n {
		b = make([]T, n)
	}
	return b[:n]
}

// Put takes memory that nobody uses any more.
func (s Spare[T]) Put(b []T) {
	select {
	case s <- b:
	default:
	}
}
