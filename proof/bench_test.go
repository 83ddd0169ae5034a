package proof

import (
	"bytes"
	"context"
	"fmt"
	"runtime"
	"sync"
	"testing"
	"time"

	"firstsheet/assets"
	"firstsheet/proof/lcms"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// Benchmarks of pictures tell the best run: the others tell how busy the machine is.

// best calls work until the benchmark ends and returns the shortest time.
func best(b *testing.B, work ...func()) []time.Duration {
	times := make([]time.Duration, len(work))
	for b.Loop() {
		for i, w := range work {
			start := time.Now()
			w()
			if d := time.Since(start); times[i] == 0 || d < times[i] {
				times[i] = d
			}
		}
	}
	return times
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
func peer(b *testing.B, p Plan) func(dst []uint8, src raster.Pixels) {
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
	return func(dst []uint8, src raster.Pixels) {
		inStrips(src.H, func(y0, y1 int) { t.RunBytes(dst[3*y0*src.W:3*y1*src.W], src.Rows(y0, y1).P8) })
	}
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
// the same run, and what the grid's error is.
func BenchmarkPicture(b *testing.B) {
	romm, _ := space.ByID("romm")
	p := rightPlan(SpaceProfile(romm), realProfile(b, "FOGRA39L_coated.icc"), RelativeColorimetric, true, ScreenWhite)
	src := demoPixels(b, 4)
	dst := make([]uint8, 4*src.W*src.H)
	mega := float64(src.W*src.H) / 1e6
	deep := raster.New(src.W, src.H, 3, true)
	for i, v := range src.P8 {
		deep.P16[i] = uint16(v) * 257
	}
	// The peer takes so long that it gets a part of the picture.
	part, peerRun := src.Rows(0, src.H/16), peer(b, p)
	run := func(name string, work func(), metrics func(b *testing.B)) {
		b.Run(name, func(b *testing.B) {
			t := best(b, work,
				func() { peerRun(dst, part) },
				func() {
					inStrips(src.H, func(y0, y1 int) { copy(dst[3*y0*src.W:3*y1*src.W], src.Rows(y0, y1).P8) })
				})
			b.ReportMetric(mega/t[0].Seconds(), "MP/s")
			b.ReportMetric(16*t[1].Seconds()/t[0].Seconds(), "x-peer")
			b.ReportMetric(t[0].Seconds()/t[2].Seconds(), "copies")
			b.ReportMetric(0, "ns/op")
			if metrics != nil {
				metrics(b)
			}
		})
	}
	run("peer", func() { peerRun(dst, src) }, nil)
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
		run("proof/"+name, func() { failed(g.Proof(ctx, dst, src)) }, func(b *testing.B) {
			mean, p999 := meanAndP999(gridErrors(b, g, c, colours))
			b.ReportMetric(mean, "ΔE00-mean")
			b.ReportMetric(p999, "ΔE00-p99.9")
		})
		run("both/"+name, func() { _, err := g.ProofAndFigures(ctx, dst, src); failed(err) }, nil)
		run("proof16/"+name, func() { failed(g.Proof(ctx, dst, deep)) }, nil)
	}
	run("figures", func() { _, _ = e.Count(ctx, p, NewPicture(src, nil), nil) }, nil)
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
			i := 0
			t := best(b, func() {
				p := rightPlan(source, paper, Perceptual, i%2 == 0, ScreenWhite)
				i++
				p.Dim = 1 - float64(i)/1e6 // a plan that was never seen
				g, err := e.Grid(context.Background(), p, q)
				if err == nil && q == Fine {
					err = g.Proof(context.Background(), dst, src)
				}
				if err != nil {
					b.Fatal(fmt.Errorf("grid %d: %w", i, err))
				}
			})
			b.ReportMetric(t[0].Seconds()*1000, "ms")
			b.ReportMetric(0, "ns/op")
		})
	}
}
