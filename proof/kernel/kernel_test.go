package kernel

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"firstsheet/proof/raster"
)

// random returns a table of random nodes, patched where asked for.
func random(r *rand.Rand, channels, n int, patched bool) Table {
	t := Table{Lattice: NewLattice(channels, n)}
	node := func() Node {
		lane := func() int16 { return int16(r.UintN(MostLane + 1)) }
		return Node{Pack(lane(), lane(), lane(), lane()), Pack(lane(), lane(), lane(), lane())}
	}
	for range t.Total {
		t.Nodes = append(t.Nodes, node())
	}
	if !patched {
		return t
	}
	for at := range t.Total {
		shift := int(r.UintN(Shifts + 1))
		switch {
		case shift == Shifts:
			t.Cells = append(t.Cells, Cell(at, 0)|Wanted)
		case shift == 0 || shift > t.MostShift() || len(t.Nodes) > 1<<16:
			t.Cells = append(t.Cells, Cell(at, 0))
		default:
			t.Cells = append(t.Cells, Cell(len(t.Nodes), shift))
			for range t.PatchSize(shift) {
				t.Nodes = append(t.Nodes, node())
			}
		}
	}
	return t
}

// pixels returns random ones among which are all corners of the cube of numbers.
func pixels(r *rand.Rand, n, channels int, deep bool) raster.Pixels {
	p := raster.New(n, 1, channels, deep)
	most := uint(255)
	if deep {
		most = 65535
	}
	for i := range n * channels {
		v := r.UintN(most + 1)
		if corner := i / channels; corner < 1<<channels {
			v = most * uint(corner>>(i%channels)&1)
		} else if r.UintN(8) == 0 { // equal fractions and ends
			v = []uint{0, most, most / 4, most/4 + 1, most / 2}[r.UintN(5)]
		}
		if deep {
			p.P16[i] = uint16(v)
		} else {
			p.P8[i] = uint8(v)
		}
	}
	return p
}

func walk(way Way, t Table, src raster.Pixels) (Out, bool) {
	n := src.W * src.H
	out := Out{make([]uint8, 4*n), make([]int16, n), make([]int16, n), make([]int16, n), newTally(), make([]uint8, t.Total)}
	return out, Walk(way, t, src, out)
}

func newTally() *Tally {
	return &Tally{Limits: Limits{9000, [Edges]int16{512, 1024, 4096, 20000}, Span{8000, 20000}}}
}

// All ways in C give the same, the one in Go lanes that are one or two off: C rounds
// after each step.
func TestWaysAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	sizes := []int{0, 257, 17, 17, 9, 6, 5, 4, 4}
	for channels := 1; channels <= MaxChannels; channels++ {
		for _, patched := range []bool{false, true} {
			table := random(r, channels, sizes[channels], patched)
			for _, deep := range []bool{false, true} {
				for pitch := channels; pitch <= min(channels+1, MaxChannels); pitch++ {
					for _, n := range []int{1, 7, 63, 64, 65, 129, 5000} {
						src := pixels(r, n, pitch, deep)
						name := fmt.Sprintf("%d of %d channels, patched %t, 16 bits %t, %d pixels", channels, pitch, patched, deep, n)
						agree(t, name, table, src)
					}
				}
			}
		}
	}
}

// Figures of nodes that are next to nothing do not come out as less than nothing, which
// no bin counts.
func TestNothingIsTheLeast(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, channels := range []int{1, 3, 4} {
		table := Table{Lattice: NewLattice(channels, 9)}
		for range table.Total {
			v := func() int16 { return int16(r.UintN(3)) }
			table.Nodes = append(table.Nodes, Node{Figures: Pack(v(), v(), v(), 0)})
		}
		src := pixels(r, 5000, channels, false)
		for _, way := range Ways() {
			out, _ := walk(way, table, src)
			for i := range out.Delta {
				if min(out.Delta[i], out.Reach[i], out.Light[i]) < 0 {
					t.Fatalf("%s, %d channels: pixel %d has %d, %d, %d", way, channels, i, out.Delta[i], out.Reach[i], out.Light[i])
				}
			}
			all := newTally()
			all.Binned = All()
			Walk(way, table, src, Out{Tally: all})
			if n := all.bins[0]; n != 5000 {
				t.Errorf("%s, %d channels: %d of 5000 pixels are in the first bin", way, channels, n)
			}
		}
	}
}

