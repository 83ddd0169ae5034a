package cause

import (
	"context"
	"math/rand/v2"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// One answer, as the card asks for it: twelve pins of forty pixels each, words over
// forty-eight places, or a photograph of ninety-six regions. The engine is warm, as it is
// while a person turns pins.
func BenchmarkFind(b *testing.B) {
	engine := proof.NewEngine()
	defer engine.Close()
	c := demoCase(b, "pearl")
	r := rand.New(rand.NewPCG(1, 2))
	spots := func(n, pixels int) []Spot {
		out := make([]Spot, n)
		for i := range out {
			for range 3 * pixels {
				out[i].Numbers = append(out[i].Numbers, r.Float64())
			}
			out[i].Lab = cie.Lab{L: 20 + 60*r.Float64(), A: 40*r.Float64() - 20, B: 40*r.Float64() - 20}
		}
		return out
	}
	c.More = spots(4, 40)
	p := original(b, originals()[4])
	shot := drawShot(r, p)
	print := make([]cie.Lab, p.W*p.H)
	for i := range print {
		v := p.Pix8[3*i : 3*i+3]
		print[i] = space.SRGB().ToLab(float64(v[0])/255, float64(v[1])/255, float64(v[2])/255)
	}
	taken := shot.photograph(b, p, print, r)
	source := setup.Source{Picture: p, Profile: proof.SpaceProfile(space.SRGB())}
	seen, err := ReadPhoto(context.Background(), engine, source, taken, nil, nil)
	if err != nil {
		b.Fatal(err)
	}
	for _, one := range []struct {
		name string
		e    Evidence
	}{
		{"pins", Matched{spots(12, 40)}}, {"words", Words{spots(60, 1), []Saying{{Word: Darker, Place: Whole}}}}, {"photo", seen},
	} {
		b.Run(one.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Find(context.Background(), engine, c, one.e); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
