package cause

import (
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
)

// Step is one step of the guided order, 'the printer first': each clears a part of
// the route before the next is looked at, so that a sheet is never spent on a part
// that was not sound to begin with (common practice, no source).
type Step struct {
	ID, Title string
	// Do says what to do, Pass what a sound result looks like.
	Do, Pass string
	// Cleared says what is ruled out when the step passes, Found what a failure says.
	Cleared, Found string
	shows          func(trouble) bool
}

// PrinterFirst returns the guided order.
func PrinterFirst() []Step {
	return []Step{
		{
			ID: "nozzles", Title: "Nozzle pattern",
			Do:      "Print the printer's own nozzle pattern on plain paper.",
			Pass:    "Every line of every ink is there, none broken or shifted.",
			Cleared: "No ink is missing or clogged.",
			Found:   "An ink is missing or clogged: clean the heads and print the pattern again before anything else.",
			shows:   func(t trouble) bool { return t.ink },
		},
		{
			ID: "driver", Title: "Check sheet, driver alone",
			Do:      "Print the check sheet with the driver alone handling colour, the application's conversion off, on the paper and media setting of the bad print.",
			Pass:    "Greys are grey, the dark steps differ, gradients have no bands, skin is skin.",
			Cleared: "Inks, paper and media setting are sound: the fault lies in the route through the application, or in how the print is looked at.",
			Found:   "The fault is the printer's: inks, the paper in the tray, or the media setting.",
			shows:   func(t trouble) bool { return t.ink || t.laid },
		},
		{
			ID: "judge", Title: "Judge it in good light",
			Do:      "Look at the bad print itself, dry, in daylight or by the light it was made for, away from the screen.",
			Pass:    "It still looks wrong.",
			Cleared: "Neither the lamp nor too bright a screen made it look wrong.",
			Found:   "The print is right and was looked at wrongly: set the screen's white to the light, and judge prints in that light.",
			shows:   func(t trouble) bool { return t.looked },
		},
		{
			ID: "application", Title: "Check sheet, through the application",
			Do:      "Print the check sheet by the very route of the bad print: same program, profile, intent, driver settings.",
			Pass:    "It looks as the check sheet's proof on this paper does.",
			Cleared: "The route converts once and to the right paper: what is left is the picture's own file.",
			Found:   "The route is broken: a conversion too many or missing, or another paper's profile.",
			shows:   func(t trouble) bool { return t.ink || t.laid || t.converted },
		},
		{
			ID: "file", Title: "The file's label",
			Do:      "Open the picture and read which space its numbers are said to be in, and in which it was saved.",
			Pass:    "Both are the same.",
			Cleared: "The numbers were taken for what they are.",
			Found:   "The picture's label is missing or wrong: give it the right profile without converting, and print again.",
			shows:   func(t trouble) bool { return t.label },
		},
	}
}

// Outcome is evidence: how a step of [PrinterFirst] came out.
type Outcome struct {
	Step   string // its ID
	Passed bool
}

// misjudged is the share of steps whose outcome is read wrongly (own definition).
const misjudged = 0.02

func (o Outcome) step() (Step, bool) {
	for _, s := range PrinterFirst() {
		if s.ID == o.Step {
			return s, true
		}
	}
	return Step{}, false
}

func (o Outcome) check() error {
	if _, ok := o.step(); !ok {
		return evidenceError("no step of the guided order is called %q", o.Step)
	}
	return nil
}

func (o Outcome) observed([]cie.Lab) []cie.Lab { return nil }
func (o Outcome) spots() []Spot                { return nil }
func (o Outcome) seen() bool                   { return false }
func (o Outcome) spread() float64              { return 0 }

func (o Outcome) logLikelihood(h *hypothesis, _, _ []cie.Lab) float64 {
	s, _ := o.step()
	if s.shows(h.trouble()) == o.Passed {
		return math.Log(misjudged)
	}
	return math.Log(1 - misjudged)
}

// trouble tells in which part of the route a hypothesis has its fault.
type trouble struct {
	ink       bool // an ink
	laid      bool // how ink is laid down on the paper
	converted bool // the conversions
	label     bool // what the file's numbers are said to be
	looked    bool // how the print is looked at
}

func (h *hypothesis) trouble() trouble {
	t := trouble{looked: h.unseen}
	for _, s := range h.plan.Route().Stations {
		switch {
		case s.Fault == proof.NoFault:
		case s.Fault == proof.NoInk:
			t.ink = true
		case s.Fault == proof.Mislabeled:
			t.label = true
		case s.Kind == proof.InkStation:
			t.laid = true
		case s.Kind == proof.ScreenStation:
			t.looked = true
		default:
			t.converted = true
		}
	}
	return t
}
