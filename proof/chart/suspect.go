package chart

import (
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"

	"firstsheet/proof/cie"
)

// Kinds of suspicion.
const (
	MisRead   = "misread"   // far off what the patches around it predict
	Repeated  = "repeated"  // the same reading as another patch of another colour
	Exchanged = "exchanged" // two patches, or the patches of two rows, read as each other
	Displaced = "displaced" // a row read backwards, or shifted along itself
)

// Suspect is a patch whose measurement the others contradict.
type Suspect struct {
	Kind     string  `json:"kind"`
	Place    string  `json:"place"` // location, or identifier where there is none
	ID       string  `json:"id"`
	Line     int     `json:"line"`      // in the measurement file
	DeltaE00 float64 `json:"delta_e00"` // measured against expected
	Measured cie.Lab `json:"measured"`
	Expected cie.Lab `json:"expected"` // what the other patches predict
	Text     string  `json:"text"`     // one sentence for a person
	Aside    bool    `json:"aside"`    // left out of the model
	index    int
}

// A patch is suspicious beyond misreadFloor ΔE00, and beyond misreadMedians
// times the usual leave-one-out difference. Real sets stay below: the largest
// leave-one-out difference of FOGRA39 is 1.6, of newsprint (TR002) 2.4.
const (
	misreadFloor   = 4.0
	misreadMedians = 8.0
	// two readings count as one and the same below this ΔE76; an instrument
	// repeats itself on a real second patch to about 0.1, and never lands on
	// a colour that should be misreadFloor away
	sameReading = 0.15
	// half of a row's patches off, and at least this many, make the row suspect
	fewestInRow = 4
)

// suspects compares measurements with what the other patches predict.
// ease is how much surer than usual a prediction is not: 1 for most, above for
// corners.
func suspects(ms *Measurements, predicted []cie.Lab, heldOut, ease []float64) []Suspect {
	limit := math.Max(misreadFloor, misreadMedians*median(heldOut))
	found := map[int]*Suspect{}
	mark := func(i int, kind, format string, args ...any) {
		p := ms.Patches[i]
		if s := found[i]; s != nil && s.Kind != MisRead {
			return
		}
		found[i] = &Suspect{Kind: kind, Place: p.Place(), ID: p.ID, Line: p.Line, DeltaE00: heldOut[i],
			Measured: p.Lab, Expected: predicted[i], Text: p.Place() + " " + fmt.Sprintf(format, args...), Aside: true, index: i}
	}
	for i := range ms.Patches {
		if heldOut[i] > limit*ease[i] {
			mark(i, MisRead, "reads %.1f ΔE00 off what the other patches predict: measure it again.", heldOut[i])
		}
	}
	suspectRows(ms, predicted, found, limit, mark)
	suspectPairs(ms, predicted, found, limit, mark)
	suspectRepeats(ms, predicted, heldOut, mark)

	out := make([]Suspect, 0, len(found))
	for _, s := range found {
		out = append(out, *s)
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].DeltaE00 != out[j].DeltaE00 {
			return out[i].DeltaE00 > out[j].DeltaE00
		}
		return out[i].index < out[j].index
	})
	return out
}

type marker func(i int, kind, format string, args ...any)

var location = regexp.MustCompile(`^([0-9]*[-_ ]?[A-Za-z]+)[-_ ]?([0-9]+)$`)

// sheetRows groups patches by the row of their location, in column order; rows
// come in the order in which they first appear. It returns nil where the
// locations do not read as rows and columns.
func sheetRows(ps []Patch) (names []string, rows [][]int) {
	at := map[string]int{}
	column := make([]int, len(ps))
	for i, p := range ps {
		m := location.FindStringSubmatch(p.Loc)
		if m == nil {
			return nil, nil
		}
		column[i], _ = strconv.Atoi(m[2])
		k, ok := at[m[1]]
		if !ok {
			k = len(rows)
			at[m[1]] = k
			names, rows = append(names, m[1]), append(rows, nil)
		}
		rows[k] = append(rows[k], i)
	}
	for _, r := range rows {
		sort.SliceStable(r, func(a, b int) bool { return column[r[a]] < column[r[b]] })
	}
	return names, rows
}

