package session_test

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io/fs"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"firstsheet/app/overlay"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// opened is a state with a picture of 3000 by 2000 in a cell of 600 by 400.
func opened() session.State {
	s := session.Start("pearl")
	s.Cell = session.Cell{W: 600, H: 400, Scale: 1, Exact: true}
	s.Picture = session.PictureInfo{Key: 1, Name: "boat", W: 3000, H: 2000, Channels: 3, Depth: 8}
	return s
}

func run(s session.State, list ...session.Action) session.State {
	for _, a := range list {
		s = session.Reduce(s, a)
	}
	return s
}

func TestReduce(t *testing.T) {
	papers := [session.MaxSheets]string{"cotton", "pearl", "gloss", "washi"}
	for _, c := range []struct {
		name string
		do   []session.Action
		ok   func(session.State) bool
	}{
		{"a first start lies as the product says", nil, func(s session.State) bool {
			return s.Count == 2 && s.Sheets[0].Original && !s.Sheets[1].Original && s.Sheets[1].Paper == "pearl" &&
				!s.Overlays().Has(session.Bands) && !s.Folds.Looking && !s.Folds.Pins && s.View.Fit && s.Active == 1
		}},
		{"the switch turns the active proof", []session.Action{session.SetWrong{On: true}}, func(s session.State) bool {
			return s.Sheets[1].Wrong && !s.Sheets[0].Wrong
		}},
		{"the bench speaks of the proof while the original is active", []session.Action{session.Activate{N: 0}, session.SetIntent{Intent: proof.Saturation}},
			func(s session.State) bool {
				return s.Sheets[1].Intent == proof.Saturation && s.Sheets[0].Intent == proof.RelativeColorimetric
			}},
		{"one white for all sheets", []session.Action{session.AddSheet{}, session.SetWhite{White: proof.ScreenWhite}}, func(s session.State) bool {
			return s.Count == 3 && s.Sheets[0].White == proof.ScreenWhite && s.Sheets[2].White == proof.ScreenWhite
		}},
		{"no fifth sheet", []session.Action{session.AddSheet{}, session.AddSheet{}, session.AddSheet{}}, func(s session.State) bool {
			return s.Count == 4 && s.Active == 3
		}},
		{"the last sheet stays", []session.Action{session.RemoveSheet{N: 0}, session.RemoveSheet{N: 0}}, func(s session.State) bool {
			return s.Count == 1 && !s.Sheets[0].Original && s.Active == 0
		}},
		{"a difference follows the sheet it is against", []session.Action{session.AddSheet{}, session.SetShow{Show: session.ShowDifference, Against: 1}, session.RemoveSheet{N: 0}},
			func(s session.State) bool { return s.Sheets[1].Against == 0 && s.Active == 1 }},
		{"and falls back to the original when that is gone", []session.Action{session.AddSheet{}, session.SetShow{Show: session.ShowDifference, Against: 1}, session.RemoveSheet{N: 1}},
			func(s session.State) bool { return s.Sheets[1].Against == -1 }},
		{"copying a set-up", []session.Action{session.AddSheet{}, session.SetPaper{ID: "gloss"}, session.CopySetup{From: 2, To: 0}}, func(s session.State) bool {
			return s.Sheets[0].Paper == "gloss" && !s.Sheets[0].Original && s.Active == 0
		}},
		{"desk: two papers", []session.Action{session.TakeDesk{ID: "papers", Papers: papers}}, func(s session.State) bool {
			return s.Count == 2 && s.Sheets[0].Paper == "pearl" && s.Sheets[1].Paper == "cotton" && s.Desk == "papers"
		}},
		{"desk: two intents", []session.Action{session.TakeDesk{ID: "intents", Papers: papers}}, func(s session.State) bool {
			return s.Sheets[0].Intent == proof.RelativeColorimetric && s.Sheets[1].Intent == proof.Perceptual
		}},
		{"desk: right and wrong", []session.Action{session.TakeDesk{ID: "wrong", Papers: papers}}, func(s session.State) bool {
			return !s.Sheets[0].Wrong && s.Sheets[1].Wrong && s.Active == 1
		}},
		{"desk: four papers", []session.Action{session.TakeDesk{ID: "four", Papers: papers}}, func(s session.State) bool {
			return s.Count == 4 && s.Sheets[0].Paper == "cotton" && s.Sheets[3].Paper == "washi"
		}},
		{"from four papers back to the pair's", []session.Action{session.TakeDesk{ID: "four", Papers: papers}, session.TakeDesk{ID: "pair", Papers: papers}}, func(s session.State) bool {
			return s.Count == 2 && s.Sheets[0].Original && s.Sheets[1].Paper == "pearl"
		}},
		{"a change ends a ready-made desk", []session.Action{session.TakeDesk{ID: "four", Papers: papers}, session.SetBPC{On: false}}, func(s session.State) bool {
			return s.Desk == ""
		}},
		{"pins", []session.Action{session.PutPin{X: 10, Y: 20}, session.PutPin{X: 30, Y: 40, Name: "leaf"}, session.MovePin{N: 0, X: -5, Y: 9999}, session.NamePin{N: 0, Name: "shirt"}},
			func(s session.State) bool {
				return s.NumPins == 2 && s.Pins[0].Name == "shirt" && s.Pins[0].X == 0 && s.Pins[0].Y == 1 && s.Pins[1].Name == "leaf" && s.Folds.Pins
			}},
		{"a deleted pin's name is free again", []session.Action{session.PutPin{X: 1, Y: 1}, session.PutPin{X: 2, Y: 2}, session.DeletePin{N: 0}, session.PutPin{X: 3, Y: 3}},
			func(s session.State) bool { return s.Pins[0].Name == "Pin 2" && s.Pins[1].Name == "Pin 1" }},
		{"no pin beside the picture", []session.Action{session.PutPin{X: 3000, Y: 0}, session.PutPin{X: -1, Y: 0}}, func(s session.State) bool { return s.NumPins == 0 }},
		{"a held key shows the slip in the active sheet's place", []session.Action{session.Hold{What: session.HeldSlip}}, func(s session.State) bool {
			return s.Shown(1).Wrong && !s.Sheets[1].Wrong && s.Shown(0) == s.Sheets[0]
		}},
		{"held over the original, it shows the first proof's slip", []session.Action{session.Activate{N: 0}, session.Hold{What: session.HeldSlip}}, func(s session.State) bool {
			return s.Shown(0).Wrong && !s.Shown(0).Original
		}},
		{"blink goes round", []session.Action{session.Hold{What: session.HeldNext}}, func(s session.State) bool { return s.Shown(1).Original }},
		{"the held bands are the other way round", []session.Action{session.HoldBands{On: true}}, func(s session.State) bool { return s.Overlays().Has(session.Bands) }},
		{"and off where they are on", []session.Action{session.SetLooking{Looking: session.Looking{Overlays: overlay.Usual().With(session.Bands, true)}}, session.HoldBands{On: true}}, func(s session.State) bool {
			return !s.Overlays().Has(session.Bands)
		}},
		{"opening a card lets held keys go", []session.Action{session.Hold{What: session.HeldSlip}, session.OpenCard{ID: "help"}}, func(s session.State) bool {
			return s.Held == session.HeldNone && s.Card == "help"
		}},
		{"the same card again closes it", []session.Action{session.OpenCard{ID: "help"}, session.OpenCard{ID: "help"}}, func(s session.State) bool { return s.Card == "" }},
		{"a failed picture leaves the desk", []session.Action{session.OpenPicture{Path: "x"}, session.PictureFailed{Serial: 1, Notice: session.Notice{Headline: "no", Failure: true}}},
			func(s session.State) bool {
				return s.Picture.Name == "boat" && s.Notice.Headline == "no" && s.Loading.Path == ""
			}},
		{"a failed first picture leaves the demo picture and the reason", nil, func(session.State) bool {
			e := run(session.Start("pearl"), session.OpenPicture{Path: "x"}, session.PictureFailed{Serial: 1, Notice: session.Notice{Headline: "no", Failure: true}})
			if !e.Loading.Demo {
				return false
			}
			e = run(e, session.PictureOpened{Serial: 2, Info: session.PictureInfo{Key: 1, W: 3, H: 2}})
			return e.Picture.Key == 1 && e.Notice.Headline == "no"
		}},
		{"a late picture is dropped", []session.Action{session.OpenPicture{Path: "x"}, session.OpenPicture{Path: "y"},
			session.PictureOpened{Serial: 1, Info: session.PictureInfo{Name: "x"}}}, func(s session.State) bool { return s.Picture.Name == "boat" && s.Loading.Path == "y" }},
		{"a late figure is dropped", []session.Action{session.RequestStarted{N: 1, Gen: 7}, session.RequestStarted{N: 1, Gen: 8},
			session.FiguresFound{N: 1, Gen: 7, Figures: proof.Figures{Mean: 3}}}, func(s session.State) bool {
			return !s.Results[1].Measured && s.Results[1].Computing
		}},
		{"old figures do not stand beside a new set-up", []session.Action{session.RequestStarted{N: 1, Gen: 7},
			session.FiguresFound{N: 1, Gen: 7, Figures: proof.Figures{Mean: 3}}, session.RequestStarted{N: 1, Gen: 8}},
			func(s session.State) bool { return !s.Results[1].Measured }},
		{"a glance stands until all is counted", []session.Action{session.RequestStarted{N: 1, Gen: 7},
			session.FiguresGlanced{N: 1, Gen: 7, Figures: proof.Figures{Pixels: 4096, Mean: 3}}},
			func(s session.State) bool {
				r := s.Results[1]
				return r.Glance.Mean == 3 && !r.Measured && r.Computing
			}},
		{"and goes when it is", []session.Action{session.RequestStarted{N: 1, Gen: 7}, session.FiguresGlanced{N: 1, Gen: 7, Figures: proof.Figures{Pixels: 4096, Mean: 3}},
			session.FiguresFound{N: 1, Gen: 7, Figures: proof.Figures{Pixels: 6e6, Mean: 2}}, session.FiguresGlanced{N: 1, Gen: 7, Figures: proof.Figures{Pixels: 4096, Mean: 3}}},
			func(s session.State) bool {
				r := s.Results[1]
				return r.Glance == proof.Figures{} && r.Measured && r.Figures.Mean == 2
			}},
		{"and with its set-up", []session.Action{session.RequestStarted{N: 1, Gen: 7}, session.FiguresGlanced{N: 1, Gen: 7, Figures: proof.Figures{Pixels: 4096}},
			session.RequestStarted{N: 1, Gen: 8}, session.FiguresGlanced{N: 1, Gen: 7, Figures: proof.Figures{Pixels: 4096}}},
			func(s session.State) bool { return s.Results[1].Glance == proof.Figures{} }},
		{"a picture saved anew keeps pins and view", []session.Action{session.PutPin{X: 10, Y: 20}, session.OneToOne{X: 50, Y: 60}, session.ReloadPicture{},
			session.PictureOpened{Serial: 1, Info: session.PictureInfo{Key: 2, Name: "boat", W: 3000, H: 2000}}}, func(s session.State) bool {
			return s.NumPins == 1 && !s.View.Fit && s.Picture.Key == 2
		}},
		{"another picture does not", []session.Action{session.PutPin{X: 10, Y: 20}, session.OneToOne{X: 50, Y: 60}, session.OpenPicture{Path: "y"},
			session.PictureOpened{Serial: 1, Info: session.PictureInfo{Key: 2, Name: "y", W: 3000, H: 2000}}}, func(s session.State) bool {
			return s.NumPins == 0 && s.View.Fit
		}},
	} {
		before := opened()
		keep := before
		got := run(before, c.do...)
		if !c.ok(got) {
			t.Errorf("%s: not so after %v", c.name, c.do)
		}
		if before != keep {
			t.Errorf("%s: Reduce changed its argument", c.name)
		}
	}
}

