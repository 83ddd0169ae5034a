package view

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
)

// coarse tables are quick to make.
var coarse = chart.BuildOptions{ForwardGrid: 9, InverseGrid: 5}

func (s *shop) measuring() *measureLeaf {
	m := newMeasureLeaf(s.w.h, coarse)
	m.content.Resize(fyne.NewSize(1200, 700))
	s.t.Cleanup(m.work.close)
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
	m.name.SetText("Bütten\x07papier")
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

	// Without the smudge: it asks what becomes of the one that was built before.
	pressIn(t, m.content, "Leave 1 out and build again")
	if m.busy() || len(m.report) == 0 {
		t.Fatal("it builds before it has asked")
	}
	pressIn(t, shownIn(s.w.win.Canvas().Overlays().Top()), "Leave it")
	if m.busy() || s.w.win.Canvas().Overlays().Top() != nil {
		t.Fatal("it builds although it was told to leave it")
	}
	pressIn(t, m.content, "Leave 1 out and build again")
	pressIn(t, shownIn(s.w.win.Canvas().Overlays().Top()), "Build in its place")
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
	place := fyne.CurrentApp().Driver().AbsolutePositionForObject(m.build)
	size := m.build.Size()
	m.report = []fyne.CanvasObject{strong("An old report.")}
	test.Tap(m.build)
	if at := fyne.CurrentApp().Driver().AbsolutePositionForObject(m.build); at != place || m.build.Size() != size {
		t.Errorf("the press moves from %v to %v: a second click misses", place, at)
	}
	if m.build.Text != "Stop" || !m.gauge.Visible() {
		t.Error("nothing shows that it is being built")
	}
	test.Tap(m.build)
	s.until("it is stopped", func() bool { return says(m.content, "Stopped. Nothing was added to your papers.") })
	if says(m.content, "An old report.") {
		t.Error("an old report stays beside ‘Stopped’")
	}
	if m.gauge.Visible() || m.build.Text != "Build the profile" || m.files.ms == nil {
		t.Error("after a stop it can't be built again")
	}
	test.Tap(m.build)
	m.built().Close()
	s.w.h.jobs.Wait()
	if n := len(s.onDisk()); n != before {
		t.Errorf("%d papers, %d before", n, before)
	}
	s.until("it is told", func() bool {
		return strings.Contains(s.w.h.State().Notice.Headline, "nothing was added")
	})
}

// shownReading is the reading that the drift card shows, nil while there is none.
func shownReading(d *driftLeaf) *driftReading {
	if d.now < 0 || d.judging.busy() {
		return nil
	}
	return &d.series[d.now]
}

func (s *shop) drifting() *driftLeaf {
	d := newDriftLeaf(s.w.h)
	s.t.Cleanup(d.work.close)
	d.content.Resize(fyne.NewSize(1200, 700))
	s.until("the series is read", func() bool { return !d.judging.busy() })
	return d
}

