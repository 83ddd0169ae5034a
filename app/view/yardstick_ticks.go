package view

import (
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/rank"
)

// ticks are the ways that are asked for.
type ticks struct {
	papers  map[string]bool
	intents [4]bool
	with    bool // compensation on
	without bool
}

// usualTicks asks for all papers at hand (six at most, those of the desk always) with
// the two intents that photographs are printed by.
func usualTicks(s session.State, papers []session.Paper) ticks {
	t := ticks{papers: map[string]bool{}, with: true, without: true}
	t.intents[proof.Perceptual], t.intents[proof.RelativeColorimetric] = true, true
	for _, sh := range s.Sheets[:s.Count] {
		if sh.IsProof() {
			t.papers[sh.Paper] = true
		}
	}
	for _, p := range papers {
		if len(t.papers) < 6 {
			t.papers[p.ID] = true
		}
	}
	return t
}

// wanted returns what is ticked of the papers there are.
func (t ticks) wanted(choices []session.Paper) (papers []rank.Paper, intents []proof.Intent, comp []bool) {
	for _, p := range choices {
		if t.papers[p.ID] {
			papers = append(papers, rank.Paper{ID: p.ID, Name: p.Name, Forced: p.Profile.ForcesBPC})
		}
	}
	for i, on := range t.intents {
		if on {
			intents = append(intents, proof.Intent(i))
		}
	}
	if t.with {
		comp = append(comp, true)
	}
	if t.without {
		comp = append(comp, false)
	}
	return papers, intents, comp
}

// number is how many ways are ticked.
func (t ticks) number(choices []session.Paper) int {
	papers, intents, comp := t.wanted(choices)
	return len(papers) * len(intents) * len(comp)
}

// only returns the same ticks of these papers alone, a copy of its own.
func (t ticks) only(papers []rank.Paper) ticks {
	t.papers = map[string]bool{}
	for _, p := range papers {
		t.papers[p.ID] = true
	}
	return t
}

func (y *yardstick) makeTicks() {
	tick := func(name string, on bool, set func(on bool), help string) *widget.Toggle {
		t := widget.NewToggle(name, on, nil)
		t.OnChange = func(on bool) { t.Set(on); set(on); y.show() }
		t.Explain(help, y.foot.tell)
		return t
	}
	for _, p := range y.choices {
		y.papers = append(y.papers, tick(p.Name, y.ticks.papers[p.ID], func(on bool) { y.ticks.papers[p.ID] = on }, "Measure ways to print on "+p.Name+"."))
	}
	help := [4]string{
		"Perceptual: all colours are moved together so that relations are kept; the maker of the profile decides how.",
		"Relative colorimetric: what the paper reaches stays as it is, the rest moves to the nearest colour.",
		"Saturation: vividness before truth; meant for charts.",
		"Absolute colorimetric: as relative, with the original’s white imitated on the paper; meant for proofs.",
	}
	for i := range y.intents {
		y.intents[i] = tick(proof.Intent(i).Short(), y.ticks.intents[i], func(on bool) { y.ticks.intents[i] = on }, help[i])
	}
	y.with = tick("with", y.ticks.with, func(on bool) { y.ticks.with = on },
		"With black point compensation: the picture’s black becomes the paper’s black, and shadows keep their steps.")
	y.without = tick("without", y.ticks.without, func(on bool) { y.ticks.without = on },
		"Without black point compensation: what is darker than the paper’s black becomes one black.")
}