func TestZoomKeepsThePointUnderThePointer(t *testing.T) {
	s := opened()
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		x, y := 100+r.Float64()*400, 100+r.Float64()*200
		before := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H)
		px, py := before.ToPicture(x, y)
		s = session.Reduce(s, session.ZoomAt{X: x, Y: y, Factor: 0.7 + r.Float64()*0.9})
		after := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H)
		qx, qy := after.ToPicture(x, y)
		// Where the edge of the picture stops the move, the point may slide.
		b := 14
		free := !s.View.Fit && float64(s.Picture.W)*after.Scale > float64(s.Cell.W) && float64(s.Picture.H)*after.Scale > float64(s.Cell.H) &&
			after.X0 < b && after.Y0 < b && after.X0+int(float64(s.Picture.W)*after.Scale) > s.Cell.W-b && after.Y0+int(float64(s.Picture.H)*after.Scale) > s.Cell.H-b
		// The origin is rounded to whole device pixels, twice half a pixel each way.
		if tol := 1.01/after.Scale + 1.01/before.Scale; free && (math.Abs(px-qx) > tol || math.Abs(py-qy) > tol) {
			t.Fatalf("zoom to %.3f at %.0f, %.0f: picture point %.2f, %.2f became %.2f, %.2f", after.Scale, x, y, px, py, qx, qy)
		}
	}
}

