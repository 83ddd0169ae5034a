package printrun

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
)

// setUp makes a folder of three pictures, the second of them broken, and a run.
func setUp(t *testing.T) (Run, []string) {
	t.Helper()
	dir := t.TempDir()
	for i, name := range []string{"a.png", "c.png"} {
		p := &photo.Picture{W: 30, H: 20, Channels: 3, Depth: 8, Pix8: make([]uint8, 1800)}
		p.Pix8[i] = 200
		if err := photo.Write(t.Context(), filepath.Join(dir, name), p, photo.WriteOptions{}); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"b.jpg", "notes.txt", ".hidden.png"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("nothing"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	list, err := Photographs([]string{dir})
	if err != nil || len(list) != 3 {
		t.Fatalf("%v, %v", list, err)
	}
	e := proof.NewEngine()
	t.Cleanup(e.Close)
	library := paper.Open(t.TempDir())
	stock, err := library.Resolve("pearl")
	if err != nil {
		t.Fatal(err)
	}
	job := printfile.Usual(setup.Usual("pearl"))
	job.Size = printfile.Size{By: printfile.LongEdge, Length: 10}
	return Run{
		Ticket: ticket.Ticket{Job: job, File: ticket.File{Name: "x.png"}}, ProfileID: stock.Profile.ID(),
		Dir: filepath.Join(t.TempDir(), "out"), Jobs: 2, Engine: e,
		Open: func(ctx context.Context, path string, job printfile.Job) (*printfile.Print, error) {
			pic, err := photo.Open(ctx, path)
			if err != nil {
				return nil, err
			}
			source, err := setup.SourceOf(pic, nil)
			if err != nil {
				return nil, err
			}
			return printfile.Prepare(ctx, e, setup.Files{Library: library, Picture: source.Profile}, source, job)
		},
	}, list
}

// One that fails is reported and counted, the others are done; a second run passes them
// over, and a changed job makes them anew.
func TestRun(t *testing.T) {
	r, list := setUp(t)
	do := func() (made, kept, failed []string) {
		t.Helper()
		seen := 0
		err := r.Do(t.Context(), list, func(x Result) {
			seen++
			if x.Done != seen || x.Total != 3 {
				t.Errorf("%d of %d, want %d of 3", x.Done, x.Total, seen)
			}
			name := filepath.Base(x.Path)
			switch {
			case x.Err != nil:
				failed = append(failed, name)
			case x.Kept:
				kept = append(kept, name)
			default:
				made = append(made, name)
			}
		})
		if err == nil || !strings.HasPrefix(err.Error(), "1 of 3") || !strings.Contains(err.Error(), "b.jpg") {
			t.Errorf("error %v", err)
		}
		slices.Sort(made)
		slices.Sort(kept)
		return made, kept, failed
	}
	good, bad := []string{"a.png", "c.png"}, []string{"b.jpg"}
	if made, kept, failed := do(); !slices.Equal(made, good) || kept != nil || !slices.Equal(failed, bad) {
		t.Errorf("first: made %q, kept %q, failed %q", made, kept, failed)
	}
	if made, kept, _ := do(); made != nil || !slices.Equal(kept, good) {
		t.Errorf("again: made %q, kept %q", made, kept)
	}
	r.Ticket.Job.Border = 1
	if made, _, _ := do(); !slices.Equal(made, good) {
		t.Errorf("with a border: made %q", made)
	}
	r.ProfileID = "another"
	if made, _, _ := do(); !slices.Equal(made, good) {
		t.Errorf("with another profile: made %q", made)
	}
}

func TestRunStopped(t *testing.T) {
	r, list := setUp(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := r.Do(ctx, list, func(x Result) { t.Errorf("reported %s", x.Path) }); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if entries, _ := os.ReadDir(r.Dir); len(entries) > 0 {
		t.Errorf("left %v", entries)
	}
	r.Dir = list[0]
	if err := r.Do(t.Context(), list, func(Result) {}); err == nil {
		t.Error("a file is taken for a folder")
	}
	if _, err := Photographs([]string{t.TempDir()}); err == nil {
		t.Error("an empty folder has photographs")
	}
}
