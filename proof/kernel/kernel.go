package kernel

/*
#cgo CFLAGS: -O3
#include "kernel.h"

static int fs_walk_go(int way, const fs_lattice *lattice, const void *nodes, const uint32_t *cells,
		const void *pixels, int deep, int pitch, size_t n, void *bytes,
		int16_t *delta, int16_t *reach, int16_t *light, fs_tally *tally, const fs_limits *limits, uint8_t *wanted) {
	fs_job job = {lattice, nodes, cells, pixels, deep, pitch, n, bytes, delta, reach, light, tally, limits, wanted};
	return fs_walk(way, &job);
}
*/
import "C"

import (
	"unsafe"

	"firstsheet/proof/raster"
)

// What C reads and writes has the same fields there.
const (
	_ = -(unsafe.Sizeof(form{}) ^ C.sizeof_fs_lattice) // equal, or this does not compile
	_ = -(unsafe.Sizeof(counts{}) ^ C.sizeof_fs_tally)
	_ = -(unsafe.Sizeof(Limits{}) ^ C.sizeof_fs_limits)
)

// Way is one of the ways to read a table. All give the same lanes, but for the last
// bit between Go and C.
type Way int

// The ways, each faster than the one before.
const (
	Go      Way = iota - 1
	PlainC      // C without vectors
	Vectors     // 128 bits: SSSE3 or NEON
	AVX2        // 256 bits
)

func (w Way) String() string { return [...]string{"Go", "plain C", "128 bits", "AVX2"}[w+1] }

// Ways returns what this machine can do, the best last.
func Ways() []Way {
	ways := []Way{Go}
	for w := PlainC; w <= AVX2; w++ {
		if littleEndian() && C.fs_has(C.int(w)) != 0 {
			ways = append(ways, w)
		}
	}
	return ways
}

// C reads a node as eight numbers of 16 bits, the lowest first.
func littleEndian() bool {
	word := uint16(1)
	return *(*uint8)(unsafe.Pointer(&word)) == 1
}

// Best returns the fastest way that this machine can do.
func Best() Way {
	ways := Ways()
	return ways[len(ways)-1]
}

// Out is what a walk writes, for N pixels; what is nil is not asked for.
type Out struct {
	Bytes               []uint8 // four a pixel: the numbers in 8 bits, clipped
	Delta, Reach, Light []int16 // lanes, all three or none
	Tally               *Tally
	Wanted              []uint8 // gets 1 for each cell that was wanted; needed where any may be
}

// Walk reads the table for all pixels of src and reports whether any of them lies in a cell
// whose entry is Wanted: these are read as if they had no patch. src may have more
// channels than the lattice, which are passed over. Walks may go on at the same time.
func Walk(way Way, t Table, src raster.Pixels, out Out) (wanted bool) {
	n := src.W * src.H
	if n == 0 {
		return false
	}
	check(t, src, out, n)
	if way == Go {
		return twin(t, src, out)
	}
	var pixels unsafe.Pointer
	if src.Deep() {
		pixels = unsafe.Pointer(&src.P16[0])
	} else {
		pixels = unsafe.Pointer(&src.P8[0])
	}
	var deep C.int
	if src.Deep() {
		deep = 1
	}
	var tally *C.fs_tally
	var limits *C.fs_limits
	if out.Tally != nil {
		tally, limits = (*C.fs_tally)(unsafe.Pointer(&out.Tally.counts)), (*C.fs_limits)(unsafe.Pointer(&out.Tally.Limits))
		out.Tally.Pixels += n
	}
	return C.fs_walk_go(C.int(way), (*C.fs_lattice)(unsafe.Pointer(t.of(src.Deep()))), unsafe.Pointer(&t.Nodes[0]), first32(t.Cells),
		pixels, deep, C.int(src.Channels), C.size_t(n), unsafe.Pointer(unsafe.SliceData(out.Bytes)),
		first16(out.Delta), first16(out.Reach), first16(out.Light), tally, limits,
		(*C.uint8_t)(unsafe.SliceData(out.Wanted))) != 0
}

func first16(v []int16) *C.int16_t   { return (*C.int16_t)(unsafe.SliceData(v)) }
func first32(v []uint32) *C.uint32_t { return (*C.uint32_t)(unsafe.SliceData(v)) }

// check panics when C would read or write where it must not.
func check(t Table, src raster.Pixels, out Out, n int) {
	switch {
	case src.Channels < t.Channels || src.Channels > MaxChannels:
		panic("kernel: the pixels have too few channels or too many")
	case len(src.P8)+len(src.P16) != n*src.Channels:
		panic("kernel: the picture is not as long as it says")
	case len(t.Nodes) < t.Total || t.Cells != nil && (len(t.Cells) < t.Total || len(out.Wanted) < t.Total):
		panic("kernel: the table is too short")
	case out.Bytes != nil && len(out.Bytes) < 4*n || out.Delta != nil && min(len(out.Delta), len(out.Reach), len(out.Light)) < n:
		panic("kernel: there is no room for what is written")
	}
}
