package cause

import (
	"fmt"
	"slices"
	"strings"

	"firstsheet/proof/mishap"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// rightID is what a command line calls no slip at all.
const rightID = "none"

func idOf(h *hypothesis) string {
	if len(h.slips) == 0 {
		return rightID
	}
	return h.cause()
}

func nameOf(h *hypothesis) string {
	if h.mishap != nil {
		return h.mishap.Name
	}
	var names []string
	for _, id := range h.slips {
		if s, ok := slip.ByID(id); ok {
			names = append(names, s.Name)
		}
	}
	if len(names) == 0 {
		return "nothing went wrong"
	}
	return words.List(names)
}

// detailOf tells what was chosen wrongly, as far as a slip has a choice.
func detailOf(h *hypothesis) string {
	if h.mishap != nil {
		return h.mishap.Detail
	}
	var parts []string
	for _, id := range h.slips {
		s, ok := slip.ByID(id)
		if !ok {
			continue
		}
		if s.NeedsReads && h.set.Reads != "" {
			parts = append(parts, "numbers taken for "+spaceName(h.set.Reads))
		}
		if s.NeedsSecond {
			part := "the second time " + h.set.Second.String()
			if last := h.plan.Conversions; len(last) > 0 {
				part += " from " + last[len(last)-1].From.Name()
			}
			parts = append(parts, part)
		}
		if s.NeedsPaper && len(h.plan.Conversions) > 0 {
			parts = append(parts, "the profile of "+h.plan.Conversions[len(h.plan.Conversions)-1].To.Name())
		}
		if s.NeedsSetting && h.plan.Setting != "" {
			parts = append(parts, "set to "+h.plan.Setting)
		}
	}
	return strings.Join(parts, "; ")
}

func spaceName(ref string) string {
	if s, ok := space.ByID(ref); ok {
		return s.Name
	}
	return ref
}

// advice returns what slips and mishaps say of themselves.
func advice(h *hypothesis) (recognise, prevent string) {
	if h.mishap != nil {
		return h.mishap.Recognise, h.mishap.Prevent
	}
	var r, p []string
	for _, id := range h.slips {
		if s, ok := slip.ByID(id); ok {
			r, p = append(r, s.Recognise), append(p, s.Prevent)
		}
	}
	return strings.Join(r, " "), strings.Join(p, " ")
}

// verdict sums an answer up.
func (f *finding) verdict(a Answer) string {
	first := a.Causes[0]
	if !a.Explained {
		return fmt.Sprintf("None of the known causes explains these colours. The nearest is %s, which is off by ΔE00 %.1f on average.",
			withDetail(first), first.MeanDeltaE00)
	}
	if first.ID == rightID {
		s := fmt.Sprintf("Nothing went wrong, or nothing that these colours show (%s).", percent(first.Probability))
		if none := nothing(first); none != "" {
			s += " Of the slips, " + none + " would change nothing here."
		}
		if names := f.names(a.Unseen); names != "" {
			s += " This evidence cannot tell whether it was looked at wrongly: " + names + "."
		}
		return s + open(a)
	}
	return fmt.Sprintf("Most likely: %s (%s).", withDetail(first), percent(first.Probability)) + open(a)
}

// nothing names the single slips that change nothing against the right route.
func nothing(first Cause) string {
	var names []string
	for _, v := range first.Variants {
		if !v.ChangesNothing || len(v.Slips) != 1 {
			continue
		}
		if s, ok := slip.ByID(v.Slips[0]); ok && !s.OnScreen && !slices.Contains(names, s.Name) {
			names = append(names, s.Name)
		}
	}
	return words.List(names)
}

// names returns what causes are called.
func (f *finding) names(ids []string) string {
	var names []string
	for _, h := range f.all {
		if name := nameOf(h); slices.Contains(ids, idOf(h)) && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return words.List(names)
}

// open names the other causes that are left open.
func open(a Answer) string {
	if len(a.Tied) == 0 {
		return ""
	}
	tied := map[string]bool{}
	for _, id := range a.Tied[0] {
		tied[id] = true
	}
	var names []string
	const most = 4 // more than that no one reads
	for _, c := range a.Causes[1:] {
		if tied[c.ID] && len(names) < most {
			names = append(names, fmt.Sprintf("%s (%s)", c.Name, percent(c.Probability)))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return " Not to be told apart from it for certain: " + words.List(names) + "."
}

func withDetail(c Cause) string {
	if d := c.Variants[0].Detail; d != "" {
		return c.Name + ", " + d
	}
	return c.Name
}

// percent rounds, and leaves no probability certain.
func percent(p float64) string {
	switch {
	case p > 0.99:
		return "more than 99 %"
	case p < 0.01:
		return "less than 1 %"
	}
	return fmt.Sprintf("%.0f %%", p*100)
}

// cautions says what the answer rests on.
func (f *finding) cautions(a Answer) []string {
	out := []string{"The probabilities hold if one of the listed causes is the true one; they are no proof. " + f.prior.told()}
	if f.all[0].plan.Notes() != nil {
		out = append(out, f.all[0].plan.Notes()...)
	}
	var inks, photo bool
	for _, h := range f.all {
		inks = inks || h.mishap != nil && h.mishap.Kind == mishap.Ink
	}
	for _, e := range f.evidence {
		_, is := e.(interface{ photographed() })
		photo = photo || is
	}
	if inks {
		out = append(out, "Missing inks and wrong media settings are simulated with the paper's ink model.")
	} else {
		out = append(out, "This paper has no ink model: missing inks and wrong media settings are not among the causes.")
	}
	if photo {
		out = append(out, "A photograph tells less than an instrument; how well it tells causes apart was tried on simulated photographs only.")
	}
	if !a.Explained {
		out = append(out, "Where nothing explains the print, look for the wrong side of the paper, another stock in the tray, a damaged profile, or pins set on the wrong places.")
	}
	return out
}
