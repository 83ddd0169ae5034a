package teststrip

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
)

// Way is one way in which the pieces are made.
type Way struct {
	// Intent and Mistake name it; Mistake is "" where all is as it should be.
	Intent  proof.Intent
	Mistake string
	// Detail says how the mistake is made, where there are several ways.
	Detail string
	Setup  setup.Setup
	Plan   proof.Plan
}

// Name says the way in a few words.
func (w Way) Name() string {
	if w.Mistake == "" {
		return w.Intent.Short()
	}
	if len(w.Plan.Conversions) == 0 {
		return w.Mistake
	}
	return w.Intent.Short() + ", " + w.Mistake
}

// OnStrip tells whether a mistake can be one of several on a strip: it must be in the
// numbers of the pieces.
func OnStrip(s slip.Slip) bool { return !s.WholeSheet && !s.OnScreen }

// off says why a mistake is not on a strip.
func off(s slip.Slip) string {
	if s.WholeSheet {
		return "is made by the driver for the whole sheet: print the strip once more under the other setting to see it"
	}
	return "is no matter of the print"
}

// Wish is what the pieces are to show.
type Wish struct {
	// Right is the set-up whose paper is printed on; its intent and slips count for
	// nothing. Choices are tried in their order: the first that makes a mistake here is
	// how it is made.
	Right   setup.Setup
	Find    setup.Finder
	Choices setup.Choices
	// Every intent is crossed with the pieces as they should be, if AsItShouldBe is
	// set, and with every mistake.
	Intents      []proof.Intent
	AsItShouldBe bool
	Mistakes     []slip.Slip
}

// Ways lists the ways that give the printer different numbers; left says in sentences
// what was left out and why. The error says why Right itself cannot be printed.
func (w Wish) Ways() (ways []Way, left []string, err error) {
	g := gathered{seen: map[string]bool{}}
	for _, i := range w.Intents {
		base := w.Right.Right()
		base.Intent, base.Dimmed, base.CountWhite = i, false, false
		plan, err := base.Plan(w.Find)
		if err != nil {
			return nil, nil, err
		}
		if w.AsItShouldBe {
			g.add(Way{Intent: i, Setup: base, Plan: plan})
		}
		for _, s := range w.Mistakes {
			if !OnStrip(s) {
				g.leave("‘" + s.Name + "’ " + off(s) + ".")
				continue
			}
			if told := g.try(w, base, s); told != "" {
				g.leave(told)
			}
		}
	}
	return g.ways, g.left, nil
}

// gathered are the ways and what was left out, each once.
type gathered struct {
	ways []Way
	left []string
	seen map[string]bool // by numbersKey
}

func (g *gathered) leave(sentence string) {
	if !slices.Contains(g.left, sentence) {
		g.left = append(g.left, sentence)
	}
}

// add adds a way, unless its numbers are there already.
func (g *gathered) add(w Way) bool {
	key := numbersKey(w.Plan)
	if g.seen[key] {
		return false
	}
	g.seen[key] = true
	g.ways = append(g.ways, w)
	return true
}

// try adds a mistake in the first way in which it can be made, or says why it can't.
func (g *gathered) try(w Wish, base setup.Setup, s slip.Slip) string {
	told := ""
	for _, set := range w.Choices.Ways(base, s) {
		plan, err := set.Plan(w.Find)
		why := ""
		switch no := (*proof.PlanError)(nil); {
		case errors.As(err, &no):
			why = "‘" + s.Name + "’: " + no.Reason + "."
		case err != nil:
			why = "‘" + s.Name + "’: " + err.Error() + "."
		case s.Shows(plan) != nil:
			why = fmt.Sprintf("‘%s’ changes nothing with the %s intent here.", s.Name, base.Intent)
		default:
			if !g.add(Way{Intent: base.Intent, Mistake: s.Name, Detail: detail(set, s, w.Find), Setup: set, Plan: plan}) {
				return "‘" + s.Name + "’ gives the same numbers by every intent: it is on the strip once."
			}
			return ""
		}
		if told == "" {
			told = why
		}
	}
	return told
}

func detail(set setup.Setup, s slip.Slip, find setup.Finder) string {
	if how := set.How(s, find); how != "" {
		return "here " + how
	}
	return ""
}

// numbersKey is equal for plans that give the printer the same numbers.
func numbersKey(p proof.Plan) string {
	var b strings.Builder
	b.WriteString(p.Source.ID())
	for _, c := range p.Conversions {
		fmt.Fprintf(&b, "|%s>%s %d %t %t", c.From.ID(), c.To.ID(), c.Intent, c.BPC && c.Intent != proof.AbsoluteColorimetric, c.Clipped)
	}
	return b.String()
}
