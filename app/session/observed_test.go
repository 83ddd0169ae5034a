package session_test

import (
	"slices"
	"testing"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// observe opens a picture of 120 by 90, observes a print of it at half that size and lays
// a cause.
func observe(t *testing.T) (*session.Session, *sessiontest.Queue, raster.Pixels) {
	t.Helper()
	s, q := newSession(t, &sessiontest.Engine{Picture: sessiontest.Ramp(120, 90)})
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(sessiontest.Settled(s)) {
		t.Fatal("the desk was not laid")
	}
	seen := raster.New(60, 45, 3, false)
	for i := range 60 * 45 {
		copy(seen.P8[3*i:], []uint8{uint8(4 * (i % 60)), 10, 200})
	}
	key := s.Observe(&session.Picture{Info: session.PictureInfo{Name: "the print", W: 60, H: 45}, Levels: []raster.Pixels{seen}})
	s.Do(session.OpenCard{ID: "causes"})
	s.Do(session.LayCause{Right: setup.Setup{Paper: "gloss", Intent: proof.Perceptual}, Cause: setup.Setup{Slips: "twice"}, Observed: key})
	return s, q, seen
}

// The observed print lies between the right proof and the cause, at the picture's place,
// and is what was observed.
func TestAnObservedPrintLiesOnTheDesk(t *testing.T) {
	s, q, seen := observe(t)
	now := s.State()
	if now.Count != 3 || now.Active != 2 || now.Card != "" || now.Sheets[1].IsProof() || now.Sheets[0].Wrong ||
		now.Setup(now.Sheets[2]).Slips != "twice" || now.Setup(now.Sheets[0]).Intent != proof.Perceptual {
		t.Fatalf("%d sheets, the %d. active: %+v", now.Count, now.Active, now.Sheets)
	}
	if set := now.Setup(now.Sheets[1]); set.Printed != "gloss" || set.Paper != "" || set.Slips != "" || set.White != now.Sheets[1].White {
		t.Errorf("it is shown by %+v", set)
	}
	s.Do(session.ZoomAt{X: 100, Y: 80, Factor: 2})
	var p session.Placing
	q.Until(func() bool {
		st := s.State()
		p = session.Place(st.Cell, st.View, 120, 90)
		b := s.Store().Buffer(1)
		return sessiontest.Settled(s)() && b != nil && p.Scale > 2 && b.Pix[b.PixOffset(p.Pic.Min.X+3, p.Pic.Min.Y+3)+2] == 200
	})
	b := s.Store().Buffer(1)
	for _, x := range []int{p.Pic.Min.X + 1, p.Pic.Min.X + 50, p.Pic.Max.X - 2} {
		px, py := p.ToPicture(float64(x)+0.5, float64(p.Pic.Min.Y)+20.5)
		want := int(seen.P8[3*(int(py/2)*60+int(px/2))])
		if got := int(b.Pix[b.PixOffset(x, p.Pic.Min.Y+20)]); got < want-5 || got > want+5 {
			t.Errorf("at %d the sheet is %d, want %d", x, got, want)
		}
	}
	// What blinks in the place of the observed print is the prediction.
	s.Do(session.Activate{N: 1})
	s.Do(session.Hold{What: session.HeldNext})
	if sh := s.State().Shown(1); sh.Observed != 0 || !sh.Wrong {
		t.Errorf("in its place blinks %+v", sh)
	}
	s.Do(session.Hold{What: session.HeldOriginal})
	if sh := s.State().Shown(1); sh.Observed != 0 || !sh.Original {
		t.Errorf("the held original is %+v", sh)
	}
}

// All that lies on the desk for a cause is one step back, and comes again.
func TestAnObservedPrintIsUndone(t *testing.T) {
	s, _, _ := observe(t)
	laid := s.State().Choices()
	s.Do(session.Undo{})
	if now := s.State(); now.Count != 2 || now.Sheets[1].Observed != 0 {
		t.Errorf("after undo %d sheets lie there", now.Count)
	}
	s.Do(session.Redo{})
	if s.State().Choices() != laid {
		t.Errorf("made again: %+v", s.State().Choices())
	}
	if s.Store().Picture(laid.Sheets[1].Observed) == nil {
		t.Error("the observation is gone")
	}
}

// It is not saved, not mapped, not printed and not compared; a picture read anew has no
// observed prints, nor do the steps back.
func TestAnObservedPrintIsNoProof(t *testing.T) {
	s, q, _ := observe(t)
	now := s.State()
	d := now.Saved("")
	if len(d.Sheets) != 2 || d.Active != 1 || d.Sheets[0].Wrong || !d.Sheets[1].Wrong {
		t.Errorf("saved: %d sheets, the %d. active", len(d.Sheets), d.Active)
	}
	alone := run(now, session.RemoveSheet{N: 2}, session.RemoveSheet{N: 0})
	if d := alone.Saved(""); len(d.Sheets) != 1 || d.Sheets[0].Setup.Paper != "gloss" {
		t.Errorf("alone it is saved as %+v", d.Sheets)
	}
	for _, a := range []session.Action{session.SetShow{Show: session.ShowDifference, Against: 1}, session.SetShow{Show: session.ShowDifference, Against: -1}} {
		if sh := run(now, session.Activate{N: 1}, a).Sheets[1]; sh.Show != session.ShowPicture {
			t.Errorf("%+v maps it", a)
		}
	}
	if sh := run(now, session.SetShow{Show: session.ShowDifference, Against: 1}).Sheets[2]; sh.Show != session.ShowPicture {
		t.Error("the cause is mapped against it")
	}
	if _, refused := run(now, session.Activate{N: 1}).PrintJob(); refused == "" {
		t.Error("it can be printed")
	}
	if st := run(now, session.Activate{N: 1}, session.FindDifference{}); st.Differ.Seeking || st.Notice.Headline == "" {
		t.Error("differences are sought from it")
	}
	if sh := run(now, session.Activate{N: 1}, session.SetOriginal{On: true}).Sheets[1]; sh.Observed != 0 || !sh.Original {
		t.Errorf("made the original it is %+v", sh)
	}
	s.Do(session.ReloadPicture{})
	q.Until(func() bool { return s.State().Picture.Key != now.Picture.Key })
	for {
		st := s.State()
		if slices.ContainsFunc(st.Sheets[:st.Count], func(sh session.Sheet) bool { return sh.Observed != 0 }) {
			t.Fatal("a print of the picture before lies on the desk")
		}
		if !st.CanUndo {
			break
		}
		s.Do(session.Undo{})
	}
}
