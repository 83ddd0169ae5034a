package trust

import (
	"context"
	"fmt"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

func srgb() space.Space { return space.SRGB() }

// How far the table has bare paper from the white of the tag, in ΔE00, and the ink that white is printed
// with, as a share of one ink.
const (
	whiteDoubtful, whiteUnsound       = 1.0, 4.0
	whiteInkDoubtful, whiteInkUnsound = 0.02, 0.15
	// calculatedWhite is lighter than any paper measures against a perfect diffuser.
	calculatedWhite = 99.5
)

// whiteOf holds the white of the tag against that of the table, which is relative to it.
func whiteOf(_ context.Context, q *opened, facts paper.Facts) (Finding, error) {
	none := make([]float64, q.channels)
	for i := range none {
		none[i] = q.bare
	}
	bare := q.looks(none)[0]
	ink := 0.0
	for _, v := range q.numbers([]cie.Lab{{L: 100}}, proof.RelativeColorimetric) {
		ink = max(ink, v-q.bare, q.bare-v)
	}
	apart := cie.DeltaE00(cie.Lab{L: 100}, bare)
	f := Finding{ID: "white", Name: "white", Means: "The white that the profile names, what its table says of bare paper, and whether white is left bare.",
		Figures: map[string]float64{"lightness": facts.White.L, "a": facts.White.A, "b": facts.White.B, "table_delta_e00": apart, "ink_in_white": ink},
		Verdict: max(judged(apart, whiteDoubtful, whiteUnsound), judged(ink, whiteInkDoubtful, whiteInkUnsound))}
	f.Words = fmt.Sprintf("White %s.", words.Lab(facts.White))
	switch {
	case facts.White.L > calculatedWhite:
		f.Verdict = max(f.Verdict, Doubtful)
		f.Words += " No paper is as white as that: the profile is calculated, not measured."
	case facts.White.L < 60 || facts.White.Chroma() > 30:
		f.Verdict = max(f.Verdict, Doubtful)
		f.Words += " That is no usual paper."
	}
	if apart > whiteDoubtful {
		f.Words += fmt.Sprintf(" Its table says otherwise of bare paper, by %.1f ΔE00: against the white that it names %s.", apart, words.Lab(bare))
	}
	if ink > whiteInkDoubtful {
		f.Words += fmt.Sprintf(" White is printed with %.0f %% of an ink: the sheet gets a veil.", 100*ink)
	}
	return f, nil
}

const (
	// darkestDoubtful is by how much L* the black may be lighter than the darkest that
	// its own table to Lab knows within the ink limit.
	darkestDoubtful, darkestUnsound = 5.0, 15.0
	blackDoubtful, blackUnsound     = 35.0, 55.0
	blackChromaDoubtful             = 8.0
	calculatedBlack                 = 1.0
)

// blackOf judges the paper's black.
func blackOf(_ context.Context, q *opened, facts paper.Facts) (Finding, error) {
	darkest := q.darkest()
	f := Finding{ID: "black", Name: "black", Means: "The colour that black is printed with, beside the darkest that its own table knows.",
		Figures: map[string]float64{"lightness": facts.Black.L, "a": facts.Black.A, "b": facts.Black.B, "darkest_lightness": darkest.L},
		Verdict: max(judged(facts.Black.L, blackDoubtful, blackUnsound), judged(facts.Black.L-darkest.L, darkestDoubtful, darkestUnsound))}
	f.Words = fmt.Sprintf("Black %s.", words.Lab(facts.Black))
	if facts.Black.L < calculatedBlack {
		f.Verdict = max(f.Verdict, Doubtful)
		f.Words += " No ink on paper is as dark as that: the profile is calculated, not measured."
	}
	if facts.Black.L > blackDoubtful {
		f.Words += " That is a grey: shadows have little room."
	}
	if d := facts.Black.L - darkest.L; d > darkestDoubtful {
		f.Words += fmt.Sprintf(" Its inks go down to L* %.0f: %.0f of depth lie unused.", darkest.L, d)
	}
	if facts.Black.Chroma() > blackChromaDoubtful {
		f.Verdict = max(f.Verdict, Doubtful)
		f.Words += fmt.Sprintf(" It has a cast, C* %.0f.", facts.Black.Chroma())
	}
	return f, nil
}

// darkest finds the darkest absolute colour among the corners and edges of the device's
// numbers within the ink limit.
func (q *opened) darkest() cie.Lab {
	var device []float64
	for k := range 1 << min(q.channels, 12) {
		for _, part := range []float64{0.25, 0.5, 0.75, 1} {
			one, sum := make([]float64, q.channels), 0.0
			for i := range one {
				one[i] = q.bare
				if k>>i&1 == 1 {
					one[i] = q.bare + (1-2*q.bare)*part
				}
				sum += one[i]
			}
			if q.ink == 0 || sum <= q.ink {
				device = append(device, one...)
			}
		}
	}
	out := cie.Lab{L: 100}
	for _, c := range q.run(q.absolute, device) {
		if c.L < out.L {
			out = c
		}
	}
	return out
}

// usualInk is the highest limit that is usual on any stock: common practice, no source.
const usualInk = 3.4

// inkOf tells the most ink that is asked for, where that has a meaning.
func inkOf(_ context.Context, q *opened, facts paper.Facts) (Finding, error) {
	if facts.TotalInk == 0 {
		return Finding{}, nil
	}
	f := Finding{ID: "ink", Name: "total ink", Verdict: Sound, Means: "The most that all inks together may come to. Usual limits go from about 240 % on newsprint to 330 % on coated stock: common practice, no source.",
		Figures: map[string]float64{"percent": 100 * facts.TotalInk}, Words: fmt.Sprintf("Its tables ask for up to %.0f %% of ink.", 100*facts.TotalInk)}
	if facts.Channels == 4 && facts.TotalInk > usualInk {
		f.Verdict = Doubtful
		f.Words += " That is more than is usual on any stock: it may block up, smear or not dry."
	}
	return f, nil
}
