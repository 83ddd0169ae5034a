package session_test

import (
	"bytes"
	"testing"

	"firstsheet/app/overlay"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
)

// Sheets are read again when what they show has changed, and then alone; whatever was
// kept from frames before, they come out as if it had never been.
func TestSheetsAreReadNoMoreThanNeeded(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(300, 240)}
	laid := func(actions []session.Action) (*session.Session, *sessiontest.Queue) {
		s, q := newSession(t, e)
		s.Do(session.OpenPicture{Demo: true})
		q.Until(func() bool { return s.State().Picture.Key != 0 })
		for _, a := range actions {
			s.Do(a)
		}
		q.Until(s.AtRest)
		return s, q
	}
	look := func(limit float64, on ...string) session.Action {
		return session.SetLooking{Looking: session.Looking{Overlays: overlay.Of(on...), Threshold: limit}}
	}
	const some = -1 // as the better looks come
	done := []session.Action{session.OneToOne{X: 150, Y: 120}, look(1)}
	s, q := laid(done)
	for _, c := range []struct {
		name  string
		do    session.Action
		reads int
	}{
		{"bands", look(1, session.Bands), 1}, // the original has none
		{"another threshold", look(4, session.Bands), 0},
		{"hatched", look(4, session.Bands, "darker"), 0},
		{"on grey", look(4, session.Bands, "darker", "greyed"), 0},
		{"no bands", look(4), 0},
		{"bands again", look(2, session.Bands), 0},
		{"panned", session.Pan{DX: 7, DY: -5}, 2},
		{"a threshold there", look(1, session.Bands), 0},
		{"a difference", session.SetShow{Show: session.ShowDifference, Against: -1}, 0},
		{"another threshold of it", look(8, session.Bands), 0},
		{"panned back", session.Pan{DX: -7, DY: 5}, 2},
		{"the picture again", session.SetShow{Show: session.ShowPicture, Against: -1}, 0},
		{"a third sheet", session.AddSheet{}, 1},
		{"a difference from another sheet", session.SetShow{Show: session.ShowDifference, Against: 1}, 1},
		{"two sheets", session.RemoveSheet{N: 2}, 0},
		{"the whole picture", session.Fit{}, 2},
		{"larger", session.Resize{Cell: session.Cell{W: 200, H: 160, Scale: 2, Exact: true}}, 2},
		{"wider lines", session.Resize{Cell: session.Cell{W: 200, H: 160, Scale: 3, Exact: true}}, 2},
		{"gone wrong", session.SetWrong{On: true}, some},
		{"bare", look(8), some},
		{"that sheet alone", session.RemoveSheet{N: 0}, some},
	} {
		before := e.Reads()
		s.Do(c.do)
		q.Until(s.AtRest)
		if got := e.Reads() - before; got != c.reads && c.reads != some {
			t.Errorf("%s: %d sheets are read, want %d", c.name, got, c.reads)
		}
		done = append(done, c.do)
		fresh, _ := laid(done)
		for n := range s.State().Count {
			if !bytes.Equal(s.Store().Buffer(n).Pix, fresh.Store().Buffer(n).Pix) {
				t.Errorf("%s: sheet %d is not what a new desk shows", c.name, n)
			}
		}
	}
}
