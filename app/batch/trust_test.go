package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestProfilesAreChecked(t *testing.T) {
	none := t.TempDir()
	text := mustBatch(t, "", "papers", "-check", "pearl", "-library", none)
	if !strings.HasPrefix(text, "Pearl\nNothing in this profile speaks against printing by it.\n") || !strings.Contains(text, "there and back         sound      Colours within reach come back: 0.2 ΔE00") {
		t.Error(text)
	}
	var r struct {
		Name, Verdict, Sentence string
		Findings                []struct {
			ID, Verdict, Words string
			Figures            map[string]float64
		}
	}
	if err := json.Unmarshal([]byte(mustBatch(t, "", "papers", "-check", profiles+"ps_cmyk.icc", "-json", "-library", none)), &r); err != nil {
		t.Fatal(err)
	}
	found := map[string]float64{}
	for _, f := range r.Findings {
		if f.ID == "round_trip" {
			found = f.Figures
		}
	}
	if r.Verdict != "unsound" || found["mean_delta_e00"] < 3 || r.Name == "" {
		t.Errorf("%+v", r)
	}
	if text = mustBatch(t, "", "papers", "-check", profiles+"sRGB.icc", "-library", none); !strings.Contains(text, "It is a display profile for RGB and can’t serve as a paper.") {
		t.Error(text)
	}
	broken := filepath.Join(none, "broken.icc")
	if err := os.WriteFile(broken, []byte("no profile"), 0o600); err != nil {
		t.Fatal(err)
	}
	for ref, want := range map[string]int{broken: failed, "nobody": failed, filepath.Join(none, "none.icc"): failed} {
		if code, out, errs := batch("", "papers", "-check", ref, "-library", none); code != want || out != "" || errs == "" {
			t.Errorf("%s: exit %d, %q, %q", ref, code, out, errs)
		}
	}
	if code, _, _ := batch("", "papers", "-check", "pearl", "-write", none); code != misuse {
		t.Errorf("two jobs: exit %d", code)
	}
}
