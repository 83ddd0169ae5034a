package lesson

import (
	"fmt"
	"math"

	"firstsheet/proof/words"
)

// summary is the table of all pins and mistakes.
func (k *maker) summary(mistakes []Step) Step {
	s := k.step(Step{Kind: Summary, Title: "All mistakes side by side", Place: "how far each turns the hue of each pin"})
	var most Row
	by := ""
	for _, x := range mistakes {
		for _, r := range x.Rows {
			if r.Change.Hue != words.Unnamed && math.Abs(r.Change.Turn) > math.Abs(most.Change.Turn) {
				most, by = r, x.Name
			}
		}
	}
	if by == "" {
		s.Lead = append(s.Lead, "No mistake turns the hue of any pin by as much as the eye sees.")
	} else {
		s.Lead = append(s.Lead, fmt.Sprintf("The largest turn of all: %s goes %s towards %s with ‘%s’.",
			words.The(most.Pin), words.Degrees(most.Change.Degrees()), most.Change.Towards, by))
	}
	return s
}

// Cell is what the summary says of one pin and one mistake: the turn of hue with its
// direction, the cast of a neutral, or that nothing is seen.
func Cell(c words.Change) string {
	switch {
	case c.Same():
		return "–"
	case c.Hue != words.Unnamed:
		sign := "+"
		if c.Turn < 0 {
			sign = "−"
		}
		return fmt.Sprintf("%s%d° %s", sign, c.Degrees(), c.Towards)
	case c.Cast != words.Unnamed:
		return c.CastWord()
	case c.Chroma != words.Unnamed && c.Chroma >= c.Lightness:
		return map[bool]string{true: "duller", false: "more vivid"}[c.Terms.Chroma < 0]
	case c.Lightness != words.Unnamed:
		return map[bool]string{true: "darker", false: "lighter"}[c.Terms.Lightness < 0]
	}
	return "little"
}
