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
	Prior Prior
	// More are places of the print that could still be measured, nil where that is not
	// known. The observed colour of each is passed over.
	More []Spot
	// Progress is told how much has been tried, 0 to 1, from any goroutine; nil for none.
	Progress func(float64)
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
