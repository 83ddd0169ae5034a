package raster

import "runtime"

// Spare keeps memory of strips that are done with for those to come. It may be used from
// several goroutines at once.
type Spare chan []uint8

// NewSpare returns a Spare that keeps as many strips as there are processors.
func NewSpare() Spare { return make(Spare, runtime.GOMAXPROCS(0)) }

// Get returns n bytes, which are not cleared.
func (s Spare) Get(n int) []uint8 {
	var b []uint8
	select {
	case b = <-s:
	default:
	}
	if cap(b) < n {
		b = make([]uint8, n)
	}
	return b[:n]
}

// Put takes bytes that nobody uses any more.
func (s Spare) Put(b []uint8) {
	select {
	case s <- b:
	default:
	}
}
