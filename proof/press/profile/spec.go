package profile

import (
	"time"

	"firstsheet/proof/cie"
)

// Spec says what profile is to be built, and from what.
type Spec struct {
	// Description is the profile's name as programs list it, in any script; Copyright
	// its licence line, ASCII. Neither may be empty.
	Description, Copyright string
	// Maker and Model name the printer (dmnd, dmdd); each may be empty.
	Maker, Model string
	// Created is the date in the header. The bytes depend on nothing else that
	// changes from run to run.
	Created time.Time

	// Channels is 3 (RGB, 1 is no ink) or 4 (CMYK, 0 is no ink).
	Channels int
	// Forward returns the printed colour of the device numbers, 0 to 1 each:
	// absolute CIELAB under D50, the paper's white being what it is. It is called
	// from several goroutines, must not keep its argument, and must return the
	// same colour for the same numbers.
	Forward func(device []float64) cie.Lab

	// TotalInk is the largest sum of the four channels that the inverse tables may
	// ask for, 3 being 300 percent; 0 means no limit. CMYK only.
	TotalInk float64
	// Black returns how much black ink (0 to 1) is wished for a colour, given
	// relative to the paper's white, where the choice is free. nil means a curve
	// that starts at L* 70. CMYK only.
	Black func(relative cie.Lab) float64

	// ForwardGrid is the number of nodes an axis of the tables from device to Lab;
	// 0 means 33 for RGB and 17 for CMYK.
	ForwardGrid int
	// InverseGrid is the number of nodes an axis of the tables from Lab to device;
	// 0 means 33. It must be odd, so that the neutral axis lies on nodes.
	InverseGrid int

	// Target is the text of the characterisation data (CGATS.17) that goes into
	// the targ tag; empty leaves it out.
	Target string
}

// Stats sums up colour differences, all in ΔE00.
type Stats struct {
	Count          int
	Mean, P95, Max float64
}

// Report says how good a built profile is.
type Report struct {
	// Forward compares the forward table, as it is stored and interpolated, with
	// Spec.Forward at 1,000 random device colours.
	Forward Stats
	// RoundTrip is the difference after Lab to device to Lab by the colorimetric
	// tables, as stored, at 4,000 colours inside the gamut.
	RoundTrip Stats
	// White and Black are the paper's white and its darkest neutral, absolute.
	White, Black cie.Lab
	// Took is the time Build needed.
	Took time.Duration
}

// Result is a pair of finished profiles of the same paper.
type Result struct {
	// V2 is an ICC version 2.4 output profile, V4 one of version 4.3.
	V2, V4 []byte
	Report Report
}

// Progress is called now and then with the share of the work done, 0 to 1, and
// a word for what is being done. It is called from one goroutine at a time.
type Progress func(done float64, what string)
