package stock

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
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

func put(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "m.txt")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func cgats(fields string, rows ...string) string {
	return fmt.Sprintf("CGATS.17\nNUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n%s\nEND_DATA_FORMAT\nNUMBER_OF_SETS %d\nBEGIN_DATA\n%s\nEND_DATA\n",
		len(strings.Fields(fields)), fields, len(rows), strings.Join(rows, "\n"))
}

const rgbFields = "SAMPLE_ID SAMPLE_LOC RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"

func TestSeveralFilesAreOneChart(t *testing.T) {
	one := put(t, cgats(rgbFields, "1 1A01 255 255 255 95 0 -2", "2 1A02 0 0 0 5 0 0"))
	two := put(t, cgats(rgbFields, "3 2A01 255 0 0 50 70 50", "4 2A02 0 255 0 60 -60 40"))
	ms, err := Sheets{Paths: []string{one, two}}.Read()
	if err != nil || len(ms.Patches) != 4 || ms.Patches[3].Place() != "2A02" {
		t.Fatalf("%v, %v", ms, err)
	}
	if got := Summary(ms); got != "4 patches, printed RGB numbers" {
		t.Errorf("told: %s", got)
	}
	list := put(t, cgats("SAMPLE_ID SAMPLE_LOC RGB_R RGB_G RGB_B", "1 X1 0 255 0", "2 X2 255 0 0", "3 X3 0 0 0", "4 X4 255 255 255"))
	ms, err = Sheets{Paths: []string{one, two}, List: list}.Read()
	if err != nil || ms.Patches[0].Place() != "X1" || ms.Patches[0].Lab != (cie.Lab{L: 60, A: -60, B: 40}) {
		t.Errorf("against a list: %+v, %v", ms, err)
	}
	less := Without(ms, []chart.Suspect{{Place: "X2", ID: ms.Patches[1].ID, Line: ms.Patches[1].Line}})
	if len(less.Patches) != 3 || len(ms.Patches) != 4 || less.Patches[1].Place() != "X3" {
		t.Errorf("without X2: %+v", less.Patches)
	}

	cmyk := put(t, cgats("SAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B", "1 0 0 0 0 95 0 0", "2 100 100 100 100 8 0 0"))
	for _, c := range []struct {
		sheets Sheets
		path   string
		words  string
	}{
		{Sheets{Paths: []string{one, cmyk}}, cmyk, "CMYK"},
		{Sheets{Paths: []string{one, one + "x"}}, one + "x", "no such file"},
		{Sheets{Paths: []string{t.TempDir()}}, "", "no ordinary file"},
		{Sheets{Paths: []string{put(t, "")}}, "", "0 bytes"},
		{Sheets{Paths: []string{one}, List: put(t, "a letter")}, "", ""},
		{Sheets{}, "", "no measured file"},
	} {
		ms, err := c.sheets.Read()
		var f *Fault
		if ms != nil || !errors.As(err, &f) || c.path != "" && f.Path != c.path || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%v: %v, %v", c.sheets, ms, err)
		}
	}
}

func TestHoursAreReadAsPeopleWriteThem(t *testing.T) {
	for s, want := range map[string]float64{"": 0, "24": 24, " 1.5 h": 1.5, "36,5 hours": 36.5} {
		if got, ok := HoursOf(s); !ok || got != want {
			t.Errorf("%q is %g, %v, want %g", s, got, ok, want)
		}
	}
	for _, s := range []string{"a day", "-1", "NaN", "1 2", "inf"} {
		if got, ok := HoursOf(s); ok {
			t.Errorf("%q is taken for %g", s, got)
		}
	}
}

func TestALimitOfInkIsAPercentage(t *testing.T) {
	for s, want := range map[string]float64{"": 0, "300": 3, "280 %": 2.8, "400%": 4} {
		if got, ok := InkOf(s); !ok || got != want {
			t.Errorf("%q is %g, %v, want %g", s, got, ok, want)
		}
	}
	for _, s := range []string{"3", "401", "much", "-300"} {
		if got, ok := InkOf(s); ok {
			t.Errorf("%q is taken for %g", s, got)
		}
	}
}

func TestAProfileIsToldWithWhatStandsIn(t *testing.T) {
	lines := FactLines(paper.Facts{Space: "CMYK", Channels: 4, TotalInk: 3, EightBit: true, White: cie.Lab{L: 95, A: -0.04, B: -2},
		Intents: []paper.IntentFacts{{Intent: "perceptual", Into: "B2A0"}, {Intent: "relative", Into: "B2A0", StandIn: true}, {Intent: "saturation", Into: "B2A2", SameAs: "perceptual"}}})
	got := map[string]string{}
	for _, l := range lines {
		if l.Means == "" {
			t.Errorf("%s is not explained", l.Name)
		}
		got[l.Name] = l.Value
	}
	for name, want := range map[string]string{
		"Paper’s white": "L* 95.0, a* 0.0, b* −2.0", "Total ink": "300 %", "Relative": "none of its own: the perceptual one stands in",
		"Saturation": "the same table as perceptual", "Perceptual": "its own table", "Gamut tag": "none; it is not needed",
		"Tables": "8 bits: differences of about 1 ΔE00 drown in their rounding",
	} {
		if got[name] != want {
			t.Errorf("%s: %q, want %q", name, got[name], want)
		}
	}
}

func TestEveryWordOnACardIsExplained(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Conditions() {
		m := ConditionMeans(c)
		if seen[m] || c != "" && !strings.HasPrefix(m, c+":") {
			t.Errorf("%q means %q", c, m)
		}
		seen[m] = true
	}
	if s := CardTrouble(paper.Card{Date: "soon"}); s != `The card's date is "soon", not a day such as 2006-01-02.` {
		t.Errorf("trouble: %s", s)
	}
	if s := CardTrouble(paper.Card{Date: "2025-01-31", BlackInk: "matte"}); s != "" {
		t.Errorf("no trouble, but: %s", s)
	}
}

func TestAFarFitIsNotPraised(t *testing.T) {
	good := ReportSentence(chart.Report{Table: chart.Spread{Mean: 0.3, Max: 1.2}})
	bad := ReportSentence(chart.Report{Table: chart.Spread{Mean: 8.6, Max: 48}})
	if strings.Contains(good, "far") || !strings.Contains(bad, "Look into it before you print") {
		t.Errorf("good: %s\nbad: %s", good, bad)
	}
}
