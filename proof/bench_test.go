package proof

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"
	"time"

	"firstsheet/assets"
	"firstsheet/proof/kernel"
	"firstsheet/proof/lcms"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// Benchmarks of pictures tell the best run: the others tell how busy the machine is.

// The demo picture, six megapixels, lies so many times in the one that is measured. A run
// is one of them: shorter ones would tell how long the other cores take to wake up.
const copies = 4

// stopwatch keeps the seconds of the best run.
type stopwatch float64

func (s *stopwatch) run(work func()) {
	start := time.Now()
	work()
	if d := stopwatch(time.Since(start).Seconds()); *s == 0 || d < *s {
		*s = d
	}
}

// fifths keeps those of each fifth of the demo picture.
type fifths [5]stopwatch

func (f *fifths) run(n int, src raster.Pixels, work func(part raster.Pixels)) {
	n %= len(f)
	f[n].run(func() { work(src.Rows(src.H*n/len(f), src.H*(n+1)/len(f))) })
}

// seconds returns those of the whole picture; parts that were not run took as long as
// the others.
func (f *fifths) seconds() float64 {
	sum, n := stopwatch(0), 0
	for _, s := range f {
		if s > 0 {
			sum += s
			n++
		}
	}
	return float64(sum) * float64(len(f)) / float64(n)
}

// inStrips cuts rows into one strip for each core and works on them at the same time.
func inStrips(rows int, work func(y0, y1 int)) {
	var group sync.WaitGroup
	parts := runtime.GOMAXPROCS(0)
	for i := range parts {
		group.Go(func() { work(rows*i/parts, rows*(i+1)/parts) })
	}
	group.Wait()
}

// peer is Little CMS's own optimised way: 8 bits to the paper, back, to the screen.
func peer(b *testing.B, p Plan) *lcms.Transform {
	c, err := lcms.NewContext()
	if err != nil {
		b.Fatal(err)
	}
	open := func(q *Profile) *lcms.Profile {
		h, err := q.open(c)
		if err != nil {
			b.Fatal(err)
		}
		return h
	}
	t, err := c.Proofing(open(p.Source), open(p.Paper), open(p.Screen),
		lcms.Options{Intent: int(p.Conversions[0].Intent), BPC: true}, int(RelativeColorimetric))
	if err != nil {
		b.Fatal(err)
	}
	return t
}

// demoPixels is the demo picture so many times, one below the other: six megapixels each.
func demoPixels(tb testing.TB, times int) raster.Pixels {
	p, err := photo.OpenReader(context.Background(), "regatta.jpg", bytes.NewReader(assets.RegattaJPEG()))
	if err != nil {
		tb.Fatal(err)
	}
	return raster.Pixels{W: p.W, H: p.H * times, Channels: p.Channels, P8: bytes.Repeat(p.Pix8, times)}
}

