package proof

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"firstsheet/assets"
	"firstsheet/proof/cie"
	"firstsheet/proof/kernel"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// Accuracy promised for pictures, against the exact chain before the screen's
// rounding to 8 bits.
const (
	promisedMean = 0.1 // ΔE00
	promisedP999 = 0.7
)

// colourSets returns named sets of 16-bit colours: dense over the whole space,
// near black, and skin-like (hue 30 to 70 degrees, chroma 8 to 40, L* 20 to 90:
// common practice, no source).
func colourSets(s space.Space, n int) map[string][]uint16 {
	r := rand.New(rand.NewPCG(7, 11))
	sets := map[string][]uint16{}
	add := func(name string, c [3]float64) {
		for _, v := range c {
			sets[name] = append(sets[name], uint16(math.Round(clip01(v)*65535)))
		}
	}
	for range n {
		add("dense", [3]float64{r.Float64(), r.Float64(), r.Float64()})
	}
	for range n / 4 {
		add("black", [3]float64{r.Float64() * 0.2, r.Float64() * 0.2, r.Float64() * 0.2})
		add("skin", s.FromLab(cie.LCh{L: 20 + 70*r.Float64(), C: 8 + 32*r.Float64(), H: 30 + 40*r.Float64()}.Lab()))
	}
	return sets
}

// gridErrors returns ΔE00 on the screen between grid and chain for each colour. A
// route that stores its numbers is told against the chain with those numbers rounded
// in between, from the grid's own stored numbers: where these are rounded to a
// neighbour is another matter.
func gridErrors(t testing.TB, g *Grid, c *Chain, colours []uint16) []float64 {
	t.Helper()
	n := len(colours) / 3
	src := make([]float64, len(colours))
	for i, v := range colours {
		src[i] = float64(v) / 65535
	}
	pixels := raster.Pixels{W: n, H: 1, Channels: 3, P16: colours}
	if err := g.Proof(context.Background(), make([]uint8, 4*n), pixels); err != nil { // which refines the grid
		t.Fatal(err)
	}
	row, want := numbersOfEach(g.first, pixels), make([]float64, 3*n)
	if g.then != nil {
		bytes := raster.New(n, 1, 3, false)
		numbers := make([]float64, 3*n)
		for i := range bytes.P8 {
			bytes.P8[i] = uint8(math.Round(255 * clip01(kernel.Number(kernel.Lanes(row[i/3])[i%3]))))
			numbers[i] = float64(bytes.P8[i]) / 255
		}
		row = numbersOfEach(g.then, bytes)
		device, err := c.pass(numbers, 1, len(c.links))
		if err != nil {
			t.Fatal(err)
		}
		relative, absolute, err := c.print(device)
		if err != nil {
			t.Fatal(err)
		}
		if err := c.toScreen(want, c.shown(nil, relative, absolute)); err != nil {
			t.Fatal(err)
		}
	} else {
		values := make([]Value, n)
		if err := c.Values(values, src); err != nil {
			t.Fatal(err)
		}
		for i, v := range values {
			copy(want[3*i:], v.Screen[:])
		}
	}
	srgb := space.SRGB()
	out := make([]float64, n)
	for i, v := range row {
		var got [3]float64
		for k := range got {
			got[k] = clip01(kernel.Number(kernel.Lanes(v)[k]))
		}
		w := want[3*i : 3*i+3]
		out[i] = cie.DeltaE00(srgb.ToLab(got[0], got[1], got[2]), srgb.ToLab(clip01(w[0]), clip01(w[1]), clip01(w[2])))
	}
	return out
}

// numbersOfEach reads the numbers of a field for each pixel, not rounded to bytes.
func numbersOfEach(f *field, src raster.Pixels) []uint64 {
	out, wanted := make([]uint64, src.W), make([]uint8, f.table.Total)
	for i := range out {
		n, _ := f.table.At(src, i, wanted)
		out[i] = n.Numbers
	}
	return out
}

