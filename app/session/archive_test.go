package session_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
)

// filesEngine opens the files that are there, whatever they hold.
type filesEngine struct{ sessiontest.Engine }

func (e *filesEngine) Open(ctx context.Context, path string) (*session.Picture, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, err
	}
	return e.Engine.Open(ctx, path)
}

// resumedOn returns a session that takes up the desk in a folder.
func resumedOn(t *testing.T, dir, path string) (*session.Session, *sessiontest.Queue) {
	t.Helper()
	a, err := session.OpenArchive(dir)
	if err != nil {
		t.Fatal(err)
	}
	q := sessiontest.NewQueue()
	s := session.New(&filesEngine{sessiontest.Engine{Picture: sessiontest.Ramp(30, 20), Pins: []pin.Pin{{Name: "rope", X: 0.5, Y: 0.5, Radius: 0.05}}}}, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	s.Resume(a, path)
	return s, q
}

func until(t *testing.T, q *sessiontest.Queue, ok func() bool) {
	t.Helper()
	if !q.Until(ok) {
		t.Fatal("it does not come to that")
	}
}

func TestDeskIsSavedAsItIsChanged(t *testing.T) {
	dir := t.TempDir()
	photo := filepath.Join(t.TempDir(), "boat.jpg")
	if err := os.WriteFile(photo, []byte("one"), 0o666); err != nil {
		t.Fatal(err)
	}
	s, queue := resumedOn(t, dir, photo)
	until(t, queue, func() bool { return s.State().Picture.Path == photo })
	s.Do(session.SetIntent{Intent: proof.Saturation})
	s.Do(session.PutPin{X: 3, Y: 4, Name: "cap"})
	file := filepath.Join(dir, "desk.json")
	has := func(text string) bool { b, _ := os.ReadFile(file); return strings.Contains(string(b), text) }
	until(t, queue, func() bool { return has("saturation") && has(`"cap"`) })
	sum, err := ticket.Hash(t.Context(), photo)
	if err != nil || !has(sum) {
		t.Errorf("the picture's hash %s is not in it (%v)", sum, err)
	}
	// What was not saved yet is saved at the end.
	s.Do(session.SetIntent{Intent: proof.AbsoluteColorimetric})
	s.Close()
	if !has("absolute") {
		t.Error("the last change is lost")
	}

	// The next start brings it back, and tells that the picture has changed.
	if err := os.WriteFile(photo, []byte("two"), 0o666); err != nil {
		t.Fatal(err)
	}
	s, queue = resumedOn(t, dir, "")
	until(t, queue, func() bool {
		return s.State().Picture.Path == photo && strings.Contains(s.State().Notice.Headline, "has changed")
	})
	if s.State().Sheets[1].Intent != proof.AbsoluteColorimetric || s.State().NumPins != 2 || s.State().Pins[1].Name != "cap" {
		t.Errorf("the desk came back as %+v, pins %v", s.State().Sheets[1], s.State().Pins)
	}
	s.Close()

	// A picture that is gone is said, the demo takes its place, and what was saved stays.
	if err := os.Remove(photo); err != nil {
		t.Fatal(err)
	}
	s, queue = resumedOn(t, dir, "")
	until(t, queue, func() bool { return s.State().Picture.Key != 0 })
	if s.State().Picture.Path != "" || !strings.Contains(s.State().Notice.Headline, "is not there") {
		t.Errorf("%q is open, the notice %q", s.State().Picture.Path, s.State().Notice.Headline)
	}
	s.Close()
	if !has(`"cap"`) || !has("boat.jpg") {
		t.Error("the desk of the missing picture was overwritten")
	}
}

// A desk of a newer program stays as it is.
func TestNewerDeskStays(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "desk.json")
	text := `{"format":"Firstsheet desk","version":99}`
	if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	s, queue := resumedOn(t, dir, "")
	until(t, queue, func() bool { return s.State().Picture.Key != 0 })
	s.Do(session.SetIntent{Intent: proof.Saturation})
	s.Close()
	if b, _ := os.ReadFile(file); string(b) != text || !strings.Contains(s.State().Notice.Headline, "newer version") {
		t.Errorf("the file is %s, the notice %q", b, s.State().Notice.Headline)
	}
}

// A ticket lays original and proof with its pins and choices, and says what changed.
func TestTicketLaysTheDesk(t *testing.T) {
	s, queue := resumedOn(t, t.TempDir(), "")
	until(t, queue, func() bool { return s.State().Picture.Key != 0 })
	job := s.State().Print
	job.Setup = setup.Setup{Paper: "cotton", Intent: proof.Perceptual}
	job.PPI = 240
	k := ticket.Ticket{Format: ticket.Format, Version: ticket.Version, Made: time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC), Job: job,
		Picture: ticket.Picture{Name: "regatta"}, Paper: ticket.Paper{ID: "cotton", Name: "Cotton", ProfileID: "another"},
		Pins: []ticket.Pin{{Pin: pin.Pin{Name: "hull", X: 0.5, Y: 0.5, Radius: 0.01}}}}
	data, err := k.Encode()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "x.ticket.json")
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	s.OpenTicket(path)
	until(t, queue, func() bool { return s.State().NumPins == 1 && s.State().Pins[0].Name == "hull" })
	st := s.State()
	if st.Count != 2 || !st.Sheets[0].Original || st.Sheets[1].Paper != "cotton" || st.Sheets[1].Intent != proof.Perceptual || st.Sheets[1].BPC || st.Print.PPI != 240 {
		t.Errorf("sheets %+v, print %+v", st.Sheets[:2], st.Print)
	}
	if !strings.Contains(st.Notice.Headline, "not the one that was printed with") || !strings.Contains(st.Notice.Headline, "4 March 2026") {
		t.Errorf("it says %q", st.Notice.Headline)
	}
	s.OpenTicket(filepath.Join(t.TempDir(), "none.json"))
	until(t, queue, func() bool {
		return strings.Contains(s.State().Notice.Headline, "can’t be used") || strings.Contains(s.State().Notice.Headline, "not there")
	})
}

// A desk that comes back with the usual slip of another paper shown tells nothing of it.
func TestADeskThatComesBackTellsNoSlip(t *testing.T) {
	dir := t.TempDir()
	s, queue := resumedOn(t, dir, "")
	until(t, queue, func() bool { return s.State().Picture.Key != 0 })
	s.Do(session.SetPaper{ID: "cotton"})
	s.Do(session.SetWrong{On: true})
	s.Close()
	file := filepath.Join(dir, "desk.json")
	data, err := os.ReadFile(file)
	if err != nil || !strings.Contains(string(data), "never") {
		t.Fatalf("the slip is not saved: %v", err)
	}
	if err := os.WriteFile(file, []byte(strings.ReplaceAll(string(data), "never", "compensation")), 0o666); err != nil {
		t.Fatal(err)
	}
	s, queue = resumedOn(t, dir, "")
	until(t, queue, func() bool { return s.State().Picture.Key != 0 })
	if n := s.State().Notice.Headline; n != "" || s.State().Sheets[1].Paper != "cotton" {
		t.Errorf("on %s it says %q", s.State().Sheets[1].Paper, n)
	}
	s.Close()
}
