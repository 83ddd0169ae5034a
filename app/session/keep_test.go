package session_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
)

func known(id string) bool { return id == "pearl" || id == "cotton" }

func TestADeskComesBack(t *testing.T) {
	s := run(opened(), session.PutPin{X: 10, Y: 20, Name: "shirt"}, session.AddSheet{}, session.SetPaper{ID: "cotton"},
		session.SetSlip{Slip: session.Slip{ID: [2]string{"twice"}, Second: session.Saturation}}, session.OneToOne{X: 500, Y: 600}, session.SetLight{On: true})
	s.Picture.Path, s.Picture.Assumed = "/pictures/boat.tif", "romm"
	path := filepath.Join(t.TempDir(), "new", "desk.json")
	if err := session.SaveDesk(path, session.Keep(s)); err != nil {
		t.Fatal(err)
	}
	k, err := session.LoadDesk(path)
	if err != nil {
		t.Fatal(err)
	}
	got := k.Restore(session.Start("pearl"), known)
	got.Cell = s.Cell
	got = run(got, k.Reopen())
	if got.Loading.Path != s.Picture.Path || got.Loading.Source != "romm" {
		t.Errorf("it would open %+v", got.Loading)
	}
	got = run(got, session.PictureOpened{Serial: got.Loading.Serial, Info: s.Picture})
	if got.Count != 3 || got.Sheets != s.Sheets && got.Sheets[2] != s.Sheets[2] || got.Active != 2 || !got.Light {
		t.Errorf("sheets: %+v", got.Sheets[2])
	}
	if got.NumPins != 1 || got.Pins[0] != s.Pins[0] || got.View != s.View {
		t.Errorf("pins %v, view %+v; want %v, %+v", got.Pins[0], got.View, s.Pins[0], s.View)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), "*")); len(left) != 1 {
		t.Errorf("beside the desk there is %v", left)
	}
}

func TestABadDeskIsNoDesk(t *testing.T) {
	dir := t.TempDir()
	if _, err := session.LoadDesk(filepath.Join(dir, "none.json")); !errors.Is(err, session.ErrNoDesk) {
		t.Errorf("a missing file gives %v", err)
	}
	bad := filepath.Join(dir, "bad.json")
	os.WriteFile(bad, []byte("{\"Sheets\": 7}"), 0o600)
	if _, err := session.LoadDesk(bad); err == nil || errors.Is(err, session.ErrNoDesk) {
		t.Errorf("a damaged file gives %v", err)
	}
	start := session.Start("pearl")
	for name, k := range map[string]session.Kept{
		"nothing":         {},
		"a later version": {Version: 99, Sheets: []session.Sheet{{Paper: "cotton"}}},
	} {
		if got := k.Restore(start, known); got != start {
			t.Errorf("%s changes the first start", name)
		}
	}
	k := session.Kept{Version: 1, Active: 77, Sheets: []session.Sheet{{Paper: "gone", Intent: 200, Against: 3}}, Looking: session.Looking{Threshold: -4},
		View: session.Viewport{Scale: 1e30}}
	got := k.Restore(start, known)
	if got.Sheets[0].Paper != "pearl" || got.Sheets[0].Intent > session.Absolute || got.Active != 0 || got.Looking.Threshold != 2 || got.Sheets[0].Against != -1 {
		t.Errorf("odd numbers are taken as they are: %+v", got.Sheets[0])
	}
	got = run(got, k.Reopen())
	got = run(got, session.PictureOpened{Serial: got.Loading.Serial, Info: session.PictureInfo{Key: 1, W: 3, H: 2}})
	if !got.View.Fit {
		t.Errorf("the view is %+v", got.View)
	}
}

func TestTheDeskIsSavedAsOneGoes(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40)}
	s, q := newSession(t, e)
	path := filepath.Join(t.TempDir(), "desk.json")
	s.KeepAt(path)
	s.Do(session.OpenPicture{Demo: true})
	q.Until(settled(s))
	s.Do(session.SetIntent{Intent: session.Saturation})
	if !q.Until(func() bool {
		k, err := session.LoadDesk(path)
		return err == nil && len(k.Sheets) == 2 && k.Sheets[1].Intent == session.Saturation
	}) {
		t.Error("no desk was written")
	}
	// A place that can't be written to is told, and nothing else happens.
	blocked := filepath.Join(t.TempDir(), "file")
	os.WriteFile(blocked, nil, 0o600)
	s.KeepAt(filepath.Join(blocked, "desk.json"))
	s.Do(session.SetIntent{Intent: session.Perceptual})
	if !q.Until(func() bool { return s.State().Notice.Failure }) {
		t.Error("a desk that can't be written is not told")
	}
}
