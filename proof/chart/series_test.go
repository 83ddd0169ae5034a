package chart

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
)

// page is a verification chart as the built-in pearl's profile says it prints, in a file; change
// alters readings, created is the day that the file says.
func page(t *testing.T, created string, change func(p *Patch)) (path string, ms *Measurements, data []byte) {
	t.Helper()
	target, err := NewVerifyTarget(TargetOptions{Patches: 48})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range paper.All() {
		if p.ID == "pearl" {
			data = p.Profile.Data()
		}
	}
	says, err := NewPrediction(data)
	if err != nil {
		t.Fatal(err)
	}
	defer says.Close()
	ms = target.List()
	ms.Condition, ms.Created = "M1", created
	for i := range ms.Patches {
		p := &ms.Patches[i]
		if p.Lab, err = says.Lab(p.Device); err != nil {
			t.Fatal(err)
		}
		if change != nil {
			change(p)
		}
	}
	var b bytes.Buffer
	if err := WriteTables(&b, ms.Table()); err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), "m.txt")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path, ms, data
}

// darker takes L* down by so much that the mid tones are that many ΔE00 darker: a press
// that lays on more ink.
func darker(deltaE00 float64) func(*Patch) {
	return func(p *Patch) {
		if p.Lab.L > 90 {
			return // the bare sheet stays as it is
		}
		to := p.Lab
		for cie.DeltaE00(p.Lab, to) < deltaE00 && to.L > 0 {
			to.L -= 0.01
		}
		p.Lab = to
	}
}

// A press that has darkened by 1.5 ΔE00 between two readings must not be told as one
// that stands still: each reading is judged alone.
func TestASecondReadingIsNeverMerged(t *testing.T) {
	then, _, data := page(t, "2025-03-01", nil)
	now, _, _ := page(t, "2025-09-01", darker(1.5))
	list, err := Sheets{Paths: []string{then, now}}.Readings()
	if err != nil || len(list) != 2 {
		t.Fatalf("%d readings, %v", len(list), err)
	}
	if list[0].Day != "2025-03-01" || list[1].Day != "2025-09-01" || len(list[0].Measurements.Patches) != 48 || len(list[1].Measurements.Patches) != 48 {
		t.Errorf("days %s and %s, %d and %d patches", list[0].Day, list[1].Day, len(list[0].Measurements.Patches), len(list[1].Measurements.Patches))
	}
	v, err := VerifyProfile(data, list[1].Measurements)
	if err != nil {
		t.Fatal(err)
	}
	if v.All.Mean < 1.3 || v.All.Mean > 1.5 {
		t.Errorf("the second reading is %.2f ΔE00 from the profile, want 1.5 less the bare sheets", v.All.Mean)
	}
	since, err := SinceProfile(data, list[0].Measurements, list[1].Measurements, list[0].Day)
	if err != nil {
		t.Fatal(err)
	}
	told := strings.Join(since.Sentences, " ")
	if !strings.Contains(told, "from the reading of 2025-03-01") || !strings.Contains(told, "The mid tones have become") || !strings.Contains(told, "darker") || strings.Contains(told, "No hue and no tone") {
		t.Errorf("told: %s", told)
	}
}

// Pages of one chart belong together, two readings of two pages are two readings.
func TestPagesAndReadingsAreToldApart(t *testing.T) {
	path, ms, _ := page(t, "2025-03-01", nil)
	half := func(from, to int, created string) string {
		part := *ms
		part.Created, part.Patches = created, ms.Patches[from:to]
		var b bytes.Buffer
		if err := WriteTables(&b, part.Table()); err != nil {
			t.Fatal(err)
		}
		return put(t, b.String())
	}
	a1, a2 := half(0, 24, "2025-03-01"), half(24, 48, "2025-03-02")
	b1, b2 := half(0, 24, "2025-04-01"), half(24, 48, "2025-04-01")
	list, err := Sheets{Paths: []string{a1, b1, a2, b2}}.Readings()
	if err != nil || len(list) != 2 {
		t.Fatalf("%d readings, %v", len(list), err)
	}
	for i, want := range []string{"2025-03-02 [" + a1 + " " + a2 + "] 48", "2025-04-01 [" + b1 + " " + b2 + "] 48"} {
		if got := fmt.Sprintf("%s %v %d", list[i].Day, list[i].Paths, len(list[i].Measurements.Patches)); got != want {
			t.Errorf("reading %d: %s, want %s", i, got, want)
		}
	}

	// One file with every place twice holds two readings.
	twice := *ms
	twice.Patches = append(append([]Patch{}, ms.Patches...), ms.Patches...)
	var b bytes.Buffer
	if err := WriteTables(&b, twice.Table()); err != nil {
		t.Fatal(err)
	}
	if list, err = (Sheets{Paths: []string{put(t, b.String())}}).Readings(); err != nil || len(list) != 2 {
		t.Errorf("every place twice: %d readings, %v", len(list), err)
	}
	// Pages without names begin with row 1 each; that is no repetition.
	bare := "RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"
	one := put(t, cgats(bare, "255 255 255 95 0 0", "0 0 0 5 0 0", "255 0 0 50 70 50"))
	two := put(t, cgats(bare, "255 255 255 95 0 0", "0 255 0 60 -60 40", "0 0 255 30 20 -50"))
	if list, err = (Sheets{Paths: []string{one, two}}).Readings(); err != nil || len(list) != 1 || len(list[0].Measurements.Patches) != 6 {
		t.Errorf("pages without names: %d readings, %v", len(list), err)
	}
	if list, err = (Sheets{Paths: []string{one, one}}).Readings(); err != nil || len(list) != 2 {
		t.Errorf("one page without names, twice: %d readings, %v", len(list), err)
	}
	_ = path
}