func TestAProfileIsVerified(t *testing.T) {
	s := openShop(t)
	d := s.drifting()
	d.files.add(printed(t, "pearl", true, 48, nil))
	s.until("it is compared", func() bool { return shownReading(d) != nil })
	if r := shownReading(d); r.Found.All.Count != 48 || r.Found.All.Max > 0.1 {
		t.Errorf("a page as the profile says differs by %+v", r.Found.All)
	}
	d.files.drop(d.files.sheets.Paths[0])
	s.until("nothing is shown", func() bool { return d.now < 0 })
	d.files.add(printed(t, "pearl", true, 48, func(ms *chart.Measurements) {
		for i := range ms.Patches {
			ms.Patches[i].Lab.B += 5
		}
	}))
	s.until("it is compared anew", func() bool { return shownReading(d) != nil })
	if !says(d.content, "warm") && !says(d.content, "yellow") {
		t.Error("a page that has turned yellow is not said to be so")
	}
	for _, want := range []string{"By hue", "By tone", "nothing passes or fails", "common practice, no source"} {
		if !says(d.content, want) {
			t.Errorf("the card does not say %q", want)
		}
	}
	was := *shownReading(d)
	pressIn(t, d.content, keepWord)
	s.until("it is told", func() bool { return says(d.content, "is kept with the paper.") && !d.judging.busy() })
	if kept, err := paper.Open(s.dir).Readings("pearl"); err != nil || len(kept) != 1 || kept[0].Mean != was.Found.All.Mean || kept[0].Condition != "M1" || len(kept[0].Measured) != 48 {
		t.Errorf("kept: %d readings, %v", len(kept), err)
	}
	if len(d.series) != 1 || d.series[0].ID == "" {
		t.Errorf("the series is now %+v", d.series)
	}
	// Another paper has another profile, and none of these readings.
	d.next()
	d.update(s.w.h.State())
	s.until("it is compared with the next paper", func() bool { return shownReading(d) != nil })
	if r := shownReading(d); r.ID != "" || r.Found.All.Mean < was.Found.All.Mean {
		t.Errorf("another paper fits better, %.2f against %.2f", r.Found.All.Mean, was.Found.All.Mean)
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

// darkened takes every inked patch 1.5 L* down, as a press does that lays on more ink.
func darkened(day string) func(ms *chart.Measurements) {
	return func(ms *chart.Measurements) {
		ms.Created = day
		for i := range ms.Patches {
			if p := &ms.Patches[i]; p.Lab.L < 90 {
				p.Lab.L -= 2
			}
		}
	}
}

func dated(day string) func(ms *chart.Measurements) {
	return func(ms *chart.Measurements) { ms.Created = day }
}

// A second reading stands beside the first and is never merged with it unasked.
func TestReadingsAreASeriesOnTheCard(t *testing.T) {
	s := openShop(t)
	d := s.drifting()
	d.files.add(printed(t, "pearl", true, 48, dated("2025-03-01")))
	s.until("the first is compared", func() bool { return shownReading(d) != nil })
	d.files.add(printed(t, "pearl", true, 48, darkened("2025-09-01")))
	s.until("the second is compared", func() bool { return len(d.series) == 2 && shownReading(d) != nil && d.since != nil })
	r := shownReading(d)
	if r.Day != "2025-09-01" || r.Found.All.Mean < 1.2 || d.series[d.before].Day != "2025-03-01" {
		t.Fatalf("shown: %s, %.2f ΔE00, beside %s", r.Day, r.Found.All.Mean, d.series[d.before].Day)
	}
	for _, want := range []string{"The files hold 2 readings", "The mid tones have become", "from the reading of 2025-03-01", "Over time", "→"} {
		if !says(d.content, want) {
			t.Errorf("the card does not say %q", want)
		}
	}
	if says(d.content, "No hue and no tone has moved") {
		t.Error("a press that has darkened is said to stand still")
	}
	if holds(d.content, "Put the 2 readings of this day together") {
		t.Error("readings of different days are offered to be put together")
	}

	// Of one day they can be put together, and taken apart again.
	beside(t, d.content, "Measured on").SetText("2025-03-01")
	beside(t, d.content, "Measured on").OnLeave()
	s.until("both are of one day", func() bool { return shownReading(d) != nil && shownReading(d).Day == "2025-03-01" })
	pressIn(t, d.content, "Put the 2 readings of this day together")
	s.until("they are one", func() bool { return len(d.series) == 1 && shownReading(d) != nil })
	if m := shownReading(d); m.Merged != 2 || m.Found.All.Mean > 0.8*r.Found.All.Mean {
		t.Errorf("their mean: of %d, %.2f", m.Merged, m.Found.All.Mean)
	}
	if !says(d.content, "The 2 readings are") {
		t.Error("it is not told how far they are apart")
	}
	pressIn(t, d.content, "Take them apart again")
	s.until("they are two", func() bool { return len(d.series) == 2 && shownReading(d) != nil })
	beside(t, d.content, "Measured on").SetText("soon")
	beside(t, d.content, "Measured on").OnLeave()
	if !says(d.content, "‘soon’ is no day") {
		t.Error("a day that is none is not told")
	}

	// What is kept can be taken away and brought back.
	pressIn(t, d.content, keepWord)
	s.until("it is kept", func() bool { return shownReading(d) != nil && shownReading(d).ID != "" })
	pressIn(t, d.content, "Take this reading away")
	s.until("it is gone", func() bool {
		kept, _ := paper.Open(s.dir).Readings("pearl")
		return len(kept) == 0 && says(d.content, "was taken away")
	})
	s.until("the series is read", func() bool { return !d.judging.busy() })
	pressIn(t, d.content, "Bring the reading of 2025-03-01 back")
	s.until("it is back", func() bool {
		kept, _ := paper.Open(s.dir).Readings("pearl")
		return len(kept) == 1 && len(kept[0].Measured) == 48
	})
}

// Where a chart was measured twice the person says what to build from.
func TestBuildingAsksWhichReading(t *testing.T) {
	s := openShop(t)
	m := s.measuring()
	m.files.add(printed(t, "pearl", false, 150, dated("2025-03-01")))
	s.until("the file is read", func() bool { return m.files.ms != nil })
	m.files.add(printed(t, "pearl", false, 150, darkened("2025-03-02")))
	s.until("the second is read", func() bool { return len(m.files.readings) == 2 })
	if m.files.ms != nil || !m.build.Off || !m.files.choose.Visible() {
		t.Error("it is not asked which reading to build from")
	}
	m.files.which.OnChosen(2)
	if m.files.ms == nil || len(m.files.ms.Patches) != 150 || m.build.Off || !says(m.content, "the mean would hide that something has moved") {
		t.Error("their mean is not taken, or not warned of")
	}
	m.files.which.OnChosen(0)
	if m.files.ms != m.files.readings[0].Measurements {
		t.Error("the first is not taken")
	}
}
