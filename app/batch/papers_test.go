package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
	"firstsheet/proof/rank"
)

func TestPapers(t *testing.T) {
	library := t.TempDir()
	added, err := paper.Open(library).Add(profiles + "ISOcoated_v2_300_bas.icc")
	if err != nil {
		t.Fatal(err)
	}
	broken := filepath.Join(library, "broken.icc")
	if err := os.WriteFile(broken, []byte("broken"), 0o600); err != nil {
		t.Fatal(err)
	}
	written := filepath.Join(t.TempDir(), "new", "folder")
	out := mustBatch(t, "", "papers", "-json", "-library", library, "-write", written)
	var list struct {
		Papers   []described
		Problems []struct{ Path, Reason string }
	}
	if err := json.Unmarshal([]byte(out), &list); err != nil {
		t.Fatal(err)
	}
	if len(list.Papers) != len(paper.All())+1 || len(list.Problems) != 1 || list.Problems[0].Path != broken {
		t.Errorf("%d papers, problems %+v", len(list.Papers), list.Problems)
	}
	last := list.Papers[len(list.Papers)-1]
	if last.ID != added.ID || last.Builtin || last.TotalInk < 2.5 || last.TotalInk > 3.05 || math.Abs(last.White[0]-95) > 0.1 {
		t.Errorf("the added paper is listed as %+v", last)
	}
	for _, p := range paper.All() {
		path := filepath.Join(written, p.ID+".icc")
		data, err := os.ReadFile(path)
		if err != nil || !bytes.Equal(data, p.Profile.Data()) {
			t.Errorf("%s: %v", path, err)
		}
		// What was written serves as a file like the paper itself.
		one := [][]float64{{200, 30, 40}}
		a := values(t, one, "-source", "srgb", "-paper", p.ID, "-library", library)
		b := values(t, one, "-source", "srgb", "-paper", path)
		if _, d := worst(a.rows("L", "a", "b"), b.rows("L", "a", "b")); d != 0 {
			t.Errorf("%s from the file differs by %g", p.ID, d)
		}
	}
	if left := snapshot(t, written); len(left) != len(paper.All()) {
		t.Errorf("left %v", left)
	}
	text := mustBatch(t, "", "papers", "-library", library)
	for _, want := range []string{"pearl", added.ID, "total ink 300 %", "cannot be used: " + broken} {
		if !strings.Contains(text, want) {
			t.Errorf("the list does not say %q:\n%s", want, text)
		}
	}
	// An added paper is called by its ID.
	values(t, [][]float64{{1, 2, 3}}, "-source", "srgb", "-paper", added.ID, "-library", library)
	code, _, errs := batch("", "papers", "-write", filepath.Join(broken, "x"))
	if code != failed || !strings.Contains(errs, broken) {
		t.Errorf("writing below a file: exit %d, %q", code, errs)
	}
}

