package assets

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/press/profile"
	"firstsheet/proof/space"
)

// What the reach says is what a profile clips a colour to, and no profile finds the
// least difference throughout: ours keep hue and gradation instead. By how much the
// reach exceeds the least ΔE00 is measured here and told where the reach is defined
// (DEVELOPERS.md): over colours with a reach of 1 or more of sRGB, run with -v.
func TestReachAgainstTheLeast(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	var asked []cie.Lab
	for range 300 {
		asked = append(asked, space.SRGB().ToLab(r.Float64(), r.Float64(), r.Float64()))
	}
	for _, p := range Papers() {
		parsed, err := icc.Parse(p.ICC)
		if err != nil {
			t.Fatal(err)
		}
		forward := newSurface(table(t, parsed, "A2B1"))
		var over []float64
		var sum, leastSum float64
		for i, c := range opened(t, p.ICC, 1)(asked) {
			if reach := cie.DeltaE00(asked[i], c); reach >= 1 {
				least := forward.least(asked[i])
				over = append(over, reach/least-1)
				sum, leastSum = sum+reach, leastSum+least
			}
		}
		slices.Sort(over)
		low, median, p95, mean := over[0], over[len(over)/2], over[len(over)*95/100], sum/leastSum-1
		t.Logf("%s: the reach of %d colours exceeds the least ΔE00 by a median of %.1f %%, %.1f %% at the 95th percentile, %.1f %% of the mean", p.ID, len(over), 100*median, 100*p95, 100*mean)
		// The search is over the forward table, the reach passes two tables in 16 bits.
		if low < -0.05 {
			t.Errorf("%s: a reach is %.1f %% below what is held to be the least", p.ID, -100*low)
		}
		if median > 0.06 || p95 > 0.45 || mean > 0.1 {
			t.Errorf("%s: the reach exceeds the least ΔE00 by %.1f %% in the middle, %.1f %% at the 95th percentile, %.1f %% of the mean, want at most 6, 45 and 10", p.ID, 100*median, 100*p95, 100*mean)
		}
	}
}

// surface finds nearest colours by trying: every node of the forward table's surface, and
// around the best ones ever smaller steps.
type surface struct {
	forward icc.Lut
	at      [][]float64
	lab     []cie.Lab
}

func newSurface(l icc.Lut) *surface {
	s := &surface{forward: l}
	n := l.Grid
	for i := range n * n * n {
		node := [3]int{i / n / n, i / n % n, i % n}
		if lo, hi := slices.Min(node[:]), slices.Max(node[:]); lo > 0 && hi < n-1 {
			continue
		}
		d := make([]float64, 3)
		for ch := range d {
			d[ch] = float64(node[ch]) / float64(n-1)
		}
		s.at, s.lab = append(s.at, d), append(s.lab, decode(profile.Evaluate(l, d)))
	}
	return s
}

// least returns the least ΔE00 from c to any colour of the table.
func (s *surface) least(c cie.Lab) float64 {
	type start struct {
		d  float64
		at int
	}
	starts := make([]start, len(s.at))
	for i := range starts {
		starts[i] = start{cie.DeltaE00(c, s.lab[i]), i}
	}
	slices.SortFunc(starts, func(a, b start) int { return cmp.Compare(a.d, b.d) })
	least := math.Inf(1)
	for _, from := range starts[:8] {
		at, best := slices.Clone(s.at[from.at]), from.d
		for step := 1.0 / 32; step > 1e-4; {
			better := false
			for n := range 27 {
				d := make([]float64, 3)
				for ch, k := range [3]int{n / 9, n / 3 % 3, n % 3} {
					d[ch] = min(max(at[ch]+step*float64(k-1), 0), 1)
				}
				if now := cie.DeltaE00(c, decode(profile.Evaluate(s.forward, d))); now < best-1e-9 {
					at, best, better = d, now, true
				}
			}
			if !better {
				step /= 2
			}
		}
		least = min(least, best)
	}
	return least
}
