package session

import (
	"context"
	"image/color"
	"sync"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// Look is a set-up made ready to be applied to pixels. It is immutable and may
// be used by many goroutines.
type Look interface {
	// Proof writes the screen's bytes of every pixel: red, green, blue and an
	// opaque alpha.
	Proof(ctx context.Context, dst []uint8, src raster.Pixels) error
	// ProofAndSamples writes difference and reach of every pixel, too.
	ProofAndSamples(ctx context.Context, dst []uint8, samples []proof.Sample, src raster.Pixels) error
	// Ground is the bare paper's colour on the screen.
	Ground() color.RGBA
}

// Difference writes the ΔE00 between two set-ups into the sample of every pixel.
type Difference func(dst []proof.Sample, src raster.Pixels)

// Picture is an open picture with its pixels.
type Picture struct {
	Info PictureInfo
	// Levels are the picture's numbers: Levels[0] at full size, each next one at
	// half the size of the one before.
	Levels []raster.Pixels
	// Source says what the numbers are; its Picture has them, and the alpha.
	Source setup.Source
	Pins   []pin.Pin // pins that come with it

	begin sync.Once
	whole *proof.Picture
}

// Whole returns what figures are counted over: Levels[0] and the alpha.
func (p *Picture) Whole() *proof.Picture {
	p.begin.Do(func() { p.whole = proof.NewPicture(p.Levels[0], p.Alpha()) })
	return p.whole
}

// Small returns the smallest of the picture's sizes whose longer side is at least that, or
// the picture itself.
func (p *Picture) Small(side int) raster.Pixels {
	small := p.Levels[0]
	for _, l := range p.Levels {
		if max(l.W, l.H) >= side {
			small = l
		}
	}
	return small
}

// bytes returns the memory that the pixels take, at all sizes.
func (p *Picture) bytes() int {
	n := len(p.Alpha())
	for _, l := range p.Levels {
		n += len(l.P8) + 2*len(l.P16)
	}
	return n
}

// Alpha returns the picture's alpha, one byte a pixel, or nil.
func (p *Picture) Alpha() []uint8 {
	if p.Source.Picture == nil {
		return nil
	}
	return p.Source.Picture.Alpha
}

// Paper is a paper in the list.
type Paper struct {
	paper.Paper
	// Facts is what its profile says and does, nil until it has been studied.
	Facts *paper.Facts
}

// White returns the paper's white, absolute D50 CIELAB.
func (p Paper) White() cie.Lab {
	if p.Facts != nil {
		return p.Facts.White
	}
	white, _ := p.Profile.MediaWhite()
	return white
}

// Black returns the paper's black likewise: that of a plain matte sheet until the
// paper has been studied.
func (p Paper) Black() cie.Lab {
	if p.Facts != nil {
		return p.Facts.Black
	}
	return cie.Lab{L: 15}
}

// EightBit says that the tables are known to be of 8 bits.
func (p Paper) EightBit() bool { return p.Facts != nil && p.Facts.EightBit }

// Engine is what the session and the cards ask for. Every call may be made from any
// goroutine; those with a context return its error when it ends.
type Engine interface {
	Pictures
	Shelf
	Plans

	// Screen reads a profile for the screen and returns how it is called; data is the
	// profile itself where it does not come from a file.
	Screen(ctx context.Context, path string, data []byte) (Screen, error)
	// Watch calls changed each time one of the files was saved anew, until ctx ends.
	Watch(ctx context.Context, paths []string, changed func(path string)) error

	// Route is the route of a sheet in words for the route line.
	Route(pic *Picture, set setup.Setup, screen Screen) (Route, error)
	Look(ctx context.Context, pic *Picture, set setup.Setup, q proof.Quality) (Look, error)
	// Difference compares the pictures that two set-ups give.
	Difference(ctx context.Context, pic *Picture, a, b setup.Setup) (Difference, error)
	// Differing finds where the picture under one set-up differs most from it under the
	// others, the largest difference first; it leaves out what is not seen. Names are
	// what the set-ups are called in the words.
	Differing(ctx context.Context, pic *Picture, one setup.Setup, others []setup.Setup, name string, names []string) ([]Differing, error)
	// Glance looks at some of the picture's pixels, Figures at all of them.
	Glance(ctx context.Context, pic *Picture, set setup.Setup) (proof.Figures, error)
	Figures(ctx context.Context, pic *Picture, set setup.Setup, progress func(float64)) (proof.Figures, error)
	// Values reads the pins through the exact chain.
	Values(ctx context.Context, pic *Picture, set setup.Setup, pins []pin.Pin) ([]PinValue, error)
	// Sentence makes the one sentence of a sheet from its pins, of which chosen is
	// the one to speak of (-1 for the most telling), or from its figures, nil where
	// they are not known.
	Sentence(ctx context.Context, pic *Picture, set setup.Setup, pins []pin.Pin, values []PinValue, chosen int, fig *proof.Figures) (Told, error)
	// Close lets go of all that is kept.
	Close()
}

// Pictures opens pictures.
type Pictures interface {
	Open(ctx context.Context, path string) (*Picture, error)
	Demo(ctx context.Context) (*Picture, error)
	// CheckSource says why a profile file cannot say what a picture's numbers mean.
	CheckSource(pic *Picture, path string) error
	// Propose finds the picture's own telling colours, away from the pins in have.
	Propose(ctx context.Context, pic *Picture, have []pin.Pin) ([]pin.Pin, error)
}

// Shelf keeps the papers. Its calls read and write files.
type Shelf interface {
	// Papers lists the papers at hand.
	Papers() []Paper
	// Unusable lists the files in the papers' folder that can't be used.
	Unusable() []paper.Problem
	// Study finds out what every paper is; it takes a few tenths of a second each.
	Study(ctx context.Context) error
	// Refresh reads the papers' files anew.
	Refresh()
	// AddPaper adds the profile in a file, or returns the paper that has it already.
	AddPaper(path string) (p Paper, had bool, err error)
	// KeepProfile makes a finished profile a paper with a card. A paper that is
	// returned together with an error is kept, but its card is not.
	KeepProfile(data []byte, c paper.Card) (Paper, error)
	// SetCard keeps what is noted of a paper.
	SetCard(id string, c paper.Card) error
	// MovePaper puts a paper steps further down the list, up for negative ones.
	MovePaper(id string, steps int) error
	// RemovePaper takes an added paper away with all that was noted of it; Removed are
	// those that RestorePaper can bring back, the last first.
	RemovePaper(id string) (paper.Removed, error)
	Removed() []paper.Removed
	RestorePaper(folder string) (Paper, error)
	// Readings returns what was read of a paper's prints, the oldest first; those that
	// can be read also beside an error.
	Readings(id string) ([]paper.Reading, error)
	// AddReading notes a reading of a paper and returns its ID; RemoveReading takes one
	// away.
	AddReading(id string, r paper.Reading) (string, error)
	RemoveReading(id, reading string) (paper.Reading, error)
}

// Plans turns set-ups into plans and runs them.
type Plans interface {
	// Plan returns the plan of a set-up; pic is the picture whose numbers it is about,
	// nil where the set-up names its source.
	Plan(pic *Picture, set setup.Setup) (proof.Plan, error)
	// Finder finds what such a set-up names.
	Finder(pic *Picture) setup.Finder
	// Chain returns the exact chain of a plan. The caller closes it.
	Chain(p proof.Plan) (*proof.Chain, error)
	// Prints returns what many plans print of the same numbers.
	Prints(ctx context.Context, plans []proof.Plan, src []float64, progress func(float64)) ([][]cie.Lab, error)
	// Count counts the figures of a plan over a whole picture.
	Count(ctx context.Context, p proof.Plan, pic *proof.Picture, progress func(done float64)) (proof.Figures, error)
	// Grid returns a plan sampled, for pictures.
	Grid(ctx context.Context, p proof.Plan, q proof.Quality) (*proof.Grid, error)
}
