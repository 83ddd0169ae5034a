package engine_test

import (
	"context"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/differ"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/words"
)

// small is the demo picture at an eighth of its size: the race detector makes
// pixels ten times as dear.
func small(ctx context.Context) (*photo.Picture, []pin.Pin, error) {
	p, pins, err := engine.Regatta(ctx)
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
func desk(tb testing.TB, demo func(context.Context) (*photo.Picture, []pin.Pin, error)) (*session.Session, *sessiontest.Queue, *engine.Engine) {
	tb.Helper()
	e := engine.New(paper.Open(tb.TempDir()), demo)
	q := sessiontest.NewQueue()
	s := session.New(e, q.Post, session.Start("pearl"))
	tb.Cleanup(s.Close)
	s.Do(session.Resize{Cell: session.Cell{W: 780, H: 540, Scale: 1, Exact: true}})
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(sessiontest.Settled(s)) {
		tb.Fatal("the demo picture does not lie on the desk")
	}
	return s, q, e
}

func TestFirstStartOnTheRealEngine(t *testing.T) {
	s, q, _ := desk(t, small)
	q.Until(func() bool { return s.State().Results[1].Told.Text != "" })
	st := s.State()
	if st.Picture.Named != "ROMM RGB" || st.Picture.Origin != setup.Embedded {
		t.Errorf("the demo picture is %+v", st.Picture)
	}
	r := st.Results[1]
	if r.Route.N != 5 || r.Told.Text == "" || r.Route.Refused != "" {
		t.Errorf("the proof has a route of %d stations, words %q, refused %q", r.Route.N, r.Told.Text, r.Route.Refused)
	}
	var sum float64
	for _, b := range r.Figures.Reach {
		sum += b
	}
	if sum += r.Figures.Darker; sum < 0.999 || sum > 1.001 {
		t.Errorf("bands and 'darker' sum to %.4f, want 1", sum)
	}
	// The bare sheet is the paper's white: bluish on pearl, and darker than the screen's.
	if g := r.Ground; g.R >= 250 || g.B <= g.R {
		t.Errorf("pearl's border is %v", g)
	}
}

// What a pin says is the exact chain's, number by number, with and without the
// paper's white in the count and with a slip.
func TestPinsSayWhatTheChainSays(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	pins := st.Pins[:st.NumPins]
	right := st.Setup(st.Sheets[1])
	wrong := right
	wrong.Slips = "never"
	counting := wrong
	counting.CountWhite = true
	for _, set := range []setup.Setup{right, wrong, counting, right.Original()} {
		vals, err := e.Values(context.Background(), pic, set, pins)
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range pins {
			want := chainReads(t, e, pic, set, p)
			v := vals[i]
			if !v.Known || v.Value != want {
				t.Errorf("%q: %s reads\n%+v, the chain\n%+v", set.Slips, p.Name, v.Value, want)
			}
			if v.OnScreen != chainReads(t, e, pic, set.Original(), p).Screen {
				t.Errorf("%q: %s is not the original's on screen", set.Slips, p.Name)
			}
			if v.Slipped != (set.Slips != "") || v.Slipped && v.Right != chainReads(t, e, pic, set.Right(), p).Counted {
				t.Errorf("%q: %s without its slip is %v", set.Slips, p.Name, v.Right)
			}
			if words := words.Compare(want.Original, want.Counted).Sentence(); set.Paper != "" && v.Words != words {
				t.Errorf("%q: of %s it says %q, want %q", set.Slips, p.Name, v.Words, words)
			}
		}
	}
}

// chainReads averages a pin's pixels by hand: means of XYZ after the exact chain.
func chainReads(t *testing.T, e *engine.Engine, pic *session.Picture, set setup.Setup, p pin.Pin) pin.Value {
	t.Helper()
	plan, err := e.Plan(pic, set)
	if err != nil {
		t.Fatal(err)
	}
	c, err := e.Chain(plan)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	points := p.Pixels(pic.Info.W, pic.Info.H)
	n := float64(len(points))
	var sum [4]cie.XYZ
	var out pin.Value
	dark := 0.0
	for _, at := range points {
		v := c.Value(pic.Levels[0].At(nil, at.X, at.Y))
		for i, lab := range []cie.Lab{v.Original, v.Counted, v.Relative, v.Look} {
			x := lab.ToXYZ(cie.D50)
			sum[i].X, sum[i].Y, sum[i].Z = sum[i].X+x.X, sum[i].Y+x.Y, sum[i].Z+x.Z
		}
		for k := range out.Screen {
			out.Screen[k] += v.Screen[k] * (1 / n)
		}
		out.Reach += v.Reach * (1 / n)
		if v.Darker {
			dark++
		}
	}
	for i, to := range []*cie.Lab{&out.Original, &out.Counted, &out.Relative, &out.Look} {
		*to = sum[i].Scale(1 / n).ToLab(cie.D50)
	}
	out.DeltaE00, out.Darker = cie.DeltaE00(out.Original, out.Counted), dark > n/2
	return out
}

// Every slip in the list can be made on the demo paper: it gives a route with a fault
// and a look. What it may have to be told is told.
func TestEverySlipShows(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	for _, k := range slip.All() {
		set := st.Setup(st.Sheets[1])
		set.Slips, set.Reads, set.Other = k.ID, "srgb", "cotton"
		route, err := e.Route(pic, set, st.Screen)
		if err != nil {
			t.Errorf("%s: %v", k.ID, err)
			continue
		}
		faulty := false
		for _, st := range route.Stations[:route.N] {
			faulty = faulty || st.Fault != proof.NoFault && st.Why != ""
		}
		if !faulty {
			t.Errorf("%s: no station is wrong: %+v", k.ID, route)
		}
		if _, err := e.Look(context.Background(), pic, set, proof.Draft); err != nil {
			t.Errorf("%s: %v", k.ID, err)
		}
	}
	// Without what it needs it is refused, with a reason.
	for _, k := range slip.All() {
		set := st.Setup(st.Sheets[1])
		set.Slips = k.ID
		_, err := e.Route(pic, set, st.Screen)
		if needs := k.NeedsReads || k.NeedsPaper; needs != (err != nil) {
			t.Errorf("%s: %v", k.ID, err)
		} else if err != nil && session.Explain(err, "").Headline == "" {
			t.Errorf("%s is refused without a reason", k.ID)
		}
	}
}

// What the paper can't reach is not told as a slip's doing: the sentence compares
// with the proof as it should be.
func TestASlipIsBlamedForItsOwnDoingOnly(t *testing.T) {
	s, q, e := desk(t, small)
	q.Until(func() bool { return s.State().Results[1].Told.Text != "" })
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	set, pins := st.Setup(st.Sheets[1]), st.Pins[:st.NumPins]
	set.Slips = "compensation"
	vals, err := e.Values(context.Background(), pic, set, pins)
	if err != nil {
		t.Fatal(err)
	}
	quiet := -1 // a pin that the paper changes and the slip does not
	for i, v := range vals {
		if v.Right != st.Values[1][i].Counted {
			t.Errorf("pin %d of the right proof is %v beside the slip and %v on its own sheet", i, v.Right, st.Values[1][i].Relative)
		}
		if cie.DeltaE00(v.Right, v.Counted) < 1 && v.DeltaE00 >= 1 {
			quiet = i
		}
	}
	if quiet < 0 {
		t.Fatal("this test needs a pin that the paper changes and the slip does not")
	}
	if told, _ := e.Sentence(context.Background(), pic, set, pins, vals, quiet, nil); told.Pin != quiet || !strings.Contains(told.Brief, "not show it") {
		t.Errorf("of a colour that compensation hardly touches it says %q", told.Text)
	}
}

// A slip's sentence names it and speaks of what it changes most: a pin, the shadows, how
// the print is seen. Its numbers are those of the chains.
func TestASlipsSentence(t *testing.T) {
	s, q, e := desk(t, small)
	q.Until(func() bool { return s.State().Results[1].Told.Text != "" })
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	pins := st.Pins[:st.NumPins]
	say := func(paper, slips string, chosen int, pins []pin.Pin) (string, int, []session.PinValue) {
		t.Helper()
		set := st.Setup(st.Sheets[1])
		set.Paper, set.Slips, set.Reads, set.Other = paper, slips, "srgb", "washi"
		vals, err := e.Values(context.Background(), pic, set, pins)
		if err != nil {
			t.Fatal(err)
		}
		told, err := e.Sentence(context.Background(), pic, set, pins, vals, chosen, nil)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(told.Text)
		// The short form is the whole one without its reason, and short.
		if b := strings.TrimSuffix(told.Brief, "."); !strings.HasPrefix(told.Text, b) || utf8.RuneCountInString(b) > 140 {
			t.Errorf("%q is shortened to %q", told.Text, told.Brief)
		}
		return told.Text, told.Pin, vals
	}
	for _, k := range slip.All() {
		text, spoken, vals := say("pearl", k.ID, -1, pins)
		if !strings.HasPrefix(text, words.Capital(session.Typeset(k.Name))+": ") {
			t.Errorf("%s is told as %q", k.ID, text)
		}
		if spoken >= 0 {
			c := words.Compare(vals[spoken].Right, vals[spoken].Counted)
			if !strings.Contains(text, "compared with the correct proof, this "+pins[spoken].Name) || !strings.Contains(text, c.Sentence()) {
				t.Errorf("of %s, which %s, it says %q", pins[spoken].Name, c.Sentence(), text)
			}
		}
		// Of a picture of one's own without pins it speaks all the same.
		if text, _, _ := say("pearl", k.ID, -1, nil); !strings.HasPrefix(text, words.Capital(session.Typeset(k.Name))+": ") {
			t.Errorf("without pins %s is told as %q", k.ID, text)
		}
	}
	for _, paper := range []string{"cotton", "pearl"} {
		text, spoken, _ := say(paper, "compensation", -1, pins)
		if share := blocked(t, e, pic, st, paper); spoken >= 0 || !strings.Contains(text, "shadows block up: "+share+" of the picture") {
			t.Errorf("of %s that prints as one black it says %q", share, text)
		}
	}
	if text, _, _ := say("pearl", "brightscreen", -1, pins); !strings.Contains(text, "darker, with 63 % of the luminance") || strings.Contains(text, "lighter") {
		t.Errorf("of a screen that is too bright it says %q", text)
	}
	if text, spoken, _ := say("pearl", "brightscreen", 1, pins); spoken != 1 || !strings.Contains(text, "the "+pins[1].Name+" seems ") {
		t.Errorf("of a pin beside a screen that is too bright it says %q", text)
	}
}

// blocked counts by hand how much of the picture prints as the deepest black without
// compensation.
func blocked(t *testing.T, e *engine.Engine, pic *session.Picture, st session.State, paper string) string {
	t.Helper()
	set := st.Setup(st.Sheets[1])
	set.Paper, set.BPC = paper, false
	plan, err := e.Plan(pic, set)
	if err != nil {
		t.Fatal(err)
	}
	c, err := e.Chain(plan)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	px := pic.Levels[0]
	vals := make([]proof.Value, px.W*px.H)
	if err := c.Values(vals, floats(px)); err != nil {
		t.Fatal(err)
	}
	deepest, n := 100.0, 0
	for _, v := range vals {
		deepest = min(deepest, v.Relative.L)
	}
	for _, v := range vals {
		if v.Relative.L < deepest+0.5 {
			n++
		}
	}
	return words.Share(float64(n) / float64(len(vals)))
}

// The map of differences between two sheets agrees with the exact chains.
func TestDifferenceAgreesWithTheChains(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	sets := [2]setup.Setup{st.Setup(st.Sheets[1]), st.Setup(st.Sheets[1])}
	sets[1].Intent = proof.Perceptual
	run, err := e.Difference(context.Background(), pic, sets[0], sets[1])
	if err != nil {
		t.Fatal(err)
	}
	src := sessiontest.Ramp(64, 64)
	got := make([]proof.Sample, 64*64)
	run(got, src)
	same := make([]proof.Sample, 64*64)
	if run, err = e.Difference(context.Background(), pic, sets[0], sets[0]); err != nil {
		t.Fatal(err)
	}
	run(same, src)
	var vals [2][]proof.Value
	for i, set := range sets {
		plan, err := e.Plan(pic, set)
		if err != nil {
			t.Fatal(err)
		}
		c, err := e.Chain(plan)
		if err != nil {
			t.Fatal(err)
		}
		vals[i] = make([]proof.Value, 64*64)
		c.Values(vals[i], floats(src))
		c.Close()
	}
	var sum, most float64
	for i := range got {
		if same[i].DeltaE00 > 0 {
			t.Fatalf("a sheet differs from itself by %g", same[i].DeltaE00.Float())
		}
		want := deltaE(vals[0][i], vals[1][i])
		d := got[i].DeltaE00.Float() - want
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

func deltaE(a, b proof.Value) float64 { return cie.DeltaE00(a.Relative, b.Relative) }

// A grey picture whose embedded profile can't say what its numbers mean is taken for
// RGB, as by the command: its one channel becomes three before anything reads it.
func TestGreyPictureWithAnUnfitProfile(t *testing.T) {
	grey, err := os.ReadFile("../../testdata/cache/profiles/default_gray.icc")
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	abstract := append([]byte(nil), grey...)
	copy(abstract[12:], "abst")
	odd := func(context.Context) (*photo.Picture, []pin.Pin, error) {
		p := &photo.Picture{W: 64, H: 48, Channels: 1, Depth: 8, Pix8: make([]uint8, 64*48), ICC: abstract}
		for i := range p.Pix8 {
			p.Pix8[i] = uint8(i)
		}
		return p, []pin.Pin{{Name: "middle", X: 0.5, Y: 0.5, Radius: 0.1}}, nil
	}
	s, q, _ := desk(t, odd)
	st := s.State()
	if st.Picture.Channels != 3 || st.Picture.Assumed != "srgb" || !strings.Contains(st.Picture.Notes, "not used") {
		t.Errorf("the picture is %+v", st.Picture)
	}
	if !q.Until(func() bool { return s.State().Values[1][0].Known }) || s.State().Results[1].Route.Refused != "" {
		t.Errorf("refused: %q", s.State().Results[1].Route.Refused)
	}
}

// 'Screen too bright' is made by the person's own light and screen, as a slip and as a
// way of looking alike.
func TestTheScreenIsTooBrightByThePersonsOwnLight(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	st.Looking.Lux, st.Looking.Luminance = 160, 160
	pic := s.Store().Picture(st.Picture.Key)
	sheet := st.Sheets[1]
	sheet.Wrong, sheet.Slips = true, "brightscreen"
	slipped, err := e.Plan(pic, st.Setup(sheet))
	if err != nil {
		t.Fatal(err)
	}
	sheet.Wrong, st.Looking.TooBright = false, true
	looked, err := e.Plan(pic, st.Setup(sheet))
	if err != nil {
		t.Fatal(err)
	}
	if slipped.Dim != 0.32 || looked.Dim != 0.32 {
		t.Errorf("as a slip %g, as a way of looking %g, want (160 / pi) / 160 = 0.32", slipped.Dim, looked.Dim)
	}
}

// With the paper's white counted, the sentence and the pin's row tell one thing.
func TestTheSentenceCountsWhatThePinsCount(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	st.Looking.CountWhite = true
	set, pins := st.Setup(st.Sheets[1]), st.Pins[:st.NumPins]
	vals, err := e.Values(context.Background(), pic, set, pins)
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for i, v := range vals {
		if cie.DeltaE00(v.Original, v.Relative) < 1 && v.DeltaE00 >= 1 {
			said, _ := e.Sentence(context.Background(), pic, set, pins, vals, i, nil)
			if text := said.Text; strings.Contains(text, "unchanged") || v.Words == "" {
				t.Errorf("%s: ΔE00 %.1f, its row says %q, the sentence %q", pins[i].Name, v.DeltaE00, v.Words, text)
			}
			told++
		}
	}
	if told == 0 {
		t.Fatal("this test needs a pin that only the paper's white changes")
	}
}

// A media setting that the paper does not have is refused by its name.
func TestAnUnknownMediaSetting(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	set := st.Setup(st.Sheets[1])
	set.Slips, set.Setting = "wrongsetting", "velvet"
	_, err := e.Plan(s.Store().Picture(st.Picture.Key), set)
	if n := session.Explain(err, ""); !strings.Contains(n.Headline, "no media setting called velvet") {
		t.Errorf("refused by %q", n.Headline)
	}
}

// The place where two sheets differ most is that by the exact chains, and its words name
// what differs there.
func TestDifferingAgreesWithTheChains(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	right := st.Setup(st.Sheets[1])
	wrong := right
	wrong.Slips = "never"
	found, err := e.Differing(context.Background(), pic, wrong, []setup.Setup{right}, "sheet 2", []string{"sheet 1"})
	if err != nil || len(found) == 0 {
		t.Fatalf("%v, %v", found, err)
	}
	px := pic.Levels[0]
	var vals [2][]proof.Value
	for i, set := range []setup.Setup{right, wrong} {
		plan, err := e.Plan(pic, set)
		if err != nil {
			t.Fatal(err)
		}
		c, err := e.Chain(plan)
		if err != nil {
			t.Fatal(err)
		}
		vals[i] = make([]proof.Value, px.W*px.H)
		if err := c.Values(vals[i], floats(px)); err != nil {
			t.Fatal(err)
		}
		c.Close()
	}
	exact := make([]float32, len(vals[0]))
	for i := range exact {
		exact[i] = float32(deltaE(vals[0][i], vals[1][i]))
	}
	want, err := differ.Places(context.Background(), exact, nil, px.W, px.H, 1, 0)
	if err != nil {
		t.Fatal(err)
	}
	// The map is a sampled one: 2 % of so large a difference is no other place.
	if d := found[0].DeltaE00/want[0].DeltaE00 - 1; d > 0.02 || d < -0.02 {
		t.Errorf("the first place differs by %.2f, by the chains the largest is %.2f", found[0].DeltaE00, want[0].DeltaE00)
	}
	for i, f := range found {
		if !strings.HasPrefix(f.Words, "Here ") || !strings.Contains(f.Words, "sheet 1") || !strings.Contains(f.Words, "ΔE00") {
			t.Errorf("of place %d it says %q", i, f.Words)
		}
		if i > 0 && f.DeltaE00 > found[i-1].DeltaE00 {
			t.Errorf("place %d differs more than the one before", i)
		}
	}
	if same, err := e.Differing(context.Background(), pic, right, []setup.Setup{right}, "sheet 2", []string{"sheet 1"}); err != nil || len(same) != 0 {
		t.Errorf("alike sheets differ at %v, %v", same, err)
	}
}

// By the absolute intent colours are alike on papers of different white and differ for who
// is used to each: what is told of them says which it is.
func TestDifferingSaysToWhichEye(t *testing.T) {
	s, _, e := desk(t, small)
	st := s.State()
	pic := s.Store().Picture(st.Picture.Key)
	on := func(paper string, intent proof.Intent) setup.Setup {
		set := st.Setup(st.Sheets[1])
		set.Paper, set.Intent, set.White = paper, intent, proof.PaperWhite
		return set
	}
	for intent, want := range map[proof.Intent]bool{proof.AbsoluteColorimetric: true, proof.RelativeColorimetric: false} {
		found, err := e.Differing(context.Background(), pic, on("gloss", intent), []setup.Setup{on("cotton", intent)}, "sheet 2", []string{"sheet 1"})
		if err != nil || len(found) == 0 {
			t.Fatalf("%v: %v, %v", intent, found, err)
		}
		if got := strings.Contains(found[0].Words, "an eye used to each paper’s white"); got != want {
			t.Errorf("%v: it says %q", intent, found[0].Words)
		}
	}
}
