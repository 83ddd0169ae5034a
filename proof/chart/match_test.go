package chart

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// sheet returns a small verification chart and its measurements as a program
// would save them: fields in the given order, rows by row.
func sheet(t *testing.T, fields string, rowOf func(i int, p Patch) string, keep func(i int) bool) (*Measurements, string) {
	t.Helper()
	tg, err := NewVerifyTarget(TargetOptions{})
	if err != nil {
		t.Fatal(err)
	}
	list := tg.List()
	var b strings.Builder
	b.WriteString("CGATS.17\nBEGIN_DATA_FORMAT\n" + fields + " LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n")
	for i, p := range list.Patches {
		if !keep(i) {
			continue
		}
		l := pearlInk.rgb(p.Device)
		row := []string{rowOf(i, p)}
		for _, v := range []float64{l.L, l.A, l.B} {
			row = append(row, trim(v))
		}
		b.WriteString(strings.Join(row, " ") + "\n")
	}
	b.WriteString("END_DATA\n")
	return list, b.String()
}

func trim(v float64) string {
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func TestReadAgainstMatchesByWhatThereIs(t *testing.T) {
	all := func(int) bool { return true }
	for name, c := range map[string]struct {
		fields string
		row    func(i int, p Patch) string
		keep   func(int) bool
		how    string
		left   int
	}{
		"device values rounded to percents": {"RGB_R RGB_G RGB_B", func(_ int, p Patch) string {
			return trim(float64(int(100*p.Device[0]+0.5))) + " " + trim(float64(int(100*p.Device[1]+0.5))) + " " + trim(float64(int(100*p.Device[2]+0.5)))
		}, all, "device values", 48},
		"location":                  {"SAMPLE_LOC", func(_ int, p Patch) string { return p.Loc }, func(i int) bool { return i%5 != 2 }, "location", 38},
		"identifier":                {"SAMPLE_ID", func(_ int, p Patch) string { return p.ID }, func(i int) bool { return i != 7 }, "identifier", 47},
		"location as an identifier": {"SAMPLE_ID", func(_ int, p Patch) string { return p.Loc }, all, "location", 48},
		"order alone":               {"SAMPLE_NOTE", func(int, Patch) string { return "x" }, all, "order", 48},
	} {
		list, text := sheet(t, c.fields, c.row, c.keep)
		ms, err := ReadAgainst(strings.NewReader(text), list, ReadOptions{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		notes := strings.Join(ms.Notes, " ")
		if len(ms.Patches) != c.left || !strings.Contains(notes, "matched by "+c.how) {
			t.Errorf("%s: %d patches, want %d by %s: %s", name, len(ms.Patches), c.left, c.how, notes)
		}
		if c.left < 48 && !strings.Contains(notes, "Not measured: ") {
			t.Errorf("%s: missing patches are not told: %s", name, notes)
		}
		for _, p := range ms.Patches {
			if d := cie.DeltaE76(p.Lab, pearlInk.rgb(p.Device)); d > 1e-3 || p.Loc == "" {
				t.Fatalf("%s: patch %s has the reading of another, %.2f off", name, p.Loc, d)
			}
		}
	}
}

func TestMatchRefusesAnotherChart(t *testing.T) {
	list, _ := sheet(t, "SAMPLE_ID", func(_ int, p Patch) string { return p.ID }, func(int) bool { return true })
	for name, c := range map[string]struct {
		ms   *Measurements
		says string
	}{
		"other patches": {measured(t, 150, pearlInk.rgb, 0), "another chart"},
		"other space":   {fogra(t, "TR002"), "CMYK"},
		"empty":         {&Measurements{}, "nothing to match"},
		// One row lost and nothing to tell which: never guess.
		"rows without names": {&Measurements{Patches: make([]Patch, 47), numbered: true}, "can't be matched"},
	} {
		_, err := Match(list, c.ms)
		var f *FormatError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want a *FormatError with %q", name, err, c.says)
		}
	}
	if _, err := ReadAgainst(strings.NewReader("BEGIN_DATA_FORMAT\nA B\nEND_DATA_FORMAT\nBEGIN_DATA\n1 2\nEND_DATA\n"), list, ReadOptions{}); err == nil {
		t.Error("a file without colour was matched")
	}
}

// allWithAll is the matching by device values as it is defined: each of the list in turn
// takes the nearest of all that are left, the first of equals.
func allWithAll(list, measured []Patch) []int {
	left := make([]bool, len(measured))
	pairs := make([]int, len(list))
	for i, p := range list {
		pairs[i] = -1
		best := sameDevice
		for j, q := range measured {
			if d := farDevice(p.Device, q.Device); !left[j] && d < best {
				best, pairs[i] = d, j
			}
		}
		if pairs[i] >= 0 {
			left[pairs[i]] = true
		}
	}
	return pairs
}

// randomPatches have device values on a coarse lattice, many of them several times, as
// the measured ones rounded to whole percents.
func randomPatches(n, channels int, round bool, from *rand.Rand) []Patch {
	out := make([]Patch, n)
	for i := range out {
		out[i].Device = make([]float64, channels)
		for k := range out[i].Device {
			v := float64(from.IntN(9)) / 8
			if round {
				v = float64(int(100*v+0.5)) / 100
			}
			out[i].Device[k] = v
		}
	}
	return out
}

func TestMatchingByCellsIsThatOfAllWithAll(t *testing.T) {
	from := rand.New(rand.NewPCG(1, 2))
	for channels := 1; channels <= 5; channels++ {
		for range 20 {
			list, measured := randomPatches(300, channels, false, from), randomPatches(250, channels, true, from)
			for j := range measured {
				measured[j].ID = fmt.Sprint("measured ", j) // none is called like one of the list
				measured[j].Device[0] += (from.Float64() - 0.5) * sameDevice
			}
			want, got := allWithAll(list, measured), byDevice(list, measured)
			if !slices.Equal(got, want) {
				t.Fatalf("%d channels: %v, want %v", channels, got, want)
			}
		}
	}
}

func BenchmarkMatch(b *testing.B) {
	from := rand.New(rand.NewPCG(1, 2))
	list, measured := make([]Patch, MaxRows), make([]Patch, MaxRows)
	for i := range list {
		list[i] = Patch{ID: fmt.Sprint(i), Device: []float64{from.Float64(), from.Float64(), from.Float64()}}
		measured[i] = Patch{ID: fmt.Sprint("row ", i), Device: list[i].Device}
	}
	b.Run("cells", func(b *testing.B) {
		for b.Loop() {
			byDevice(list, measured)
		}
	})
	b.Run("all with all", func(b *testing.B) {
		for b.Loop() {
			allWithAll(list, measured)
		}
	})
}
