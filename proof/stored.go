package proof

import (
	"context"
	"math"
	"math/bits"
	"runtime"
	"sync"

	"firstsheet/proof/raster"
)

// storedBytes keeps, for pictures of three numbers of 8 bits, what a route stores in 8 bits
// on the way, by the exact chain. A sampled grid rounds one number in twenty to the
// neighbour of the right one, which in dark colours is ΔE00 1 in the print; finer
// patches and a softer rounding took away less than half of that. A photograph has
// some hundred thousand colours: they are computed once, when a picture first shows them.
type storedBytes struct {
	channels int // of what is stored
	evaluate func(numbers []float64) ([]float64, error)

	mu    sync.RWMutex
	pages [storedPages]*storedPage // by the upper four bits of each number
}

const (
	storedPages = 1 << 12
	pageColours = 1 << 12
)

// storedPage holds the colours that share their upper bits.
type storedPage struct {
	known [pageColours / 64]uint64
	bytes [pageColours][4]uint8
}

// colours is a set of colours of 24 bits, by page and place in it.
type colours []uint64

func newColours() colours { return make(colours, storedPages*pageColours/64) }

// take adds what other holds and empties it.
func (c colours) take(other colours) {
	for i, v := range other {
		c[i] |= v
	}
	clear(other)
}

// pageOf returns the page of a colour and its place there.
func pageOf(r, g, b uint8) (page, at uint32) {
	x, y, z := uint32(r), uint32(g), uint32(b)
	return x>>4<<8 | y>>4<<4 | z>>4, x&15<<8 | y&15<<4 | z&15
}

// knows reports whether it serves pictures of that kind.
func (s *storedBytes) knows(src raster.Pixels) bool {
	return s != nil && !src.Deep() && src.Channels >= 3
}

// walk writes the stored numbers of every pixel, four bytes each, and returns how many
// pixels have colours that are not known yet, which it adds to unknown.
func (s *storedBytes) walk(dst []uint8, src raster.Pixels, unknown colours) (missing int) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	for i := range src.W * src.H {
		p := src.P8[3*i : 3*i+3 : 3*i+3]
		page, at := pageOf(p[0], p[1], p[2])
		if q := s.pages[page]; q != nil && q.known[at/64]>>(at%64)&1 == 1 {
			*(*[4]uint8)(dst[4*i:]) = q.bytes[at]
			continue
		}
		unknown[(page*pageColours+at)/64] |= 1 << (at % 64)
		missing++
	}
	return missing
}

// fill computes the colours of a set.
func (s *storedBytes) fill(ctx context.Context, unknown colours) error {
	if unknown == nil {
		return nil
	}
	return inParallel(ctx, storedPages, 1, runtime.GOMAXPROCS(0), func() func(lo, hi int) error {
		return func(page, _ int) error {
			const words = pageColours / 64
			return s.fillPage(page, unknown[page*words:(page+1)*words])
		}
	})
}

func (s *storedBytes) fillPage(page int, unknown []uint64) error {
	var at []int
	var numbers []float64
	for i, word := range unknown {
		for ; word != 0; word &= word - 1 {
			k := 64*i + bits.TrailingZeros64(word)
			at = append(at, k)
			for shift := 8; shift >= 0; shift -= 4 {
				numbers = append(numbers, float64(page>>shift&15<<4|k>>shift&15)/255)
			}
		}
	}
	if len(at) == 0 {
		return nil
	}
	numbers, err := s.evaluate(numbers)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.pages[page] == nil {
		s.pages[page] = &storedPage{}
	}
	q := s.pages[page]
	for i, k := range at {
		b := [4]uint8{3: 255}
		for ch := range s.channels {
			b[ch] = uint8(math.Round(255 * numbers[i*s.channels+ch]))
		}
		q.bytes[k] = b
		q.known[k/64] |= 1 << (k % 64)
	}
	return nil
}