func agree(t *testing.T, name string, table Table, src raster.Pixels) {
	t.Helper()
	want, wanted := walk(PlainC, table, src)
	inGo, n := walk(Go, table, src)
	if n != wanted || !bytes.Equal(inGo.Wanted, want.Wanted) {
		t.Fatalf("%s: other cells are wanted in Go than in C", name)
	}
	near := func(what string, i int, a, b, most int) {
		if d := a - b; d < -most || d > most {
			t.Fatalf("%s: %s of pixel %d is %d in Go and %d in C", name, what, i, a, b)
		}
	}
	// Half a step of rounding for each axis.
	most := (table.Channels + 2) / 2
	for i := range want.Bytes {
		near("byte", i/4, int(inGo.Bytes[i]), int(want.Bytes[i]), 1)
	}
	for i := range want.Delta {
		near("difference", i, int(inGo.Delta[i]), int(want.Delta[i]), most)
		near("reach", i, int(inGo.Reach[i]), int(want.Reach[i]), most)
		near("lightness", i, int(inGo.Light[i]), int(want.Light[i]), most)
	}
	// What is counted are the lanes that are written.
	for way, out := range map[string]Out{"Go": inGo, "C": want} {
		tally := newTally()
		for i := range out.Delta {
			tally.add(out.Delta[i], out.Reach[i], out.Light[i])
		}
		if *tally != *out.Tally {
			t.Fatalf("%s: %s counts %+v, want %+v", name, way, out.Tally.Over(), tally.Over())
		}
	}
	for _, way := range Ways() {
		if way == Go || way == PlainC {
			continue
		}
		got, n := walk(way, table, src)
		if n != wanted {
			t.Fatalf("%s: cells are wanted by %s: %t, want %t", name, way, n, wanted)
		}
		for i := range want.Bytes {
			if got.Bytes[i] != want.Bytes[i] {
				t.Fatalf("%s: byte %d of pixel %d is %d by %s, want %d", name, i%4, i/4, got.Bytes[i], way, want.Bytes[i])
			}
		}
		for i := range want.Delta {
			if got.Delta[i] != want.Delta[i] || got.Reach[i] != want.Reach[i] || got.Light[i] != want.Light[i] {
				t.Fatalf("%s: figures of pixel %d by %s differ", name, i, way)
			}
		}
		if *got.Tally != *want.Tally {
			t.Fatalf("%s: %s counts otherwise", name, way)
		}
		for i := range want.Wanted {
			if got.Wanted[i] != want.Wanted[i] {
				t.Fatalf("%s: cell %d is wanted otherwise by %s", name, i, way)
			}
		}
		// One thing alone is what it is beside the others.
		alone := Out{Bytes: make([]uint8, len(want.Bytes)), Wanted: got.Wanted}
		Walk(way, table, src, alone)
		count := Out{Tally: newTally(), Wanted: got.Wanted}
		Walk(way, table, src, count)
		if string(alone.Bytes) != string(want.Bytes) || *count.Tally != *want.Tally {
			t.Fatalf("%s: %s gives something else when it is asked for one thing", name, way)
		}
	}
}

// A table of a function that is linear in each dark and light piece of an axis is read
// as that function, wherever the number lies, with patches and without.
func TestReadsLinesExactly(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for channels := 1; channels <= 4; channels++ {
		for _, n := range []int{4, 5, 6, 7, 8, 9} {
			readsLinesExactly(t, r, channels, n)
		}
	}
}

