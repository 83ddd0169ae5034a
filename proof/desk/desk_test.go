package desk

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
)

func sample() Desk {
	wrong := setup.Usual("cotton")
	wrong.Intent, wrong.Slips, wrong.Reads = proof.Perceptual, "wrongsource", "srgb"
	job := printfile.Usual(setup.Usual("pearl"))
	job.Size = printfile.Size{By: printfile.LongEdge, Length: 400}
	return Desk{
		Picture: Picture{Path: "/home/rower/boats.tif", SHA256: "00ff"},
		Sheets:  []Sheet{{}, {Setup: setup.Usual("pearl")}, {Setup: wrong, Wrong: true}}, Active: 2,
		View: View{X: 0.25, Y: 0.5, Scale: 2}, Pins: []pin.Pin{{Name: "shirt", X: 0.1, Y: 0.9, Radius: 0.01}},
		Looked: Looked{Overlays: []string{"reach"}, NoPins: true, Threshold: 2, Lux: 315, Luminance: 160, ScreenPPI: 109.5}, Print: job,
	}
}

func TestSavedAndLoaded(t *testing.T) {
	s := Open(filepath.Join(t.TempDir(), "not", "yet"))
	if _, err := s.Load(); !errors.Is(err, ErrNone) {
		t.Errorf("the first start: %v", err)
	}
	d := sample()
	for range 3 {
		if err := s.Save(d); err != nil {
			t.Fatal(err)
		}
	}
	got, err := s.Load()
	if err != nil {
		t.Fatal(err)
	}
	if time.Since(got.Saved) > time.Hour {
		t.Errorf("saved %v", got.Saved)
	}
	d.Format, d.Version, d.Saved = Format, Version, got.Saved
	if !reflect.DeepEqual(got, d) {
		t.Errorf("got %+v\nwant %+v", got, d)
	}
	entries, _ := os.ReadDir(s.dir)
	if len(entries) != 1 {
		t.Errorf("the folder holds %v", entries)
	}
}

// A program that was killed while it saved comes back with the last complete desk, and
// clears what it left.
func TestKilledWhileSaving(t *testing.T) {
	dir := t.TempDir()
	s := Open(dir)
	if err := s.Save(sample()); err != nil {
		t.Fatal(err)
	}
	half := filepath.Join(dir, ".desk.json-00000000-1-0123abcd.part") // see aside.Sweep
	if err := os.WriteFile(half, []byte(`{"format":"Firstsheet de`), 0o600); err != nil {
		t.Fatal(err)
	}
	old := time.Now().Add(-25 * time.Hour)
	if err := os.Chtimes(half, old, old); err != nil {
		t.Fatal(err)
	}
	s = Open(dir)
	if d, err := s.Load(); err != nil || len(d.Sheets) != 3 {
		t.Errorf("%+v, %v", d, err)
	}
	if _, err := os.Stat(half); err == nil {
		t.Error("the half file is still there")
	}
}

// A desk that cannot be read is kept aside, one of a newer program left alone.
func TestUnreadable(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, deskFile)
	var no *FileError
	for name, text := range map[string]string{"cut off": `{"format": "Firstsheet desk", "ver`, "another": `{"format":"x","version":1}`, "empty": "", "no sheets": `{"format":"Firstsheet desk","version":1,"view":{"fit":true}}`} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(dir).Load(); !errors.As(err, &no) || no.Path != path {
			t.Errorf("%s: %v", name, err)
		}
		if got, err := os.ReadFile(filepath.Join(dir, brokenFile)); err != nil || string(got) != text {
			t.Errorf("%s: kept %q, %v", name, got, err)
		}
	}
	newer := `{"format":"Firstsheet desk","version":99}`
	if err := os.WriteFile(path, []byte(newer), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir).Load(); !errors.Is(err, ErrNewer) {
		t.Errorf("newer: %v", err)
	}
	if got, _ := os.ReadFile(path); string(got) != newer {
		t.Errorf("the newer desk is now %q", got)
	}
}

// Older versions are brought up one by one.
func TestUpgrade(t *testing.T) {
	data, err := sample().Encode()
	if err != nil {
		t.Fatal(err)
	}
	old := strings.Replace(string(data), `"gone_wrong"`, `"slipped"`, -1)
	rename := func(fields map[string]json.RawMessage) error {
		fields["sheets"] = json.RawMessage(strings.ReplaceAll(string(fields["sheets"]), `"slipped"`, `"gone_wrong"`))
		return nil
	}
	if d, err := parse([]byte(old), Version+1, []upgrade{rename}); err != nil || !d.Sheets[2].Wrong || d.Version != Version+1 {
		t.Errorf("%+v, %v", d, err)
	}
	if len(upgrades()) != Version-1 {
		t.Errorf("%d upgrades lead to version %d", len(upgrades()), Version)
	}
}

