package chart

import (
	"fmt"
	"strings"

	"firstsheet/proof/paper"
	"firstsheet/proof/words"
)

// InkOf reads a limit of total ink in percent as people write it, and returns it as
// [BuildOptions] has it: 3 is 300 %. "" is 0, no limit of one's own.
func InkOf(s string) (float64, bool) {
	v, ok := words.Number(strings.TrimSuffix(strings.TrimSpace(s), "%"))
	if v == 0 {
		return 0, ok
	}
	return v / 100, ok && v >= leastInk && v <= 400
}

// CleanName is a name as [Build] takes it, in whatever script: see [words.Clean].
func CleanName(s string) string { return words.Clean(s, maxName) }

// maxName is far longer than any list shows.
const maxName = 200

// leastInk is one ink in full: with less no full colour can be printed.
const leastInk = 100

// spread is a spread in words.
func spread(s Spread) string {
	return fmt.Sprintf("mean %.2f, 95 of 100 within %.2f, largest %.2f ΔE00 (%d colours)", s.Mean, s.P95, s.Max, s.Count)
}

// ReportLines says how good a new profile is.
func ReportLines(r Report) []words.Fact {
	out := []words.Fact{
		{Name: "Patches", Value: fmt.Sprintf("%d of %d used", r.Fit.Used, r.Fit.Patches), Means: "Those that the others contradict outright are set aside and named below."},
		{Name: "Fit", Value: spread(r.Table), Means: "What the finished profile says of the measured patches against what was measured. Below 1 is less than an eye sees side by side."},
		{Name: "Held out", Value: spread(r.Fit.HeldOut), Means: "Each patch predicted from all others: what a colour that was not measured may be off by, noise of the instrument included."},
		{Name: "There and back", Value: spread(r.RoundTrip), Means: "A colour within reach sent into the paper’s numbers and back: what the profile itself loses."},
	}
	out = append(out, paper.MainLines(r.Facts)...)
	if r.Fit.Noise > 0 {
		out = append(out, words.Fact{Name: "Noise", Value: fmt.Sprintf("about %.1f ΔE76", r.Fit.Noise), Means: "By how much a repeated reading is estimated to scatter."})
	}
	return out
}

// farOff is the mean ΔE00 from which on a new profile is spoken of as doubtful: ten
// times what a sound reading of a sound printer gives (own choice).
const farOff = 2.0

// ReportSentence is the one sentence of a new profile.
func ReportSentence(r Report) string {
	s := fmt.Sprintf("On average the profile is %.2f ΔE00 from what was measured, and its worst patch %.2f.", r.Table.Mean, r.Table.Max)
	if r.Table.Mean > farOff {
		s += " That is far: the readings may be of another chart or another sheet. Look into it before you print by this profile."
	}
	switch all := len(r.Fit.Suspects); {
	case all == 0:
		return s + " No patch contradicts the others."
	case all == 1:
		return s + " One patch contradicts the others."
	default:
		return s + fmt.Sprintf(" %d patches contradict the others.", all)
	}
}

// DoubtSentence says why measurements were not built from.
func DoubtSentence(e *DoubtError) string {
	switch {
	case len(e.Orders) > 0:
		return "The measurements look out of order, so nothing was built: " + strings.Join(e.Orders, " ")
	case len(e.Reasons) > 0:
		return "Nothing was built. " + strings.Join(e.Reasons, " ")
	}
	return fmt.Sprintf("%d of %d patches contradict the others, so nothing was built. Measure them again, leave the ticked ones out, or build all the same.", len(e.Suspects), e.Patches)
}
