package main

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"firstsheet/proof/chart"
	"firstsheet/proof/photo"
)

// A check sheet goes through a route with a second conversion; its print, read back by
// its marks, names that cause. The screen's space is wide, so that nothing is clipped
// on the way.
func TestCheckSheetFindsTheCause(t *testing.T) {
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	mustBatch(t, "", "check", "-page", "a4", "-out", file("sheet.png"))
	values, err := os.Open(file("sheet-values.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer values.Close()
	tables, err := chart.ReadTables(values)
	if err != nil || len(tables[0].Rows) < 120 {
		t.Fatalf("values: %v", err)
	}
	sheet, err := photo.Open(context.Background(), file("sheet.png"))
	if err != nil {
		t.Fatal(err)
	}
	if sheet.W != 2480 || sheet.H != 3508 || sheet.ICC == nil {
		t.Errorf("the sheet has %d x %d pixels, profile %t", sheet.W, sheet.H, sheet.ICC != nil)
	}
	mustBatch(t, "", "proof", file("sheet.png"), "-paper", "pearl", "-screen", "romm", "-slip", "twice", "-out", file("print.png"))
	mustBatch(t, "", "readcheck", file("print.png"), "-out", file("read.csv"))
	mustBatch(t, "", "causes", "-source", "srgb", "-paper", "pearl", "-observed", file("read.csv"), "-json", file("answer.json"))
	data, err := os.ReadFile(file("answer.json"))
	if err != nil {
		t.Fatal(err)
	}
	var answer causesReport
	if err := json.Unmarshal(data, &answer); err != nil {
		t.Fatal(err)
	}
	if first := answer.Causes[0]; strings.Join(first.Slips, ",") != "twice" || first.MeanDE00 > 0.5 || !answer.Explained {
		t.Errorf("first is %v, off by %.2f: %s", first.Slips, first.MeanDE00, answer.Verdict)
	}

	mustBatch(t, "", "check", "-page", "letter", "-depth", "16", "-out", file("sheet.pdf"))
	if data, err := os.ReadFile(file("sheet.pdf")); err != nil || !strings.HasPrefix(string(data), "%PDF-1.7") {
		t.Errorf("the page file: %v", err)
	}

	// Without its lower half it is refused, and no table appears.
	cut := *sheet
	cut.H /= 2
	cut.Pix8 = cut.Pix8[:3*cut.W*cut.H]
	if err := photo.Write(context.Background(), file("cut.png"), &cut, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	for name, says := range map[string]string{"cut.png": "not all in the picture", "nosuch.png": "nosuch.png", "sheet-values.txt": "sheet-values.txt"} {
		code, _, errs := batch("", "readcheck", file(name), "-out", file("none.csv"))
		if code != failed || !strings.Contains(errs, says) || !strings.Contains(errs, name) {
			t.Errorf("%s: exit %d, %s", name, code, errs)
		}
	}
	if _, err := os.Stat(file("none.csv")); err == nil {
		t.Error("a table of no sheet was written")
	}
	for _, args := range [][]string{
		{"check"}, {"check", "-out", file("x.gif")}, {"check", "-page", "a5", "-out", file("x.png")}, {"check", "-ppi", "72", "-out", file("x.png")},
		{"check", "-space", "cmyk", "-out", file("x.png")}, {"readcheck", file("print.png")}, {"readcheck", "-out", file("x.csv")},
	} {
		if code, _, errs := batch("", args...); code != misuse {
			t.Errorf("%q: exit %d, %s", args, code, errs)
		}
	}
}