func TestTheDayOfAReading(t *testing.T) {
	old := put(t, "x")
	if err := os.Chtimes(old, time.Time{}, time.Date(2019, 5, 4, 12, 0, 0, 0, time.Local)); err != nil {
		t.Fatal(err)
	}
	for created, want := range map[string]string{
		"2025-03-01": "2025-03-01", "2025-03-01T10:11:12Z": "2025-03-01", "Thu Apr  3 09:08:07 2025": "2025-04-03",
		"April 3, 2025": "2025-04-03", "3.4.2025": "2025-04-03", "03.04.2025": "2025-04-03",
		"4/3/25": "2019-05-04", "": "2019-05-04", // in which order the numbers are is not known
	} {
		if got := dayOf(created, old); got != want {
			t.Errorf("dayOf(%q) = %s, want %s", created, got, want)
		}
	}
}

func TestTheMeanOfReadings(t *testing.T) {
	_, a, _ := page(t, "2025-03-01", nil)
	_, b, _ := page(t, "2025-03-01", func(p *Patch) { p.Lab.L -= 1 })
	b.Patches = b.Patches[:40]
	m, apart, err := Mean([]*Measurements{a, b})
	if err != nil || len(m.Patches) != 40 || len(a.Patches) != 48 {
		t.Fatalf("%d patches, %v", len(m.Patches), err)
	}
	for i, p := range m.Patches {
		if want := a.Patches[i].Lab.L - 0.5; math.Abs(p.Lab.L-want) > 1e-9 || p.Lab.A != a.Patches[i].Lab.A {
			t.Fatalf("%s: %v, want L* %.2f", p.Place(), p.Lab, want)
		}
	}
	if apart.Count != 80 || apart.Mean < 0.25 || apart.Mean > 0.5 {
		t.Errorf("apart by %+v, want half of 1 L*, less where L* weighs less", apart)
	}
	if told := strings.Join(m.Notes, " "); !strings.Contains(told, "mean of 2 readings") || !strings.Contains(told, "8 places") {
		t.Errorf("told: %s", told)
	}
	b.Patches = b.Patches[:9]
	var form *FormatError
	if _, _, err := Mean([]*Measurements{a, b}); !errors.As(err, &form) {
		t.Errorf("of nine places: %v", err)
	}
}

// What is noted of a reading is all of it: read back it verifies to the same figures, and
// a reading of old, of which only figures were noted, stands with those.
func TestASeriesIsVerifiedAnew(t *testing.T) {
	_, ms, data := page(t, "2025-03-01", darker(1))
	v, err := VerifyProfile(data, ms)
	if err != nil {
		t.Fatal(err)
	}
	r := Noted(ms, v, "2025-03-01", 0)
	dir := t.TempDir()
	l := paper.Open(dir)
	if _, err := l.AddReading("pearl", r); err != nil {
		t.Fatal(err)
	}
	if _, err := l.AddReading("pearl", paper.Reading{Date: "2024-01-01", Patches: 30, Mean: 0.7, P95: 1.2, Max: 2}); err != nil {
		t.Fatal(err)
	}
	noted, err := paper.Open(dir).Readings("pearl")
	if err != nil {
		t.Fatal(err)
	}
	list := Series(data, noted)
	if len(list) != 2 || list[0].Measurements != nil || list[0].Found.All != (Spread{30, 0.7, 1.2, 2}) || len(list[0].Found.ByTone) != 0 {
		t.Fatalf("%+v", list)
	}
	got := list[1].Found
	if got.All != v.All || len(got.ByTone) != len(v.ByTone) || len(got.ByHue) != len(v.ByHue) || strings.Join(got.Sentences, "") != strings.Join(v.Sentences, "") {
		t.Errorf("verified anew: %+v, want %+v", got.All, v.All)
	}
	other := *ms
	other.Patches = other.Patches[:5]
	var form *FormatError
	if _, err := SinceProfile(data, &other, ms, "2025-03-01"); !errors.As(err, &form) {
		t.Errorf("sharing five places: %v", err)
	}
}