// BenchmarkPicture tells megapixels per second of 24 megapixels in memory on all cores:
// the bytes of the proof, its figures, and both in one pass; beside it how many times faster
// that is than Little CMS's own optimised proof and how much slower than a plain copy, in
// the same run, and what the grid's error is; and how long the proof takes of a picture that
// is indexed.
func BenchmarkPicture(b *testing.B) {
	romm, _ := space.ByID("romm")
	p := rightPlan(SpaceProfile(romm), realProfile(b, "FOGRA39L_coated.icc"), RelativeColorimetric, true, ScreenWhite)
	src := demoPixels(b, copies)
	dst := make([]uint8, 4*src.W*src.H)
	mega := float64(src.W*src.H) / 1e6
	deep := raster.New(src.W, src.H, 3, true)
	for i, v := range src.P8 {
		deep.P16[i] = uint16(v) * 257
	}
	ink := raster.New(src.W, src.H, 4, false)
	for i := range src.W * src.H { // no separation for a press, but as many colours as one has
		c, m, y := 255-src.P8[3*i], 255-src.P8[3*i+1], 255-src.P8[3*i+2]
		k := min(c, m, y) / 2
		copy(ink.P8[4*i:], []uint8{c - k, m - k, y - k, k})
	}
	t := peer(b, p)
	proofOf := func(dst []uint8, src raster.Pixels) {
		inStrips(src.H, func(y0, y1 int) { t.RunBytes(dst[3*y0*src.W:3*y1*src.W], src.Rows(y0, y1).P8) })
	}
	run := func(name string, work func(dst []uint8, y0, y1 int), metrics func(b *testing.B)) {
		b.Run(name, func(b *testing.B) {
			var own, plain stopwatch
			var other fifths // it takes so long
			for n := 0; b.Loop(); n++ {
				for i := range copies {
					y0, y1 := src.H*i/copies, src.H*(i+1)/copies
					to, from := dst[4*y0*src.W:4*y1*src.W], src.Rows(y0, y1)
					own.run(func() { work(to, y0, y1) })
					plain.run(func() {
						inStrips(from.H, func(a, z int) { copy(to[3*a*src.W:3*z*src.W], from.Rows(a, z).P8) })
					})
					other.run(n*copies+i, from, func(part raster.Pixels) { proofOf(to, part) })
				}
			}
			b.ReportMetric(mega/copies/float64(own), "MP/s")
			b.ReportMetric(other.seconds()/float64(own), "x-peer")
			b.ReportMetric(float64(own/plain), "copies")
			b.ReportMetric(0, "ns/op")
			if metrics != nil {
				metrics(b)
			}
		})
	}
	run("peer", func(dst []uint8, y0, y1 int) { proofOf(dst, src.Rows(y0, y1)) }, nil)
	e := NewEngine()
	defer e.Close()
	c, err := e.Chain(p)
	if err != nil {
		b.Fatal(err)
	}
	defer c.Close()
	colours := colourSets(romm, 20000)["dense"]
	ctx := context.Background()
	for _, q := range []Quality{Good, Fine} {
		g, err := e.Grid(ctx, p, q)
		if err != nil {
			b.Fatal(err)
		}
		if err := g.Proof(ctx, dst, src); err != nil { // which refines a fine one
			b.Fatal(err)
		}
		name := map[Quality]string{Good: "good", Fine: "fine"}[q]
		failed := func(err error) {
			if err != nil {
				b.Error(err)
			}
		}
		run("proof/"+name, func(dst []uint8, y0, y1 int) { failed(g.Proof(ctx, dst, src.Rows(y0, y1))) }, func(b *testing.B) {
			mean, p999 := meanAndP999(gridErrors(b, g, c, colours))
			b.ReportMetric(mean, "ΔE00-mean")
			b.ReportMetric(p999, "ΔE00-p99.9")
		})
		run("both/"+name, func(dst []uint8, y0, y1 int) {
			_, err := g.ProofAndFigures(ctx, dst, src.Rows(y0, y1))
			failed(err)
		}, nil)
		run("proof16/"+name, func(dst []uint8, y0, y1 int) { failed(g.Proof(ctx, dst, deep.Rows(y0, y1))) }, nil)
		inks, err := e.Grid(ctx, rightPlan(realProfile(b, "ISOcoated_v2_300_bas.icc"), p.Paper, RelativeColorimetric, true, ScreenWhite), q)
		if err != nil {
			b.Fatal(err)
		}
		failed(inks.Proof(ctx, dst, ink))
		run("inks/"+name, func(dst []uint8, y0, y1 int) { failed(inks.Proof(ctx, dst, ink.Rows(y0, y1))) }, nil)
	}
	for _, name := range []string{"figures", "figures/indexed"} {
		b.Run(name, func(b *testing.B) {
			pic := NewPicture(src, nil)
			if name == "figures/indexed" {
				if err := pic.Index(ctx); err != nil {
					b.Fatal(err)
				}
			}
			var own stopwatch
			for b.Loop() {
				own.run(func() {
					if _, err := e.Count(ctx, p, pic, nil); err != nil {
						b.Error(err)
					}
				})
			}
			b.ReportMetric(mega/float64(own), "MP/s")
			b.ReportMetric(float64(own)*1000, "ms")
			b.ReportMetric(0, "ns/op")
		})
	}
	noisy := src // six times as many colours: as many as a photograph has
	noisy.P8 = bytes.Clone(src.P8)
	r := rand.New(rand.NewPCG(12, 12))
	for i, v := range noisy.P8 {
		noisy.P8[i] = uint8(min(255, uint(v)+r.UintN(8)))
	}
	for _, of := range []struct {
		name string
		src  raster.Pixels
	}{{"redrawn", src}, {"redrawn-noisy", noisy}} {
		pic := NewPicture(of.src, nil)
		if err := pic.Index(ctx); err != nil || pic.index.Load() == nil {
			b.Fatal("not indexed", err)
		}
		for _, q := range []Quality{Good, Fine} {
			g, err := e.Grid(ctx, p, q)
			if err == nil {
				err = pic.Proof(ctx, g, dst) // which finds the places and refines a fine grid
			}
			if err != nil {
				b.Fatal(err)
			}
			b.Run(of.name+"/"+map[Quality]string{Good: "good", Fine: "fine"}[q], func(b *testing.B) {
				var own stopwatch
				for b.Loop() {
					own.run(func() {
						if err := pic.Proof(ctx, g, dst); err != nil {
							b.Error(err)
						}
					})
				}
				b.ReportMetric(float64(own)*1000, "ms")
				b.ReportMetric(float64(pic.index.Load().colours.W), "colours")
				b.ReportMetric(0, "ns/op")
			})
		}
	}
}

