package rank_test

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"

	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/rank"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// demoPaper is one that is built in, with its absolute white and black.
type demoPaper struct {
	id           string
	profile      *proof.Profile
	white, black cie.Lab
}

func demoPapers(t *testing.T, e *proof.Engine, ids ...string) []demoPaper {
	t.Helper()
	var out []demoPaper
	for _, id := range ids {
		found := false
		for _, p := range assets.Papers() {
			if p.ID != id {
				continue
			}
			found = true
			profile, err := proof.NewProfile(p.ID, p.ICC)
			if err != nil {
				t.Fatal(err)
			}
			// The paper's own numbers sent to it as they are.
			c, err := e.Chain(proof.Plan{Source: profile, Paper: profile, White: proof.PaperWhite, Screen: proof.SpaceProfile(space.SRGB())})
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, demoPaper{id, profile, c.Value([]float64{1, 1, 1}).Look, c.Value([]float64{0, 0, 0}).Look})
			c.Close()
		}
		if !found {
			t.Fatalf("no demo paper %q", id)
		}
	}
	return out
}

// verdict ranks a picture in a space on papers by both colorimetric ways and the
// perceptual one.
func verdict(t *testing.T, e *proof.Engine, source *proof.Profile, pic *rank.Picture, papers []demoPaper) rank.Verdict {
	t.Helper()
	var places []rank.Place
	var subject *rank.Subject
	for _, p := range papers {
		for _, way := range []struct {
			intent proof.Intent
			on     bool
		}{{proof.RelativeColorimetric, false}, {proof.RelativeColorimetric, true}, {proof.Perceptual, false}} {
			chain, err := e.Chain(proof.Plan{
				Source: source, Paper: p.profile, Screen: proof.SpaceProfile(space.SRGB()),
				Conversions: []proof.Conversion{{From: source, To: p.profile, Intent: way.intent, BPC: way.on}},
			})
			if err != nil {
				t.Fatal(err)
			}
			c := rank.Candidate{ID: p.id + " " + way.intent.Short(), Paper: p.id, Intent: way.intent.String(), Compensation: way.on, White: p.white, Black: p.black}
			if way.on {
				c.ID += "+"
			}
			if subject == nil {
				if subject, err = rank.NewSubject(context.Background(), pic, chain.Originals); err != nil {
					t.Fatal(err)
				}
			}
			values := make([]proof.Value, len(pic.Weights))
			if err := chain.Values(values, pic.Numbers); err != nil {
				t.Fatal(err)
			}
			var counted proof.Tally
			for i, v := range values {
				counted.Add(v.DeltaE00, v.Reach, v.Darker, pic.Weights[i])
			}
			printed, err := subject.Print(context.Background(), chain.Prints)
			chain.Close()
			if err != nil {
				t.Fatal(err)
			}
			f, err := subject.Figures(context.Background(), c, counted.Figures(), printed)
			if err != nil {
				t.Fatal(err)
			}
			places = append(places, rank.Place{Candidate: c, Figures: f})
		}
	}
	return rank.Order(places)
}

// picture makes a picture in a space of colours given as Lab.
func picture(s space.Space, w, h int, at func(x, y float64) cie.LCh) *rank.Picture {
	p := &rank.Picture{Channels: 3, W: w, H: h}
	for y := range h {
		for x := range w {
			v := s.FromLab(at(float64(x)/float64(w-1), float64(y)/float64(h-1)).Lab())
			for _, n := range v {
				p.Small = append(p.Small, min(1, max(0, n)))
			}
			p.Weights = append(p.Weights, 1)
		}
	}
	p.Numbers = p.Small
	return p
}

func show(t *testing.T, v rank.Verdict) {
	t.Helper()
	for _, p := range v.Order {
		t.Logf("%-18s mean %.2f p95 %.2f out %.3f dark %.3f shadows %v smooth %.3f failed %q as good %v", p.ID, p.Figures.Mean, p.Figures.P95,
			p.Figures.Out, p.Figures.Darker, p.Figures.Shadows, p.Figures.Smoothness.Lost(), p.Failed, p.AsGood)
	}
	t.Logf("why %q\nagainst %q", v.Why, v.Against)
}

func failed(v rank.Verdict, id string) ([]string, rank.Figures) {
	for _, p := range v.Order {
		if p.ID == id {
			return p.Failed, p.Figures
		}
	}
	return []string{"not ranked"}, rank.Figures{}
}

