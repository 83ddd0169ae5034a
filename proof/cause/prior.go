package cause

import (
	"fmt"
	"maps"
	"math"
	"strings"

	"firstsheet/proof/mishap"
	"firstsheet/proof/slip"
)

// Prior shares out what is believed before anything is seen, by the IDs of [Beliefs]. The
// parts need not add up to one; what is not in it has a part of 0. A part is shared evenly
// by what may have been chosen wrongly, by the inks or the lights, or by all pairs of slips.
type Prior map[string]float64

// Belief is something that has a part in a prior.
type Belief struct{ ID, Name string }

// The beliefs that are no slip.
const (
	pairsID = "two"
	inksID  = string(mishap.Ink)
	lightID = string(mishap.Light)
)

// Beliefs lists what has a part in a prior.
func Beliefs() []Belief {
	all := []Belief{{rightID, "nothing went wrong"}}
	for _, s := range slip.All() {
		all = append(all, Belief{s.ID, s.Name})
	}
	return append(all, Belief{pairsID, "two mistakes at once"}, Belief{inksID, "an ink clogged or missing"}, Belief{lightID, "judged in the wrong light"})
}

// UsualPrior returns the prior that is used when none is given. It is a judgement,
// not a statistic: each single mistake as likely as another, a sound print somewhat
// likelier, two mistakes at once rarer than any one.
func UsualPrior() Prior {
	p := Prior{}
	for _, b := range Beliefs() {
		p[b.ID] = 1
	}
	p[rightID], p[pairsID], p[inksID], p[lightID] = 1.5, 0.75, 0.5, 0.5
	return p
}

// Times returns the prior with one part so many times what it is.
func (p Prior) Times(id string, factor float64) Prior {
	q := maps.Clone(p)
	q[id] *= factor
	return q
}

func (p Prior) check() error {
	sum := 0.0
	for _, b := range Beliefs() {
		v := p[b.ID]
		if !(v >= 0) || math.IsInf(v, 1) {
			return evidenceError("how likely %s is before looking, %g, is no part of a whole", b.Name, v)
		}
		sum += v
	}
	if sum == 0 {
		return evidenceError("nothing is held for likely before looking")
	}
	return nil
}

// told says in a sentence what a prior believes against the usual one.
func (p Prior) told() string {
	usual := UsualPrior()
	var parts []string
	for _, b := range Beliefs() {
		if v, u := p[b.ID], usual[b.ID]; v != u {
			parts = append(parts, fmt.Sprintf("‘%s’ %s", b.Name, times(v/u)))
		}
	}
	if len(parts) == 0 {
		return "Before looking each mistake was held for as likely as another and a sound print for somewhat likelier."
	}
	return "Before looking it was held, against the usual: " + strings.Join(parts, "; ") + "."
}

func times(factor float64) string {
	switch {
	case factor == 0:
		return "for impossible"
	case factor > 1:
		return fmt.Sprintf("for %.3g times as likely", factor)
	}
	return fmt.Sprintf("for %.3g times less likely", 1/factor)
}