func TestThePictureNeverLeavesItsSheet(t *testing.T) {
	s := opened()
	r := rand.New(rand.NewPCG(3, 4))
	for i := range 500 {
		switch r.IntN(4) {
		case 0:
			s = session.Reduce(s, session.Pan{DX: r.NormFloat64() * 900, DY: r.NormFloat64() * 900})
		case 1:
			s = session.Reduce(s, session.ZoomAt{X: r.Float64() * 600, Y: r.Float64() * 400, Factor: math.Exp(r.NormFloat64())})
		case 2:
			s = session.Reduce(s, session.OneToOne{X: r.Float64() * 3000, Y: r.Float64() * 2000})
		case 3:
			s = session.Reduce(s, session.Resize{Cell: session.Cell{W: 100 + r.IntN(900), H: 100 + r.IntN(700), Scale: 1}})
		}
		p := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H)
		w, h := int(math.Round(3000*p.Scale)), int(math.Round(2000*p.Scale))
		if p.X0 > p.Pic.Min.X || p.Y0 > p.Pic.Min.Y || p.X0+w < p.Pic.Max.X || p.Y0+h < p.Pic.Max.Y {
			t.Fatalf("step %d: picture at %d, %d of %d by %d does not cover %v", i, p.X0, p.Y0, w, h, p.Pic)
		}
		if p.Sheet.Min.X < 0 || p.Sheet.Min.Y < 0 || p.Sheet.Max.X > s.Cell.W || p.Sheet.Max.Y > s.Cell.H {
			t.Fatalf("step %d: sheet %v leaves the cell %d by %d", i, p.Sheet, s.Cell.W, s.Cell.H)
		}
	}
}

func TestOddPicturesFindAPlace(t *testing.T) {
	c := session.Cell{W: 600, H: 400, Scale: 1}
	for _, size := range [][2]int{{1, 1}, {30000, 2}, {2, 30000}, {600, 400}} {
		p := session.Place(c, session.Viewport{Fit: true}, size[0], size[1])
		if p.Pic.Dx() < 1 || p.Pic.Dy() < 1 || !p.Pic.In(p.Sheet) {
			t.Errorf("%v lies at %+v", size, p)
		}
	}
}

func TestOneDescriptionAKey(t *testing.T) {
	store := session.NewStore()
	ids, keys := map[string]bool{}, map[string]string{}
	for _, c := range session.Commands(store) {
		if ids[c.ID] || c.ID == "" {
			t.Errorf("two commands are called %q", c.ID)
		}
		ids[c.ID] = true
		if c.Name == "" || c.Help == "" || c.Menu == "" {
			t.Errorf("%s lacks name, help or menu", c.ID)
		}
		if c.Held && (c.Release == nil || c.On == nil) {
			t.Errorf("%s is held and can't be released", c.ID)
		}
		k := c.Key
		if c.Ctrl {
			k = "Ctrl " + k
		}
		if c.Key != "" && keys[k] != "" {
			t.Errorf("%s and %s have the key %s", c.ID, keys[k], k)
		}
		keys[k] = c.ID
		// Every command can be asked at any moment without harm.
		for _, s := range []session.State{{Pin: -1, Count: 1}, opened()} {
			if a := c.Act(s); a != nil {
				session.Reduce(s, a)
			}
		}
	}
}

func newSession(t *testing.T, e *sessiontest.Engine) (*session.Session, *sessiontest.Queue) {
	t.Helper()
	q := sessiontest.NewQueue()
	s := session.New(e, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	s.Do(session.Resize{Cell: session.Cell{W: 200, H: 160, Scale: 1, Exact: true}})
	return s, q
}

// withDemo returns a session in which the demo picture lies.
func withDemo(t *testing.T, e *sessiontest.Engine) (*session.Session, *sessiontest.Queue) {
	t.Helper()
	s, q := newSession(t, e)
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(sessiontest.Settled(s)) {
		t.Fatal("the desk was not laid within ten seconds")
	}
	return s, q
}

func TestRunnerShowsWhatTheEngineMade(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(120, 90)}
	s, q := withDemo(t, e)
	for q.Step() {
	}
	s.Do(session.OneToOne{X: -1, Y: -1})
	st := s.State()
	p := session.Place(st.Cell, st.View, 120, 90)
	// A frame of the view before may still have been on its way: at one to one the
	// picture's second pixel lies beside its first, and both differ from the border.
	q.Until(func() bool {
		b := s.Store().Buffer(1)
		i := b.PixOffset(p.X0, p.Y0)
		return b.Rect.Dx() == 200 && b.Pix[i] == e.Picture.P8[0]^255 && b.Pix[i+4] == e.Picture.P8[3]^255
	})
	for n, invert := range []uint8{0, 255} {
		b := s.Store().Buffer(n)
		if b.Rect.Dx() != 200 || b.Rect.Dy() != 160 || b.Stride != 800 {
			t.Fatalf("sheet %d's buffer is %v with stride %d, want a tight 200 by 160", n, b.Rect, b.Stride)
		}
		for y := 0; y < 90; y++ {
			for x := 0; x < 120; x++ {
				i := b.PixOffset(p.X0+x, p.Y0+y)
				want := e.Picture.P8[3*(y*120+x)] ^ invert
				if b.Pix[i] != want || b.Pix[i+3] != 255 {
					t.Fatalf("sheet %d, pixel %d, %d: red %d, want %d", n, x, y, b.Pix[i], want)
				}
			}
		}
		// The border is the paper's, the rest the desk's.
		if i := b.PixOffset(p.Sheet.Min.X, p.Sheet.Min.Y); b.Pix[i] != 250 || b.Pix[i+2] != 248 {
			t.Errorf("sheet %d's border is %v, want the ground", n, b.Pix[i:i+3])
		}
		if b.Pix[0] != session.DeskGrey {
			t.Errorf("the desk beside sheet %d is %d, want %d", n, b.Pix[0], session.DeskGrey)
		}
	}
}

