package chart

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

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

// single reads what is to be one reading.
func single(s Sheets) (*Measurements, error) {
	list, err := s.Readings()
	if err != nil {
		return nil, err
	}
	if len(list) != 1 {
		return nil, fmt.Errorf("%d readings", len(list))
	}
	return list[0].Measurements, nil
}

func TestSeveralFilesAreOneChart(t *testing.T) {
	one := put(t, cgats(rgbFields, "1 1A01 255 255 255 95 0 -2", "2 1A02 0 0 0 5 0 0"))
	two := put(t, cgats(rgbFields, "3 2A01 255 0 0 50 70 50", "4 2A02 0 255 0 60 -60 40"))
	ms, err := single(Sheets{Paths: []string{one, two}})
	if err != nil || len(ms.Patches) != 4 || ms.Patches[3].Place() != "2A02" {
		t.Fatalf("%v, %v", ms, err)
	}
	if got := Summary(ms); got != "4 patches, printed RGB numbers" {
		t.Errorf("told: %s", got)
	}
	list := put(t, cgats("SAMPLE_ID SAMPLE_LOC RGB_R RGB_G RGB_B", "1 X1 0 255 0", "2 X2 255 0 0", "3 X3 0 0 0", "4 X4 255 255 255"))
	ms, err = single(Sheets{Paths: []string{one, two}, List: list})
	if err != nil || ms.Patches[0].Place() != "X1" || ms.Patches[0].Lab != (cie.Lab{L: 60, A: -60, B: 40}) {
		t.Errorf("against a list: %+v, %v", ms, err)
	}
	less := Without(ms, []Suspect{{Place: "X2", ID: ms.Patches[1].ID, Line: ms.Patches[1].Line}})
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
		ms, err := single(c.sheets)
		var f *Fault
		if ms != nil || !errors.As(err, &f) || c.path != "" && f.Path != c.path || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%v: %v, %v", c.sheets, ms, err)
		}
	}
}

// The package's name stands once, whoever found the fault.
func TestAFaultNamesThePackageOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "empty.txt")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Sheets{Paths: []string{path}}.Readings()
	if want := "chart: " + path + ": it has 0 bytes"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}
