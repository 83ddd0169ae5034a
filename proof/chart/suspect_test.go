package chart

import (
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// reading is a sound reading of 400 patches, 21 in a row.
func reading(t *testing.T) *Measurements { return measured(t, 400, pearlInk.rgb, 0.3) }

// row returns the indices of a row's patches.
func row(t *testing.T, ms *Measurements, name string) []int {
	t.Helper()
	names, rows := sheetRows(ms.Patches)
	for i, n := range names {
		if n == name {
			return rows[i]
		}
	}
	t.Fatalf("no row %s among %v", name, names)
	return nil
}

func swap(ms *Measurements, i, j int) {
	ms.Patches[i].Lab, ms.Patches[j].Lab = ms.Patches[j].Lab, ms.Patches[i].Lab
}

func TestSuspectsAreNamedByPlace(t *testing.T) {
	ms := reading(t)
	p := ms.Patches
	// One smudge, one patch read twice, one pair exchanged, a row exchanged
	// with another.
	p[30].Lab.L += 14
	p[31].Lab = p[32].Lab
	swap(ms, 200, 230)
	a, b := row(t, ms, "1E"), row(t, ms, "1H")
	for i := range a {
		swap(ms, a[i], b[i])
	}
	m := fit(t, ms)
	r := m.Report()
	got := map[string]Suspect{}
	for _, s := range r.Suspects {
		got[s.Place] = s
	}
	for _, c := range []struct{ place, kind, says string }{
		{p[30].Loc, MisRead, "measure it again"},
		{p[200].Loc, Exchanged, p[230].Loc},
		{p[230].Loc, Exchanged, p[200].Loc},
		{p[a[3]].Loc, Exchanged, "row 1E, whose readings belong to row 1H"},
		{p[b[3]].Loc, Exchanged, "row 1H, whose readings belong to row 1E"},
	} {
		if s := got[c.place]; s.Kind != c.kind || !strings.Contains(s.Text, c.says) {
			t.Errorf("%s: kind %q, text %q, want %q with %q", c.place, s.Kind, s.Text, c.kind, c.says)
		}
	}
	if s := got[p[31].Loc]; s.Kind != Repeated || !strings.Contains(s.Text, p[32].Loc) {
		t.Errorf("%s: kind %q, text %q, want repeated of %s", p[31].Loc, s.Kind, s.Text, p[32].Loc)
	}
	// No more than those: exchanged patches that are alike by chance stay in.
	if n := len(r.Suspects); n > 4+len(a)+len(b) {
		t.Errorf("%d suspects, want at most %d", n, 4+len(a)+len(b))
	}
	if len(r.Orders) > 0 {
		t.Errorf("the whole order is suspected: %v", r.Orders)
	}
	if s := against(m, pearlInk.rgb); s.Mean > 0.4 {
		t.Errorf("with the suspects set aside the model is %.3f ΔE00 off in the mean, want at most 0.4", s.Mean)
	}
	for i := 1; i < len(r.Suspects); i++ {
		if r.Suspects[i].DeltaE00 > r.Suspects[i-1].DeltaE00 {
			t.Fatal("suspects are not listed worst first")
		}
	}
}

func TestDisplacedRows(t *testing.T) {
	ms := reading(t)
	back, along := row(t, ms, "1D"), row(t, ms, "1K")
	for i := range len(back) / 2 {
		swap(ms, back[i], back[len(back)-1-i])
	}
	for i := len(along) - 1; i > 0; i-- { // the first was read twice, the last never
		ms.Patches[along[i]].Lab = ms.Patches[along[i-1]].Lab
	}
	text := ""
	for _, s := range fit(t, ms).Report().Suspects {
		text += s.Text + "\n"
	}
	for _, want := range []string{"read backwards (row 1D)", "shifted by 1 (row 1K)"} {
		if !strings.Contains(text, want) {
			t.Errorf("no suspect says %q:\n%s", want, text)
		}
	}
}

// Orders of the whole are found without any fit, so this is quick.
func TestWrongOrdersAreNamed(t *testing.T) {
	sound := reading(t)
	for name, c := range map[string]struct {
		spoil func(ms *Measurements)
		says  string
	}{
		"sound": {func(*Measurements) {}, ""},
		"reverse": {func(ms *Measurements) {
			for i := range len(ms.Patches) / 2 {
				swap(ms, i, len(ms.Patches)-1-i)
			}
		}, "reverse"},
		"back and forth": {func(ms *Measurements) {
			_, rows := sheetRows(ms.Patches)
			for r := 1; r < len(rows); r += 2 {
				for i := range len(rows[r]) / 2 {
					swap(ms, rows[r][i], rows[r][len(rows[r])-1-i])
				}
			}
		}, "back and forth"},
		"every row backwards": {func(ms *Measurements) {
			_, rows := sheetRows(ms.Patches)
			for _, r := range rows {
				for i := range len(r) / 2 {
					swap(ms, r[i], r[len(r)-1-i])
				}
			}
		}, "every row read backwards"},
		"by columns": {func(ms *Measurements) {
			_, rows := sheetRows(ms.Patches)
			rows = rows[:len(rows)-1] // the last is not full
			var labs []cie.Lab
			for c := range rows[0] {
				for r := range rows {
					labs = append(labs, ms.Patches[rows[r][c]].Lab)
				}
			}
			k := 0
			for _, r := range rows {
				for _, i := range r {
					ms.Patches[i].Lab = labs[k]
					k++
				}
			}
		}, "by columns"},
		"one lost": {func(ms *Measurements) {
			p := ms.Patches
			for i := 150; i < len(p)-1; i++ {
				p[i].Lab = p[i+1].Lab
			}
		}, "one reading was lost"},
		"one too many": {func(ms *Measurements) {
			p := ms.Patches
			for i := len(p) - 1; i > 100; i-- {
				p[i].Lab = p[i-1].Lab
			}
		}, "one reading too many"},
		"two too many": {func(ms *Measurements) {
			p := ms.Patches
			for i := len(p) - 1; i > 300; i-- {
				p[i].Lab = p[i-2].Lab
			}
		}, "2 readings too many"},
	} {
		ms := &Measurements{Patches: append([]Patch(nil), sound.Patches...)}
		c.spoil(ms)
		got := strings.Join(suspectOrders(ms), " ")
		if c.says == "" && got != "" || !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", name, got, c.says)
		}
		if name == "one lost" && !strings.Contains(got, ms.Patches[150].Loc) && !strings.Contains(got, ms.Patches[149].Loc) && !strings.Contains(got, ms.Patches[151].Loc) {
			t.Errorf("%s: %q, want it to start at %s", name, got, ms.Patches[150].Loc)
		}
	}
	for _, name := range []string{"FOGRA39L", "TR002"} {
		if o := suspectOrders(fogra(t, name)); len(o) > 0 {
			t.Errorf("%s is said to be out of order: %v", name, o)
		}
	}
}

func TestSheetRows(t *testing.T) {
	for _, c := range []struct {
		locs []string
		rows int
	}{
		{[]string{"1A01", "1A02", "1B01"}, 2}, {[]string{"A1", "A2", "A10"}, 1}, {[]string{"A-1", "B-1"}, 2},
		{[]string{"", ""}, 0}, {[]string{"A1", "7"}, 0},
	} {
		var ps []Patch
		for _, l := range c.locs {
			ps = append(ps, Patch{Loc: l})
		}
		if _, rows := sheetRows(ps); len(rows) != c.rows {
			t.Errorf("%v: %d rows, want %d", c.locs, len(rows), c.rows)
		}
	}
	_, rows := sheetRows([]Patch{{Loc: "A10"}, {Loc: "A2"}, {Loc: "A1"}})
	if rows[0][0] != 2 || rows[0][1] != 1 || rows[0][2] != 0 {
		t.Errorf("columns are not in order: %v", rows)
	}
}
