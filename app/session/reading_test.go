package session_test

import (
	"bytes"
	"context"
	"testing"

	"firstsheet/app/overlay"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// telling is an engine whose samples come from the pixels' own numbers.
type telling struct{ *sessiontest.Engine }

func (e telling) Look(ctx context.Context, pic *session.Picture, set setup.Setup, q proof.Quality) (session.Look, error) {
	l, err := e.Engine.Look(ctx, pic, set, q)
	return tellingLook{l}, err
}

type tellingLook struct{ session.Look }

func (l tellingLook) ProofAndSamples(ctx context.Context, dst []uint8, samples []proof.Sample, src raster.Pixels) error {
	for i := range samples {
		px := src.At(nil, i%src.W, i/src.W)
		samples[i] = proof.Sample{DeltaE00: proof.StepsOf(px[0] * 12), Reach: proof.StepsOf(px[1] * 12), Darker: px[2] < 0.1}
	}
	return l.Proof(ctx, dst, src)
}

// Sheets are read again when what they show has changed, and then alone, while panning
// only what comes into view; whatever was kept from frames before, they come out as if it
// had never been.
func TestSheetsAreReadNoMoreThanNeeded(t *testing.T) {
	e := telling{&sessiontest.Engine{Picture: sessiontest.Ramp(300, 240)}}
	laid := func(actions []session.Action) (*session.Session, *sessiontest.Queue) {
		q := sessiontest.NewQueue()
		s := session.New(e, q.Post, session.Start("pearl"))
		t.Cleanup(s.Close)
		s.Do(session.Resize{Cell: session.Cell{W: 200, H: 160, Scale: 1, Exact: true}})
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
	const (
		sheet = 172 * 132 // within borders of 14
		some  = -1        // as the better looks come
	)
	done := []session.Action{session.OneToOne{X: 150, Y: 120}, look(1)}
	s, q := laid(done)
	for _, c := range []struct {
		name string
		do   session.Action
		read int // pixels
	}{
		{"bands", look(1, session.Bands), sheet}, // the original has none
		{"another threshold", look(4, session.Bands), 0},
		{"hatched", look(4, session.Bands, "darker"), 0},
		{"on grey", look(4, session.Bands, "darker", "greyed"), 0},
		{"no bands", look(4), 0},
		{"bands again", look(2, session.Bands), 0},
		{"panned", session.Pan{DX: 7, DY: -5}, 2 * (7*132 + 5*172 - 7*5)},
		{"a threshold there", look(1, session.Bands), 0},
		{"a difference", session.SetShow{Show: session.ShowDifference, Against: -1}, 0},
		{"panned over it", session.Pan{DX: 0, DY: 9}, 2 * 9 * 172},
		{"another threshold of it", look(8, session.Bands), 0},
		{"panned back", session.Pan{DX: -7, DY: -4}, 2 * (7*132 + 4*172 - 7*4)},
		{"the picture again", session.SetShow{Show: session.ShowPicture, Against: -1}, 0},
		{"bare", look(1), 0},
		{"panned bare", session.Pan{DX: -11}, 2 * 11 * 132},
		{"bands there", look(1, session.Bands), sheet},
		{"a third sheet", session.AddSheet{}, sheet},
		{"a difference from another sheet", session.SetShow{Show: session.ShowDifference, Against: 1}, sheet},
		{"two sheets", session.RemoveSheet{N: 2}, 0},
		{"in the corner", session.OneToOne{X: 0, Y: 0}, some},
		{"the whole picture", session.Fit{}, some},
		{"larger", session.Zoom{Factor: 3}, some},
		{"panned there", session.Pan{DX: 3, DY: 2}, 2 * (3*132 + 2*172 - 3*2)},
		{"wide borders", session.Resize{Cell: session.Cell{W: 200, H: 160, Scale: 2, Exact: true}}, 2 * 160 * 120},
		{"wider lines", session.Resize{Cell: session.Cell{W: 200, H: 160, Scale: 3, Exact: true}}, 2 * 160 * 120},
		{"gone wrong", session.SetWrong{On: true}, some},
		{"bare again", look(8), some},
		{"that sheet alone", session.RemoveSheet{N: 0}, some},
	} {
		before := e.Read()
		s.Do(c.do)
		q.Until(s.AtRest)
		if got := e.Read() - before; got != c.read && c.read != some {
			t.Errorf("%s: %d pixels are read, want %d", c.name, got, c.read)
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
