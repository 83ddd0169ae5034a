package cause

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/register"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// colours are what a picture in sRGB prints on a paper, or looks like itself with "".
func coloursOf(t *testing.T, engine *proof.Engine, p *photo.Picture, set setup.Setup) []cie.Lab {
	t.Helper()
	plan, err := set.Plan(demoCase(t, "pearl").Find)
	if err != nil {
		t.Fatal(err)
	}
	chain, err := engine.Chain(plan)
	if err != nil {
		t.Fatal(err)
	}
	defer chain.Close()
	var numbers []float64
	for _, v := range p.Pix8 {
		numbers = append(numbers, float64(v)/255)
	}
	values := make([]proof.Value, p.W*p.H)
	if err := chain.Values(values, numbers); err != nil {
		t.Fatal(err)
	}
	out := make([]cie.Lab, len(values))
	for i, v := range values {
		out[i] = v.Relative
	}
	return out
}

// off is the root mean square of ΔL* of a laid photograph from the print that it shows,
// field by field of 8 by 6: what uneven light leaves.
func off(t *testing.T, laid *photo.Picture, print []cie.Lab) float64 {
	t.Helper()
	romm, _ := space.ByID("romm")
	const columns, rows = 8, 6
	var sum [columns * rows]float64
	var n [columns * rows]float64
	for y := range laid.H {
		for x := range laid.W {
			i := y*laid.W + x
			v := laid.Pix16[3*i : 3*i+3]
			c := romm.ToLab(float64(v[0])/65535, float64(v[1])/65535, float64(v[2])/65535)
			at := y*rows/laid.H*columns + x*columns/laid.W
			sum[at] += c.L - print[i].L
			n[at]++
		}
	}
	var squares float64
	for i := range sum {
		d := sum[i] / n[i]
		squares += d * d / float64(len(sum))
	}
	return math.Sqrt(squares)
}

// Light that loses two fifths across the photograph is evened: by the paper's margin, or without one by
// what suits the true cause. Before is the same photograph with an even light, the
// margin's or the picture's own mean.
func TestPhotographsAreEvened(t *testing.T) {
	t.Parallel()
	engine := proof.NewEngine()
	defer engine.Close()
	set := setup.Usual("pearl")
	set.Source, set.Slips = "srgb", "never"
	var before, after [2]float64
	const shots = 3
	for i := range shots {
		r := rand.New(rand.NewPCG(5, uint64(i)))
		p := original(t, originals()[i%len(originals())])
		print := coloursOf(t, engine, p, set)
		shot := drawShot(r, p)
		shot.uneven = 0.4
		taken := shot.photograph(t, p, print, r)
		source := setup.Source{Picture: p, Profile: proof.SpaceProfile(space.SRGB())}
		seen, err := ReadPhoto(context.Background(), engine, source, taken, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		predicted := make([]cie.Lab, len(seen.Regions))
		f, err := find(context.Background(), engine, demoCase(t, "pearl"), []Evidence{seen})
		if err != nil {
			t.Fatal(err)
		}
		for h, one := range f.all {
			if idOf(one) == "never" {
				predicted = f.looks[h][0]
			}
		}
		measure := func(q Photo) float64 {
			laid, err := q.Laid(context.Background(), engine, taken, p.W, p.H, p.W, p.H)
			if err != nil {
				t.Fatal(err)
			}
			return off(t, laid, print)
		}
		even := seen
		for k := range even.Light { // the same in the middle, and even
			even.Light[k] = [6]float64{math.Log(seen.Light.At(register.Point{X: 0.5, Y: 0.5})[k])}
		}
		none := seen
		none.Margin, none.Light = false, even.Light
		// Regions as they would have been read without the margin.
		for j, s := range none.Regions {
			rgb := cameraOf(s.Lab)
			for k, w := range seen.Light.At(none.Places[j]) {
				rgb[k] *= w / math.Exp(even.Light[k][0])
			}
			s.Lab = labOf(rgb)
			none.Regions = append(append([]Spot(nil), none.Regions[:j]...), append([]Spot{s}, none.Regions[j+1:]...)...)
		}
		b, m, n := measure(even), measure(seen), measure(none.Evened(predicted))
		t.Logf("photograph %d: ΔL* %.1f before, %.1f by the margin, %.1f by the cause", i, b, m, n)
		if !seen.Margin {
			t.Errorf("photograph %d: no margin was seen", i)
		}
		before[0], after[0], before[1], after[1] = before[0]+b/shots, after[0]+m/shots, before[1]+b/shots, after[1]+n/shots
	}
	t.Logf("mean: before %.2f, by the margin %.2f, by the cause %.2f", before[0], after[0], after[1])
	for k, name := range []string{"the margin", "the cause"} {
		if after[k] > before[k]/2 || after[k] > 1.2 {
			t.Errorf("by %s ΔL* is %.2f, before %.2f", name, after[k], before[k])
		}
	}
}

// A disc has the colour that was observed, all else the original's own.
func TestPaintedPlaces(t *testing.T) {
	t.Parallel()
	engine := proof.NewEngine()
	defer engine.Close()
	p := original(t, originals()[0])
	source := setup.Source{Picture: p, Profile: proof.SpaceProfile(space.SRGB())}
	observed := cie.Lab{L: 40, A: 50, B: -30}
	out, err := Painted(context.Background(), engine, source.Profile, raster.Levels(source.Pixels()), []Place{{0.5, 0.25, observed}}, 2*p.W, 2*p.H)
	if err != nil {
		t.Fatal(err)
	}
	romm, _ := space.ByID("romm")
	at := func(x, y float64) cie.Lab {
		v := out.Pix16[3*(int(y*float64(out.H))*out.W+int(x*float64(out.W))):]
		return romm.ToLab(float64(v[0])/65535, float64(v[1])/65535, float64(v[2])/65535)
	}
	if d := cie.DeltaE00(at(0.5, 0.25), observed); d > 0.05 {
		t.Errorf("the disc is off by ΔE00 %.2f", d)
	}
	own := coloursOf(t, engine, p, setup.Setup{Source: "srgb"})
	// The middle of one of the original's own pixels, away from the disc.
	x, y := p.W/5, p.H*4/5
	if d := cie.DeltaE00(at((float64(x)+0.4)/float64(p.W), (float64(y)+0.4)/float64(p.H)), own[y*p.W+x]); d > 0.3 {
		t.Errorf("the original is off by ΔE00 %.2f", d)
	}
}