func TestRunnerDropsWhatIsOld(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := withDemo(t, e)
	first := s.State().Results[1].Gen
	// Faster than anything can be computed: only the last may stand.
	for _, i := range []proof.Intent{proof.Perceptual, proof.Saturation, proof.AbsoluteColorimetric, proof.Perceptual} {
		s.Do(session.SetIntent{Intent: i})
	}
	if !q.Until(sessiontest.Settled(s)) {
		t.Fatal("not settled again")
	}
	for q.Step() {
	}
	r := s.State().Results[1]
	if r.Gen <= first || r.Figures.Mean != float64(proof.Perceptual)+1 || r.Route.Stations[1].Detail != "perceptual" {
		t.Errorf("after four changes sheet 2 has %+v", r.Figures)
	}
}

func TestTheOldSheetStaysUntilTheNewIsThere(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := withDemo(t, e)
	old := append([]uint8(nil), s.Store().Buffer(1).Pix...)
	gate := make(chan struct{})
	e.SetGate(gate)
	s.Do(session.SetSlip{Slip: setup.Setup{Slips: "twice"}})
	q.Until(func() bool { return s.State().Stale[1] })
	if !s.State().Stale[1] {
		t.Fatal("nothing says that the sheet is being computed")
	}
	if string(s.Store().Buffer(1).Pix) != string(old) {
		t.Error("the sheet changed before its look was there")
	}
	// Panning goes on meanwhile.
	before := s.State().Frame
	s.Do(session.ZoomAt{X: 100, Y: 80, Factor: 6})
	if !q.Until(func() bool { return s.State().Frame > before }) {
		t.Error("no frame while a look is being made")
	}
	// Another wish cancels the one before.
	for i := 0; !e.Waited(func(set setup.Setup) bool { return set.Slips == "twice" }); i++ {
		if i > 2000 {
			t.Fatal("the slip's look was never asked for")
		}
		time.Sleep(5 * time.Millisecond)
	}
	s.Do(session.SetWrong{On: false})
	s.Do(session.SetPaper{ID: "gloss"})
	if !q.Until(func() bool { return e.Cancelled() > 0 }) {
		t.Error("the look that nobody waits for was not cancelled")
	}
	close(gate)
	if !q.Until(sessiontest.Settled(s)) {
		t.Error("not settled at last")
	}
}

func TestFailuresAreSentencesAndTheDeskStays(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := withDemo(t, e)
	key := s.State().Picture.Key

	s.Do(session.OpenPicture{Path: "missing"})
	if !q.Until(func() bool { return s.State().Notice.Headline == "‘missing’ is not there." }) {
		t.Errorf("the notice is %q", s.State().Notice.Headline)
	}
	if s.State().Picture.Key != key || s.Store().Picture(key) == nil {
		t.Error("the picture on the desk is gone")
	}

	s.Do(session.AddPaper{Path: "bad.icc"})
	if !q.Until(func() bool { return s.State().Adding.Path == "" }) {
		t.Error("adding goes on for ever")
	}
	if n := s.State().Notice; !n.Failure || n.Hint == "" {
		t.Errorf("the notice is %+v", n)
	}
	s.Do(session.AddPaper{Path: "good.icc"})
	if !q.Until(func() bool { return s.State().Sheets[1].Paper == "gloss" }) {
		t.Error("the added paper is not taken")
	}

	e.SetRefuse(func(set setup.Setup) error {
		if set.Slips == "never" {
			return &proof.PlanError{Reason: "numbers of sRGB have 3 channels"}
		}
		return nil
	})
	s.Do(session.SetSlip{Slip: setup.Setup{Slips: "never"}})
	if !q.Until(func() bool { return s.State().Results[1].Route.Refused == "Numbers of sRGB have 3 channels." }) {
		t.Errorf("refused: %q", s.State().Results[1].Route.Refused)
	}
}

// hatched tells whether sheet n shows no picture: neutral greys of two kinds alone.
func hatched(s *session.Session, n int) bool {
	b, st := s.Store().Buffer(n), s.State()
	in := session.Place(st.Cell, st.View, st.Picture.W, st.Picture.H).Pic
	seen := map[uint8]bool{}
	for y := in.Min.Y; y < in.Max.Y; y++ {
		for x := in.Min.X; x < in.Max.X; x++ {
			i := b.PixOffset(x, y)
			if b.Pix[i] != b.Pix[i+1] || b.Pix[i] != b.Pix[i+2] {
				return false
			}
			seen[b.Pix[i]] = true
		}
	}
	return len(seen) == 2
}

// A sheet whose set-up can't be run is empty and hatched: the picture of another set-up
// under its name would be believed.
func TestWhatCannotBeRunShowsNoPicture(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := withDemo(t, e)
	e.SetRefuse(func(set setup.Setup) error {
		if set.Slips == "never" || set.Slips == "wrongsetting" {
			return &proof.PlanError{Reason: "it has no " + set.Slips}
		}
		return nil
	})
	frame := func(empty bool) {
		t.Helper()
		if !q.Until(func() bool { return sessiontest.Settled(s)() && hatched(s, 1) == empty }) {
			t.Errorf("empty: %v, want %v", !empty, empty)
		}
		if hatched(s, 0) {
			t.Error("the other sheet is empty too")
		}
	}
	for _, id := range []string{"twice", "wrongsetting", "never", "otherpaper", "never"} {
		s.Do(session.SetSlip{Slip: setup.Setup{Slips: id}})
		empty := id == "never" || id == "wrongsetting"
		frame(empty)
		want := ""
		if empty {
			want = "It has no " + id + "."
		}
		if got := s.State().Refusal(1); got != want {
			t.Errorf("%s: refused with %q, want %q", id, got, want)
		}
		if got := s.State().Told(); empty && got.Text != "" {
			t.Errorf("the sentence says %q beside the reason on the sheet", got.Text)
		}
	}
	// A difference from an empty sheet is none.
	s.Do(session.Activate{N: 0})
	s.Do(session.SetShow{Show: session.ShowDifference, Against: 1})
	if !q.Until(func() bool { return sessiontest.Settled(s)() && hatched(s, 0) }) || s.State().Refusal(0) == "" {
		t.Errorf("the difference from an empty sheet: %q", s.State().Refusal(0))
	}
	s.Do(session.SetShow{Show: session.ShowPicture, Against: -1})
	// What only a held key shows is refused likewise.
	s.Do(session.Activate{N: 1})
	s.Do(session.SetWrong{On: false})
	frame(false)
	s.Do(session.Hold{What: session.HeldSlip})
	if !q.Until(func() bool { return hatched(s, 1) && s.State().Refusal(1) == "It has no never." }) {
		t.Errorf("while the key is held: %q", s.State().Refusal(1))
	}
	s.Do(session.Hold{})
	frame(false)
}

