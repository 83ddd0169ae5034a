package cause

import (
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/setup"
)

// Case is the print in question.
type Case struct {
	// Setup is the route as it was meant: source, paper, intent, compensation. What
	// it says of slips and of the look on screen is passed over.
	Setup setup.Setup
	// Find finds what the set-up names, as for [setup.Setup.Plan].
	Find setup.Finder
	// Papers may have been taken for each other: the library's. The right one may be
	// among them.
	Papers []paper.Paper
	// Prior says what is likely before anything is seen; nil is [UsualPrior].
	Prior *Prior
	// More are places of the print that could still be measured, nil where that is not
	// known. The observed colour of each is passed over.
	More []Spot
}

// Prior shares out what is believed before anything is seen. The parts need not
// add up to one.
type Prior struct {
	// Right is the part of the right route, Slip that of each single slip, Fault
	// that of each fault that is no slip, shared by its inks or lights. A slip's
	// part is shared evenly by what may have been chosen wrongly.
	Right, Slip, Fault float64
	// Pair is the part of all pairs of slips together.
	Pair float64
	// Slips replaces Slip for the slips named by their IDs.
	Slips map[string]float64
}

// UsualPrior returns the prior that is used when none is given. It is a judgement,
// not a statistic: each single mistake as likely as another and as likely as a
// sound print, two at once rarer than any one.
func UsualPrior() Prior { return Prior{Right: 1.5, Slip: 1, Fault: 0.5, Pair: 0.75} }

func (p Prior) slip(id string) float64 {
	if v, ok := p.Slips[id]; ok {
		return v
	}
	return p.Slip
}

// Spot is a place of the print: what it was printed from, and what is seen there.
type Spot struct {
	Name string
	// Numbers are the original's numbers at the place, 0 to 1 each, one or more
	// pixels interleaved. The light of several is averaged, as an instrument does.
	Numbers []float64
	// Lab is the colour observed, D50, relative to the paper's white (bare paper is
	// 100, 0, 0).
	Lab cie.Lab
}
