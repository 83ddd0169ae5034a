package main

import (
	"regexp"
	"strings"
	"testing"
)

func TestPapersAreKeptByTheShell(t *testing.T) {
	dir := t.TempDir()
	at := func(args ...string) string { return mustBatch(t, "", append(args, "-library", dir)...) }
	const cmyk = "../../testdata/cache/profiles/FOGRA39L_coated.icc"
	found := regexp.MustCompile(`^added (\S+): `).FindStringSubmatch(at("paper", "-add", cmyk))
	if found == nil {
		t.Fatal("it is not told what was added")
	}
	id := found[1]
	if code, _, told := batch("", "paper", "-add", cmyk, "-library", dir); code != failed || !strings.Contains(told, "already there") {
		t.Errorf("added twice: %d, %s", code, told)
	}
	if out := at("paper", id, "-name", "Büttenpapier 和紙", "-group", "Albums", "-note", "batch 7", "-up", "1000"); !strings.Contains(out, "Büttenpapier 和紙") {
		t.Error(out)
	}
	if out := at("papers"); !strings.HasPrefix(out, id+"  Büttenpapier 和紙") || !strings.Contains(out, "batch 7") {
		t.Errorf("the list begins with %.200s", out)
	}
	gone := regexp.MustCompile(`-restore ("[^"]+")`).FindStringSubmatch(at("paper", id, "-remove"))
	if gone == nil || !strings.Contains(at("paper", "-removed"), gone[1]) {
		t.Fatalf("taken away as %v, listed: %s", gone, at("paper", "-removed"))
	}
	if strings.Contains(at("papers"), id) {
		t.Error("it is still listed")
	}
	at("paper", "-restore", strings.Trim(gone[1], `"`))
	if out := at("papers"); !strings.HasPrefix(out, id+"  Büttenpapier 和紙") {
		t.Errorf("brought back: %.200s", out)
	}
	if at("paper", id, "-name", ""); strings.Contains(at("papers"), "和紙") {
		t.Error("its own name does not come back")
	}
	for _, bad := range [][]string{{"paper"}, {"paper", id}, {"paper", id, "pearl", "-remove"}, {"paper", id, "-removed"}} {
		if code, _, _ := batch("", append(bad, "-library", dir)...); code != misuse {
			t.Errorf("batch %q ends with %d", bad, code)
		}
	}
	if code, _, told := batch("", "paper", "pearl", "-remove", "-library", dir); code != failed || !strings.Contains(told, "comes with the program") {
		t.Errorf("a built-in paper: %d, %s", code, told)
	}
}
