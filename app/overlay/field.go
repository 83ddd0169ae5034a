package overlay

import (
	"slices"

	"firstsheet/proof"
	"firstsheet/proof/raster"
)

// Field is what is known of each pixel of a drawn area. It finds its bands when they are
// first drawn, and keeps them; one goroutine at a time may use it.
type Field struct {
	W, H int
	// Samples are the pixels, row by row; [Field.Reset] makes room for them.
	Samples []proof.Sample

	line              int
	reach, difference bands
}

// Reset makes the field one of w by h pixels, to be drawn with contour lines of so many
// device pixels, 1 at scale 1, and forgets its bands. Its memory is used again: samples of
// as many pixels as before are the same until they are written.
func (f *Field) Reset(w, h, line int) {
	f.W, f.H, f.line = w, h, max(line, 1)
	f.Samples = sized(f.Samples, w*h)
	f.reach.found, f.difference.found = false, false
}

// sized returns a slice of n entries, in the memory of s where that is large enough.
func sized[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

// reachBands returns the bands of the reach. Pixels darker than the paper are in none.
func (f *Field) reachBands() *bands {
	return f.find(&f.reach, func(dst []weight, row []proof.Sample) {
		for i, s := range row {
			w := one | weight(s.Reach)
			if s.Darker {
				w = 0
			}
			dst[i] = w
		}
	})
}

// differenceBands returns the bands of the difference.
func (f *Field) differenceBands() *bands {
	return f.find(&f.difference, func(dst []weight, row []proof.Sample) {
		for i, s := range row {
			dst[i] = one | weight(s.DeltaE00)
		}
	})
}

// bands says in which band each pixel of a field lies.
//
// A code has a bit for each edge that is reached, the lowest edge in the lowest bit, so
// that the smallest of many codes is all of them and the largest any of them. Rows have a
// margin on both sides in which their first and last codes go on.
type bands struct {
	found          bool
	margin, stride int
	codes          []uint8
}

// row returns the codes of a row with its margins; beyond the first and the last row
// these go on.
func (b *bands) row(y int) []uint8 {
	y = min(max(y, 0), len(b.codes)/b.stride-1)
	return b.codes[y*b.stride : (y+1)*b.stride]
}

// weight is what a pixel adds to a mean: its steps, and above them that it is one, or
// nothing where it is left out.
type weight uint64

const one weight = 1 << 32

// find sorts pixels by the mean of squares around them, for contour lines of the raw
// figures would follow the grain of the picture. weigh says what a row of pixels adds;
// what adds nothing lies in no band.
func (f *Field) find(b *bands, weigh func(dst []weight, row []proof.Sample)) *bands {
	if b.found || f.W*f.H == 0 {
		return b
	}
	b.margin = heaviest(f.line)
	b.stride = b.margin + (f.W+7)/8*8 + b.margin
	b.codes = sized(b.codes, b.stride*f.H)
	raster.InRows(f.H, func(y0, y1 int) {
		m := newMeans(f, weigh)
		for y := y0 - m.radius; y < y0+m.radius; y++ {
			m.enter(y)
		}
		for y := y0; y < y1; y++ {
			m.enter(y + m.radius)
			row := b.row(y)
			m.sort(row[b.margin:][:f.W], y)
			extend(row, b.margin, f.W)
		}
	})
	b.found = true
	return b
}

// extend has the first and the last of n codes go on over the margins.
func extend(row []uint8, margin, n int) {
	for i := range margin {
		row[i] = row[margin]
	}
	end := margin + n
	for i := range row[end:] {
		row[end+i] = row[end-1]
	}
}

// means are the sums over squares of pixels, a row of squares at a time.
type means struct {
	*Field
	weigh   func(dst []weight, row []proof.Sample)
	radius  int        // squares of 2*radius+1 pixels
	rows    [][]weight // the last 2*radius+1 rows, each where the one before it was
	spare   []weight
	columns []weight // sums down these rows; radius zeros on both sides
	edges   [proof.Bands - 1]weight
}

func newMeans(f *Field, weigh func(dst []weight, row []proof.Sample)) *means {
	m := &means{Field: f, weigh: weigh, radius: 3 * f.line}
	for range 2*m.radius + 1 {
		m.rows = append(m.rows, make([]weight, f.W))
	}
	m.spare = make([]weight, f.W)
	m.columns = make([]weight, f.W+2*m.radius)
	for i, e := range proof.BandEdges() {
		m.edges[i] = weight(proof.StepsOf(e))
	}
	return m
}

// row is where the weights of row y are, or come to be.
func (m *means) row(y int) *[]weight {
	return &m.rows[(y+len(m.rows))%len(m.rows)] // rows begin at -radius
}

// enter takes row y into the sums, and the one that lies beyond the squares now out.
func (m *means) enter(y int) {
	row, fresh := m.row(y), m.spare
	if y < 0 || y >= m.H {
		clear(fresh)
	} else {
		m.weigh(fresh, m.Samples[y*m.W:(y+1)*m.W])
	}
	old, columns := (*row)[:len(fresh)], m.columns[m.radius:][:len(fresh)]
	for x, w := range fresh {
		columns[x] += w - old[x]
	}
	*row, m.spare = fresh, old
}

// sort writes the codes of row y, around which the squares lie.
func (m *means) sort(codes []uint8, y int) {
	own := (*m.row(y))[:len(codes)]
	enter, leave := m.columns[2*m.radius:][:len(codes)], m.columns[:len(codes)]
	var sum weight
	for _, c := range m.columns[:2*m.radius] {
		sum += c
	}
	for x := range codes {
		sum += enter[x]
		var code uint8
		if own[x] > 0 {
			code = m.code(sum%one, sum/one)
		}
		codes[x] = code
		sum -= leave[x]
	}
}

// code returns the code of the mean of n pixels.
func (m *means) code(sum, n weight) (code uint8) {
	for _, e := range m.edges {
		if sum < e*n {
			break
		}
		code = code<<1 | 1
	}
	return code
}
