package session

import (
	"context"
	"image/color"

	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
)

// Setup is everything that decides how numbers of a picture become numbers of
// the screen. It is comparable: two equal ones look the same and are computed once.
type Setup struct {
	Picture  int    // Store key; the source profile may be the picture's own
	Source   string // space ID or "file:..." that is assumed; "" for the picture's own
	Original bool
	Paper    string
	Intent   Intent
	BPC      bool
	White    White
	Slip     Slip    // empty where all is as it should be
	Screen   string  // screen profile key
	Dim      float64 // luminance factor of a screen set too bright; 1 for none
	Counted  bool    // differences count the paper's white
}

// Look is a set-up made ready to be applied to pixels. It is immutable and may
// be used by many goroutines.
type Look interface {
	// Proof writes the screen's bytes of every pixel: red, green, blue and an
	// opaque alpha.
	Proof(ctx context.Context, dst []uint8, src raster.Pixels) error
	// Samples writes difference and reach of every pixel.
	Samples(ctx context.Context, dst []proof.Sample, src raster.Pixels) error
	// Ground is the bare paper's colour on the screen.
	Ground() color.RGBA
}

// Picture is an open picture with its pixels.
type Picture struct {
	Info PictureInfo
	// Levels are the picture's numbers: Levels[0] at full size, each next one at
	// half the size of the one before.
	Levels []raster.Pixels
	Photo  *photo.Picture
	Pins   []Pin // pins that come with it
}

// Paper is a paper in the list.
type Paper struct {
	ID, Name  string
	BuiltIn   bool
	Finish    string
	White     [3]float64 // Lab, absolute
	Black     [3]float64
	WhiteSeen color.RGBA // on an sRGB screen, for the swatch
	BlackSeen color.RGBA
	Channels  int
	Facts     [][2]string // name and value, for the card
}

// SlipKind is a slip in the list.
type SlipKind struct {
	ID, Name, Help string
	NeedsPaper     bool // needs another paper
	NeedsReads     bool // needs a space that numbers are taken for
	NeedsSecond    bool // has a second converter
}

// Space is a space in the list of those that can be assumed.
type Space struct{ ID, Name string }

// Engine is what the session asks for. Every call may be made from any
// goroutine; those with a context return its error when it ends.
type Engine interface {
	Papers() []Paper
	AddPaper(ctx context.Context, path string) (Paper, error)
	Slips() []SlipKind
	Spaces() []Space
	Open(ctx context.Context, path string) (*Picture, error)
	Demo(ctx context.Context) (*Picture, error)
	// Screen reads a profile for the screen and returns how it is called.
	Screen(ctx context.Context, path string, data []byte) (Screen, error)
	// Use makes a picture's own profile known under its Store key.
	Use(pic *Picture)

	Route(pic PictureInfo, set Setup, screen Screen) (Route, error)
	Look(ctx context.Context, set Setup, q proof.Quality) (Look, error)
	// Apart returns the ΔE00 between two set-ups for every pixel.
	Apart(ctx context.Context, a, b Setup) (func(dst []float32, src raster.Pixels), error)
	Figures(ctx context.Context, pic *Picture, set Setup, progress func(float64)) (Figures, error)
	// Values gives the pins' colours by the exact chain; src holds one colour a
	// pin, 0 to 1, interleaved.
	Values(ctx context.Context, set Setup, src []float64) ([]PinValue, error)
	// Words makes the one sentence of a sheet from its pins or figures.
	Words(set Setup, screen Screen, pins []Pin, values []PinValue, fig Figures) string
}
