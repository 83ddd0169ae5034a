package main

import (
	"bytes"
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestTheTableIsTrue computes the table anew and compares. Another version of
// Little CMS may round a figure the other way, hence one unit of room.
func TestTheTableIsTrue(t *testing.T) {
	kept, err := os.ReadFile("../SHIFTS.md")
	if err != nil {
		t.Fatal(err)
	}
	var fresh bytes.Buffer
	if err := write(&fresh); err != nil {
		t.Fatal(err)
	}
	got, want := strings.Fields(fresh.String()), strings.Fields(string(kept))
	if len(got) != len(want) {
		t.Fatalf("%d words, the kept table has %d: run go run ./proof/slip/shifts > proof/slip/SHIFTS.md", len(got), len(want))
	}
	for i := range got {
		a, aOK := figure(got[i])
		b, bOK := figure(want[i])
		if aOK != bOK || aOK && (a-b > 1 || b-a > 1) || !aOK && got[i] != want[i] {
			t.Errorf("word %d is %q, the kept table has %q: run go run ./proof/slip/shifts > proof/slip/SHIFTS.md", i, got[i], want[i])
		}
	}
}

func figure(word string) (int, bool) {
	v, err := strconv.Atoi(strings.TrimRight(word, "°,"))
	return v, err == nil
}

// The print-maker's complaint, common practice without a source: wide-gamut numbers
// that lose their meaning turn reds to orange, leaves to yellow and skin sallow, all
// duller. The table must show it on the papers that reach the shirt.
func TestWideGamutNumbersThatLoseTheirMeaning(t *testing.T) {
	var table bytes.Buffer
	if err := write(&table); err != nil {
		t.Fatal(err)
	}
	rows := 0
	section := ""
	for _, line := range strings.Split(table.String(), "\n") {
		if name, ok := strings.CutPrefix(line, "## "); ok {
			section = name
		}
		never := strings.HasPrefix(line, "| never converted")
		if !never && !strings.HasPrefix(line, "| wrong source space") {
			continue
		}
		rows++
		cells := strings.Split(line, "|")
		turn := func(cell int) int {
			hue, _, _ := strings.Cut(strings.TrimSpace(cells[cell]), ",")
			v, ok := figure(hue)
			if !ok {
				t.Fatalf("%s: no hue in %q", section, cells[cell])
			}
			return v
		}
		shirt, leaf, cheek := turn(2), turn(3), turn(5)
		least := -1 // matte papers clip the shirt towards pink first
		if never {
			least = 6
		} else if section == "Pearl" || section == "Gloss" {
			least = 4
		}
		if shirt < least || leaf >= 0 || cheek < 6 {
			t.Errorf("%s, %s: shirt %+d, leaf %+d, light cheek %+d degrees", section, cells[1], shirt, leaf, cheek)
		}
	}
	if rows != 8 {
		t.Errorf("%d rows looked at, want two on each of four papers", rows)
	}
}
