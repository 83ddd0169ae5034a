package paper

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"testing"
)

func TestReadingsAreKeptBesideThePaper(t *testing.T) {
	dir := t.TempDir()
	l := Open(dir)
	if got, err := l.Readings("pearl"); err != nil || got != nil {
		t.Fatalf("before any: %v, %v", got, err)
	}
	one := Reading{Date: "2025-01-31", Patches: 48, Mean: 0.6, P95: 1.4, Max: 2.2, Condition: "M1", Words: []string{"The greys have become warmer."}}
	two := Reading{Date: "2025-06-30", Patches: 30, Mean: 1.1, P95: 2, Max: 4}
	for _, r := range []Reading{one, two} {
		if err := l.AddReading("pearl", r); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := Open(dir).Readings("pearl"); err != nil || !reflect.DeepEqual(got, []Reading{one, two}) {
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
		if l.AddReading("pearl", bad) == nil {
			t.Errorf("%+v is kept", bad)
		}
	}

	// A file that was spoilt is told of and not written over.
	path := filepath.Join(dir, "pearl.builtin.readings.json")
	if err := os.WriteFile(path, []byte("[{"), 0o644); err != nil {
		t.Fatal(err)
	}
	var file *FileError
	if err := l.AddReading("pearl", two); !errors.As(err, &file) || file.Kind != BadCard {
		t.Errorf("spoilt: %v", err)
	}
	if data, _ := os.ReadFile(path); string(data) != "[{" {
		t.Errorf("it now holds %q", data)
	}
}

func TestOldReadingsMakeRoom(t *testing.T) {
	l := Open(t.TempDir())
	for i := range maxReadings + 3 {
		if err := l.AddReading("pearl", Reading{Date: "2025-01-31", Patches: i}); err != nil {
			t.Fatal(err)
		}
	}
	got, err := l.Readings("pearl")
	if err != nil || len(got) != maxReadings || got[0].Patches != 3 {
		t.Errorf("%d readings, the first of %d patches, %v", len(got), got[0].Patches, err)
	}
}
