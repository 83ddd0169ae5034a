package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// pins are numbers as a person would pin them.
func pins() [][]float64 {
	return [][]float64{
		{200, 30, 40}, {194, 150, 130}, {98, 122, 157}, {70, 148, 73}, {214, 126, 44}, {128, 128, 128},
		{32, 32, 32}, {16, 20, 40}, {230, 220, 200}, {90, 60, 40}, {60, 40, 120}, {240, 240, 240},
	}
}

// observedFile writes a table of what was observed, as the command wants it.
func observedFile(t *testing.T, numbers, print [][]float64) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("pin,c1,c2,c3,L,a,b\n")
	for i, n := range numbers {
		fmt.Fprintf(&b, "pin %d,%g,%g,%g,%.4f,%.4f,%.4f\n", i+1, n[0], n[1], n[2], print[i][0], print[i][1], print[i][2])
	}
	return write(t, "observed.csv", b.String())
}

func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A print that the reference utility makes step by step: converted to pearl, then
// taken for sRGB and converted once more, as a driver does.
func TestCausesFindsASecondConversion(t *testing.T) {
	pearl := paperFile(t, "pearl", "")
	once := clipped(transicc(t, pins(), "-i", "*sRGB", "-o", pearl, "-t1", "-b"), 255)
	again := clipped(transicc(t, once, "-i", "*sRGB", "-o", pearl, "-t0"), 255)
	for want, device := range map[string][][]float64{"": once, "twice": again, "never": pins()} {
		print := transicc(t, device, "-i", pearl, "-o", "*Lab", "-t1")
		out := filepath.Join(t.TempDir(), "answer.json")
		mustBatch(t, "", "causes", "-source", "srgb", "-paper", "pearl", "-intent", "relative", "-bpc", "on",
			"-observed", observedFile(t, pins(), print), "-sigma", "1", "-json", out)
		var answer struct {
			Causes []struct {
				Slips       []string
				Probability float64
				MeanDE00    float64 `json:"mean_dE00"`
			}
			Tied [][]string
			Next string
		}
		data, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(data, &answer); err != nil {
			t.Fatal(err)
		}
		first := answer.Causes[0]
		if first.Slips == nil || strings.Join(first.Slips, ",") != want || first.Probability < 0.9 || first.MeanDE00 > 0.1 || answer.Next == "" {
			t.Errorf("%q: first %+v, next %q", want, first, answer.Next)
		}
		if !slices.IsSortedFunc(answer.Causes, func(a, b struct {
			Slips       []string
			Probability float64
			MeanDE00    float64 `json:"mean_dE00"`
		}) int {
			if a.Probability > b.Probability {
				return -1
			}
			return 1
		}) {
			t.Errorf("%q: causes are not sorted", want)
		}
		if !strings.Contains(string(data), `"tied": [`) {
			t.Errorf("%q: tied is no list", want)
		}
	}
}

// What cannot be a table of pins ends with one line that names the file and the
// reason, and leaves no answer behind.
func TestCausesRefusals(t *testing.T) {
	good := "pin,c1,c2,c3,L,a,b\n" + strings.Repeat("x,200,30,40,50,40,30\n", 6)
	for name, c := range map[string]struct {
		text, says string
	}{
		"few":     {"pin,c1,c2,c3,L,a,b\nx,1,2,3,50,0,0\n", "too few"},
		"empty":   {"\n", "empty"},
		"header":  {strings.Replace(good, "c3", "c9", 1), "no column c3"},
		"nan":     {strings.Replace(good, ",50,", ",NaN,", 1), "line 2"},
		"text":    {good + "x,200,red,40,50,40,30\n", "line 8"},
		"range":   {strings.Replace(good, "200", "300", 1), "300 is not between"},
		"nolab":   {strings.Replace(good, ",50,", ",500,", 1), "no colour of a print"},
		"columns": {good + "x,200\n", "line 8"},
	} {
		path := write(t, name+".csv", c.text)
		out := filepath.Join(t.TempDir(), "answer.json")
		code, _, errs := batch("", "causes", "-source", "srgb", "-paper", "pearl", "-observed", path, "-json", out)
		if code != failed || !strings.Contains(errs, path) || !strings.Contains(errs, c.says) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: exit %d, %s", name, code, errs)
		}
		if _, err := os.Stat(out); err == nil {
			t.Errorf("%s: an answer was written", name)
		}
	}
	path := write(t, "good.csv", good)
	for _, args := range [][]string{
		{"-paper", "pearl", "-observed", path}, {"-source", "srgb", "-observed", path}, {"-source", "srgb", "-paper", "pearl"},
		{"-source", "srgb", "-paper", "pearl", "-observed", path, "-sigma", "0"}, {"-source", "srgb", "-paper", "pearl", "-observed", path, "more"},
	} {
		if code, _, errs := batch("", append([]string{"causes"}, args...)...); code != misuse {
			t.Errorf("%q: exit %d, %s", args, code, errs)
		}
	}
	if code, _, errs := batch("", "causes", "-source", "srgb", "-paper", "nosuch", "-observed", path); code != failed || !strings.Contains(errs, "nosuch") {
		t.Errorf("no such paper: exit %d, %s", code, errs)
	}
}