func readsLinesExactly(t *testing.T, r *rand.Rand, channels, n int) {
	weight := [4]float64{0.4, 0.3, 0.2, 0.1}
	at := func(v []float64) (sum float64) {
		for k, x := range v {
			sum += x * weight[k]
		}
		return sum
	}
	table := Table{Lattice: NewLattice(channels, n)}
	fill := func(numbers []float64) {
		for i := 0; i < len(numbers); i += channels {
			v := NumberLane(at(numbers[i : i+channels]))
			table.Nodes = append(table.Nodes, Node{Pack(v, v, v, v), 0})
		}
	}
	fill(table.Numbers(nil, 0, table.Total))
	for cell := range table.Total {
		shift := cell % Shifts
		for rest, k := cell, 0; k < channels; k++ { // none begins at the last nodes
			if rest%n == n-1 {
				shift = 0
			}
			rest /= n
		}
		if shift == 0 {
			table.Cells = append(table.Cells, Cell(cell, 0))
			continue
		}
		table.Cells = append(table.Cells, Cell(len(table.Nodes), shift))
		fill(patchNumbers(table.Lattice, cell, shift))
	}
	for _, deep := range []bool{false, true} {
		src := pixels(r, 3000, channels, deep)
		out, _ := walk(Best(), table, src)
		for i := range src.W {
			want := at(src.At(nil, i, 0)) * 255
			// Rounding of the byte, of each step and of the nodes.
			if got := float64(out.Bytes[4*i]); math.Abs(got-want) > 0.5+4.0/numberScale {
				t.Fatalf("%d channels of %d nodes, 16 bits %t: pixel %v is %g, want %.3f", channels, n, deep, src.At(nil, i, 0), got, want)
			}
		}
	}
}

// patchNumbers returns the numbers at the nodes of a patch.
func patchNumbers(l *Lattice, cell, shift int) (numbers []float64) {
	edge := 1<<shift + 1
	for i := range l.PatchSize(shift) {
		div := l.PatchSize(shift)
		for k := range l.Channels {
			div /= edge
			place := cell/l.Stride(k)%l.N<<shift + i/div%edge
			numbers = append(numbers, l.Between(uint16(place), shift))
		}
	}
	return numbers
}

// The figures of a tally by hand.
func TestTally(t *testing.T) {
	tally := Tally{Limits: Limits{320, [Edges]int16{512, 1024, 2048, 4096}, All()}}
	tally.add(512, 511, 320)    // ΔE00 1, below the first edge
	tally.add(1024, 512, 320)   // 2, on the first
	tally.add(2048, 4096, 4000) // 4, on the last
	tally.add(256, 9000, 319)   // darker
	if got, want := tally.Over(), [Edges]int{2, 1, 1, 1}; got != want {
		t.Errorf("over the edges are %v, want %v", got, want)
	}
	if tally.Darker() != 1 || tally.Max() != 4 || tally.Mean() != (1+2+4+0.5)/4 {
		t.Errorf("%d darker, mean %g, most %g", tally.Darker(), tally.Mean(), tally.Max())
	}
	if got, known := tally.Rank(3); !known || math.Abs(got-2) > binWidth {
		t.Errorf("the third difference is %g, %t, want 2", got, known)
	}
	twice := tally
	twice.Add(&tally)
	if twice.Pixels != 8 || twice.Darker() != 2 || twice.Mean() != tally.Mean() || twice.Over()[0] != 4 {
		t.Errorf("added to itself it is %d pixels, %d darker", twice.Pixels, twice.Darker())
	}
}

// What is counted stays right when all of a long run is as large as it can be.
func TestTallyOfTheLargest(t *testing.T) {
	table := random(rand.New(rand.NewPCG(3, 4)), 1, 4, false)
	for i := range table.Nodes {
		table.Nodes[i].Figures = Pack(MostLane, MostLane, MostLane, 0)
	}
	const n = 600_000
	src := raster.New(n, 1, 1, false)
	for _, way := range Ways() {
		tally := &Tally{Limits: Limits{Black: 320, Edges: [Edges]int16{512, 1024, 2048, MostLane}, Binned: All()}}
		Walk(way, table, src, Out{Tally: tally})
		if got, want := tally.Over(), [Edges]int{n, n, n, n}; got != want || tally.Darker() != 0 {
			t.Errorf("%s: over the edges are %v and darker %d, want %v and 0", way, got, tally.Darker(), want)
		}
		most := float64(MostLane) / DeltaScale
		if rank, _ := tally.Rank(n); tally.Mean() != most || tally.Max() != most || rank != most {
			t.Errorf("%s: mean %g, most %g, last rank %g, want %g", way, tally.Mean(), tally.Max(), rank, most)
		}
	}
}

