package session_test

import (
	"context"
	"strings"
	"testing"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
)

// small is the demo picture at an eighth of its size: the race detector makes
// pixels ten times as dear.
func small(ctx context.Context) (*photo.Picture, []pin.Pin, error) {
	p, pins, err := session.Regatta(ctx)
	if err != nil {
		return nil, nil, err
	}
	px := raster.Pixels{W: p.W, H: p.H, Channels: p.Channels, P8: p.Pix8, P16: p.Pix16}
	for range 3 {
		px = raster.Halve(px)
	}
	q := *p
	q.W, q.H, q.Pix8, q.Pix16 = px.W, px.H, px.P8, px.P16
	return &q, pins, nil
}

// desk lays a demo picture on the real engine, two sheets of 780 by 520.
func desk(tb testing.TB, demo func(context.Context) (*photo.Picture, []pin.Pin, error)) (*session.Session, *sessiontest.Queue, *session.Works) {
	tb.Helper()
	works := session.NewWorks(paper.Open(tb.TempDir()), demo)
	q := sessiontest.NewQueue()
	s := session.New(works, q.Post, session.Start("pearl"))
	tb.Cleanup(s.Close)
	s.Do(session.Resize{Cell: session.Cell{W: 780, H: 540, Scale: 1, Exact: true}})
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(settled(s)) {
		tb.Fatal("the demo picture does not lie on the desk")
	}
	return s, q, works
}

func TestFirstStartOnTheRealEngine(t *testing.T) {
	s, q, works := desk(t, small)
	q.Until(func() bool { return s.State().Results[1].Words != "" })
	st := s.State()
	if st.Picture.Named != "ROMM RGB" && st.Picture.Named == "" || !st.Picture.Embedded {
		t.Errorf("the demo picture is %+v", st.Picture)
	}
	r := st.Results[1]
	if r.Route.N != 5 || r.Words == "" || r.Refused != "" {
		t.Errorf("the proof has a route of %d stations, words %q, refused %q", r.Route.N, r.Words, r.Refused)
	}
	var sum float64
	for _, b := range r.Figures.Bands {
		sum += b
	}
	if sum += r.Figures.Darker; sum < 0.999 || sum > 1.001 {
		t.Errorf("bands and 'darker' sum to %.4f, want 1", sum)
	}
	// The bare sheet is the paper's white: bluish on pearl, and darker than the screen's.
	if g := r.Ground; g.R >= 250 || g.B <= g.R {
		t.Errorf("pearl's border is %v", g)
	}
	// What a pin says is the exact chain's.
	v := st.Values[1][0]
	set := session.SetupOf(st, st.Sheets[1])
	plan, err := works.Plan(set)
	if err != nil {
		t.Fatal(err)
	}
	c, err := works.Engine.Chain(plan)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if !v.Known || v.DeltaE00 <= 0 {
		t.Errorf("the first pin has %+v", v)
	}
}

// Every slip in the list can be asked of every demo paper: it gives a route with
// a fault and a look, or says in a sentence why it can't be.
func TestEverySlipShowsOrIsRefusedWithAReason(t *testing.T) {
	s, _, works := desk(t, small)
	st := s.State()
	for _, k := range works.Slips() {
		sh := st.Sheets[1]
		sh.Wrong = true
		sh.Slip = session.Slip{ID: [2]string{k.ID}, OtherPaper: "cotton", Second: session.Perceptual}
		if k.NeedsReads {
			sh.Slip.Reads = "srgb"
		}
		route, err := works.Route(st.Picture, session.SetupOf(st, sh), st.Screen)
		if err != nil {
			if session.Explain(err, "").Headline == "" {
				t.Errorf("%s is refused without a reason", k.ID)
			}
			continue
		}
		faulty := false
		for i := range route.N {
			faulty = faulty || route.Stations[i].Fault != session.FaultNone && route.Stations[i].Note != ""
		}
		if !faulty {
			t.Errorf("%s: no station is wrong: %+v", k.ID, route)
		}
		if _, err := works.Look(context.Background(), session.SetupOf(st, sh), proof.Draft); err != nil {
			t.Errorf("%s: %v", k.ID, err)
		}
	}
}