// storedErrors returns by how many steps of 8 bits the stored numbers of a route are
// off the chain's before they are rounded, for each number.
func storedErrors(t testing.TB, g *Grid, c *Chain, colours []uint16) []float64 {
	t.Helper()
	n := len(colours) / 3
	src := make([]float64, len(colours))
	for i, v := range colours {
		src[i] = float64(v) / 65535
	}
	row := numbersOfEach(g.first, raster.Pixels{W: n, H: 1, Channels: 3, P16: colours})
	want, err := c.pass(src, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i := range want {
		want[i] = 255 * math.Abs(want[i]-kernel.Number(kernel.Lanes(row[i/3])[i%3]))
	}
	return want
}

func meanAndP999(v []float64) (mean, p999 float64) {
	s := slices.Sorted(slices.Values(v))
	for _, x := range s {
		mean += x
	}
	return mean / float64(len(s)), s[len(s)*999/1000]
}

// chainAndGrid returns a plan's exact chain and its fine grid, closed with the test.
func chainAndGrid(t *testing.T, p Plan) (*Chain, *Grid) {
	t.Helper()
	e := NewEngine()
	t.Cleanup(e.Close)
	c, err := e.Chain(p)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	g, err := e.Grid(context.Background(), p, Fine)
	if err != nil {
		t.Fatal(err)
	}
	return c, g
}

// keepsPromise checks a fine grid of the plan against the exact chain.
func keepsPromise(t *testing.T, name string, p Plan, sets map[string][]uint16) {
	t.Helper()
	c, g := chainAndGrid(t, p)
	for set, colours := range sets {
		mean, p999 := meanAndP999(gridErrors(t, g, c, colours))
		if mean > promisedMean || p999 > promisedP999 {
			t.Errorf("%s, %s colours: mean ΔE00 %.3f, 99.9th percentile %.3f; promised %.1f and %.1f",
				name, set, mean, p999, promisedMean, promisedP999)
		}
		if g.then == nil {
			continue
		}
		// In steps of 8 bits: where the paper's table is steepest, between black and a
		// lighter blue, one step of the picture changes numbers by a dozen.
		if mean, p999 := meanAndP999(storedErrors(t, g, c, colours)); mean > 0.1 || p999 > 4 {
			t.Errorf("%s, %s colours: stored numbers are off by %.2f steps in the mean, %.1f at the 99.9th percentile", name, set, mean, p999)
		}
	}
}

func TestFineGridKeepsItsPromise(t *testing.T) {
	cmyk, screen := realProfile(t, "FOGRA39L_coated.icc"), SpaceProfile(space.SRGB())
	for source, ways := range map[string]map[string]func(from *Profile) Plan{
		"srgb": {
			"perceptual":      func(from *Profile) Plan { return rightPlan(from, cmyk, Perceptual, true, PaperWhite) },
			"no compensation": func(from *Profile) Plan { return rightPlan(from, cmyk, RelativeColorimetric, false, ScreenWhite) },
		},
		"romm": {
			"original": func(from *Profile) Plan { return Plan{Source: from, Screen: screen, Reach: cmyk} },
			"absolute": func(from *Profile) Plan { return rightPlan(from, cmyk, AbsoluteColorimetric, true, PaperWhite) },
		},
	} {
		s, _ := space.ByID(source)
		sets := colourSets(s, 20000)
		for way, plan := range ways {
			keepsPromise(t, source+", "+way, plan(SpaceProfile(s)), sets)
		}
	}
}

// The demo papers bend more than the real ones at hand: far outside their reach the
// nearest colour jumps from black to a lighter blue. The plans are those that were
// worst among all papers, intents and slips, and the picture's usual one.
func TestFineGridOfDemoPapers(t *testing.T) {
	demo := map[string]*Profile{}
	for _, a := range assets.Papers() {
		p, err := NewProfile(a.Name, a.ICC)
		if err != nil {
			t.Fatal(err)
		}
		demo[a.ID] = p
	}
	romm, _ := space.ByID("romm")
	sets := colourSets(romm, 20000)
	for _, k := range []struct {
		paper, made        string // printed on, and converted for
		intent             Intent
		compensation, more bool // more: converted once more from numbers taken for sRGB
	}{
		{"pearl", "pearl", RelativeColorimetric, true, false},
		{"gloss", "washi", AbsoluteColorimetric, true, false},
		{"cotton", "cotton", RelativeColorimetric, false, true},
	} {
		p := rightPlan(SpaceProfile(romm), demo[k.paper], k.intent, k.compensation, ScreenWhite)
		p.Reach = p.Paper
		p.Conversions[0].To = demo[k.made]
		name := fmt.Sprintf("made for %s, on %s, %s", k.made, k.paper, k.intent)
		if k.more {
			p.Conversions[0].Clipped = true
			p.Conversions = append(p.Conversions, Conversion{From: SpaceProfile(space.SRGB()), To: demo[k.made], Intent: Perceptual})
			name += ", twice"
		}
		keepsPromise(t, name, p, sets)
	}
}

// Colours whose numbers are alike are nearer than what a larger patch begins with.
func TestAlikeColoursNeedNoLargerPatch(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	look := sRGBLook()
	worst := 0.0
	for i := range 300000 {
		scale := []float64{1, 0.2, 0.03}[i%3] // the dark ones are the nearest to fail
		var a, b [4]int16
		for k := range 3 {
			a[k] = kernel.NumberLane(scale * r.Float64())
			b[k] = a[k] + alikeLanes*int16(r.IntN(3)-1)
		}
		p, q := kernel.Pack(a[0], a[1], a[2], 0), kernel.Pack(b[0], b[1], b[2], 0)
		if !alike(p, q) {
			t.Fatalf("%v and %v are not alike", a, b)
		}
		worst = max(worst, cie.DeltaE00(look(p), look(q)))
	}
	if worst*darkWeight >= colourBends[2] {
		t.Errorf("alike colours are up to ΔE00 %.3f apart, weighed %.2f", worst, worst*darkWeight)
	}
}

func TestGreyRampStaysMonotonic(t *testing.T) {
	srgb, paper := SpaceProfile(space.SRGB()), realProfile(t, "FOGRA39L_coated.icc")
	e := NewEngine()
	defer e.Close()
	ramp := raster.New(256, 1, 3, false)
	for i := range ramp.P8 {
		ramp.P8[i] = uint8(i / 3)
	}
	for _, q := range []Quality{Draft, Good, Fine} {
		g, err := e.Grid(context.Background(), rightPlan(srgb, paper, RelativeColorimetric, true, ScreenWhite), q)
		if err != nil {
			t.Fatal(err)
		}
		out := make([]uint8, 4*256)
		if err := g.Proof(context.Background(), out, ramp); err != nil {
			t.Fatal(err)
		}
		for i := 1; i < 256; i++ {
			if out[4*i+1] < out[4*i-3] {
				t.Errorf("quality %d: green falls from %d to %d at grey %d", q, out[4*i-3], out[4*i+1], i)
			}
		}
		if out[4*255] != 255 || out[4*255+1] != 255 || out[4*255+2] != 255 {
			t.Errorf("quality %d: white is shown as %v", q, out[4*255:])
		}
	}
}

// Pixels of 8 and of 16 bits, of one, three and four channels all give the exact
// chain's bytes to within a step or two.
func TestProofOfEveryKindOfPixel(t *testing.T) {
	cmyk, grey := realProfile(t, "ISOcoated_v2_300_bas.icc"), realProfile(t, "sgray.icc")
	paper := realProfile(t, "FOGRA39L_coated.icc")
	r := rand.New(rand.NewPCG(3, 4))
	for _, source := range []*Profile{SpaceProfile(space.SRGB()), grey, cmyk} {
		p := rightPlan(source, paper, RelativeColorimetric, true, PaperWhite)
		e := NewEngine()
		c, err := e.Chain(p)
		if err != nil {
			t.Fatal(err)
		}
		g, err := e.Grid(context.Background(), p, Fine)
		if err != nil {
			t.Fatal(err)
		}
		for _, deep := range []bool{false, true} {
			src := raster.New(37, 53, source.Channels(), deep)
			for i := range src.P8 {
				src.P8[i] = uint8(r.UintN(256))
			}
			for i := range src.P16 {
				src.P16[i] = uint16(r.UintN(65536))
			}
			out := make([]uint8, 4*src.W*src.H)
			if err := g.Proof(context.Background(), out, src); err != nil {
				t.Fatal(err)
			}
			var sum, worst float64
			for y := range src.H {
				for x := range src.W {
					v := c.Value(src.At(nil, x, y))
					for k := range v.Screen {
						d := math.Abs(float64(out[4*(y*src.W+x)+k]) - v.Screen[k]*255)
						sum += d
						worst = max(worst, d)
					}
					if out[4*(y*src.W+x)+3] != 255 {
						t.Fatal("a pixel is not opaque")
					}
				}
			}
			// Rounding alone costs 0.25 in the mean and 0.5 at most. A grid over four
			// inks is coarser, and random inks meet its worst places.
			limit := 6.0
			if source.Channels() == 4 {
				limit = 12
			}
			if mean := sum / float64(3*src.W*src.H); mean > 0.45 || worst > limit {
				t.Errorf("%s, 16 bits %t: mean %.2f and worst %.1f steps from the chain", source.Name(), deep, mean, worst)
			}
		}
		c.Close()
		e.Close()
	}
}

// A file that was converted, stored in 8 bits and converted again: pixels are the
// exact chain with the stored numbers rounded in between.
func TestStoredNumbersAreRounded(t *testing.T) {
	srgb, device, last := SpaceProfile(space.SRGB()), realProfile(t, "WideGamutRGB.icc"), realProfile(t, "a98.icc")
	screen := SpaceProfile(space.SRGB())
	whole := Plan{Source: srgb, Paper: last, Screen: screen, Conversions: []Conversion{
		{From: srgb, To: device, Intent: RelativeColorimetric, Clipped: true, By: "Firstsheet"},
		{From: srgb, To: last, Intent: Perceptual, By: "the driver"},
	}}
	first := Plan{Source: srgb, Paper: device, Screen: screen, Conversions: whole.Conversions[:1]}
	second := Plan{Source: srgb, Paper: last, Screen: screen, Conversions: whole.Conversions[1:]}
	e := NewEngine()
	defer e.Close()
	g, err := e.Grid(context.Background(), whole, Fine)
	if err != nil {
		t.Fatal(err)
	}
	ramp := raster.New(256, 1, 3, false) // a dark gradient, where a step of 8 bits shows
	for i := range 256 {
		ramp.P8[3*i], ramp.P8[3*i+1], ramp.P8[3*i+2] = uint8(i/2), uint8(i/4), uint8(i/3)
	}
	out := make([]uint8, 4*256)
	if err := g.Proof(context.Background(), out, ramp); err != nil {
		t.Fatal(err)
	}
	chain := func(p Plan) *Chain {
		c, err := e.Chain(p)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(c.Close)
		return c
	}
	toStored, fromStored, all := chain(first), chain(second), chain(whole)
	var rounded, unrounded float64
	for i := range 256 {
		src := ramp.At(nil, i, 0)
		stored := toStored.Value(src).Device
		for k := range stored {
			stored[k] = math.Round(stored[k]*255) / 255
		}
		want, smooth := fromStored.Value(stored).Screen, all.Value(src).Screen
		for k := range want {
			rounded += math.Abs(float64(out[4*i+k])-want[k]*255) / 768
			unrounded += math.Abs(float64(out[4*i+k])-smooth[k]*255) / 768
		}
	}
	// The screen's rounding alone costs 0.25.
	if rounded > 0.4 || unrounded < 1.5*rounded {
		t.Errorf("mean %.2f steps from the rounded chain, %.2f from the unrounded one", rounded, unrounded)
	}
}

func TestStoppedWork(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	e := NewEngine()
	defer e.Close()
	p := rightPlan(SpaceProfile(space.SRGB()), realProfile(t, "cmyk.icc"), Perceptual, true, ScreenWhite)
	if _, err := e.Grid(ctx, p, Good); !errors.Is(err, context.Canceled) {
		t.Errorf("Grid of a cancelled context: %v", err)
	}
	g, err := e.Grid(context.Background(), p, Draft)
	if err != nil {
		t.Fatal(err)
	}
	src := raster.New(64, 64, 3, false)
	if err := g.Proof(ctx, make([]uint8, 4*64*64), src); !errors.Is(err, context.Canceled) {
		t.Errorf("Proof of a cancelled context: %v", err)
	}
	if _, err := e.Count(ctx, p, NewPicture(src, nil), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("Count of a cancelled context: %v", err)
	}
}

// Pixels that do not fit the plan are refused, whatever their file was like.
func TestPixelsThatDoNotFit(t *testing.T) {
	e := NewEngine()
	defer e.Close()
	g, err := e.Grid(context.Background(), Plan{Source: SpaceProfile(space.SRGB()), Screen: SpaceProfile(space.SRGB())}, Draft)
	if err != nil {
		t.Fatal(err)
	}
	right := raster.New(5, 4, 3, false)
	short := right
	short.P8 = short.P8[1:]
	both := right
	both.P16 = make([]uint16, 60)
	for name, k := range map[string]struct {
		src  raster.Pixels
		room int
	}{
		"grey":        {raster.New(5, 4, 1, false), 20},
		"four inks":   {raster.New(5, 4, 4, true), 20},
		"cut off":     {short, 20},
		"both depths": {both, 20},
		"no numbers":  {raster.Pixels{W: 5, H: 4, Channels: 3}, 20},
		"negative":    {raster.Pixels{W: -5, H: -4, Channels: 3, P8: right.P8}, 20},
		"no room":     {right, 19},
	} {
		if err := g.Proof(context.Background(), make([]uint8, 4*k.room), k.src); !errors.Is(err, ErrPlan) {
			t.Errorf("%s: Proof says %v, want a *PlanError", name, err)
		}
		samples := make([]Sample, k.room)
		if err := g.Samples(context.Background(), samples, k.src); !errors.Is(err, ErrPlan) {
			t.Errorf("%s: Samples says %v, want a *PlanError", name, err)
		}
		if err := g.ProofAndSamples(context.Background(), make([]uint8, 80), samples, k.src); !errors.Is(err, ErrPlan) {
			t.Errorf("%s: ProofAndSamples says %v, want a *PlanError", name, err)
		}
	}
	if err := g.Samples(context.Background(), nil, raster.New(0, 3, 3, false)); err != nil {
		t.Errorf("an empty picture: %v", err)
	}
}

// Samples say of every pixel what the exact chain says: within what a grid is off, and
// which greys are darker than the paper almost to the step.
func TestSamplesAgreeWithTheChain(t *testing.T) {
	srgb := space.SRGB()
	p := rightPlan(SpaceProfile(srgb), realProfile(t, "default_cmyk.icc"), Perceptual, true, PaperWhite)
	p.White = ScreenWhite // shown against one white, counted against the other
	c, g := chainAndGrid(t, p)
	r := rand.New(rand.NewPCG(21, 22))
	src := raster.New(256, 40, 3, false)
	for i := range src.P8 {
		src.P8[i] = uint8(r.UintN(256))
		if i < 3*256 { // the first row is a ramp of greys
			src.P8[i] = uint8(i / 3)
		}
	}
	samples := make([]Sample, src.W*src.H)
	if err := g.Samples(context.Background(), samples, src); err != nil {
		t.Fatal(err)
	}
	pixels, once, both := make([]uint8, 4*src.W*src.H), make([]uint8, 4*src.W*src.H), make([]Sample, src.W*src.H)
	if err := errors.Join(g.Proof(context.Background(), pixels, src), g.ProofAndSamples(context.Background(), once, both, src)); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(once, pixels) || !slices.Equal(both, samples) {
		t.Error("one pass tells other than two")
	}
	var delta, reach float64
	for i, s := range samples {
		v := c.Value(src.At(nil, i%src.W, i/src.W))
		delta += math.Abs(s.DeltaE00.Float()-v.DeltaE00) / float64(len(samples))
		reach += math.Abs(s.Reach.Float()-v.Reach) / float64(len(samples))
		if s.Darker != v.Darker && math.Abs(v.Original.L-c.deepest) > 0.5 {
			t.Errorf("pixel %d of L* %.2f: darker %t, want %t", i, v.Original.L, s.Darker, v.Darker)
		}
	}
	// The promise for pictures in the mean, which figures are not to miss by much more.
	if delta > 0.1 || reach > 0.1 {
		t.Errorf("ΔE00 is off by %.3f in the mean, reach by %.3f", delta, reach)
	}
}

// The reach is told of the paper that was meant, wherever the print lands.
func TestReachOfThePaperThatWasMeant(t *testing.T) {
	srgb, meant, used := SpaceProfile(space.SRGB()), realProfile(t, "default_cmyk.icc"), realProfile(t, "FOGRA39L_coated.icc")
	p := rightPlan(srgb, used, RelativeColorimetric, true, ScreenWhite)
	p.Reach = meant
	// transicc, two decimals, as in TestReachOnRealCMYK.
	if v := evaluate(t, p, rgb8(0, 255, 0)...); math.Abs(v.Reach-16.57) > 0.006 {
		t.Errorf("reach of green = %.3f, want 16.57", v.Reach)
	}
	dark := space.SRGB().FromLab(cie.Lab{L: 16.45}) // the meant paper's black is 16.50, the used one's lower
	if v := evaluate(t, p, dark[:]...); !v.Darker {
		t.Errorf("L* %.2f is not darker than the paper that was meant", v.Original.L)
	}
}
