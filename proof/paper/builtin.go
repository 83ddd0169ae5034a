package paper

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"firstsheet/assets"
	"firstsheet/proof"
)

// All returns the papers that come with the program, in the order in which they
// are shown.
func All() []Paper { return slices.Clone(builtin()) }

var builtin = sync.OnceValue(func() []Paper {
	var all []Paper
	for _, a := range assets.Papers() {
		p := Paper{
			ID: a.ID, Name: a.Name, Profile: embedded(a.Name, a.ICC), Builtin: true,
			Card: Card{
				Printer: a.Card.Printer, Media: a.Card.Setting, Finish: a.Card.Finish,
				// The card's word is the ink's without its "black".
				BlackInk:  strings.TrimSuffix(a.Card.Black, " black"),
				Condition: a.Card.Condition, DryHours: float64(a.Card.DryHours),
				Notes: a.Card.Notes + " Mill: " + a.Card.Mill + ".",
			},
		}
		for _, w := range a.Wrong {
			p.Settings = append(p.Settings, Setting{ID: w.ID, Name: w.Name, Profile: embedded(a.Name, w.ICC)})
		}
		all = append(all, p)
	}
	return all
})

// embedded returns a profile of the program's own, which can only be damaged when
// the program was built wrongly.
func embedded(name string, data []byte) *proof.Profile {
	p, err := proof.NewProfile(name, data)
	if err != nil {
		panic(fmt.Sprintf("paper: %s comes damaged with the program: %v", name, err))
	}
	return p
}