// BenchmarkThread tells megapixels per second of one thread for each way of the kernel, and
// how many times faster than Little CMS's own proof that is. The demo picture is read in
// pieces, each as often as the benchmark runs, and the best times are added: pieces are so
// short that a busy machine leaves them in peace, too, where BenchmarkPicture needs one at rest.
func BenchmarkThread(b *testing.B) {
	romm, _ := space.ByID("romm")
	p := rightPlan(SpaceProfile(romm), realProfile(b, "FOGRA39L_coated.icc"), RelativeColorimetric, true, ScreenWhite)
	src := demoPixels(b, 1)
	dst := make([]uint8, 4*src.W*src.H)
	e := NewEngine()
	defer e.Close()
	const piece = piecePixels
	pieces := src.W * src.H / piece
	speed := func(b *testing.B, work func(dst []uint8, src raster.Pixels)) float64 {
		best := make([]stopwatch, pieces)
		for b.Loop() {
			for i := range best {
				lo, hi := i*piece, (i+1)*piece
				best[i].run(func() { work(dst[4*lo:4*hi], src.Run(lo, hi)) })
			}
		}
		sum := stopwatch(0)
		for _, s := range best {
			sum += s
		}
		b.ReportMetric(0, "ns/op")
		return float64(pieces*piece) / 1e6 / float64(sum)
	}
	t, peerSpeed := peer(b, p), 0.0
	b.Run("peer", func(b *testing.B) {
		peerSpeed = speed(b, func(dst []uint8, src raster.Pixels) { t.RunBytes(dst[:len(src.P8)], src.P8) })
		b.ReportMetric(peerSpeed, "MP/s")
	})
	for _, q := range []Quality{Good, Fine} {
		g, err := e.Grid(context.Background(), p, q)
		if err == nil {
			err = g.Proof(context.Background(), dst, src) // which refines a fine one
		}
		if err != nil {
			b.Fatal(err)
		}
		name := map[Quality]string{Good: "good", Fine: "fine"}[q]
		wanted := make(wants, g.first.table.Total)
		for _, way := range kernel.Ways() {
			run := func(what string, tally *kernel.Tally) {
				b.Run(fmt.Sprintf("%s/%s/%s", what, name, way), func(b *testing.B) {
					mega := speed(b, func(dst []uint8, src raster.Pixels) {
						kernel.Walk(way, g.first.table, src, kernel.Out{Bytes: dst, Tally: tally, Wanted: wanted})
					})
					b.ReportMetric(mega, "MP/s")
					b.ReportMetric(mega/peerSpeed, "x-peer")
				})
			}
			run("proof", nil)
			tally := g.newTally()
			if err := g.narrow(context.Background(), tally, someOf(narrowPixels, src, weights{})); err != nil {
				b.Fatal(err)
			}
			run("both", tally)
		}
	}
}

// BenchmarkNewIntent tells how long a set-up that was never seen before takes from
// the change to a filled grid, and to a fine one that the demo picture was read by.
func BenchmarkNewIntent(b *testing.B) {
	romm, _ := space.ByID("romm")
	source, paper := SpaceProfile(romm), realProfile(b, "FOGRA39L_coated.icc")
	src := demoPixels(b, 1)
	dst := make([]uint8, 4*src.W*src.H)
	for _, q := range []Quality{Draft, Good, Fine} {
		b.Run(map[Quality]string{Draft: "draft", Good: "good", Fine: "fine"}[q], func(b *testing.B) {
			e := NewEngine()
			defer e.Close()
			var own stopwatch
			for i := 0; b.Loop(); i++ {
				p := rightPlan(source, paper, Perceptual, i%2 == 0, ScreenWhite)
				p.Dim = 1 - float64(i)/1e6 // a plan that was never seen
				own.run(func() {
					g, err := e.Grid(context.Background(), p, q)
					if err == nil && q == Fine {
						err = g.Proof(context.Background(), dst, src)
					}
					if err != nil {
						b.Fatal(err)
					}
				})
			}
			b.ReportMetric(float64(own)*1000, "ms")
			b.ReportMetric(0, "ns/op")
		})
	}
}
