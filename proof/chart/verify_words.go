package chart

import (
	"fmt"
	"math"
	"strings"

	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// terms returns the mean signed CIEDE2000 terms of the patches that fit.
func (v *Verification) terms(fits func(PatchDrift) bool) (t cie.Terms, n int) {
	for _, p := range v.Patches {
		if !fits(p) || p.Exchanged != "" {
			continue
		}
		q := cie.DeltaE00Terms(p.Expected, p.Measured, 1)
		t.Lightness += q.Lightness
		t.Chroma += q.Chroma
		t.Hue += q.Hue
		n++
	}
	if n > 0 {
		t.Lightness, t.Chroma, t.Hue = t.Lightness/float64(n), t.Chroma/float64(n), t.Hue/float64(n)
	}
	return t, n
}

// say puts into words what moves a group by namedDrift or more.
func (v *Verification) say() []string {
	out := []string{fmt.Sprintf("%d patches are %.1f ΔE00 from %s in the mean, the worst (%s) %.1f.", v.All.Count, v.All.Mean, v.from, v.worst().Place, v.All.Max)}
	before := len(out)
	for _, g := range v.ByTone {
		t, _ := v.terms(func(p PatchDrift) bool { return p.Tone == g.Name })
		var parts []string
		if math.Abs(t.Lightness) >= namedDrift {
			parts = append(parts, fmt.Sprintf("%.1f %s", math.Abs(g.Lightness), pick(g.Lightness > 0, "lighter", "darker")))
		}
		if g.Name == tonePaper {
			parts = append(parts, v.cast(func(p PatchDrift) bool { return p.Tone == tonePaper })...)
		}
		if len(parts) > 0 {
			out = append(out, fmt.Sprintf("%s become %s.", toneSubject(g.Name), words.List(parts)))
		}
	}
	for _, g := range v.ByHue {
		if g.Name == grey {
			// Paper has its own sentence.
			if parts := v.cast(func(p PatchDrift) bool { return p.Hue == grey && p.Tone != tonePaper }); len(parts) > 0 {
				out = append(out, fmt.Sprintf("The greys have become %s.", words.List(parts)))
			}
			continue
		}
		t, _ := v.terms(func(p PatchDrift) bool { return p.Hue == g.Name })
		var parts []string
		if turn := math.Round(math.Abs(g.Turn)); math.Abs(t.Hue) >= namedDrift && turn >= 1 {
			parts = append(parts, fmt.Sprintf("turned %.0f degree%s towards %s", turn, pick(turn == 1, "", "s"), v.neighbour(g.Name, g.Turn)))
		}
		if math.Abs(t.Chroma) >= namedDrift {
			parts = append(parts, fmt.Sprintf("become %s (C* %s)", pick(g.Chroma > 0, "more vivid", "duller"), words.Signed(g.Chroma)))
		}
		if len(parts) > 0 {
			out = append(out, fmt.Sprintf("The %s colours have %s.", g.Name, words.List(parts)))
		}
	}
	if len(out) == before {
		out = append(out, "No hue and no tone has moved as a whole by as much as 1 ΔE00.")
	}
	return out
}

func pick(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}

func (v *Verification) worst() PatchDrift {
	w := v.Patches[0]
	for _, p := range v.Patches {
		if p.DeltaE00 > w.DeltaE00 {
			w = p
		}
	}
	return w
}

// cast names the way in which near-neutral patches have shifted together.
func (v *Verification) cast(fits func(PatchDrift) bool) []string {
	var from, to cie.Lab
	n := 0.0
	for _, p := range v.Patches {
		if fits(p) && p.Exchanged == "" {
			from = cie.Lab{L: from.L + p.Expected.L, A: from.A + p.Expected.A, B: from.B + p.Expected.B}
			to = cie.Lab{L: to.L + p.Measured.L, A: to.A + p.Measured.A, B: to.B + p.Measured.B}
			n++
		}
	}
	if n == 0 {
		return nil
	}
	from = cie.Lab{L: from.L / n, A: from.A / n, B: from.B / n}
	to = cie.Lab{L: to.L / n, A: to.A / n, B: to.B / n}
	level := cie.Lab{L: from.L, A: to.A, B: to.B} // lightness is spoken of apart
	if cie.DeltaE00(from, level) < namedDrift {
		return nil
	}
	word := words.Compare(from, level).CastWord()
	switch {
	case word == "warm" || word == "cool":
		word += "er"
	case !strings.HasPrefix(word, "more "):
		word = "more " + word
	}
	return []string{fmt.Sprintf("%s (a* %s, b* %s)", word, words.Signed(to.A-from.A), words.Signed(to.B-from.B))}
}

// neighbour names the hue family to which the colours of a family turn.
func (v *Verification) neighbour(family string, turn float64) string {
	for h := words.Red; ; h++ {
		if h.String() == family {
			return h.Next(turn).String()
		}
	}
}

func toneSubject(tone string) string {
	switch tone {
	case tonePaper:
		return "The paper has"
	case toneBlack:
		return "The black has"
	}
	return "The " + tone + " have"
}