func TestStoppingAnOpening(t *testing.T) {
	e := &slowOpen{Engine: &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}}
	q := sessiontest.NewQueue()
	s := session.New(e, q.Post, session.Start("pearl"))
	defer s.Close()
	s.Do(session.OpenPicture{Path: "large.tif"})
	s.StopLoading()
	if !q.Until(func() bool { return s.State().Loading.Path == "" }) {
		t.Error("still opening")
	}
	if s.State().Notice.Failure {
		t.Errorf("stopping is no failure: %+v", s.State().Notice)
	}
}

type slowOpen struct{ *sessiontest.Engine }

func (slowOpen) Open(ctx context.Context, _ string) (*session.Picture, error) {
	<-ctx.Done()
	return nil, ctx.Err()
}

// noted opens pictures of which something is to be said, by their path.
type noted struct{ *sessiontest.Engine }

func (e noted) Open(ctx context.Context, path string) (*session.Picture, error) {
	pic, err := e.Engine.Open(ctx, path)
	if err == nil && path == "hole.png" {
		pic.Info.Notes = "half of it is see-through"
	}
	return pic, err
}

func TestWhatIsSaidOfAPictureGoesWithIt(t *testing.T) {
	q := sessiontest.NewQueue()
	s := session.New(noted{&sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}}, q.Post, session.Start("pearl"))
	defer s.Close()
	open := func(path string) {
		s.Do(session.OpenPicture{Path: path})
		q.Until(func() bool { return s.State().Loading.Path == "" })
	}
	open("hole.png")
	s.Do(session.SetIntent{Intent: proof.Perceptual})
	if n := s.State().Notice.Headline; !strings.Contains(n, "see-through") {
		t.Fatalf("of the picture it says %q", n)
	}
	open("boat.jpg")
	if n := s.State().Notice.Headline; n != "" {
		t.Errorf("of the next picture it says %q", n)
	}
	s.Do(session.Tell{Notice: session.Notice{Headline: "‘Pearl’ is now among your papers."}})
	open("beach.jpg")
	if n := s.State().Notice.Headline; n == "" {
		t.Error("what is said of a paper went with the picture")
	}
}

// What is changed while a key is held is seen in the route and in what can't be shown.
func TestTheHeldRouteFollows(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := withDemo(t, e)
	e.SetRefuse(func(set setup.Setup) error {
		if set.Paper == "pearl" && set.Slips != "" {
			return errors.New("no such slip on this paper")
		}
		return nil
	})
	s.Do(session.Hold{What: session.HeldSlip})
	if !q.Until(func() bool { return s.State().Refusal(1) != "" }) {
		t.Fatal("the slip is not refused")
	}
	s.Do(session.SetPaper{ID: "cotton"})
	q.Until(sessiontest.Settled(s))
	for end := time.Now().Add(5 * time.Second); s.State().Refusal(1) != "" && time.Now().Before(end); {
		q.Step()
	}
	if st := s.State(); st.Refusal(1) != "" || st.Peek.Stations[1].Title != "ink on cotton" {
		t.Errorf("on cotton the held slip’s route is %q, refused: %q", st.Peek.Stations[1].Title, st.Refusal(1))
	}
}

func TestExplainNamesTheFile(t *testing.T) {
	for _, err := range []error{errors.New("odd"), &proof.PlanError{Reason: "a plan needs a screen"}, context.Canceled} {
		if n := session.Explain(err, "/pictures/boat.jpg"); n.Headline == "" {
			t.Errorf("%v has no headline", err)
		}
	}
	for k := photo.NotFound; k <= photo.DiskFull; k++ {
		n := session.Explain(&photo.Error{Path: "/pictures/boat.jpg", Kind: k, Err: errors.New("short data")}, "/pictures/boat.jpg")
		if !strings.Contains(n.Headline, "boat.jpg") || !n.Failure {
			t.Errorf("%v: %+v names no file", k, n)
		}
	}
	pic := &photo.Picture{W: 1, H: 1, Channels: 3, Depth: 8, Pix8: []uint8{1, 2, 3}}
	for _, path := range []string{"boat.png", "boat.tif"} {
		path = filepath.Join(t.TempDir(), "gone", path)
		err := photo.Write(context.Background(), path, pic, photo.WriteOptions{})
		if n := session.Explain(err, path); !strings.Contains(n.Headline, "folder is not there") || !strings.Contains(n.Headline, filepath.Base(path)) {
			t.Errorf("%v: %+v", err, n)
		}
	}
	for kind, want := range map[proof.Kind]string{
		proof.Damaged:       "The profile ‘cut.icc’ is damaged and can’t be used.",
		proof.WrongClass:    "The profile ‘cut.icc’ is of the wrong kind: the header gives 9 bytes, the file has 3.",
		proof.WrongChannels: "The profile ‘cut.icc’ has the wrong number of channels: the header gives 9 bytes, the file has 3.",
	} {
		err := &proof.ProfileError{Profile: "/profiles/cut.icc", Kind: kind, Err: errors.New("icc: the header gives 9 bytes, the file has 3")}
		if n := session.Explain(err, "/profiles/cut.icc"); n.Headline != want {
			t.Errorf("kind %d: %q, want %q", kind, n.Headline, want)
		}
	}
	protected := fmt.Errorf("the file there is write-protected: %w", fs.ErrPermission)
	for _, err := range []error{&photo.Error{Path: "/out/boat.tif", Kind: photo.NotWritable, Err: protected}, &aside.Error{Path: "/out/boat.tif", Err: protected}} {
		if n := session.Explain(err, "/out/boat.tif"); !strings.Contains(n.Headline, "boat.tif") || !strings.Contains(n.Headline, "write-protected") || strings.Contains(n.Headline, "read.") {
			t.Errorf("a protected output: %+v", n)
		}
	}
	if n := session.Explain(nil, "x"); n != (session.Notice{}) {
		t.Errorf("no error gives %+v", n)
	}
}

