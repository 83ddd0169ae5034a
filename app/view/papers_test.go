package view

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/space"
)

// shop is the window on the real engine and a library of its own.
type shop struct {
	t   *testing.T
	w   *Window
	q   *sessiontest.Queue
	e   *engine.Engine
	dir string
}

func openShop(t *testing.T) *shop {
	t.Helper()
	return openShopOn(t, func(context.Context) (*photo.Picture, []pin.Pin, error) {
		s := space.SRGB()
		return &photo.Picture{W: 4, H: 3, Channels: 3, Depth: 8, Pix8: make([]uint8, 36), Space: &s}, nil, nil
	})
}

// openShopOn is the shop with another demo picture.
func openShopOn(t *testing.T, demo engine.Demo) *shop {
	t.Helper()
	a := test.NewTempApp(t)
	win := test.NewTempWindow(t, nil)
	q := sessiontest.NewQueue()
	sh := &shop{t: t, q: q, dir: t.TempDir()}
	sh.e = engine.New(paper.Open(sh.dir), demo)
	s := session.New(sh.e, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	sh.w = New(a, win, s)
	win.Resize(fyne.NewSize(1280, 800))
	return sh
}

func (s *shop) until(what string, done func() bool) {
	s.t.Helper()
	if !s.q.Until(done) {
		s.t.Fatalf("it does not come to this: %s\nnotice: %+v", what, s.w.h.State().Notice)
	}
}

// onDisk is the library as another program reads it.
func (s *shop) onDisk() []paper.Paper {
	list, problems := paper.Open(s.dir).List()
	for _, p := range problems {
		s.t.Errorf("%s: %v", p.Path, p.Err)
	}
	return list
}

func (s *shop) cardOnDisk(id string) paper.Card {
	for _, p := range s.onDisk() {
		if p.ID == id {
			return p.Card
		}
	}
	s.t.Fatalf("no paper %s", id)
	return paper.Card{}
}

// walk visits an object and everything in it.
func walk(o fyne.CanvasObject, see func(fyne.CanvasObject)) {
	see(o)
	switch c := o.(type) {
	case *fyne.Container:
		for _, x := range c.Objects {
			walk(x, see)
		}
	case *container.Scroll:
		walk(c.Content, see)
	}
}

// beside finds the field that stands beside a word.
func beside(t *testing.T, o fyne.CanvasObject, word string) *widget.Field {
	t.Helper()
	var found *widget.Field
	walk(o, func(o fyne.CanvasObject) {
		c, ok := o.(*fyne.Container)
		if !ok || len(c.Objects) < 2 {
			return
		}
		if w, ok := c.Objects[0].(*canvas.Text); ok && w.Text == word {
			found, _ = c.Objects[1].(*widget.Field)
		}
	})
	if found == nil {
		t.Fatalf("no field beside %q", word)
	}
	return found
}

// says tells whether a text that is shown holds the words.
func says(o fyne.CanvasObject, words string) bool {
	found := false
	walk(o, func(o fyne.CanvasObject) {
		switch p := o.(type) {
		case *widget.Prose:
			found = found || p.Visible() && strings.Contains(p.Text, words)
		case *canvas.Text:
			found = found || p.Visible() && strings.Contains(p.Text, words)
		}
	})
	return found
}

func pressIn(t *testing.T, o fyne.CanvasObject, word string) {
	t.Helper()
	var found *widget.Press
	walk(o, func(o fyne.CanvasObject) {
		if p, ok := o.(*widget.Press); ok && p.Visible() && p.Text == word {
			found = p
		}
	})
	if found == nil {
		t.Fatalf("no button %q", word)
	}
	test.Tap(found)
}

func (s *shop) card() fyne.CanvasObject { return s.w.card.box }

func (s *shop) write(word, text string) {
	s.t.Helper()
	f := beside(s.t, s.card(), word)
	s.w.win.Canvas().Focus(f)
	f.SetText("")
	test.Type(f, text)
	s.w.h.Focus()
}

func TestWhatIsKnownOfAPaperIsKept(t *testing.T) {
	s := openShop(t)
	s.w.h.Do(session.OpenCard{ID: "facts"})
	s.until("the profile is studied", func() bool { return says(s.card(), "Size of its gamut") })
	for _, want := range []string{"its own table", "16 bits", "Paper’s black", "M1: light like daylight"} {
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

// printed writes a chart, measured as a paper's own profile says it prints; change
// may alter readings. It returns the file.
func printed(t *testing.T, id string, verify bool, n int, change func(ms *chart.Measurements)) string {
	t.Helper()
	make := chart.NewTarget
	if verify {
		make = chart.NewVerifyTarget
	}
	target, err := make(chart.TargetOptions{Patches: n})
	if err != nil {
		t.Fatal(err)
	}
	p, err := paper.Open(t.TempDir()).Resolve(id)
	if err != nil {
		t.Fatal(err)
	}
	says, err := chart.NewPrediction(p.Profile.Data())
	if err != nil {
		t.Fatal(err)
	}
	defer says.Close()
	ms := target.List()
	ms.Condition = "M1"
	for i := range ms.Patches {
		if ms.Patches[i].Lab, err = says.Lab(ms.Patches[i].Device); err != nil {
			t.Fatal(err)
		}
	}
	if change != nil {
		change(ms)
	}
	var b bytes.Buffer
	if err := chart.WriteTables(&b, ms.Table()); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "measured.txt")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// coarse tables are quick to make.
var coarse = chart.BuildOptions{ForwardGrid: 9, InverseGrid: 5}

func (s *shop) measuring() *measureLeaf {
	m := newMeasureLeaf(s.w.h, coarse)
	m.content.Resize(fyne.NewSize(1200, 700))
	s.t.Cleanup(m.cancel)
	return m
}

func smudge(at int) func(*chart.Measurements) {
	return func(ms *chart.Measurements) {
		p := &ms.Patches[at]
		p.Lab.L = math.Mod(p.Lab.L+40, 95)
	}
}

func TestAPaperComesFromMeasurements(t *testing.T) {
	s := openShop(t)
	m := s.measuring()
	before := len(s.onDisk())
	if !m.build.Off {
		t.Error("building is offered before anything was measured")
	}
	m.files.add(printed(t, "pearl", false, 150, smudge(60)))
	s.until("the file is read", func() bool { return m.files.ms != nil })
	if !says(m.content, "150 patches, printed RGB numbers, measured under M1.") || m.build.Off {
		t.Error("it is not told what was read")
	}

	// A file that can't be read is told with its line, and what was there stays.
	bad := filepath.Join(t.TempDir(), "bad.txt")
	text := "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n1 0 0 0 5 0 0\n2 255 255 255 95 nan 0\nEND_DATA\n"
	if err := os.WriteFile(bad, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	had := m.files.ms
	m.files.add(bad)
	s.until("the bad file is told of", func() bool { return says(m.content, "‘bad.txt’, line 8: LAB_A") })
	if m.files.ms != had || len(m.files.sheets.Paths) != 1 || !says(m.content, "What was taken before stays.") {
		t.Error("a file that can't be read has changed what was taken")
	}
	m.files.add(filepath.Join(t.TempDir(), "nowhere.txt"))
	s.until("the missing file is told of", func() bool { return says(m.content, "‘nowhere.txt’ is not there.") })

	// A name that a profile can't have is told; nothing is built.
	m.name.SetText("Büttenpapier")
	test.Tap(m.build)
	s.until("the name is refused", func() bool { return says(m.content, "No profile was made. The name") })
	if n := len(s.onDisk()); n != before {
		t.Fatalf("%d papers after a refusal, %d before", n, before)
	}

	m.name.SetText("Own pearl")
	m.form.media.SetText("Fine art 3")
	m.form.date.SetText("2025-04-05")
	test.Tap(m.build)
	s.until("the paper is there", func() bool { return m.kept.ID != "" })
	got := s.cardOnDisk("own-pearl")
	if got.Media != "Fine art 3" || got.Date != "2025-04-05" || got.Condition != "M1" {
		t.Errorf("its card is %+v", got)
	}
	if p := s.w.h.State().Sheets[1].Paper; p != "own-pearl" {
		t.Errorf("the proof lies on %q", p)
	}
	if _, ok := s.w.h.Session.Store().Paper("own-pearl"); !ok {
		t.Error("it is not in the list")
	}
	place := had.Patches[60].Place()
	if !says(m.content, "On average the profile is") || !says(m.content, "There and back") || !says(m.content, place+" reads") {
		t.Error("the report does not say how good it is, or which patch is doubtful")
	}
	// What was built from the paper's own readings prints as the paper does.
	if facts, err := paper.Inspect(context.Background(), s.onDisk()[before].Profile); err != nil || cie.DeltaE00(facts.White, cie.Lab{L: 95.5, A: 0.9, B: -3.8}) > 1 {
		t.Errorf("its white is %v (%v)", facts.White, err)
	}

	// Without the smudge; the new one takes the old one's place.
	pressIn(t, m.content, "Leave 1 out and build again")
	s.until("it is built again", func() bool { return m.kept.ID != "own-pearl" && m.kept.ID != "" })
	s.until("the old one is gone", func() bool {
		_, old := s.w.h.Session.Store().Paper("own-pearl")
		return !old
	})
	if n := len(s.onDisk()); n != before+1 {
		t.Errorf("%d papers, want one more than %d", n, before)
	}
	if p := s.w.h.State().Sheets[1].Paper; p != m.kept.ID {
		t.Errorf("the proof lies on %q, want %q", p, m.kept.ID)
	}
	if !says(m.content, "149 of 149 used") || says(m.content, place+" reads") {
		t.Error("the smudge was not left out")
	}
}

func TestDoubtfulMeasurementsAreNotBuiltFrom(t *testing.T) {
	s := openShop(t)
	m := s.measuring()
	before := len(s.onDisk())
	// The page was measured from its last patch to its first.
	m.files.add(printed(t, "pearl", false, 150, func(ms *chart.Measurements) {
		n := len(ms.Patches)
		for i := range n / 2 {
			a, b := &ms.Patches[i], &ms.Patches[n-1-i]
			a.Lab, b.Lab = b.Lab, a.Lab
		}
	}))
	s.until("the file is read", func() bool { return m.files.ms != nil })
	m.name.SetText("Doubtful")
	test.Tap(m.build)
	s.until("the doubt is told", func() bool { return says(m.content, "so nothing was built") })
	if n := len(s.onDisk()); n != before || m.kept.ID != "" {
		t.Errorf("%d papers, %d before", n, before)
	}
	pressIn(t, m.content, "Build all the same")
	s.until("it is built all the same", func() bool { return m.kept.ID != "" })
}

func TestClosingTheCardEndsTheBuilding(t *testing.T) {
	s := openShop(t)
	m := s.measuring()
	m.options = chart.BuildOptions{}
	before := len(s.onDisk())
	m.files.add(printed(t, "pearl", false, 150, nil))
	s.until("the file is read", func() bool { return m.files.ms != nil })
	m.name.SetText("Never")
	test.Tap(m.build)
	if m.build.Text != "Stop" || !m.gauge.Visible() {
		t.Error("nothing shows that it is being built")
	}
	test.Tap(m.build)
	s.until("it is stopped", func() bool { return says(m.content, "Stopped. Nothing was added to your papers.") })
	if m.gauge.Visible() || m.build.Text != "Build the profile" || m.files.ms == nil {
		t.Error("after a stop it can't be built again")
	}
	test.Tap(m.build)
	m.built().Close()
	s.until("it ends", func() bool { return m.stop == nil })
	if n := len(s.onDisk()); n != before {
		t.Errorf("%d papers, %d before", n, before)
	}
	s.until("it is told", func() bool {
		return strings.Contains(s.w.h.State().Notice.Headline, "nothing was added")
	})
}

func TestARemovedPaperLeavesNoSheetBehind(t *testing.T) {
	s := openShop(t)
	p, err := s.e.KeepProfile(added(t), paper.Card{Printer: "x"})
	if err != nil {
		t.Fatal(err)
	}
	s.w.h.Session.PapersChanged(p.ID, session.Notice{})
	s.w.h.Do(session.OpenCard{ID: "facts"})
	pressIn(t, s.card(), "Remove this paper…")
	top := s.w.win.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("it does not ask")
	}
	pressIn(t, shownIn(top), "Remove it")
	// The watch on the folder may see it first; then comes the word that it is gone.
	s.until("it is gone", func() bool {
		return strings.Contains(s.w.h.State().Notice.Headline, "no longer among your papers")
	})
	if _, there := s.w.h.Session.Store().Paper(p.ID); there {
		t.Error("it is still in the list")
	}
	for i, sh := range s.w.h.State().Sheets {
		if sh.Paper == p.ID {
			t.Errorf("sheet %d lies on a paper that is gone", i)
		}
	}
	left, _ := os.ReadDir(s.dir)
	if len(left) != 0 {
		t.Errorf("the folder still holds %v", left)
	}
}

func TestAProfileIsVerified(t *testing.T) {
	s := openShop(t)
	d := newDriftLeaf(s.w.h)
	t.Cleanup(d.cancel)
	d.content.Resize(fyne.NewSize(1200, 700))
	d.files.add(printed(t, "pearl", true, 48, nil))
	s.until("it is compared", func() bool { return d.found != nil })
	if d.found.All.Count != 48 || d.found.All.Max > 0.1 {
		t.Errorf("a page as the profile says differs by %+v", d.found.All)
	}
	first := d.found
	d.files.drop(d.files.sheets.Paths[0])
	d.files.add(printed(t, "pearl", true, 48, func(ms *chart.Measurements) {
		for i := range ms.Patches {
			ms.Patches[i].Lab.B += 5
		}
	}))
	s.until("it is compared anew", func() bool { return d.found != nil && d.found != first })
	if !says(d.content, "warm") && !says(d.content, "yellow") {
		t.Error("a page that has turned yellow is not said to be so")
	}
	for _, want := range []string{"By hue", "By tone", "nothing passes or fails", "common practice, no source"} {
		if !says(d.content, want) {
			t.Errorf("the card does not say %q", want)
		}
	}
	pressIn(t, d.content, "Keep this result with the paper")
	s.until("the result is kept and shown", func() bool { return says(d.content, "Kept readings") })
	if kept, err := paper.Open(s.dir).Readings("pearl"); err != nil || len(kept) != 1 || kept[0].Mean != d.found.All.Mean || kept[0].Condition != "M1" {
		t.Errorf("kept: %+v, %v", kept, err)
	}
	// Another paper has another profile.
	was := d.found
	d.next()
	d.update(s.w.h.State())
	s.until("it is compared with the next paper", func() bool { return d.found != nil && d.found != was })
	if d.found.All.Mean < was.All.Mean {
		t.Errorf("another paper fits better, %.2f against %.2f", d.found.All.Mean, was.All.Mean)
	}

	d.print.dir.SetText(filepath.Join(t.TempDir(), "charts"))
	test.Tap(d.print.write)
	s.until("the page is written", func() bool { return says(d.content, "Written: one page of A4 with 48 patches") })
	if files, _ := os.ReadDir(d.print.dir.Text); len(files) != 3 {
		t.Errorf("the folder holds %v", files)
	}
	d.print.dir.SetText(filepath.Join(os.DevNull, "x"))
	test.Tap(d.print.write)
	s.until("the failure is told", func() bool { return says(d.content, "No chart was written.") })
}

// added is a profile that is none of the built-in ones.
func added(t *testing.T) []byte {
	t.Helper()
	file, err := os.Open(printed(t, "gloss", false, 120, nil))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	ms, err := chart.Read(file)
	if err != nil {
		t.Fatal(err)
	}
	b, err := chart.Build(context.Background(), ms, "Added", coarse, nil)
	if err != nil {
		t.Fatal(err)
	}
	return b.V2
}

// shownIn returns what a dialog shows.
func shownIn(o fyne.CanvasObject) fyne.CanvasObject {
	all := container.NewWithoutLayout()
	all.Objects = append(all.Objects, test.LaidOutObjects(o)...)
	return all
}
