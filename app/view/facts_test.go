package view

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/paper"
)

func TestWhatIsKnownOfAPaperIsKept(t *testing.T) {
	s := openShop(t)
	s.w.h.Do(session.OpenCard{ID: "facts"})
	s.until("the profile is studied", func() bool { return says(s.card(), "Size of its gamut") })
	s.until("the profile is checked", func() bool { return says(s.card(), "Nothing in this profile speaks against printing by it.") })
	for _, want := range []string{"its own table", "there and back", "even steps", "16 bits", "Paper’s black", "M1: light like daylight"} {
		if !says(s.card(), want) {
			t.Errorf("the card does not say %q", want)
		}
	}
	s.write("Printer", "Own printer, ink set 2")
	s.until("the printer is kept", func() bool { return s.cardOnDisk("pearl").Printer == "Own printer, ink set 2" })
	s.write("Dries for", "36,5")
	s.until("the hours are kept", func() bool { return s.cardOnDisk("pearl").DryHours == 36.5 })
	s.write("Notes", "batch 7")
	s.until("the notes are kept and told", func() bool {
		return s.cardOnDisk("pearl").Notes == "batch 7" && says(s.card(), "Kept with the paper.")
	})

	// What can't be is told and not kept; the rest stays as it was.
	s.write("Made on", "yesterday")
	if !says(s.card(), `Not kept yet: The card's date is "yesterday"`) {
		t.Error("a bad date is not told")
	}
	s.write("Made on", "2025-03-01")
	s.until("the date is kept", func() bool { return s.cardOnDisk("pearl").Date == "2025-03-01" })
	if says(s.card(), "Not kept") {
		t.Error("the trouble is still told after it was mended")
	}

	key(s.w, fyne.KeyEscape)
	if s.w.h.State().Card != "" {
		t.Fatal("Escape does not close the card")
	}
	s.w.h.Do(session.OpenCard{ID: "facts"})
	for word, want := range map[string]string{"Printer": "Own printer, ink set 2", "Dries for": "36.5", "Notes": "batch 7", "Made on": "2025-03-01"} {
		if got := beside(t, s.card(), word).Text; got != want {
			t.Errorf("reopened: %s is %q, want %q", word, got, want)
		}
	}
	// Another paper shows its own, and the list shows a changed finish.
	key(s.w, fyne.KeyA)
	if got := beside(t, s.card(), "Printer").Text; got == "Own printer, ink set 2" {
		t.Error("the next paper shows the first one's printer")
	}
	id := s.w.h.State().Sheets[1].Paper
	f := beside(t, s.card(), "Finish")
	s.w.win.Canvas().Focus(f)
	f.SetText("silk")
	key(s.w, fyne.KeyEscape) // closing keeps what was being written
	s.until("the finish is in the list", func() bool {
		p, _ := s.w.h.Session.Store().Paper(id)
		return p.Card.Finish == "silk"
	})
}

// Other surroundings make the window anew; what was being written is kept.
func TestOtherSurroundingsLoseNothing(t *testing.T) {
	s := openShop(t)
	s.w.h.Do(session.OpenCard{ID: "facts"})
	f := beside(t, s.card(), "Printer")
	s.w.win.Canvas().Focus(f)
	f.SetText("half written")
	s.w.h.Do(session.SetLight{On: true})
	s.until("it is kept", func() bool { return s.cardOnDisk("pearl").Printer == "half written" })
	if s.w.h.State().Card != "facts" || !s.w.card.box.Visible() {
		t.Error("the card is no longer open")
	}
}

func TestARemovedPaperLeavesNoSheetBehind(t *testing.T) {
	s := openShop(t)
	p, err := s.e.KeepProfile(added(t), paper.Card{Printer: "x"})
	if err != nil {
		t.Fatal(err)
	}
	s.w.h.Session.PapersChanged(p.ID, session.Notice{})
	s.w.h.Do(session.OpenCard{ID: "facts"})
	var remove *widget.Press
	walk(s.card(), func(o fyne.CanvasObject) {
		if p, ok := o.(*widget.Press); ok && p.Text == "Take it away" {
			remove = p
		}
	})
	s.w.win.Canvas().Focus(remove)
	remove.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	// The watch on the folder may see it first; then comes the word that it is gone.
	s.until("it is gone", func() bool {
		return strings.Contains(s.w.h.State().Notice.Headline, "no longer among your papers")
	})
	if _, there := s.w.h.Session.Store().Paper(p.ID); there {
		t.Error("it is still in the list")
	}
	if s.w.win.Canvas().Focused() == remove || strings.Contains(s.w.parts.hint.text.Text, "Take this paper") {
		t.Error("the button that is gone still has the keyboard")
	}
	for i, sh := range s.w.h.State().Sheets {
		if sh.Paper == p.ID {
			t.Errorf("sheet %d lies on a paper that is gone", i)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(s.dir, "*.icc*")); len(left) != 0 {
		t.Errorf("the folder still holds %v", left)
	}
	s.until("it can be brought back", func() bool { return holds(s.card(), "Bring ‘"+p.Name+"’ back") })
	pressIn(t, s.card(), "Bring ‘"+p.Name+"’ back")
	s.until("it is back under the proof", func() bool { return s.w.h.State().Sheets[1].Paper == p.ID })
	if got := s.cardOnDisk(p.ID); got.Printer != "x" {
		t.Errorf("its card now says %+v", got)
	}
	s.until("it can no longer be brought back", func() bool { return !holds(s.card(), "Bring ‘"+p.Name+"’ back") })
}

// holds tells whether a button of that word is shown.
func holds(o fyne.CanvasObject, word string) (found bool) {
	walk(o, func(o fyne.CanvasObject) {
		p, ok := o.(*widget.Press)
		found = found || ok && p.Visible() && p.Text == word
	})
	return found
}

// A name of one's own is what the paper is called everywhere, and its place is the
// person's too.
func TestAPaperIsRenamedAndMoved(t *testing.T) {
	s := openShop(t)
	s.w.h.Do(session.OpenCard{ID: "facts"})
	s.write("Your name", "Silberperle für Fenster")
	s.until("it is called so in the list", func() bool {
		p, _ := s.w.h.Session.Store().Paper("pearl")
		return p.Name == "Silberperle für Fenster" && p.Profile.Name() == p.Name
	})
	s.until("routes and sentences are made anew", func() bool { return s.w.h.State().Edition > 0 })
	s.write("Group", "window")
	s.until("it is grouped", func() bool { return s.cardOnDisk("pearl").Group == "window" })
	pressIn(t, s.card(), "↑")
	s.until("it is told where it stands", func() bool { return says(s.card(), "It stands ") })
	if list := s.onDisk(); list[len(list)-1].ID == "pearl" {
		t.Errorf("it stands last, after %s", list[len(list)-2].ID)
	}
}

// Adding a profile that is there already says so.
func TestAProfileIsAddedOnce(t *testing.T) {
	s := openShop(t)
	path := filepath.Join(t.TempDir(), "again.icc")
	pearl, err := paper.Open(s.dir).Resolve("gloss")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, pearl.Profile.Data(), 0o644); err != nil {
		t.Fatal(err)
	}
	s.w.h.Do(session.AddPaper{Path: path})
	s.until("it is told", func() bool { return strings.HasPrefix(s.w.h.State().Notice.Headline, "You already have this profile") })
	if now := s.w.h.State(); now.Sheets[1].Paper != "gloss" {
		t.Errorf("the proof lies on %q", now.Sheets[1].Paper)
	}
}