func TestAProfileFileIsCheckedBeforeItIsTaken(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := withDemo(t, e)
	before := s.State()
	for _, source := range []bool{false, true} {
		s.Do(session.TakeProfile{Path: "bad.icc", Source: source})
		serial := s.State().Notice.Serial
		if !q.Until(func() bool { return s.State().Notice.Serial > serial }) {
			t.Fatal("no notice")
		}
		if now := s.State(); now.Screen != before.Screen || now.Picture != before.Picture || !now.Notice.Failure {
			t.Errorf("source %v: an unfit profile changed the desk: %+v", source, now.Notice)
		}
	}
	s.Do(session.TakeProfile{Path: "good.icc", Source: true})
	if !q.Until(func() bool { return s.State().Picture.Assumed == "good.icc" }) {
		t.Error("the fit profile was not taken")
	}
}

// The slip that nobody chose is the plainest that can be made with the picture
// and the paper; one that was chosen stays.
func TestTheUsualSlipFitsPictureAndPaper(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(30, 20)}
	s, _ := withDemo(t, e)
	papers := s.Store().Papers()
	cmyk := papers[0]
	inks, err := paper.ReadProfile("../../testdata/cache/profiles/default_cmyk.icc")
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	cmyk.ID, cmyk.Path, cmyk.Profile = "press", "press.icc", inks
	s.Store().SetPapers(append(papers, cmyk))
	slip := func() string { sh, _ := s.State().Proof(); return sh.Slips }
	if got := slip(); got != "never" {
		t.Errorf("RGB on an RGB paper: %q, want never", got)
	}
	s.Do(session.SetPaper{ID: "press"})
	if got := slip(); got != "compensation" {
		t.Errorf("RGB on a CMYK paper: %q, want compensation", got)
	}
	if n := s.State().Notice; n.Headline != "" {
		t.Errorf("a slip that is not seen became another, and it says %q", n.Headline)
	}
	// Where it is seen, or a paper has just come, another slip comes with a word.
	s.Do(session.SetPaper{ID: "pearl"})
	s.Do(session.SetWrong{On: true})
	s.Do(session.SetPaper{ID: "press"})
	if n := s.State().Notice.Headline; !strings.Contains(n, "‘compensation left out’") {
		t.Errorf("the slip that is seen became another, and it says %q", n)
	}
	s.Do(session.Activate{N: 0})
	if n := s.State().Notice.Headline; n != "" {
		t.Errorf("of another sheet it says still %q", n)
	}
	s.Do(session.Activate{N: 1})
	s.Do(session.SetWrong{On: false})
	s.Do(session.SetPaper{ID: "pearl"})
	s.Do(session.LibraryChanged{Use: "press", Notice: session.Notice{Headline: "It is here."}})
	if n := s.State().Notice; n.Headline != "It is here." || !strings.Contains(n.Hint, "‘compensation left out’") {
		t.Errorf("a new paper changed the slip, and it says %+v", n)
	}
	// What a second converter takes the numbers for fits the paper of itself.
	reads := func() string { sh, _ := s.State().Proof(); return sh.Reads }
	s.Do(session.SetSlip{Slip: setup.Setup{Slips: "twice"}})
	if got := reads(); got != "press.icc" {
		t.Errorf("twice on a CMYK paper takes its numbers for those of %q, want its own profile", got)
	}
	s.Do(session.SetPaper{ID: "pearl"})
	if got := slip(); got != "twice" || reads() != "" {
		t.Errorf("a chosen slip became %q, numbers taken for those of %q", got, reads())
	}
	s.Do(session.SetSlip{Slip: setup.Setup{Slips: "twice", Reads: "of-ones-own.icc"}})
	s.Do(session.SetPaper{ID: "press"})
	if got := reads(); got != "of-ones-own.icc" {
		t.Errorf("a file that was chosen became %q", got)
	}
}

func TestWhateverLayOnAPaperThatIsGoneLiesOnAnother(t *testing.T) {
	s := session.Start("old")
	s.Sheets[2].Paper = "kept"
	s.Sheets[3].Other = "old"
	before := s.Edition
	s = session.Reduce(s, session.PaperGone{ID: "old", Use: "new"})
	for i, want := range []string{"new", "new", "kept", "new"} {
		if got := s.Sheets[i].Paper; got != want {
			t.Errorf("sheet %d lies on %q, want %q", i, got, want)
		}
	}
	if s.Sheets[3].Other != "new" || s.Default.Paper != "new" {
		t.Errorf("slip %q and next new proof %q still name the old one", s.Sheets[3].Other, s.Default.Paper)
	}
	// What was computed for the old one may not be taken for another of its name.
	if s.Edition == before {
		t.Error("the edition stayed")
	}
}

