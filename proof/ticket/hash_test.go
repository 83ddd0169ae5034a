package ticket

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What a ticket names may be anything; only an ordinary file is read. SHA-256 of "abc" is
// that of FIPS 180-4's example.
func TestHashReadsOrdinaryFilesAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "abc")
	if err := os.WriteFile(path, []byte("abc"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got, err := Hash(path); err != nil || got != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Errorf("%s, %v", got, err)
	}
	for _, path := range []string{filepath.Dir(path), os.DevNull} {
		if _, err := Hash(path); err == nil || !strings.Contains(err.Error(), "no ordinary file") {
			t.Errorf("%s: %v", path, err)
		}
	}
}