// The demo papers on pictures whose best paper is known beforehand.
func TestDemoPapers(t *testing.T) {
	e := proof.NewEngine()
	defer e.Close()
	papers := demoPapers(t, e, "cotton", "pearl")
	p3, _ := space.ByID("displayp3")
	source := proof.SpaceProfile(p3)

	t.Run("all inside cotton", func(t *testing.T) {
		v := verdict(t, e, source, picture(p3, 40, 30, func(x, y float64) cie.LCh { return cie.LCh{L: 48 + 35*y, C: 12, H: 360 * x} }), papers)
		fails, f := failed(v, "cotton relative")
		if len(fails) != 0 || f.Mean > 0.5 || f.Out != 0 || f.Darker != 0 {
			t.Errorf("cotton prints it with mean %.2f, failing %q", f.Mean, fails)
			show(t, v)
		}
		if best := v.Order[0]; best.Intent != "relative colorimetric" || best.Compensation {
			t.Errorf("best is %s, want relative without compensation: nothing needs to change", best.ID)
			show(t, v)
		}
	})

	t.Run("deep shadows", func(t *testing.T) {
		pic := picture(p3, 60, 20, func(x, y float64) cie.LCh { return cie.LCh{L: 3 + 27*x, C: 3 * y, H: 60} })
		v := verdict(t, e, source, pic, papers)
		if v.Order[0].Paper != "pearl" {
			t.Errorf("best is %s", v.Order[0].ID)
			show(t, v)
		}
		only := verdict(t, e, source, pic, papers[:1])
		if only.Order[0].ID == "cotton relative" {
			t.Errorf("on cotton the best is %s, which blocks the shadows", only.Order[0].ID)
			show(t, only)
		}
		_, off := failed(v, "cotton relative")
		_, on := failed(v, "cotton relative+")
		if off.Shadows.Share() >= on.Shadows.Share() || off.Darker < 0.3 {
			t.Errorf("cotton keeps %+v without compensation, %+v with it; darker %.2f", off.Shadows, on.Shadows, off.Darker)
		}
	})

	t.Run("saturated reds", func(t *testing.T) {
		v := verdict(t, e, source, picture(p3, 30, 20, func(x, y float64) cie.LCh { return cie.LCh{L: 38 + 12*y, C: 56 + 7*x, H: 28 + 8*y} }), papers)
		if v.Order[0].Paper != "pearl" {
			t.Errorf("best is %s", v.Order[0].ID)
		}
		_, f := failed(v, "pearl relative")
		_, g := failed(v, "cotton relative")
		if f.Out > 0.05 || g.Out < 0.5 {
			t.Errorf("out of reach: pearl %.3f, cotton %.3f", f.Out, g.Out)
		}
		if f.Range <= g.Range || f.Contrast <= g.Contrast {
			t.Errorf("contrast: pearl %.1f, cotton %.1f", f.Range, g.Range)
		}
		if t.Failed() {
			show(t, v)
		}
		if !strings.HasPrefix(v.Why[0], "pearl, ") {
			t.Errorf("why %q", v.Why)
		}
	})
}

// counter counts how often figures are counted.
type counter struct {
	*proof.Engine
	counts atomic.Int32
}

func (c *counter) Count(ctx context.Context, p proof.Plan, pic *proof.Picture, progress func(float64)) (proof.Figures, error) {
	c.counts.Add(1)
	return c.Engine.Count(ctx, p, pic, progress)
}

// What prints the very same is counted once, also of flat mid-tones, in which nothing but
// the colours themselves tells two prints apart; what prints otherwise is not.
func TestAlikeIsCountedOnce(t *testing.T) {
	e := &counter{Engine: proof.NewEngine()}
	defer e.Close()
	source := proof.SpaceProfile(space.SRGB())
	papers := map[string]*proof.Profile{}
	q := rank.Question{Intents: []proof.Intent{proof.Perceptual, proof.RelativeColorimetric}, Compensation: []bool{true, false}}
	for _, p := range demoPapers(t, e.Engine, "cotton", "pearl") {
		papers[p.id] = p.profile
		q.Papers = append(q.Papers, rank.Paper{ID: p.id, Name: p.id})
	}
	flat := raster.New(4, 1, 3, false)
	copy(flat.P8, []uint8{90, 160, 90, 80, 120, 190, 150, 100, 180, 120, 120, 120})
	q.Picture = proof.NewPicture(flat, nil)
	q.Plan = func(w rank.Way) (proof.Plan, error) {
		return proof.Plan{Source: source, Paper: papers[w.Paper], Screen: source,
			Conversions: []proof.Conversion{{From: source, To: papers[w.Paper], Intent: w.Intent, BPC: w.Compensation}}}, nil
	}
	out, _, err := q.Answer(context.Background(), e, nil)
	if err != nil {
		t.Fatal(err)
	}
	// The perceptual tables of the demo papers go down to black: compensation does nothing.
	if n := e.counts.Load(); n != 2*3 || len(out.Verdict.Order) != 2*3 {
		t.Errorf("%d counts and %d places of 8 ways, want 6 and 6", n, len(out.Verdict.Order))
	}
	for _, p := range out.Verdict.Order {
		w := out.Ways[p.ID]
		plan, _ := q.Plan(w)
		want, err := e.Engine.Count(context.Background(), plan, q.Picture, nil)
		if err != nil || p.Figures.Mean != want.Mean || p.Figures.Max != want.Max {
			t.Errorf("%s: mean %g, max %g, want %g, %g (%v)", p.ID, p.Figures.Mean, p.Figures.Max, want.Mean, want.Max, err)
		}
	}
}