// Everything that was set can be taken back and made again; a drag is one change, a
// look elsewhere none, and another picture begins anew.
func TestUndo(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := withDemo(t, e)
	if s.State().CanUndo {
		t.Error("there is something to undo at the start")
	}
	changes := []session.Action{
		session.SetIntent{Intent: proof.Perceptual}, session.SetPaper{ID: "gloss"}, session.SetBPC{}, session.SetWrong{On: true},
		session.SetSlip{Slip: setup.Setup{Slips: "twice"}}, session.AddSheet{}, session.SetWhite{White: proof.ScreenWhite},
		session.PutPin{X: 10, Y: 10}, session.NamePin{N: 0, Name: "oar"}, session.TakeDesk{ID: "intents"}, session.AssumeSource{Source: "romm"},
		session.SetScreen{Screen: session.Screen{Key: "displayp3", Name: "Display P3"}}, session.DeletePin{N: 0}, session.RemoveSheet{N: 0},
	}
	states := []session.Choices{s.State().Choices()}
	for _, a := range changes {
		s.Do(a)
		s.Do(session.ZoomAt{X: 3, Y: 3, Factor: 2}) // no change of what is set
		s.Do(session.Activate{N: 0})
		states = append(states, s.State().Choices())
	}
	same := func(step string, want session.Choices) {
		t.Helper()
		got := s.State().Choices()
		got.Active = want.Active
		if got != want {
			t.Errorf("%s: %+v, want %+v", step, got, want)
		}
	}
	for i := len(changes) - 1; i >= 0; i-- {
		s.Do(session.Undo{})
		same(fmt.Sprintf("undo %T", changes[i]), states[i])
	}
	if s.State().CanUndo {
		t.Error("there is something left to undo")
	}
	s.Do(session.Undo{}) // nothing to do, nothing done
	for i := range changes {
		s.Do(session.Redo{})
		same(fmt.Sprintf("redo %T", changes[i]), states[i+1])
	}
	if !q.Until(sessiontest.Settled(s)) {
		t.Error("the desk does not settle after it")
	}

	// A drag is one change, and something new ends what could be made again.
	s.Do(session.PutPin{X: 20, Y: 20})
	before := s.State().Choices()
	for x := range 5 {
		s.Do(session.MovePin{N: 0, X: float64(20 + x), Y: 20})
	}
	s.Do(session.Undo{})
	same("undo a drag", before)
	s.Do(session.SetBPC{On: !s.State().Default.BPC})
	if s.State().CanRedo {
		t.Error("after a new change the old ones could be made again")
	}
	// What lay on a paper that is gone lies on another, in the past too.
	s.Do(session.SetPaper{ID: "washi"})
	s.Do(session.SetPaper{ID: "cotton"})
	s.Do(session.PaperGone{ID: "washi", Use: "pearl"})
	s.Do(session.Undo{})
	if sh, _ := s.State().Proof(); sh.Paper != "pearl" {
		t.Errorf("undo lays the proof on %q", sh.Paper)
	}
	s.Do(session.OpenPicture{Path: "other"})
	if !q.Until(func() bool { return s.State().Picture.Path == "other" }) || s.State().CanUndo {
		t.Error("another picture keeps the changes of the one before")
	}
}

// The system's word on the screen is taken where nobody has said another, and taking back
// does not bring another screen's profile.
func TestMeetScreen(t *testing.T) {
	s, _ := newSession(t, &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)})
	left := session.Screen{Key: session.SystemScreen + "left", Name: "left"}
	right := session.Screen{Key: session.SystemScreen + "right", Name: "right"}
	s.Do(session.MeetScreen{Screen: left})
	if s.State().Screen != left || s.State().CanUndo {
		t.Errorf("%+v in place of the one that was assumed, to undo: %v", s.State().Screen, s.State().CanUndo)
	}
	s.Do(session.SetIntent{Intent: proof.Perceptual})
	s.Do(session.MeetScreen{Screen: right})
	s.Do(session.Undo{})
	if s.State().Screen != right {
		t.Errorf("undo brings %+v back", s.State().Screen)
	}
	said := session.Screen{Key: "displayp3", Name: "Display P3"}
	s.Do(session.SetScreen{Screen: said})
	s.Do(session.MeetScreen{Screen: left})
	if s.State().Screen != said {
		t.Errorf("%+v, though a person has said %+v", s.State().Screen, said)
	}
	s.Do(session.Undo{})
	if s.State().Screen != left {
		t.Errorf("before a person said anything it is %+v", s.State().Screen)
	}
}

// A glance at the figures comes before all is counted.
func TestAGlanceComesFirst(t *testing.T) {
	s, q := newSession(t, &sessiontest.Engine{Picture: sessiontest.Ramp(600, 400)})
	var glances, counted int
	s.Watch(func(old, now session.State) {
		switch r := now.Results[1]; {
		case r.Measured && !old.Results[1].Measured:
			counted++
		case r.Glance.Pixels > 0 && old.Results[1].Glance.Pixels == 0:
			if glances++; counted > 0 {
				t.Error("a glance came after all was counted")
			}
		}
	})
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(func() bool { return counted > 0 }) {
		t.Fatal("nothing is counted")
	}
	if glances != 1 {
		t.Errorf("%d glances came", glances)
	}
}

// All sheets are taken to the place where they differ most, then to the next; what is
// told of it is told while it shows, and of sheets that lie there still.
func TestWhereDoTheyDiffer(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(600, 400)}
	s, q := withDemo(t, e)
	told := func(want string) {
		t.Helper()
		if !q.Until(func() bool { return !s.State().Differ.Seeking }) {
			t.Fatal("it seeks for ever")
		}
		if got := s.State().DifferWords(); got != want {
			t.Errorf("told %q, want %q", got, want)
		}
	}
	s.Do(session.FindDifference{})
	told("sheet 2 is not the original")
	if v := s.State().View; v.Fit || v.CX != 300 || v.CY != 200 {
		t.Errorf("the sheets show %+v, want the middle", v)
	}
	s.Do(session.FindDifference{})
	told("sheet 2 is a little not the original")
	s.Do(session.FindDifference{})
	told("sheet 2 is not the original") // round again
	s.Do(session.Pan{DX: 30, DY: 30})
	told("")
	s.Do(session.FindDifference{})
	told("sheet 2 is a little not the original")
	s.Do(session.SetIntent{Intent: proof.Perceptual})
	told("")
	s.Do(session.FindDifference{})
	told("sheet 2 is not the original")
	s.Do(session.CopySetup{From: 0, To: 1})
	s.Do(session.FindDifference{})
	told("")
	if n := s.State().Notice.Headline; !strings.Contains(n, "alike") {
		t.Errorf("of equal sheets it says %q", n)
	}
	s.Do(session.Pan{DX: 30, DY: 30})
	if n := s.State().Notice.Headline; !strings.Contains(n, "alike") {
		t.Error("what is said of the sheets is gone when they are moved")
	}
	s.Do(session.SetOriginal{On: false})
	s.Do(session.SetIntent{Intent: proof.Saturation})
	if n := s.State().Notice.Headline; n != "" {
		t.Errorf("of other sheets it says still %q", n)
	}
	q.Until(sessiontest.Settled(s))
	e.SetRefuse(func(setup.Setup) error { return errors.New("there is no memory left") })
	s.Do(session.FindDifference{})
	told("")
	if n := s.State().Notice; !n.Failure {
		t.Errorf("of a search that failed it says %q", n.Headline)
	}
	e.SetRefuse(nil)
	s.Do(session.SetSheets{N: 1})
	s.Do(session.FindDifference{})
	if n := s.State().Notice.Headline; !strings.Contains(n, "One sheet") {
		t.Errorf("of one sheet it says %q", n)
	}
	s.Do(session.AddSheet{})
	if n := s.State().Notice.Headline; n != "" {
		t.Errorf("of two sheets it says still %q", n)
	}
}

