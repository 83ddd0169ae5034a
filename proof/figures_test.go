package proof_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"

	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// distinct returns all colours of a picture, each once, with how often it comes.
func distinct(src raster.Pixels) (numbers, pixels []float64) {
	count := map[[4]uint16]float64{}
	for i := range src.W * src.H {
		var key [4]uint16
		for k := range src.Channels {
			if src.Deep() {
				key[k] = src.P16[i*src.Channels+k]
			} else {
				key[k] = uint16(src.P8[i*src.Channels+k]) * 257
			}
		}
		count[key]++
	}
	for key, n := range count {
		pixels = append(pixels, n)
		for _, v := range key[:src.Channels] {
			numbers = append(numbers, float64(v)/65535)
		}
	}
	return numbers, pixels
}

// exact returns the figures of a plan over colours by the definitions alone: every
// colour through the chain, bands from 1, 2, 4 and 8, the percentile by nearest rank.
func exact(t *testing.T, e *proof.Engine, p proof.Plan, numbers, pixels []float64) proof.Figures {
	t.Helper()
	c, err := e.Chain(p)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	channels := p.Source.Channels()
	values := make([]proof.Value, len(pixels))
	var group sync.WaitGroup
	parts := runtime.GOMAXPROCS(0)
	for part := range parts {
		group.Go(func() {
			const step = 4096 // small enough for the cache
			for lo, end := part*len(values)/parts, (part+1)*len(values)/parts; lo < end; lo += step {
				hi := min(lo+step, end)
				if err := c.Values(values[lo:hi], numbers[lo*channels:hi*channels]); err != nil {
					t.Error(err)
				}
			}
		})
	}
	group.Wait()
	var f proof.Figures
	var all, sum float64
	type one struct{ delta, pixels float64 }
	var deltas []one
	for i, v := range values {
		n := pixels[i]
		all += n
		sum += v.DeltaE00 * n
		deltas = append(deltas, one{v.DeltaE00, n})
		switch {
		case v.Darker:
			f.Darker += n
		case v.Reach < 1:
			f.Reach[0] += n
		case v.Reach < 2:
			f.Reach[1] += n
		case v.Reach < 4:
			f.Reach[2] += n
		case v.Reach < 8:
			f.Reach[3] += n
		default:
			f.Reach[4] += n
		}
	}
	for i := range f.Reach {
		f.Reach[i] /= all
	}
	f.Pixels, f.Darker, f.Mean = int64(all), f.Darker/all, sum/all
	slices.SortFunc(deltas, func(a, b one) int {
		switch {
		case a.delta < b.delta:
			return -1
		case a.delta > b.delta:
			return 1
		}
		return 0
	})
	f.Max = deltas[len(deltas)-1].delta
	seen := 0.0
	for _, d := range deltas {
		if seen += d.pixels; seen >= 0.95*all {
			f.P95 = d.delta
			break
		}
	}
	return f
}

// limits are how far figures may be off the exact ones: shares in points of a
// hundred, differences in ΔE00.
type limits struct{ share, mean, p95, max float64 }

// off reports what is farther off than the limits and returns the largest errors.
func off(t *testing.T, name string, got, want proof.Figures, l limits) limits {
	t.Helper()
	var worst limits
	near := func(what string, got, want, limit float64, worst *float64) {
		d := math.Abs(got - want)
		*worst = max(*worst, d)
		if !(d <= limit) {
			t.Errorf("%s: %s = %.4f, want %.4f ± %g", name, what, got, want, limit)
		}
	}
	near("darker", 100*got.Darker, 100*want.Darker, l.share, &worst.share)
	for i := range got.Reach {
		near(fmt.Sprintf("band %d", i), 100*got.Reach[i], 100*want.Reach[i], l.share, &worst.share)
	}
	near("out of reach", 100*got.Outside(2), 100*want.Outside(2), l.share, &worst.share)
	near("mean", got.Mean, want.Mean, l.mean, &worst.mean)
	near("p95", got.P95, want.P95, l.p95, &worst.p95)
	near("max", got.Max, want.Max, l.max, &worst.max)
	if got.Pixels != want.Pixels {
		t.Errorf("%s: %d pixels, want %d", name, got.Pixels, want.Pixels)
	}
	return worst
}