// suspectRows looks whether the readings of a bad row fit another row, or their
// own row backwards or shifted.
func suspectRows(ms *Measurements, predicted []cie.Lab, found map[int]*Suspect, limit float64, mark marker) {
	names, rows := sheetRows(ms.Patches)
	var bad []int
	for r, row := range rows {
		off := 0
		for _, i := range row {
			if found[i] != nil {
				off++
			}
		}
		if off >= fewestInRow && 2*off > len(row) {
			bad = append(bad, r)
		}
	}
	// misfit is the middle ΔE00 of row r's readings against what row s, walked
	// from its place shift on in direction step, should be.
	misfit := func(r, s, shift, step int) float64 {
		var d []float64
		for k, i := range rows[r] {
			j := shift + step*k
			if j >= 0 && j < len(rows[s]) {
				d = append(d, cie.DeltaE00(ms.Patches[i].Lab, predicted[rows[s][j]]))
			}
		}
		if len(d) < fewestInRow {
			return math.Inf(1)
		}
		return median(d)
	}
	for _, r := range bad {
		best, text, kind := limit/2, "", ""
		for s := range rows {
			if s == r {
				continue
			}
			if m := misfit(r, s, 0, 1); m < best {
				best, kind, text = m, Exchanged, fmt.Sprintf("is in row %s, whose readings belong to row %s.", names[r], names[s])
			}
		}
		if m := misfit(r, r, len(rows[r])-1, -1); m < best {
			best, kind, text = m, Displaced, fmt.Sprintf("is in a row that was read backwards (row %s).", names[r])
		}
		for shift := -3; shift <= 3; shift++ {
			if m := misfit(r, r, shift, 1); shift != 0 && m < best {
				best, kind, text = m, Displaced, fmt.Sprintf("is in a row whose readings are shifted by %d (row %s).", -shift, names[r])
			}
		}
		if kind == "" {
			continue
		}
		for _, i := range rows[r] {
			mark(i, kind, "%s", text)
		}
	}
}

// suspectPairs looks for two bad patches that fit in each other's place.
func suspectPairs(ms *Measurements, predicted []cie.Lab, found map[int]*Suspect, limit float64, mark marker) {
	var bad []int
	for i := range ms.Patches {
		if s := found[i]; s != nil && s.Kind == MisRead {
			bad = append(bad, i)
		}
	}
	if len(bad) > 500 { // nothing is to be learnt from pairs any more
		return
	}
	for a, i := range bad {
		for _, j := range bad[a+1:] {
			if cie.DeltaE00(ms.Patches[i].Lab, predicted[j]) < limit/2 && cie.DeltaE00(ms.Patches[j].Lab, predicted[i]) < limit/2 {
				mark(i, Exchanged, "and %s read as each other.", ms.Patches[j].Place())
				mark(j, Exchanged, "and %s read as each other.", ms.Patches[i].Place())
			}
		}
	}
}

// suspectRepeats looks for one reading that stands for two colours: the next
// patch in the file within sameReading, or any other to the last digit.
func suspectRepeats(ms *Measurements, predicted []cie.Lab, heldOut []float64, mark marker) {
	look := func(i, j int) {
		if cie.DeltaE00(predicted[i], predicted[j]) < misreadFloor {
			return
		}
		wrongOne, other := i, j
		if heldOut[j] > heldOut[i] {
			wrongOne, other = j, i
		}
		mark(wrongOne, Repeated, "has the same reading as %s, which is another colour.", ms.Patches[other].Place())
	}
	seen := map[[3]int]int{}
	for i, p := range ms.Patches {
		if i > 0 && cie.DeltaE76(p.Lab, ms.Patches[i-1].Lab) < sameReading {
			look(i, i-1)
		}
		key := [3]int{int(math.Round(p.Lab.L * 1000)), int(math.Round(p.Lab.A * 1000)), int(math.Round(p.Lab.B * 1000))}
		if j, ok := seen[key]; ok && j != i-1 {
			look(i, j)
		} else if !ok {
			seen[key] = i
		}
	}
}

// An order is believed wrong when another one makes the patches fit this much
// better: mean misfit below orderShare of the one given, and by orderGain ΔE76.
const (
	orderShare = 0.75
	orderGain  = 1.2
	maxShift   = 3
)

// suspectOrders looks whether the readings as a whole fit a rough model better
// in another order. It returns a sentence for the best such order, or nothing.
func suspectOrders(ms *Measurements) []string {
	test := newOrderTest(ms)
	return betterOrder(ms.Patches, test.misfit, orderShare, orderGain, "mean misfit of a rough model")
}