// The sentence compares two proofs that lie side by side, both as they should be, and
// goes back to the sheet's own where there is nothing to compare. A click goes to the
// pin that it speaks of.
func TestTold(t *testing.T) {
	s := opened()
	s.Picture.Key = 1
	s = run(s, session.PutPin{X: 300, Y: 200, Name: "shirt"}, session.PutPin{X: 900, Y: 900, Name: "leaf"}, session.ChoosePin{N: -1},
		session.TakeDesk{ID: "papers", Papers: [session.MaxSheets]string{"cotton", "pearl"}})
	known := func(l ...cie.Lab) (v [session.MaxPins]session.PinValue) {
		for i := range l {
			v[i] = session.PinValue{Known: true, Value: pin.Value{Counted: l[i]}}
		}
		return v
	}
	for n, paper := range []string{"Pearl", "Cotton Matte"} {
		s = run(s, session.RequestStarted{N: n, Gen: uint64(n + 1)}, session.RouteFound{N: n, Gen: uint64(n + 1), Route: session.Route{Paper: paper}})
	}
	s = run(s, session.ValuesFound{N: 0, Gen: 1, Values: known(cie.Lab{L: 50, A: 60, B: 30}, cie.Lab{L: 40, A: -30, B: 30}), Told: session.Told{Text: "of sheet 1", Pin: 1}})
	if got := s.Told(); got.Text != "of sheet 1" || got.Pin != 1 {
		t.Errorf("before the other sheet's colours are there it says %+v", got)
	}
	s = run(s, session.ValuesFound{N: 1, Gen: 2, Values: known(cie.Lab{L: 50, A: 40, B: 20}, cie.Lab{L: 40, A: -30, B: 30}), Told: session.Told{Text: "of sheet 2"}})
	want := session.Sentence(words.Compare(cie.Lab{L: 50, A: 40, B: 20}, cie.Lab{L: 50, A: 60, B: 30}).Beside("this shirt on Pearl", "Cotton Matte"))
	if got := s.Told(); got.Text != want || got.Pin != 0 {
		t.Errorf("of two papers it says %+v, want %q", got, want)
	}
	if got := run(s, session.RequestStarted{N: 1, Gen: 3}).Told().Text; got == want {
		t.Error("while the other sheet is computed anew it compares with what that was")
	}
	if got := run(s, session.ChoosePin{N: 1}).Told(); got.Pin != 1 || !strings.HasPrefix(got.Text, "This leaf on Pearl prints unchanged") {
		t.Errorf("of the chosen pin it says %+v", got)
	}
	intents := run(s, session.SetPaper{ID: "cotton"}, session.SetIntent{Intent: proof.Perceptual})
	if got := intents.Told().Text; !strings.HasPrefix(got, "This shirt by the perceptual intent prints ") || !strings.HasSuffix(got, "compared with the relative one.") {
		t.Errorf("of two intents it says %q", got)
	}
	// By the absolute intent the screen shows colours alike that differ beside each paper's white.
	absolute := run(s, session.SetIntent{Intent: proof.AbsoluteColorimetric})
	if got := absolute.Told().Text; !strings.HasSuffix(got, "compared with Cotton Matte, to an eye used to each paper’s white.") {
		t.Errorf("by the absolute intent it says %q", got)
	}
	counted := absolute.Looking
	counted.CountWhite = true
	for _, a := range []session.Action{session.SetWhite{White: proof.ScreenWhite}, session.SetLooking{Looking: counted}} {
		if got := run(absolute, a).Told().Text; !strings.HasSuffix(got, "compared with Cotton Matte.") {
			t.Errorf("%#v: it says %q", a, got)
		}
	}
	for name, a := range map[string]session.Action{"the original": session.SetOriginal{On: true}, "a slip": session.SetWrong{On: true}} {
		if got := run(s, a).Told().Text; strings.Contains(got, "compared with Cotton") {
			t.Errorf("with %s it still says %q", name, got)
		}
	}
	at := run(s, session.GoToPin{N: 0})
	if at.Pin != 0 || at.View.Fit {
		t.Errorf("a click on the sentence shows %+v", at.View)
	}
	p := session.Place(at.Cell, at.View, 3000, 2000)
	if x, y := p.ToCell(300, 200); !image.Pt(int(x), int(y)).In(p.Pic) {
		t.Errorf("the pin lies at %g, %g outside %v", x, y, p.Pic)
	}
}

// A picture that comes without pins gets some, and nothing unfolds for it; what nobody
// did is nothing to undo.
func TestAPictureOfOnesOwnGetsPins(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := newSession(t, e)
	s.Do(session.OpenPicture{Path: "own"})
	if !q.Until(func() bool { return s.State().NumPins == 1 }) || s.State().Folds.Pins || s.State().CanUndo {
		t.Errorf("%d pins, unfolded %t", s.State().NumPins, s.State().Folds.Pins)
	}
	s.Do(session.ProposePins{})
	if !q.Until(func() bool { return s.State().Folds.Pins }) {
		t.Error("pins that were asked for do not show")
	}
}

func TestTypeset(t *testing.T) {
	for _, c := range [][2]string{
		{"the paper's black", "the paper’s black"}, {"papers' numbers", "papers’ numbers"}, {"'never' goes with no other", "‘never’ goes with no other"},
		{"(b* -4.5, a* -3)", "(b* −4.5, a* −3)"}, {"-7 degrees", "−7 degrees"}, {"two-colour, M0-M2, 2006-01-02", "two-colour, M0-M2, 2006-01-02"},
		{"it’s ‘so’", "it’s ‘so’"}, {"", ""},
	} {
		if got := session.Typeset(c[0]); got != c[1] {
			t.Errorf("%q becomes %q, want %q", c[0], got, c[1])
		}
	}
}