// open returns a picture and what its numbers are.
func open(t *testing.T, name string, data []byte) setup.Source {
	t.Helper()
	pic, err := photo.OpenReader(context.Background(), name, bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	s, err := setup.SourceOf(pic, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func demoPaper(t *testing.T, name string, icc []byte) *proof.Profile {
	t.Helper()
	p, err := proof.NewProfile(name, icc)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func rightWay(source, paper *proof.Profile) proof.Plan {
	return proof.Plan{Source: source, Paper: paper, Screen: proof.SpaceProfile(space.SRGB()),
		Conversions: []proof.Conversion{{From: source, To: paper, Intent: proof.RelativeColorimetric, BPC: true, By: "Firstsheet"}}}
}

// promised are the limits for the demo picture: what is shown is rounded to whole
// points or to tenths of one. The largest difference is the chain's own.
var promised = limits{share: 0.12, mean: 0.01, p95: 0.05, max: 1e-6}

// The demo picture against the chain of all its 283 thousand colours, on each paper
// and with each slip that changes figures, a paper in turn.
func TestFiguresOfTheDemoPicture(t *testing.T) {
	s := open(t, "regatta.jpg", assets.RegattaJPEG())
	pixels := s.Pixels()
	numbers, counts := distinct(pixels)
	e := proof.NewEngine()
	defer e.Close()
	check := func(name string, p proof.Plan) {
		got, err := e.Count(context.Background(), p, proof.NewPicture(pixels, nil), nil)
		if err != nil {
			t.Fatal(err)
		}
		off(t, name, got, exact(t, e, p, numbers, counts), promised)
	}
	papers := assets.Papers()
	for _, a := range papers {
		check(a.ID, rightWay(s.Profile, demoPaper(t, a.Name, a.ICC)))
	}
	for i, mistake := range slip.All() {
		if mistake.OnScreen {
			continue
		}
		a, other := papers[i%len(papers)], papers[(i+1)%len(papers)]
		p, err := slip.Apply(rightWay(s.Profile, demoPaper(t, a.Name, a.ICC)), []string{mistake.ID}, slip.Options{
			Reads: proof.SpaceProfile(space.SRGB()), Other: demoPaper(t, other.Name, other.ICC),
			Setting: demoPaper(t, "setting", a.Wrong[0].ICC), SettingName: "another",
		})
		if err != nil {
			t.Fatal(err)
		}
		check(a.ID+", "+mistake.ID, p)
	}
}

// A glance is off by no more than a sample of its size is in 19 cases of 20: here in all
// of six, which it is in three of four.
func TestGlance(t *testing.T) {
	s := open(t, "regatta.jpg", assets.RegattaJPEG())
	pixels := s.Pixels()
	numbers, counts := distinct(pixels)
	e := proof.NewEngine()
	defer e.Close()
	a := assets.Papers()[0]
	p := rightWay(s.Profile, demoPaper(t, a.Name, a.ICC))
	got, err := e.Glance(context.Background(), p, proof.NewPicture(pixels, nil))
	if err != nil {
		t.Fatal(err)
	}
	want := exact(t, e, p, numbers, counts)
	if got.Pixels < 4096 || got.Pixels > 4200 {
		t.Errorf("%d pixels were looked at, want about 4096", got.Pixels)
	}
	got.Pixels, got.Max = want.Pixels, want.Max
	off(t, "glance", got, want, limits{share: 1.6, mean: 0.1, p95: 0.5})
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := e.Glance(stopped, p, proof.NewPicture(pixels, nil)); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// hardPictures have far more colours than are computed, or put them where a regular
// division of the numbers is at its worst.
func hardPictures(t *testing.T) map[string]setup.Source {
	t.Helper()
	r := rand.New(rand.NewPCG(1, 2))
	noise := func(channels int) raster.Pixels {
		p := raster.New(900, 600, channels, true)
		for i := range p.P16 {
			p.P16[i] = uint16(r.UintN(65536))
		}
		return p
	}
	source := func(p *proof.Profile, px raster.Pixels) setup.Source {
		return setup.Source{Profile: p, Picture: &photo.Picture{W: px.W, H: px.H, Channels: px.Channels, Depth: 16, Pix16: px.P16}}
	}
	inks, err := os.ReadFile("../testdata/cache/profiles/FOGRA39L_coated.icc")
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	ring, err := os.ReadFile("../testdata/cache/photos/rec2020_ring.png")
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	linear, _ := space.ByID("rec2020")
	linear.Name, linear.Curve = "linear Rec. 2020", space.Curve{G: 1, A: 1, C: 1}
	return map[string]setup.Source{
		"noise":            source(proof.SpaceProfile(space.SRGB()), noise(3)),
		"noise of inks":    source(demoPaper(t, "inks", inks), noise(4)),
		"wide gamut":       open(t, "rec2020_ring.png", ring),
		"linear Rec. 2020": source(proof.SpaceProfile(linear), linearRegatta(t, linear)),
	}
}

// linearRegatta is part of the demo picture in 16 bits without a tone curve, with a
// little noise so that no two pixels are alike.
func linearRegatta(t *testing.T, to space.Space) raster.Pixels {
	t.Helper()
	romm, _ := space.ByID("romm")
	deep := open(t, "regatta16.png", assets.RegattaDeep()).Pixels().Rows(300, 800)
	r := rand.New(rand.NewPCG(3, 4))
	for i := 0; i < len(deep.P16); i += 3 {
		p := deep.P16[i : i+3]
		lab := romm.ToLab(float64(p[0])/65535, float64(p[1])/65535, float64(p[2])/65535)
		for k, v := range to.FromLab(lab) {
			p[k] = uint16(math.Round(65535 * min(1, max(0, v+r.NormFloat64()*0.0005))))
		}
	}
	return deep
}

func TestFiguresOfHardPictures(t *testing.T) {
	cotton := assets.Papers()[0] // off by the most
	paper := demoPaper(t, cotton.Name, cotton.ICC)
	e := proof.NewEngine()
	defer e.Close()
	for name, s := range hardPictures(t) {
		numbers, counts := distinct(s.Pixels())
		p := rightWay(s.Profile, paper)
		got, err := e.Count(context.Background(), p, proof.NewPicture(s.Pixels(), nil), nil)
		if err != nil {
			t.Fatal(err)
		}
		// Sampling errors fall with the root of the number of colours, not with how
		// hard they are: three times what was measured.
		off(t, name, got, exact(t, e, p, numbers, counts), limits{share: 0.4, mean: 0.01, p95: 0.05, max: 0.5})
	}
}

// Pictures that are small enough are counted exactly: sums in another order differ by
// a few units of the last place.
func TestFiguresOfSmallPicturesAreExact(t *testing.T) {
	whole := open(t, "regatta.jpg", assets.RegattaJPEG())
	px := whole.Pixels()
	px = px.Rows(600, 600+(1<<17)/px.W)
	numbers, counts := distinct(px)
	e := proof.NewEngine()
	defer e.Close()
	pearl := assets.Papers()[1]
	p := rightWay(whole.Profile, demoPaper(t, pearl.Name, pearl.ICC))
	got, err := e.Count(context.Background(), p, proof.NewPicture(px, nil), nil)
	if err != nil {
		t.Fatal(err)
	}
	const rounding = 1e-9
	off(t, "small", got, exact(t, e, p, numbers, counts), limits{rounding, rounding, rounding, 0})
}

// A percentile by the nearest rank, bands and shares of a list short enough to do by
// hand: ΔE00 and reach 0.5, 1.0, ... 19.5, the first darker than the paper.
func TestTallyByHand(t *testing.T) {
	var tally proof.Tally
	for i := 39; i >= 1; i-- {
		tally.Add(float64(i)/2, float64(i)/2, i == 1, 1)
	}
	got := tally.Figures()
	want := proof.Figures{Pixels: 39, Darker: 1.0 / 39, Mean: 10, P95: 19, Max: 19.5,
		Reach: [proof.Bands]float64{0, 2.0 / 39, 4.0 / 39, 8.0 / 39, 24.0 / 39}}
	if got != want {
		t.Errorf("figures = %+v, want %+v", got, want)
	}
	if out := got.Outside(4); math.Abs(out-32.0/39) > 1e-12 {
		t.Errorf("Outside(4) = %g, want 32/39", out)
	}
	if empty := new(proof.Tally).Figures(); empty != (proof.Figures{}) {
		t.Errorf("nothing counted gives %+v", empty)
	}
	// 95 of 100 pixels at 1, five at 2: the 95th in order is the last 1.
	var hundred proof.Tally
	hundred.Add(2, 0, false, 5)
	hundred.Add(1, 0, false, 95)
	if f := hundred.Figures(); f.P95 != 1 || f.Max != 2 || f.Mean != 1.05 {
		t.Errorf("p95 %g max %g mean %g, want 1, 2, 1.05", f.P95, f.Max, f.Mean)
	}
}

// The choice of colours is the same on any number of cores, stands for every visible
// pixel once, and has colours of the picture alone.
func TestCountColours(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 8))
	for _, k := range []struct {
		channels, w, h int
		deep           bool
	}{{3, 700, 500, true}, {3, 700, 500, false}, {4, 500, 300, false}, {1, 700, 500, true}, {3, 20, 10, false}} {
		src := raster.New(k.w, k.h, k.channels, k.deep)
		for i := range src.P8 {
			src.P8[i] = uint8(r.UintN(256))
		}
		for i := range src.P16 {
			src.P16[i] = uint16(r.UintN(65536))
		}
		alpha := make([]uint8, k.w*k.h)
		visible := 0.0
		for i := range alpha {
			if alpha[i] = uint8(r.UintN(3)); alpha[i] > 0 {
				visible++
			}
		}
		taken := func(cores int) *proof.Colours {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
			c, err := proof.CountColours(context.Background(), src, alpha)
			if err != nil {
				t.Fatal(err)
			}
			return c
		}
		one, many := taken(1), taken(8)
		if !slices.Equal(one.Numbers, many.Numbers) || !slices.Equal(one.Pixels, many.Pixels) {
			t.Errorf("%d channels: other colours on other numbers of cores", k.channels)
		}
		numbers, _ := distinct(src)
		own := map[[4]float64]bool{}
		key := func(v []float64) (key [4]float64) { copy(key[:], v); return key }
		for c := range slices.Chunk(numbers, k.channels) {
			own[key(c)] = true
		}
		sum := 0.0
		for i, n := range one.Pixels {
			sum += n
			if !own[key(one.Numbers[i*k.channels:(i+1)*k.channels])] {
				t.Fatalf("%d channels: a colour is taken that is not in the picture", k.channels)
			}
		}
		if sum != visible {
			t.Errorf("%d channels: colours stand for %g pixels, want %g", k.channels, sum, visible)
		}
	}
}

// A pattern of two colours that are alike in coarse steps, in turn, is not taken for
// one of them.
func TestCountColoursOfAPattern(t *testing.T) {
	src := raster.New(1024, 1024, 3, false)
	for i := range src.P8 {
		src.P8[i] = uint8(128 + i/3%2)
	}
	c, err := proof.CountColours(context.Background(), src, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Pixels) != 2 || math.Abs(c.Pixels[0]/(1024*1024)-0.5) > 0.01 {
		t.Errorf("two colours in turn are taken as %v pixels", c.Pixels)
	}
}

func TestCountColoursRefuses(t *testing.T) {
	good := raster.New(4, 4, 3, false)
	for name, k := range map[string]struct {
		src   raster.Pixels
		alpha []uint8
	}{
		"two channels": {raster.New(4, 4, 2, false), nil},
		"short":        {raster.Pixels{W: 4, H: 5, Channels: 3, P8: good.P8}, nil},
		"short alpha":  {good, make([]uint8, 15)},
	} {
		if _, err := proof.CountColours(context.Background(), k.src, k.alpha); !errors.Is(err, proof.ErrPlan) {
			t.Errorf("%s: %v, want a *PlanError", name, err)
		}
	}
	e := proof.NewEngine()
	defer e.Close()
	srgb := proof.SpaceProfile(space.SRGB())
	if _, err := e.Count(context.Background(), proof.Plan{Source: srgb, Screen: srgb}, proof.NewPicture(raster.New(4, 4, 1, false), nil), nil); !errors.Is(err, proof.ErrPlan) {
		t.Errorf("grey pixels with sRGB: %v, want a *PlanError", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := proof.CountColours(ctx, good, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}
