package chart

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"firstsheet/proof/aside"
	"firstsheet/proof/photo"
)

func names(t *testing.T, dir string) (out []string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		out = append(out, e.Name())
	}
	return out
}

func TestAChartIsWrittenWholeAndReplacesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "folder")
	w := Wish{Verify: true, Patches: 30, Page: "letter", PPI: 72, Name: "silk / 3", Dir: dir}
	first, err := w.Write(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(names(t, dir)); got != "[silk-3-page-1.png silk-3-patches.txt silk-3-read-me.txt]" {
		t.Errorf("the folder holds %s", got)
	}
	if first.Patches != 30 || len(first.Pages) != 1 {
		t.Errorf("it is told as %+v", first)
	}
	mine := []byte("mine")
	if err := os.WriteFile(first.List, mine, 0o644); err != nil {
		t.Fatal(err)
	}
	second, err := w.Write(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if second.Name != "silk-3-2" || len(names(t, dir)) != 6 {
		t.Errorf("the second is called %q, the folder holds %v", second.Name, names(t, dir))
	}
	if got, _ := os.ReadFile(first.List); !bytes.Equal(got, mine) {
		t.Error("a file that was there has been replaced")
	}
	if told := second.Told("letter"); !strings.Contains(told, "one page of Letter with 30 patches") || !strings.Contains(told, dir) {
		t.Errorf("told: %s", told)
	}

	// Stopped: nothing, not even the folder.
	gone := filepath.Join(t.TempDir(), "gone")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	w.Dir = gone
	if _, err := w.Write(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	if _, err := os.Stat(gone); !os.IsNotExist(err) {
		t.Errorf("a stopped chart leaves %v", err)
	}
	w.Dir = filepath.Join(first.List, "no")
	if _, err := w.Write(context.Background()); err == nil {
		t.Error("a file was taken for a folder")
	}
}

// A chart's files are called as it is, in any script; what is in the way of a path goes.
func TestAChartsFilesAreCalledAsItIs(t *testing.T) {
	for name, want := range map[string]string{
		"Über Silk": "Über-Silk", "Жемчуг №2": "Жемчуг-2", "紙": "紙", "../a/b": "a-b", "..": "chart", "": "chart", "a.b_c-1": "a.b_c-1",
	} {
		if got := fileName(name, false); got != want {
			t.Errorf("files of %q begin with %q, want %q", name, got, want)
		}
	}
	if got := fileName(" / ", true); got != "verify" {
		t.Errorf("files of a chart to verify begin with %q", got)
	}
}

// An error names the file where the person looks for it, not the one written aside.
func TestAChartsErrorsNameItsOwnFolder(t *testing.T) {
	written := filepath.Join("charts", ".firstsheet-1", "silk-page-1.png")
	for _, err := range []error{
		fmt.Errorf("chart: %w", &photo.Error{Path: written, Kind: photo.DiskFull, Err: syscall.ENOSPC}),
		&aside.Error{Path: written, Err: syscall.ENOSPC},
	} {
		got := placed("charts", err)
		if !errors.Is(got, syscall.ENOSPC) || !strings.Contains(got.Error(), filepath.Join("charts", "silk-page-1.png")) || strings.Contains(got.Error(), ".firstsheet") {
			t.Errorf("%v is told as %v", err, got)
		}
	}
	if err := placed("charts", context.Canceled); err != context.Canceled {
		t.Errorf("stopping is told as %v", err)
	}
}