// What the paper can't reach is not told as a slip's doing: the sentence compares
// with the proof as it should be.
func TestASlipIsBlamedForItsOwnDoingOnly(t *testing.T) {
	s, q, works := desk(t, small)
	q.Until(func() bool { return s.State().Results[1].Words != "" })
	st := s.State()
	sh := st.Sheets[1]
	sh.Wrong, sh.Slip = true, session.Slip{ID: [2]string{"compensation"}}
	set, pins := session.SetupOf(st, sh), st.Pins[:st.NumPins]
	vals, err := works.Values(context.Background(), s.Store().Picture(st.Picture.Key), set, pins)
	if err != nil {
		t.Fatal(err)
	}
	quiet := -1 // a pin that the paper changes and the slip does not
	for i, v := range vals {
		if v.Right != st.Values[1][i].Relative {
			t.Errorf("pin %d of the right proof is %v beside the slip and %v on its own sheet", i, v.Right, st.Values[1][i].Relative)
		}
		if cie.DeltaE00(labOf(v.Right), labOf(v.Relative)) < 1 && v.DeltaE00 >= 1 {
			quiet = i
		}
	}
	if quiet < 0 {
		t.Fatal("this test needs a pin that the paper changes and the slip does not")
	}
	if text, spoken := works.Words(set, pins, vals, quiet, session.Figures{}); spoken != quiet || !strings.Contains(text, "does not show it") {
		t.Errorf("of a colour that compensation hardly touches it says %q", text)
	}
	// Left to choose, it speaks of the pin that shows it.
	text, spoken := works.Words(set, pins, vals, -1, session.Figures{})
	if spoken < 0 || cie.DeltaE00(labOf(vals[spoken].Right), labOf(vals[spoken].Relative)) < 1 {
		t.Errorf("it speaks of pin %d: %q", spoken, text)
	}
}

func labOf(v [3]float64) cie.Lab { return cie.Lab{L: v[0], A: v[1], B: v[2]} }

// The map of differences between two sheets agrees with the exact chains.
func TestApartAgreesWithTheChains(t *testing.T) {
	s, _, works := desk(t, small)
	st := s.State()
	a, b := st.Sheets[1], st.Sheets[1]
	b.Intent = session.Perceptual
	sets := [2]session.Setup{session.SetupOf(st, a), session.SetupOf(st, b)}
	run, err := works.Apart(context.Background(), sets[0], sets[1])
	if err != nil {
		t.Fatal(err)
	}
	src := sessiontest.Ramp(64, 64)
	got := make([]float32, 64*64)
	run(got, src)
	same := make([]float32, 64*64)
	if run, err = works.Apart(context.Background(), sets[0], sets[0]); err != nil {
		t.Fatal(err)
	}
	run(same, src)
	var vals [2][]proof.Value
	for i, set := range sets {
		plan, err := works.Plan(set)
		if err != nil {
			t.Fatal(err)
		}
		c, err := works.Engine.Chain(plan)
		if err != nil {
			t.Fatal(err)
		}
		vals[i] = make([]proof.Value, 64*64)
		c.Values(vals[i], floats(src))
		c.Close()
	}
	var sum, most float64
	for i := range got {
		if same[i] > 1e-3 {
			t.Fatalf("a sheet differs from itself by %g", same[i])
		}
		want := deltaE(vals[0][i], vals[1][i])
		d := float64(got[i]) - want
		sum += max(d, -d)
		most = max(most, d, -d)
	}
	// The same tolerance as for pictures: mean 0.1; a kink between nodes may cost more in one place.
	if mean := sum / float64(len(got)); mean > 0.1 || most > 2 {
		t.Errorf("the map is off by %.3f on average and %.2f at most, want 0.1 and 2", mean, most)
	}
}

func floats(p raster.Pixels) []float64 {
	var out []float64
	for i := range p.W * p.H {
		out = p.At(out, i%p.W, i/p.W)
	}
	return out
}

// A slip never seen before, from the action to the buffers on the desk.
func BenchmarkChangeToNewSetup(b *testing.B) {
	s, q, works := desk(b, session.Regatta)
	n := 0
	for b.Loop() {
		// Each one is a plan of its own: 5 spaces, 4 second intents, 4 intents.
		sh := s.State().Sheets[1]
		sp := works.Spaces()
		s.Do(session.SetIntent{Intent: session.Intent(n / len(sp) / 4 % 4)})
		s.Do(session.SetSlip{Slip: session.Slip{ID: sh.Slip.ID, Reads: sp[n%len(sp)].ID, Second: session.Intent(n / len(sp) % 4)}})
		n++
		q.Until(func() bool { return !s.State().Stale[1] })
	}
}

// Panning by a few pixels at one to one, from the action to the buffers.
func BenchmarkPan(b *testing.B) {
	s, q, _ := desk(b, session.Regatta)
	s.Do(session.OneToOne{X: 1500, Y: 1000})
	q.Until(settled(s))
	d := 3.0
	for b.Loop() {
		f := s.State().Frame
		s.Do(session.Pan{DX: d, DY: d})
		d = -d
		q.Until(func() bool { return s.State().Frame > f })
	}
}

func deltaE(a, b proof.Value) float64 { return cie.DeltaE00(a.Relative, b.Relative) }