// A chart is made, 'printed' and 'measured' by the reference utility on a known
// paper, a profile is built from that, and both papers print alike.
func TestChartToProfile(t *testing.T) {
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	pearl := paperFile(t, "pearl", "")
	mustBatch(t, "", "target", "-out", file("chart"), "-patches", "250", "-page", "letter", "-name", "trial", "-ppi", "72")
	list := file("chart/trial-patches.txt")
	for _, name := range []string{"trial-patches.txt", "trial-read-me.txt", "trial-page-1.png"} {
		if info, err := os.Stat(file("chart/" + name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	measured := file("measured.txt")
	measure(t, list, measured, pearl)
	out, report := file("built.icc"), file("report.json")
	text := mustBatch(t, "", "build", "-measured", measured, "-list", list, "-name", "Built from a chart", "-out", out,
		"-out4", file("built4.icc"), "-report", report, "-forward", "17", "-inverse", "17")
	if !strings.Contains(text, "Built from a chart: 250 of 250 patches used") {
		t.Errorf("%s", text)
	}
	var r chart.Report
	data, err := os.ReadFile(report)
	if err == nil {
		err = json.Unmarshal(data, &r)
	}
	if err != nil || r.Fit.Patches != 250 || r.Table.Mean > 0.5 {
		t.Errorf("report %+v, %v", r, err)
	}
	// Numbers sent as they are look alike on both.
	all := colours()
	for _, built := range []string{out, file("built4.icc")} {
		got := values(t, all, "-source", "srgb", "-paper", built, "-slip", "never", "-white", "paper")
		want := values(t, all, "-source", "srgb", "-paper", "pearl", "-slip", "never", "-white", "paper")
		var sum float64
		for i := range all {
			sum += math.Sqrt(square(got["L"][i]-want["L"][i]) + square(got["a"][i]-want["a"][i]) + square(got["b"][i]-want["b"][i]))
		}
		// 250 patches are few for a profile; they fix it to about one ΔE.
		if mean := sum / float64(len(all)); mean > 1.5 {
			t.Errorf("%s prints %.2f ΔE76 apart from the paper it was measured from", built, mean)
		}
	}
	for _, failing := range [][]string{
		{"-out", file("none/x.icc")}, {"-out", file("x.txt")}, {"-out", file("x.icc"), "-name", "two\nlines"}, {"-out", measured + ".icc", "-ink", "900"},
		{"-out", file("x.icc"), "-scale", "7"}, {"-out", file("x.icc"), "-ink", "250"},
	} {
		before := snapshot(t, dir)
		code, _, errs := batch("", append([]string{"build", "-measured", measured, "-name", "x", "-forward", "9", "-inverse", "9"}, failing...)...)
		if code == done || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: exit %d, %q", failing, code, errs)
		}
		if after := snapshot(t, dir); len(after) != len(before) {
			t.Errorf("%v: left %v", failing, after)
		}
	}
}

func square(v float64) float64 { return v * v }

// measure writes what the reference utility says that the numbers of a patch list
// look like on a paper, as an instrument would: Lab, two decimals.
func measure(t *testing.T, list, out, profile string) {
	t.Helper()
	f, err := os.Open(list)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	patches, err := chart.ReadList(f, chart.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var numbers [][]float64
	for _, p := range patches.Patches {
		numbers = append(numbers, []float64{p.Device[0] * 255, p.Device[1] * 255, p.Device[2] * 255})
	}
	labs := transicc(t, numbers, "-i", profile, "-o", "*Lab", "-t3")
	var b strings.Builder
	b.WriteString("CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n")
	for i, p := range patches.Patches {
		fmt.Fprintf(&b, "%s %.0f %.0f %.0f %.2f %.2f %.2f\n", p.ID, numbers[i][0], numbers[i][1], numbers[i][2], labs[i][0], labs[i][1], labs[i][2])
	}
	b.WriteString("END_DATA\n")
	if err := os.WriteFile(out, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
}

// A sheet that prints as its profile says has no drift; one printed under a wrong
// media setting has.
func TestVerify(t *testing.T) {
	dir := t.TempDir()
	mustBatch(t, "", "target", "-verify", "-out", dir, "-ppi", "72")
	list, measured, report := filepath.Join(dir, "verify-patches.txt"), filepath.Join(dir, "measured.txt"), filepath.Join(dir, "report.json")
	verified := func() chart.Verification {
		text := mustBatch(t, "", "verify", "-measured", measured, "-list", list, "-paper", "pearl", "-report", report)
		var v chart.Verification
		data, err := os.ReadFile(report)
		if err == nil {
			err = json.Unmarshal(data, &v)
		}
		if err != nil || !strings.Contains(text, v.Sentences[0]) {
			t.Fatalf("%v: %s", err, text)
		}
		return v
	}
	measure(t, list, measured, paperFile(t, "pearl", ""))
	if v := verified(); v.All.Count != 48 || v.All.Max > 0.05 || len(v.Sentences) != 2 {
		t.Errorf("as it should be: %+v, %q", v.All, v.Sentences)
	}
	measure(t, list, measured, paperFile(t, "pearl", "matte"))
	if v := verified(); v.All.Mean < 1 || len(v.Sentences) < 2 {
		t.Errorf("under a wrong media setting: %+v, %q", v.All, v.Sentences)
	}
	code, _, errs := batch("", "verify", "-measured", measured, "-paper", profiles+"cmyk.icc")
	if code != failed || !strings.Contains(errs, measured) {
		t.Errorf("on a paper of four inks: exit %d, %q", code, errs)
	}

	// Two readings at once are told one by one, noted, and listed by date.
	right := filepath.Join(dir, "right.txt")
	measure(t, list, right, paperFile(t, "pearl", ""))
	at := func(args ...string) string {
		return mustBatch(t, "", append(args, "-library", dir, "-paper", "pearl")...)
	}
	text := at("verify", "-measured", right, "-measured", measured, "-list", list, "-keep", "-day", "2025-03-01")
	if strings.Contains(text, "-0.0") || strings.Contains(text, "+0.0") {
		t.Errorf("a nought with a sign: %s", text)
	}
	if n := strings.Count(text, "Reading of 2025-03-01"); n != 2 {
		t.Errorf("two readings are told %d times: %s", n, text)
	}
	text = at("verify", "-measured", measured, "-list", list, "-since", "2025-03-31", "-day", "2025-04-01", "-keep")
	if !strings.Contains(text, "48 patches are 0.0 ΔE00 from the reading of 2025-03-01") {
		t.Errorf("the same page since the last reading: %s", text)
	}
	if text = at("verify", "-measured", right, "-measured", measured, "-list", list, "-mean", "-day", "2025-03-01"); !strings.Contains(text, "mean of 2 readings") {
		t.Errorf("their mean: %s", text)
	}
	if text = at("drift"); strings.Count(text, "2025-03-01  48 patches") != 2 || strings.Count(text, "2025-04-01  48 patches") != 1 {
		t.Errorf("the series: %s", text)
	}
	for _, line := range [][]string{
		{"verify", "-measured", right, "-keep", "-library", dir, "-paper", profiles + "cmyk.icc"}, {"drift", "-paper", profiles + "cmyk.icc"},
	} {
		if code, out, errs := batch("", line...); code != failed || out != "" || !strings.Contains(errs, "is a file and none of the papers") {
			t.Errorf("batch %q ends with %d: %s%s", line, code, out, errs)
		}
	}
	for _, bad := range [][]string{
		{"build", "-measured", right, "-measured", measured, "-list", list, "-name", "x", "-out", filepath.Join(dir, "x.icc")},
		{"verify", "-measured", right, "-paper", "pearl", "-since", "2024-01-01", "-library", dir},
	} {
		if code, _, errs := batch("", bad...); code != failed || errs == "" {
			t.Errorf("batch %q ends with %d: %s", bad, code, errs)
		}
	}
}

func TestRank(t *testing.T) {
	dir := t.TempDir()
	out, pins := filepath.Join(dir, "rank.json"), filepath.Join(dir, "pins.json")
	if err := os.WriteFile(pins, []byte(`[{"name":"middle","x":0.5,"y":0.5,"radius":0.02}]`), 0o600); err != nil {
		t.Fatal(err)
	}
	text := mustBatch(t, "", "rank", photos+"small_rec2020_linear16.png", "-papers", "washi,pearl", "-pins", pins, "-json", out)
	var r rankReport
	data, err := os.ReadFile(out)
	if err == nil {
		err = json.Unmarshal(data, &r)
	}
	if err != nil {
		t.Fatal(err)
	}
	// The two papers' perceptual ways print the same with compensation and without.
	if len(r.Order) != 6 || r.Reason == "" || !strings.Contains(text, r.Reason) || len(r.Refused) != 0 || len(r.Rule) == 0 || len(r.Why) == 0 || r.Source.Origin != "embedded in the file" {
		t.Errorf("%d ways, %+v", len(r.Order), r)
	}
	if len(r.Order[0].Figures.Pins) != 1 || !strings.Contains(text, "1. ") {
		t.Errorf("%s", text)
	}
	// The figures are those of the proof.
	figures := filepath.Join(dir, "f.json")
	for _, p := range r.Order {
		if p.Paper != "Pearl" || p.Intent != "relative colorimetric" || !p.Compensation {
			continue
		}
		mustBatch(t, "", "proof", photos+"small_rec2020_linear16.png", "-paper", "pearl", "-figures", figures)
		if f := readReport(t, figures); math.Abs(f.Figures.Mean-p.Figures.Mean) > 0.1 || math.Abs(f.Figures.Darker-p.Figures.Darker) > 0.03 {
			t.Errorf("ranked by %+v, proofed with %+v", p.Figures, f.Figures)
		}
	}
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{photos + "none.png", "-papers", "pearl"}, "none.png"},
		{[]string{photos + "p3_red.png", "-papers", "pearl,nosuch"}, "nosuch"},
		{[]string{photos + "small_rec709_v4_16.png", "-papers", "pearl", "-pins", out}, out},
		{[]string{photos + "small_rec709_v4_16.png", "-papers", "pearl", "-json", filepath.Join(dir, "none", "x")}, "none"},
	} {
		code, _, errs := batch("", append([]string{"rank"}, c.args...)...)
		if code != failed || !strings.Contains(errs, c.says) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: exit %d, %q", c.args, code, errs)
		}
	}
}

// What is named twice would be ranked beside itself.
func TestRankTakesEachWayOnce(t *testing.T) {
	for _, args := range [][]string{{"-papers", "pearl,pearl"}, {"-papers", "pearl", "-intents", "relative,relative"}, {"-papers", "pearl", "-bpc", "on,on"}} {
		code, _, errs := batch("", append([]string{"rank", photos + "small_rec709_v4_16.png"}, args...)...)
		if code != misuse || !strings.Contains(errs, "twice") {
			t.Errorf("%v: exit %d, %q", args, code, errs)
		}
	}
}

// Several photographs are ranked together; one that fails is named and ends with 1.
func TestRankTogether(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "rank.json")
	small := []string{photos + "small_rec2020_linear16.png", photos + "small_rec709_v4_16.png"}
	args := append([]string{"rank", "-papers", "washi,pearl", "-json", out}, small...)
	text := mustBatch(t, "", args...)
	var r togetherReport
	data, err := os.ReadFile(out)
	if err == nil {
		err = json.Unmarshal(data, &r)
	}
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Pictures) != 2 || len(r.Portfolio.Order) != 2 || len(r.Portfolio.Order[0].Pictures) != 2 || r.Reason == "" || !strings.Contains(text, r.Reason) {
		t.Fatalf("%+v", r)
	}
	// Each stands in the best way of its own ranking.
	for i, p := range r.Pictures {
		for _, paper := range r.Portfolio.Order {
			first := slices.IndexFunc(p.Order, func(x rank.Place) bool { return x.Candidate.Paper == paper.Name })
			if first < 0 || paper.Pictures[i].Way == nil || paper.Pictures[i].Way.ID != p.Order[first].ID {
				t.Errorf("%s on %s: %+v", p.Path, paper.Name, paper.Pictures[i].Way)
			}
		}
	}
	code, text, errs := batch("", append(args, filepath.Join(dir, "gone.png"))...)
	if code != failed || !strings.Contains(errs, "gone.png") || !strings.Contains(text, r.Reason) {
		t.Errorf("exit %d, %q, %q", code, text, errs)
	}
}
