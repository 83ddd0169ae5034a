package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"firstsheet/proof/lcms"
	"firstsheet/proof/paper"
)

const (
	testdata = "../../testdata/cache/"
	profiles = testdata + "profiles/"
)

// TestMain keeps the tests out of the user's own folder of papers, and ends with
// nothing of the library left open.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "batch")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_CONFIG_HOME", dir)
	code := m.Run()
	if n := lcms.Live(); n != 0 && code == 0 {
		fmt.Fprintf(os.Stderr, "%d handles of the library are still open\n", n)
		code = 1
	}
	os.RemoveAll(dir)
	os.Exit(code)
}

// batch runs a command line in this process.
func batch(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = run(context.Background(), args, streams{strings.NewReader(stdin), &out, &errs})
	return code, out.String(), errs.String()
}

// mustBatch runs a command line that must work, and returns what it printed.
func mustBatch(t testing.TB, stdin string, args ...string) string {
	t.Helper()
	code, out, errs := batch(stdin, args...)
	if code != done || errs != "" {
		t.Fatalf("batch %s: exit %d, %s", strings.Join(args, " "), code, errs)
	}
	return out
}

// table is a CSV by columns; those of the colour itself are called c1, c2 and on.
type table map[string][]float64

func readTable(t testing.TB, text string) table {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := table{}
	for _, row := range rows[1:] {
		for i, name := range rows[0] {
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			out[name] = append(out[name], v)
		}
	}
	return out
}

// rows returns some columns row by row.
func (v table) rows(columns ...string) [][]float64 {
	var out [][]float64
	for i := range v[columns[0]] {
		var row []float64
		for _, c := range columns {
			row = append(row, v[c][i])
		}
		out = append(out, row)
	}
	return out
}

// inks returns the printer's numbers row by row, 0 to 1.
func (v table) inks(n int) [][]float64 {
	var columns []string
	for i := range n {
		columns = append(columns, fmt.Sprintf("D%d", i+1))
	}
	return v.rows(columns...)
}

// values runs the command of that name over colours.
func values(t testing.TB, colours [][]float64, args ...string) table {
	t.Helper()
	var in strings.Builder
	for _, c := range colours {
		for i, v := range c {
			if i > 0 {
				in.WriteByte(',')
			}
			in.WriteString(strconv.FormatFloat(v, 'f', -1, 64))
		}
		in.WriteByte('\n')
	}
	return readTable(t, mustBatch(t, in.String(), append([]string{"values"}, args...)...))
}

// paperFile writes a built-in paper's profile, or that of one of its wrong media
// settings, where a utility can read it.
func paperFile(t testing.TB, id, setting string) string {
	t.Helper()
	for _, p := range paper.All() {
		if p.ID != id {
			continue
		}
		data := p.Profile.Data()
		if setting != "" {
			s, ok := p.Setting(setting)
			if !ok {
				t.Fatalf("%s has no setting %s", id, setting)
			}
			data = s.Profile.Data()
		}
		path := filepath.Join(t.TempDir(), id+setting+".icc")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	t.Fatalf("no built-in paper %s", id)
	return ""
}

// transicc runs the reference utility of Little CMS (Debian: liblcms2-utils), one
// colour a line in and out, in floating point and without a precalculated link.
// Its numbers: RGB 0 to 255, inks 0 to 100, Lab as it is; four decimals.
func transicc(t testing.TB, colours [][]float64, args ...string) [][]float64 {
	t.Helper()
	var in strings.Builder
	for _, c := range colours {
		for i, v := range c {
			if i > 0 {
				in.WriteByte(' ')
			}
			in.WriteString(strconv.FormatFloat(v, 'f', 6, 64))
		}
		in.WriteByte('\n')
	}
	cmd := exec.Command("transicc", append([]string{"-n", "-c0"}, args...)...)
	cmd.Stdin = strings.NewReader(in.String())
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("transicc %v: %v %s (Debian package liblcms2-utils)", args, err, errs.String())
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != len(colours) {
		t.Fatalf("transicc %v answers %d lines for %d", args, len(lines), len(colours))
	}
	var result [][]float64
	for _, line := range lines {
		var row []float64
		for _, f := range strings.Fields(line) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatalf("transicc %v: %q", args, line)
			}
			row = append(row, v)
		}
		result = append(result, row)
	}
	return result
}

// worst returns the largest difference of two tables and where it is.
func worst(a, b [][]float64) (row int, difference float64) {
	if len(a) != len(b) {
		return -1, math.Inf(1)
	}
	for i := range a {
		if len(a[i]) != len(b[i]) {
			return i, math.Inf(1)
		}
		for k := range a[i] {
			if d := math.Abs(a[i][k] - b[i][k]); d > difference || math.IsNaN(d) {
				row, difference = i, d
			}
		}
	}
	return row, difference
}

func scaled(rows [][]float64, by float64) [][]float64 {
	out := make([][]float64, len(rows))
	for i, r := range rows {
		for _, v := range r {
			out[i] = append(out[i], v*by)
		}
	}
	return out
}

func clipped(rows [][]float64, top float64) [][]float64 {
	out := make([][]float64, len(rows))
	for i, r := range rows {
		for _, v := range r {
			out[i] = append(out[i], min(max(v, 0), top))
		}
	}
	return out
}
