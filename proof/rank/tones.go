package rank

import (
	"math"
	"slices"

	"firstsheet/proof/cie"
)

// Separation tells how many steps of tone stay apart.
//
// Own definition. The picture's tones of one end of the scale are put in order
// of L*, in classes of 0.25; of each class that holds at least 1 in 100,000
// pixels the mean L* of the original and of the print is taken. Walking up from
// the darkest class, a step is counted whenever the lightness has risen by 1 ΔE00
// since the last count: once over the originals, once over the prints.
type Separation struct {
	// Steps is how many the original has, Kept how many of them the print has.
	Steps int `json:"steps"`
	Kept  int `json:"kept"`
}

// Share returns the share of the steps that are kept, 1 where there are none.
func (s Separation) Share() float64 {
	if s.Steps == 0 {
		return 1
	}
	return float64(s.Kept) / float64(s.Steps)
}

// Limits of separation.
const (
	ShadowTo     = 20.0 // L* up to which shadow separation is counted
	HighlightsIn = 80.0 // L* from which highlight separation is counted

	classWidth = 0.25
	classShare = 1e-5
)

// Tones are the originals of a picture, in classes of lightness.
type Tones struct {
	weights []float64
	classes []class // from the darkest up
	of      []int   // the class of each original, -1 for none
}

type class struct {
	mid, weight, original float64 // the original's L*, times the weight
}

// shadow reports whether it counts as a shadow; others are highlights.
func (c class) shadow() bool { return c.mid <= ShadowTo }

// NewTones sorts originals into classes. weights say for how many pixels each stands,
// and all is how many pixels the picture has.
func NewTones(originals []cie.Lab, weights []float64, all float64) *Tones {
	t := &Tones{weights: weights, of: make([]int, len(originals))}
	found := map[int]*class{}
	key := func(o cie.Lab) int { return int(math.Floor(o.L / classWidth)) }
	for i, o := range originals {
		if !atAnEnd(o) {
			continue
		}
		k := key(o)
		if found[k] == nil {
			found[k] = &class{mid: (float64(k) + 0.5) * classWidth}
		}
		found[k].weight += weights[i]
		found[k].original += weights[i] * o.L
	}
	place := map[int]int{}
	for k, c := range found {
		if (c.mid <= ShadowTo || c.mid >= HighlightsIn) && c.weight >= classShare*all {
			t.classes = append(t.classes, *c)
			place[k] = 0
		}
	}
	slices.SortFunc(t.classes, func(a, b class) int { return int(math.Copysign(1, a.mid-b.mid)) })
	for i, c := range t.classes {
		place[int(math.Floor(c.mid/classWidth))] = i
	}
	for i, o := range originals {
		t.of[i] = -1
		if at, ok := place[key(o)]; ok && atAnEnd(o) {
			t.of[i] = at
		}
	}
	return t
}

// atAnEnd reports whether an original is a shadow or a highlight.
func atAnEnd(o cie.Lab) bool { return o.L < ShadowTo || o.L > HighlightsIn }

// Separation counts the steps that are kept in print; prints has one for each original.
func (t *Tones) Separation(prints []cie.Lab) (shadows, highlights Separation) {
	sums := make([]float64, len(t.classes))
	for i, at := range t.of {
		if at >= 0 {
			sums[at] += t.weights[i] * prints[i].L
		}
	}
	ends := [2]struct{ originals, prints []float64 }{}
	for i, c := range t.classes {
		e := &ends[0]
		if !c.shadow() {
			e = &ends[1]
		}
		e.originals, e.prints = append(e.originals, c.original/c.weight), append(e.prints, sums[i]/c.weight)
	}
	count := func(originals, prints []float64) Separation {
		s := Separation{Steps: steps(originals), Kept: steps(prints)}
		// A print that stretches tones has more steps than there were to keep.
		s.Kept = min(s.Kept, s.Steps)
		return s
	}
	return count(ends[0].originals, ends[0].prints), count(ends[1].originals, ends[1].prints)
}

// steps counts how often the lightness rises by 1 ΔE00.
func steps(lightness []float64) int {
	n := 0
	for i, last := 0, 0.0; i < len(lightness); i++ {
		l := lightness[i]
		if i == 0 {
			last = l
		} else if l > last && cie.DeltaE00(cie.Lab{L: last}, cie.Lab{L: l}) >= 1 {
			n++
			last = l
		}
	}
	return n
}
