package rank

import (
	"fmt"
	"math"
)

// Column is a figure of the ranking as a table shows it.
type Column struct {
	Head []string // a line each
	Help string   // how the figure is defined
	Cell func(Place) string
}

// Columns lists the figures in the order of the table. Definitions are those of
// [Figures], which names their sources.
func Columns() []Column {
	return []Column{
		{[]string{"out of", "reach"},
			fmt.Sprintf("Share of the picture whose colours this paper can’t print: more than %g ΔE00 away after going into the paper’s numbers and back. "+
				"It is the same with every intent. What is darker than the paper’s black is counted in the next column.", OutOfReach),
			func(p Place) string { return share(p.Figures.Out) }},
		{[]string{"below", "its black"},
			"Share of the picture that is darker than this paper’s deepest black, whatever the intent. With compensation its tones are moved up and stay apart.",
			func(p Place) string { return share(p.Figures.Darker) }},
		{[]string{"mean", "ΔE00"},
			"Mean CIEDE2000 colour difference (ISO/CIE 11664-6) between original and print over all pixels, the paper’s white taken as white. 1 is just seen side by side.",
			func(p Place) string { return fmt.Sprintf("%.1f", p.Figures.Mean) }},
		{[]string{"95 %", "within"},
			"95 of 100 pixels print within this ΔE00 of the original (95th percentile, nearest rank).",
			func(p Place) string { return fmt.Sprintf("%.1f", p.Figures.P95) }},
		{[]string{"pins", "turn"},
			"The largest turn of a pin’s hue, in degrees round the CIELAB hue circle; pins with too little colour to have a hue (C* below 8) don’t count.",
			func(p Place) string {
				if !coloured(p.Figures.Pins) {
					return "–"
				}
				_, d := p.Figures.PinOff()
				return fmt.Sprintf("%.0f°", d)
			}},
		{[]string{"skin", "turns"},
			"Mean turn of the hue of skin-like colours (hue 30 to 70°, C* 8 to 40, L* 20 to 90; woods, sand and brass may be among them), in degrees. – where there are none.",
			func(p Place) string {
				if p.Figures.SkinShare == 0 {
					return "–"
				}
				return fmt.Sprintf("%.1f°", p.Figures.SkinOff)
			}},
		{[]string{"shadow", "steps"},
			fmt.Sprintf("Steps of 1 ΔE00 in lightness below L* %g that stay apart in print, of those that the picture has.", ShadowTo),
			func(p Place) string { return stepsKept(p.Figures.Shadows) }},
		{[]string{"highlight", "steps"},
			fmt.Sprintf("Steps of 1 ΔE00 in lightness above L* %g that stay apart in print, of those that the picture has.", HighlightsIn),
			func(p Place) string { return stepsKept(p.Figures.Highlights) }},
		{[]string{"gradients", "lost"},
			"Share of the soft gradients (0.3 to 3 ΔE00 over a fiftieth of the picture) that print flat, or break into a step where colours are clipped. – where the picture has none.",
			func(p Place) string {
				if p.Figures.Smoothness.Pairs == 0 {
					return "–"
				}
				return share(p.Figures.Smoothness.Lost())
			}},
		{[]string{"contrast", "range"},
			"Lightness from this paper’s black to its white, both as printed, and how many times as bright the white is.",
			func(p Place) string {
				if p.Figures.Contrast == 0 {
					return fmt.Sprintf("%.0f", p.Figures.Range)
				}
				return fmt.Sprintf("%.0f, %.0f:1", p.Figures.Range, p.Figures.Contrast)
			}},
		{[]string{"checks", "passed"},
			"How many checks of the rule below it passes. Fewer failed checks come first; choose a row to see which fail.",
			func(p Place) string {
				n := len(Checks())
				return fmt.Sprintf("%d of %d", n-len(p.Failed), n)
			}},
	}
}

func coloured(pins []Turn) bool {
	for _, p := range pins {
		if p.Coloured {
			return true
		}
	}
	return false
}

func share(v float64) string {
	p := 100 * v
	switch {
	case p == 0:
		return "0 %"
	case p < 0.1:
		return "< 0.1 %"
	case p < 9.95:
		return fmt.Sprintf("%.1f %%", p)
	}
	return fmt.Sprintf("%.0f %%", math.Round(p))
}

func stepsKept(s Separation) string {
	if s.Steps == 0 {
		return "–"
	}
	return fmt.Sprintf("%d of %d", s.Kept, s.Steps)
}
