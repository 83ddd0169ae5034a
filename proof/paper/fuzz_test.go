package paper

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"firstsheet/proof"
)

// FuzzLibrary puts any bytes into a folder of papers as a profile, its card and a built-in
// paper's card, and has everything asked of the library that reads them: a list and
// problems, never a panic, and no paper that is none.
//
//	go test -run '^$' -fuzz FuzzLibrary -fuzzminimizetime 0 ./proof/paper
func FuzzLibrary(f *testing.F) {
	file, err := os.ReadFile(profiles + "default_gray.icc")
	if err != nil {
		f.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	f.Add(file, []byte(`{"printer":"office","dry_hours":2}`), []byte(`[{"date":"2026-01-02","patches":48,"mean":1,"p95":2,"max":3}]`))
	f.Add(file[:200], []byte(`{"notes":5}`), []byte(`[]`))
	f.Add([]byte{}, []byte{}, []byte(`[{"date":"x"}]`))
	dir := f.TempDir()
	built := All()[0].ID
	f.Fuzz(func(t *testing.T, profile, card, readings []byte) {
		if len(profile)+len(card)+len(readings) > 1<<20 {
			return
		}
		path := filepath.Join(dir, "fuzz.icc")
		for name, data := range map[string][]byte{
			path: profile, path + cardEnding: card, path + oldReadings: readings,
			filepath.Join(dir, built+".builtin"+cardEnding): card,
		} {
			if err := os.WriteFile(name, data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		l := Open(dir)
		papers, problems := l.List()
		for _, p := range papers {
			if err := p.Profile.CheckPaper(); err != nil {
				t.Errorf("%s is listed: %v", p.ID, err)
			}
			if err := p.Card.Check(); err != nil {
				t.Errorf("%s has a card that can't be: %v", p.ID, err)
			}
		}
		for _, p := range problems {
			if p.Path == "" || p.Err == nil || p.Err.Error() == "" {
				t.Errorf("a problem without path or reason: %+v", p)
			}
		}
		_, _ = l.Readings("fuzz")
		if p, err := proof.NewProfile("", bytes.Clone(profile)); err == nil && p.CheckPaper() == nil {
			if _, err := l.Resolve("fuzz"); err != nil {
				t.Errorf("a sound profile is not found: %v", err)
			}
		}
	})
}
