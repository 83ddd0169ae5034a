package main

import (
	"os"
	"path/filepath"
	"testing"
)

// What the program did is written as a whole, or it is said that it cannot be.
func TestRecord(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new")
	stop, err := record(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := stop(); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"cpu.prof", "trace.out"} {
		if f, err := os.Stat(filepath.Join(dir, name)); err != nil || f.Size() == 0 {
			t.Errorf("%s is empty or missing: %v", name, err)
		}
	}
	file := filepath.Join(dir, "cpu.prof")
	if _, err := record(file); err == nil {
		t.Error("a file is taken for a folder")
	}
	if stop, err := record(""); err != nil || stop() != nil {
		t.Error("without a folder something goes wrong")
	}
}
