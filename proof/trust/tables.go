package trust

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/press/profile/evenness"
	"firstsheet/proof/words"
)

// judged is the verdict on a figure by the limits from which on it is doubtful and
// unsound.
func judged(v, doubtful, unsound float64) Verdict {
	switch {
	case !(v <= unsound): // NaN too
		return Unsound
	case v > doubtful:
		return Doubtful
	}
	return Sound
}

// Round trips in ΔE00: the built-in papers come back within 0.2 in the mean and 1 at the
// 95th percentile, makers' profiles of offset printing within 1 and 3.
const (
	tripMeanDoubtful, tripMeanUnsound = 1.0, 2.5
	tripP95Doubtful, tripP95Unsound   = 3.0, 6.0
)

// roundTrip sends colours that the paper prints into its numbers and back.
func roundTrip(_ context.Context, q *opened, _ paper.Facts) (Finding, error) {
	const colours = 3000
	r := rand.New(rand.NewPCG(1976, 2000))
	device := make([]float64, 0, colours*q.channels)
	for range colours {
		one, sum := make([]float64, q.channels), 0.0
		for i := range one {
			one[i] = r.Float64()
			sum += one[i]
		}
		for i := range one {
			if q.ink > 0 && sum > q.ink {
				one[i] *= q.ink / sum
			}
		}
		device = append(device, one...)
	}
	asked := q.looks(device)
	apart := make([]float64, len(asked))
	mean := 0.0
	for i, c := range q.print(asked) {
		apart[i] = cie.DeltaE00(asked[i], c)
		mean += apart[i] / float64(len(asked))
	}
	slices.Sort(apart)
	p95, most := apart[(len(apart)*95+99)/100-1], apart[len(apart)-1]
	f := Finding{ID: "round_trip", Name: "there and back", Means: "A colour that the paper can print, sent into its numbers and back: the two directions of a profile have to agree.",
		Figures: map[string]float64{"mean_delta_e00": mean, "p95_delta_e00": p95, "max_delta_e00": most},
		Verdict: max(judged(mean, tripMeanDoubtful, tripMeanUnsound), judged(p95, tripP95Doubtful, tripP95Unsound))}
	how := map[Verdict]string{Sound: "Colours within reach come back", Doubtful: "Colours within reach come back only roughly", Unsound: "Colours within reach don’t come back: its two directions contradict each other"}[f.Verdict]
	f.Words = fmt.Sprintf("%s: %.1f ΔE00 in the mean, 95 of 100 within %.1f.", how, mean, p95)
	return f, nil
}

// Greys: the largest chroma at which a neutral that lies between the paper's black and
// white comes out, and by how much L* falls where it should rise.
const (
	greyDoubtful, greyUnsound = 2.5, 6.0
	fallDoubtful, fallUnsound = 0.5, 3.0
)

// neutrals sends a grey ramp through the table of each intent.
func neutrals(_ context.Context, q *opened, facts paper.Facts) (Finding, error) {
	const grays = 201
	black := q.print([]cie.Lab{{}})[0].L
	f := Finding{ID: "neutral", Name: "greys", Verdict: Sound, Means: "A neutral ramp through the perceptual and the colorimetric table: greys have to come out grey against the paper’s white, and ever lighter.",
		Figures: map[string]float64{}}
	worst, at, fall := 0.0, 0.0, 0.0
	for _, intent := range []proof.Intent{proof.Perceptual, proof.RelativeColorimetric} {
		asked := make([]cie.Lab, grays)
		for i := range asked {
			asked[i].L = 100 * float64(i) / (grays - 1)
		}
		top := 0.0
		for i, c := range q.looks(q.numbers(asked, intent)) {
			if asked[i].L < black+2 {
				continue
			}
			if c.Chroma() > worst || math.IsNaN(c.Chroma()) {
				worst, at = c.Chroma(), asked[i].L
			}
			top = max(top, c.L)
			fall = max(fall, top-c.L)
		}
	}
	f.Figures["max_chroma"], f.Figures["at_lightness"], f.Figures["lightness_falls"] = worst, at, fall
	f.Verdict = max(judged(worst, greyDoubtful, greyUnsound), judged(fall, fallDoubtful, fallUnsound))
	f.Words = fmt.Sprintf("Greys come out with a chroma of %.1f at most, at L* %.0f.", worst, at)
	if fall > fallDoubtful {
		f.Words += fmt.Sprintf(" Somewhere a lighter grey prints darker, by %.1f L*.", fall)
	}
	if facts.Channels == 1 {
		f.Words = "It has one ink: greys are of its colour."
		f.Verdict = judged(fall, fallDoubtful, fallUnsound)
	}
	return f, nil
}

// builtinSteps are the largest figures among the built-in papers: the step at the 99.9th
// percentile inside sRGB, along lines through it, and the fall of L*. A test computes
// them anew.
var builtinSteps = struct{ srgb, lines, fall float64 }{1.40, 1.61, 0.25}

const (
	stepDoubtful, stepUnsound         = 2.5, 5.0
	rampFallDoubtful, rampFallUnsound = 1.0, 6.0
)

// steps measures how evenly neighbouring colours print.
func steps(_ context.Context, q *opened, facts paper.Facts) (Finding, error) {
	if facts.Channels < 3 {
		return Finding{}, nil
	}
	m := evenness.Measure(q.print)
	f := Finding{ID: "smooth", Name: "even steps", Means: "Colours that lie side by side have to print side by side. A step of 1 is exact; much more tears skies and skin.",
		Figures: map[string]float64{"step_p999": m.SRGB.P999, "step_max": m.SRGB.Max, "line_step_p999": m.Lines.P999, "lightness_falls": m.Fall},
		Verdict: max(judged(max(m.SRGB.P999, m.Lines.P999), stepDoubtful, stepUnsound), judged(m.Fall, rampFallDoubtful, rampFallUnsound))}
	if m.SRGB.P999 < flatStep {
		f.Verdict = Unsound
	}
	how := map[Verdict]string{Sound: "Steps are even", Doubtful: "Some steps are uneven", Unsound: "Its tables tear or flatten colours"}[f.Verdict]
	f.Words = fmt.Sprintf("%s: 999 of 1,000 are at most %.1f times what was asked for (the built-in papers: %.1f), the largest %.1f.", how, max(m.SRGB.P999, m.Lines.P999), max(builtinSteps.srgb, builtinSteps.lines), m.SRGB.Max)
	if m.Fall > rampFallDoubtful {
		f.Words += fmt.Sprintf(" On a ramp towards %s the print gets darker by %.1f L* where it should get lighter.", words.HueOf(full(m.FallHue)), m.Fall)
	}
	return f, nil
}

// flatStep is a step below which all colours print alike.
const flatStep = 0.2

// full is the full colour of sRGB at an HSV hue.
func full(hue float64) cie.Lab {
	var v [3]float64
	for ch := range v {
		d := math.Abs(math.Remainder(hue-120*float64(ch), 360)) / 60
		v[ch] = min(max(2-d, 0), 1)
	}
	return srgb().ToLab(v[0], v[1], v[2])
}
