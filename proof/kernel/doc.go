// Package kernel reads tables of colours for whole pictures: for each pixel the bytes
// that the screen is told, the difference in print, the reach, and whether it is darker
// than the paper, in one pass. It knows no profile: who fills the table decides what
// the numbers are.
//
// A [Table] is a [Lattice] of nodes over the pixel's numbers, each [Node] eight lanes
// of 15 bits. A cell of the lattice may have a patch of its own, a finer lattice behind the
// other nodes. A colour is read from the corners of its cell along the one path
// from the lowest to the highest on which the largest fraction comes first: in three
// dimensions tetrahedrally, so greys stay on a line between nodes. (Multilinear reading
// tints greys, for the corners of a cell pull unevenly.)
//
// The walk exists in C, chosen at run time by what the machine can do, and in Go; tests
// compare them with each other, and the best one with floating point. walk.c takes pixels
// in blocks of 64: all are placed first and then mixed, so that the loads of the one are not
// held up by the arithmetic of the other. plain.c, simd128.c and avx2.c place and mix them,
// the latter two by the same text, place.h; their figures are counted by count.h.
package kernel