func TestDeskRefused(t *testing.T) {
	s := Open(t.TempDir())
	for name, change := range map[string]func(*Desk){
		"no sheets": func(d *Desk) { d.Sheets = nil }, "active": func(d *Desk) { d.Active = 3 }, "view": func(d *Desk) { d.View.Scale = math.NaN() },
		"pin": func(d *Desk) { d.Pins[0].X = -1 }, "light": func(d *Desk) { d.Looked.Lux = math.Inf(1) },
		"pins": func(d *Desk) { d.Pins = make([]pin.Pin, MaxPins+1) },
	} {
		d := sample()
		change(&d)
		if err := s.Save(d); err == nil {
			t.Errorf("%s is saved", name)
		}
	}
}

// Prints are listed by paper, the latest first, with what was noted; a broken one does
// not hide the others.
func TestPrints(t *testing.T) {
	s := Open(t.TempDir())
	if list, problems := s.Prints(""); list != nil || problems != nil {
		t.Errorf("before the first: %v, %v", list, problems)
	}
	at := time.Date(2031, 3, 4, 5, 6, 7, 0, time.UTC)
	keep := func(paper string, later time.Duration) string {
		t.Helper()
		id, err := s.Keep(ticket.Ticket{Format: ticket.Format, Version: ticket.Version, Made: at.Add(later), Paper: ticket.Paper{ProfileID: paper}, Job: sample().Print})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	first, second := keep("a", 0), keep("b", time.Hour)
	twin, third := keep("a", 0), keep("a", 48*time.Hour)
	if first == twin {
		t.Error("two prints of one second are one")
	}
	if err := s.Note(first, ticket.Outcome{Verdict: ticket.Good, Notes: "shadows open"}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(s.ticketPath("20310101-000000"), []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	list, problems := s.Prints("a")
	if len(problems) != 1 || len(list) != 3 || list[0].ID != third {
		t.Fatalf("%d prints, problems %v", len(list), problems)
	}
	for _, p := range list {
		if (p.ID == first) != (p.Outcome.Notes == "shadows open") || p.Job != sample().Print {
			t.Errorf("%s: %+v", p.ID, p.Outcome)
		}
	}
	if list, _ := s.Prints(""); len(list) != 4 || list[1].ID != second {
		t.Errorf("of all papers %d", len(list))
	}
	if err := s.Note("../desk", ticket.Outcome{}); err == nil {
		t.Error("a note leaves the folder")
	}
	if err := s.Note("none", ticket.Outcome{}); err == nil {
		t.Error("a note on no print")
	}
}

// FORMAT.md names every field that a desk and a ticket have, and no other.
func TestFormatDescribed(t *testing.T) {
	doc, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{}
	for line := range strings.Lines(string(doc)) {
		if cells := strings.Split(line, "|"); len(cells) > 2 && strings.HasPrefix(strings.TrimSpace(cells[1]), "`") {
			for _, name := range strings.Split(cells[1], ",") {
				named[strings.Trim(name, " `")] = false
			}
		}
	}
	var walk func(t reflect.Type, from map[string]bool)
	missing := map[string]bool{}
	see := func(tag string) {
		name, _, _ := strings.Cut(tag, ",")
		if name == "" || name == "-" {
			return
		}
		if _, ok := named[name]; !ok {
			missing[name] = true
		}
		named[name] = true
	}
	walk = func(t reflect.Type, from map[string]bool) {
		for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct || t == reflect.TypeFor[time.Time]() || from[t.String()] {
			return
		}
		from[t.String()] = true
		for i := range t.NumField() {
			see(t.Field(i).Tag.Get("json"))
			walk(t.Field(i).Type, from)
		}
	}
	walk(reflect.TypeFor[Desk](), map[string]bool{})
	walk(reflect.TypeFor[ticket.Ticket](), map[string]bool{})
	// A set-up writes itself; all that it can write is here.
	all := setup.Setup{Source: "a", Paper: "b", CountWhite: true, Screen: "c", Slips: "d", Mishap: "h", Reads: "e", Second: 2, Other: "f", Setting: "g", Dim: 1}
	data, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	var fields map[string]any
	if err := json.Unmarshal(data, &fields); err != nil {
		t.Fatal(err)
	}
	for name := range fields {
		see(name)
	}
	for name := range missing {
		t.Errorf("%s is not described", name)
	}
	for name, used := range named {
		if !used {
			t.Errorf("%s is described, and no field is called so", name)
		}
	}
}
