package ticket

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// What a ticket names may be anything; only an ordinary file is read. SHA-256 of "abc" is
// that of FIPS 180-4's example.
func TestHashReadsOrdinaryFilesAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "abc")
	if err := os.WriteFile(path, []byte("abc"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got, err := Hash(t.Context(), path); err != nil || got != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Errorf("%s, %v", got, err)
	}
	for _, path := range []string{filepath.Dir(path), os.DevNull} {
		if _, err := Hash(t.Context(), path); err == nil || !strings.Contains(err.Error(), "no ordinary file") {
			t.Errorf("%s: %v", path, err)
		}
	}
}

// A large file, here a hole of a terabyte, is left when nobody waits for it any more.
func TestHashStops(t *testing.T) {
	path := filepath.Join(t.TempDir(), "large")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := f.Truncate(1 << 40); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if sum, err := Hash(ctx, path); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("%q, %v", sum, err)
	}
}