// A rank is what it is among all, or not known where it is outside of what is binned.
func TestRankAmongSome(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	all, some := Tally{Limits: Limits{Binned: All()}}, Tally{Limits: Limits{Binned: Span{1000, 3000}}}
	for range 10000 {
		delta := int16(r.UintN(4000))
		all.add(delta, 0, 0)
		some.add(delta, 0, 0)
	}
	if some.Mean() != all.Mean() || some.Max() != all.Max() {
		t.Errorf("mean %g and largest %g, want %g and %g", some.Mean(), some.Max(), all.Mean(), all.Max())
	}
	for rank := 1.0; rank <= 10000; rank++ {
		want, known := all.Rank(rank)
		if !known {
			t.Fatalf("rank %g is not known among all", rank)
		}
		got, known := some.Rank(rank)
		switch lane := want * DeltaScale; {
		case lane > 1000+1<<binBits && lane < 3000-1<<binBits && (!known || math.Abs(got-want) > binWidth),
			(lane < 1000-1<<binBits || lane > 3000+1<<binBits) && known:
			t.Fatalf("rank %g is %g, %t, want %g", rank, got, known, want)
		}
	}
	if _, known := all.Rank(10001); known {
		t.Error("a rank is known that no pixel has")
	}
}

// Numbers and lanes: what is encoded comes back, ends included.
func TestLanes(t *testing.T) {
	for _, v := range []float64{-0.5, 0, 1.0 / 3, 1, 1.5} {
		if got := Number(NumberLane(v)); math.Abs(got-v) > 0.5/255/numberScale+1e-3*math.Abs(min(0, 1-v)) {
			t.Errorf("%g comes back as %g", v, got)
		}
	}
	if NumberLane(math.NaN()) != 0 || DeltaLane(1e9) != MostLane || LightLane(-3) != 0 {
		t.Error("lanes are not bounded")
	}
	word := Pack(1, 2, 3, MostLane)
	if Lanes(word) != [4]int16{1, 2, 3, MostLane} {
		t.Errorf("%x comes apart as %v", word, Lanes(word))
	}
}

// BenchmarkWalk tells the megapixels a second of each way on one thread, in the best
// run: the others tell how busy the machine is.
func BenchmarkWalk(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	src := raster.New(160, 100, 3, false)
	for i := range src.P8 { // smooth with noise, as pictures are
		src.P8[i] = uint8(i/3%160*200/160 + int(r.UintN(40)))
	}
	bytes, wanted := make([]uint8, 4*160*100), make([]uint8, 1<<16)
	for _, patched := range []bool{false, true} {
		table := random(r, 3, 33, patched)
		for i, c := range table.Cells {
			table.Cells[i] = c &^ Wanted
		}
		for i := range table.Nodes { // hardly any number of a picture's proof is clipped
			v := func() int16 { return NumberLane(r.Float64()) }
			table.Nodes[i].Numbers = Pack(v(), v(), v(), v())
		}
		for _, way := range Ways() {
			for what, out := range map[string]Out{
				"bytes": {Bytes: bytes, Wanted: wanted},
				"both":  {Bytes: bytes, Wanted: wanted, Tally: newTally()},
			} {
				b.Run(fmt.Sprintf("%s/%s/patched=%t", way, what, patched), func(b *testing.B) {
					best := time.Hour
					for b.Loop() {
						start := time.Now()
						Walk(way, table, src, out)
						best = min(best, time.Since(start))
					}
					b.ReportMetric(float64(src.W*src.H)/1e6/best.Seconds(), "MP/s")
				})
			}
		}
	}
}
