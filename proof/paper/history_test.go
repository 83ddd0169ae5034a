package paper

import (
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

func note(t *testing.T, l *Library, id string, r Reading) string {
	t.Helper()
	name, err := l.AddReading(id, r)
	if err != nil {
		t.Fatal(err)
	}
	return name
}

func TestReadingsAreASeries(t *testing.T) {
	dir := t.TempDir()
	l := Open(dir)
	if got, err := l.Readings("pearl"); err != nil || got != nil {
		t.Fatalf("before any: %v, %v", got, err)
	}
	later := Reading{Date: "2025-06-30", Noted: "2025-06-30T10:00:00Z", Patches: 1, Mean: 1.1, P95: 2, Max: 4,
		Measured: []Measured{{"A1", []float64{0, 0.5, 1}, cie.Lab{L: 40, A: -3.25, B: 7}}}}
	first := Reading{Date: "2025-01-31", Noted: "2025-07-01T10:00:00Z", Patches: 48, Mean: 0.6, P95: 1.4, Max: 2.2, Condition: "M1", Words: []string{"The greys have become warmer."}}
	again := Reading{Date: "2025-06-30", Noted: "2025-06-30T09:00:00Z", Patches: 2}
	for _, r := range []*Reading{&later, &first, &again} {
		r.ID = note(t, l, "pearl", *r)
	}
	want := []Reading{first, again, later} // by the day, then by when it was noted
	if got, err := Open(dir).Readings("pearl"); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("read again: %+v, %v", got, err)
	}
	if got, err := l.Readings("gloss"); err != nil || got != nil {
		t.Errorf("another paper has %v, %v", got, err)
	}
	if list, problems := l.List(); len(list) != len(All()) || len(problems) != 0 {
		t.Errorf("%d papers, problems %v", len(list), problems)
	}
	var unknown *UnknownError
	if _, err := l.Readings("nowhere"); !errors.As(err, &unknown) {
		t.Errorf("unknown paper: %v", err)
	}
	for _, bad := range []Reading{{Date: "soon"}, {Date: "2025-01-31", Mean: math.NaN()}, {Date: "2025-01-31", Max: -1}} {
		if _, err := l.AddReading("pearl", bad); err == nil {
			t.Errorf("%+v is kept", bad)
		}
	}

	// One is taken away and noted again.
	gone, err := l.RemoveReading("pearl", again.ID)
	if err != nil || !reflect.DeepEqual(gone, again) {
		t.Fatalf("taken away: %+v, %v", gone, err)
	}
	if got, _ := l.Readings("pearl"); !reflect.DeepEqual(got, []Reading{first, later}) {
		t.Errorf("left: %+v", got)
	}
	if _, err := l.RemoveReading("pearl", again.ID); !errors.As(err, &unknown) {
		t.Errorf("taken away twice: %v", err)
	}
	note(t, l, "pearl", gone)

	// A file that was spoilt is told of; the others are read.
	path := filepath.Join(dir, "pearl.builtin.readings", first.ID+".json")
	if err := os.WriteFile(path, []byte("[{"), 0o644); err != nil {
		t.Fatal(err)
	}
	var file *FileError
	if got, err := l.Readings("pearl"); !errors.As(err, &file) || file.Kind != BadCard || file.Path != path || len(got) != 2 {
		t.Errorf("spoilt: %d readings, %v", len(got), err)
	}
}

// The one file that held all readings before is read, and its readings can be taken away.
func TestOldReadingsAreRead(t *testing.T) {
	dir := t.TempDir()
	old := `[{"date": "2024-03-01", "patches": 48, "mean": 0.5, "p95": 1, "max": 2}, {"date": "2024-09-01", "patches": 30, "mean": 0.7, "p95": 1.5, "max": 3, "measuring_condition": "M1"}]`
	path := filepath.Join(dir, "pearl.builtin.readings.json")
	if err := os.WriteFile(path, []byte(old), 0o644); err != nil {
		t.Fatal(err)
	}
	l := Open(dir)
	note(t, l, "pearl", Reading{Date: "2024-05-01"})
	got, err := l.Readings("pearl")
	if err != nil || len(got) != 3 || got[0].Mean != 0.5 || got[1].Date != "2024-05-01" || got[2].Condition != "M1" {
		t.Fatalf("%+v, %v", got, err)
	}
	if _, err := l.RemoveReading("pearl", got[0].ID); err != nil {
		t.Fatal(err)
	}
	if got, err := l.Readings("pearl"); err != nil || len(got) != 2 || got[1].Patches != 30 {
		t.Errorf("left: %+v, %v", got, err)
	}
	if err := os.WriteFile(path, []byte("[{"), 0o644); err != nil {
		t.Fatal(err)
	}
	var file *FileError
	if got, err := l.Readings("pearl"); !errors.As(err, &file) || len(got) != 1 {
		t.Errorf("spoilt: %+v, %v", got, err)
	}
}

// noting is the environment of a process that notes readings in the folder it names.
const noting = "FIRSTSHEET_TEST_NOTES_READINGS_IN"

// Several programs note readings of one paper at once: none is lost.
func TestProcessesNoteReadingsAtOnce(t *testing.T) {
	const processes, each = 6, 40
	if dir := os.Getenv(noting); dir != "" {
		l := Open(dir)
		for i := range each {
			note(t, l, "pearl", Reading{Date: "2025-01-31", Patches: i})
		}
		return
	}
	dir := t.TempDir()
	var running []*exec.Cmd
	var said [processes]strings.Builder
	for i := range processes {
		c := exec.Command(os.Args[0], "-test.run", "^"+t.Name()+"$")
		c.Env = append(os.Environ(), noting+"="+dir)
		c.Stdout, c.Stderr = &said[i], &said[i]
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		running = append(running, c)
	}
	for i, c := range running {
		if err := c.Wait(); err != nil {
			t.Errorf("process %d: %v\n%s", i, err, said[i].String())
		}
	}
	list, err := Open(dir).Readings("pearl")
	if err != nil {
		t.Fatal(err)
	}
	count := map[int]int{}
	ids := map[string]bool{}
	for _, r := range list {
		count[r.Patches]++
		ids[r.ID] = true
	}
	if len(list) != processes*each || len(ids) != len(list) {
		t.Fatalf("%d readings of %d IDs, want %d", len(list), len(ids), processes*each)
	}
	for i := range each {
		if count[i] != processes {
			t.Errorf("reading %d is there %d times", i, count[i])
		}
	}
	left, _ := filepath.Glob(filepath.Join(dir, "*", ".*"))
	if len(left) != 0 {
		t.Errorf("left lying: %v", fmt.Sprint(left))
	}
}