// betterOrder tries the readings backwards, by columns, back and forth, and
// shifted from some patch on. misfit says how badly patch i with the reading of
// patch order[i] fits, in the mean.
func betterOrder(ps []Patch, misfit func(order []int) float64, share, gain float64, figure string) []string {
	n := len(ps)
	straight := make([]int, n)
	for i := range straight {
		straight[i] = i
	}
	given := misfit(straight)
	best, text := given, ""
	try := func(order []int, format string, args ...any) {
		if m := misfit(order); m < best {
			best, text = m, fmt.Sprintf(format, args...)
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = n - 1 - i
	}
	try(order, "The readings fit far better in reverse order.")

	if _, rows := sheetRows(ps); len(rows) > 1 {
		try(reversedRows(n, rows, 0, 1), "The readings fit far better with every row read backwards.")
		try(reversedRows(n, rows, 1, 2), "The readings fit far better back and forth, every second row backwards.")
		if o := byColumns(n, rows); o != nil {
			try(o, "The readings fit far better by columns than by rows.")
		}
	}
	// A reading lost or doubled at some patch shifts all that follow.
	shifted := func(from, by int) []int {
		o := append([]int(nil), straight...)
		for i := from; i < n; i++ {
			o[i] = min(max(i+by, 0), n-1)
		}
		return o
	}
	from, by := 0, 0
	stride := max(n/100, 1)
	for f := 0; f < n; f += stride {
		for s := -maxShift; s <= maxShift; s++ {
			if s == 0 {
				continue
			}
			if m := misfit(shifted(f, s)); m < best {
				best, from, by, text = m, f, s, "shift"
			}
		}
	}
	if text == "shift" {
		for f := max(from-stride, 0); f < min(from+stride, n); f++ {
			if m := misfit(shifted(f, by)); m < best {
				best, from = m, f
			}
		}
		what := fmt.Sprintf("%d readings were lost", -by)
		switch {
		case by == 1:
			what = "one reading too many was taken"
		case by > 1:
			what = fmt.Sprintf("%d readings too many were taken", by)
		case by == -1:
			what = "one reading was lost"
		}
		text = fmt.Sprintf("From about %s on the readings fit far better shifted by %d: it looks as if %s there.", ps[from].Place(), by, what)
	}
	if best < share*given && given-best > gain {
		return []string{fmt.Sprintf("%s (%s %.1f instead of %.1f)", text, figure, best, given)}
	}
	return []string{} // not null in a report
}

func reversedRows(n int, rows [][]int, first, step int) []int {
	o := make([]int, n)
	for i := range o {
		o[i] = i
	}
	for r := first; r < len(rows); r += step {
		for k, i := range rows[r] {
			o[i] = rows[r][len(rows[r])-1-k]
		}
	}
	return o
}

// byColumns returns the order of a sheet of equal rows that was read by columns
// but listed by rows, page by page; nil where rows have no equal lengths.
func byColumns(n int, rows [][]int) []int {
	o := make([]int, n)
	for i := range o {
		o[i] = i
	}
	cols := len(rows[0])
	for _, r := range rows[:len(rows)-1] {
		if len(r) != cols {
			return nil
		}
	}
	if len(rows[len(rows)-1]) != cols {
		rows = rows[:len(rows)-1]
	}
	listed := make([]int, 0, n)
	for _, r := range rows {
		listed = append(listed, r...)
	}
	for r := range rows {
		for c := range cols {
			o[rows[r][c]] = listed[c*len(rows)+r]
		}
	}
	return o
}

// orderTest fits a rough polynomial to the colours in any order: the device
// values stay, so a fit is two products with one orthonormal basis.
type orderTest struct {
	n, terms int
	basis    []float64 // n*terms
	labs     []cie.Lab
}

func newOrderTest(ms *Measurements) *orderTest {
	degree := min(polynomialDegree(ms.Device, len(ms.Patches)), 3)
	t := &orderTest{n: len(ms.Patches)}
	for _, p := range ms.Patches {
		row := monomials(p.Device, degree)
		t.terms = len(row)
		t.basis = append(t.basis, row...)
		t.labs = append(t.labs, p.Lab)
	}
	t.orthonormalise()
	return t
}

// orthonormalise turns the columns into an orthonormal basis of their span:
// Gram and Schmidt, twice for accuracy; what depends on columns before is zeroed.
func (t *orderTest) orthonormalise() {
	dot := func(a, b int) float64 {
		s := 0.0
		for i := 0; i < len(t.basis); i += t.terms {
			s += t.basis[i+a] * t.basis[i+b]
		}
		return s
	}
	for c := range t.terms {
		before := math.Sqrt(dot(c, c))
		for range 2 {
			for k := range c {
				f := dot(c, k)
				for i := 0; i < len(t.basis); i += t.terms {
					t.basis[i+c] -= f * t.basis[i+k]
				}
			}
		}
		scale := 0.0
		if norm := math.Sqrt(dot(c, c)); norm > 1e-9*before {
			scale = 1 / norm
		}
		for i := 0; i < len(t.basis); i += t.terms {
			t.basis[i+c] *= scale
		}
	}
}

// misfit returns the mean ΔE76 of the rough model when patch i has the reading
// of patch order[i].
func (t *orderTest) misfit(order []int) float64 {
	coef := make([][3]float64, t.terms)
	for i, j := range order {
		l := t.labs[j]
		for k, q := range t.basis[i*t.terms : (i+1)*t.terms] {
			coef[k][0] += q * l.L
			coef[k][1] += q * l.A
			coef[k][2] += q * l.B
		}
	}
	sum := 0.0
	for i, j := range order {
		var p cie.Lab
		for k, q := range t.basis[i*t.terms : (i+1)*t.terms] {
			p.L += q * coef[k][0]
			p.A += q * coef[k][1]
			p.B += q * coef[k][2]
		}
		sum += cie.DeltaE76(p, t.labs[j])
	}
	return sum / float64(t.n)
}
