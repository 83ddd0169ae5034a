package lesson

import (
	"context"
	"errors"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// Engine runs plans; *proof.Engine is one.
type Engine interface {
	setup.Chains
	Grid(context.Context, proof.Plan, proof.Quality) (*proof.Grid, error)
}

// Material is what a lesson is made of.
type Material struct {
	// Picture is what the picture is called.
	Picture string
	// Right is the set-up as it should be, on a paper; slips in it count for nothing.
	// Where its Dim says that the screen is not too bright, or nothing, the usual room
	// of package slip shows what a screen that is does.
	Right setup.Setup
	Find  setup.Finder
	// Numbers are the picture's, at full size.
	Numbers raster.Pixels
	// Pins are read in this order, but that Lead, the number of the one that the lesson
	// speaks of, comes first.
	Pins []pin.Pin
	Lead int
	// Papers and Spaces are what may be taken by mistake: papers, and what numbers may
	// wrongly be taken for, of which the first is taken that means other colours than
	// the truth.
	Papers, Spaces []string
	// ScreenAssumed says that nobody told which profile the screen has.
	ScreenAssumed bool
	// SourceAssumed says the same of the picture.
	SourceAssumed bool
	// Keep is a set-up whose slips the five pages are to show of this picture too, in the
	// same way where that can be; without slips the one is taken that shows most. Asked
	// says that it was asked for and not brought along from another picture.
	Keep  setup.Setup
	Asked bool
}

// Kind says what a step shows.
type Kind uint8

// The kinds of step, in their order.
const (
	Station Kind = iota // one station of the route as it should be
	Mistake             // one mistake
	Cannot              // the mistakes that can't be made here, and why
	Summary             // pins and mistakes in one table
)

// Step is one step of the lesson.
type Step struct {
	Kind Kind
	// Title names the station or the mistake; Place says where in the lesson it is,
	// such as "the right way, station 2 of 5".
	Title, Place string
	// Lead are the large sentences, the most telling first.
	Lead []string
	// Route is the whole route, At the station spoken of, -1 for none.
	Route proof.Route
	At    int
	// Setup is what the step shows, and Plan its plan: the mistake's, or the right one.
	// Original says that at this station there is no print yet.
	Setup    setup.Setup
	Plan     proof.Plan
	Original bool
	// Rows are the pins.
	Rows []Row
	// The rest is a mistake's. ID and Name are those of the slip.
	ID, Name                   string
	Reason, Recognise, Prevent string
	// Chosen says which of several ways to make the mistake this is; "" for the only one.
	Chosen string
	// Dim is the share of luminance at which the print is seen, else 1. OnScreen says that
	// the print itself is as it should be.
	Dim      float64
	OnScreen bool
	// Notes are what is assumed or can't be had.
	Notes []string
}

// Row is a pin at a step.
type Row struct {
	Pin string
	// Right and Wrong are the print as it should be and gone wrong, relative to the
	// paper's white. At a station Wrong is empty.
	Right, Wrong Colour
	// Change is from Right to Wrong, and Turn its turn of hue in degrees where both
	// have a hue worth naming.
	Change words.Change
	// Figures is what a station tells of the pin.
	Figures string
}

// Colour is what is read of a pin. The paper's white never counts: Counted is Relative.
type Colour struct {
	pin.Value
	pin.Numbers
	// Seen is Relative as it is seen: darker beside a screen that is too bright.
	Seen cie.Lab
	// OnScreen is what the screen is told of the original, 0 to 1; known for the right
	// way only.
	OnScreen [3]float64
}

// Lesson is the whole lesson.
type Lesson struct {
	Title   string
	Picture string
	Paper   string
	// Right is the set-up as it should be, and Plan its plan.
	Right setup.Setup
	Plan  proof.Plan
	// Pins are the names of the pins; the first is the one that the lesson speaks of.
	Pins  []string
	Steps []Step
	// Five is the lesson in five pages; it has none where nothing can go wrong.
	Five Five
	// Cautions belong under everything that the lesson shows.
	Cautions []string
}

// ErrNoPins is returned for material without pins: there is nothing to speak of.
var ErrNoPins = errors.New("lesson: no pins")

// Mistakes returns the steps that show a mistake.
func (l *Lesson) Mistakes() []Step {
	var out []Step
	for _, s := range l.Steps {
		if s.Kind == Mistake {
			out = append(out, s)
		}
	}
	return out
}
