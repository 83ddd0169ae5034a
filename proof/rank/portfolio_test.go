package rank

import (
	"strings"
	"testing"
)

// ranked makes a picture's ranking from the figures on each paper.
func ranked(picture string, on map[string]Figures) Ranked {
	out := Outcome{Ways: map[string]Way{}}
	var places []Place
	for _, id := range []string{"matte", "pearl", "gloss"} {
		f, ok := on[id]
		if !ok {
			out.Refused = append(out.Refused, Refused{Way: Way{Paper: id, Name: strings.ToUpper(id[:1]) + id[1:]}})
			continue
		}
		w := Way{Paper: id, Name: strings.ToUpper(id[:1]) + id[1:], Compensation: true}
		out.Ways[w.Key()] = w
		places = append(places, Place{Candidate: Candidate{ID: w.Key(), Paper: w.Name, Compensation: true}, Figures: f})
	}
	out.Verdict = Order(places)
	return Ranked{picture, out}
}

func TestTogether(t *testing.T) {
	sound := Figures{Mean: 1, P95: 2, Range: 80}
	wide := Figures{Mean: 2, P95: 5, Out: 0.2, Range: 70} // fails two checks
	dark := sound
	dark.Shadows = Separation{Steps: 20, Kept: 13} // fails one
	p := Together([]Ranked{
		ranked("sails.tif", map[string]Figures{"matte": wide, "pearl": sound, "gloss": sound}),
		ranked("faces.tif", map[string]Figures{"matte": sound, "pearl": sound, "gloss": sound}),
		ranked("hull.tif", map[string]Figures{"matte": sound, "pearl": dark}),
	})
	if len(p.Order) != 3 || p.Order[0].ID != "pearl" || p.Order[1].ID != "matte" || p.Order[2].ID != "gloss" {
		t.Fatalf("order %+v", p.Order)
	}
	if got := p.Order[0]; got.Failed != 1 || got.Whole != 2 || got.Mean != 1 {
		t.Errorf("first: %d failed, %d whole, mean %g", got.Failed, got.Whole, got.Mean)
	}
	if got := p.Order[2]; got.Failed != len(Checks()) || got.Pictures[2].Way != nil {
		t.Errorf("a picture that can't be printed: %+v", got)
	}
	if len(p.For) != 1 || !strings.HasPrefix(p.For[0], "sails.tif passes all 8 checks; on Matte it passes 6 of 8 checks: ") {
		t.Errorf("for: %q", p.For)
	}
	if len(p.Deciding) != 1 || p.Order[0].Pictures[p.Deciding[0]].Picture != "sails.tif" {
		t.Errorf("deciding: %v", p.Deciding)
	}
	if len(p.Against) != 1 || !strings.HasPrefix(p.Against[0], "hull.tif passes 7 of 8 checks: 13 of 20 shadow steps stay distinguishable; on Matte it passes all 8") {
		t.Errorf("against: %q", p.Against)
	}
	if want := "Pearl serves these 3 pictures best: 23 of 24 checks pass in all, on the next, Matte, 22."; p.Reason != want {
		t.Errorf("%q, want %q", p.Reason, want)
	}
}

// The order in which pictures are given changes nothing but the order of the sentences;
// one picture gives the papers of its own ranking.
func TestTogetherOrder(t *testing.T) {
	sound, worse := Figures{Mean: 1, P95: 2}, Figures{Mean: 1.5, P95: 2}
	a := ranked("a", map[string]Figures{"matte": sound, "pearl": worse, "gloss": worse})
	b := ranked("b", map[string]Figures{"matte": worse, "pearl": worse, "gloss": sound})
	one := Together([]Ranked{a})
	if one.Order[0].ID != "matte" || one.Order[0].Mean != 1 {
		t.Errorf("one picture: %+v", one.Order)
	}
	x, y := Together([]Ranked{a, b}), Together([]Ranked{b, a})
	if x.Order[0].ID != "matte" || !x.Order[1].AsGood || x.Order[1].ID != "gloss" || y.Order[0].Mean != x.Order[0].Mean {
		t.Errorf("two pictures: %+v, %+v", x.Order, y.Order)
	}
	if want := "a is off by 1.0 ΔE00 on average; on Gloss it is off by 1.5 ΔE00 on average"; len(x.For) != 1 || len(one.For) != 1 || one.For[0] != strings.Replace(want, "Gloss", "Pearl", 1) {
		t.Errorf("for: %q, %q", x.For, one.For)
	}
	if z := Together(nil); len(z.Order) != 0 || z.Reason != "" || len(z.Rule) == 0 {
		t.Errorf("none: %+v", z)
	}
}
