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
	Edition  int     // of the profiles: a file saved anew is another
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
	Studied   bool       // white, black and facts are known
	White     [3]float64 // Lab, absolute
	Black     [3]float64
	WhiteSeen color.RGBA // on an sRGB screen, for the swatch
	BlackSeen color.RGBA
	Path      string // its file, "" for a built-in one
	Channels  int
	EightBit  bool
	Settings  [][2]string // ID and name of wrong media settings that can be simulated
	Facts     [][2]string // what and how much, for reading
}

// SlipKind is a slip in the list.
type SlipKind struct {
	ID, Name     string
	Help         string
	NeedsPaper   bool // needs another paper
	NeedsReads   bool // needs a space that numbers are taken for
	NeedsSecond  bool // has a second converter
	NeedsSetting bool // needs another media setting
}

// Space is a space in the list of those that can be assumed.
type Space struct{ ID, Name string }

// Engine is what the session asks for. Every call may be made from any
// goroutine; those with a context return its error when it ends.
type Engine interface {
	// Papers lists the papers at hand; those not yet studied have a name only.
	Papers() []Paper
	// Study finds out what every paper is; it takes a few tenths of a second each.
	Study(ctx context.Context) error
	AddPaper(ctx context.Context, path string) (Paper, error)
	Slips() []SlipKind
	Spaces() []Space
	Open(ctx context.Context, path string) (*Picture, error)
	Demo(ctx context.Context) (*Picture, error)
	// Screen reads a profile for the screen and returns how it is called.
	Screen(ctx context.Context, path string, data []byte) (Screen, error)
	// Source checks that a profile file can say what a picture's numbers mean.
	Source(ctx context.Context, pic *Picture, path string) error
	// Refresh reads the papers' files anew.
	Refresh()
	// Watch calls changed each time one of the files was saved anew, until ctx ends.
	Watch(ctx context.Context, paths []string, changed func(path string)) error
	// Use makes a picture's own profile known under its Store key.
	Use(pic *Picture)

	Route(pic PictureInfo, set Setup, screen Screen) (Route, error)
	Look(ctx context.Context, set Setup, q proof.Quality) (Look, error)
	// Apart returns the ΔE00 between two set-ups for every pixel.
	Apart(ctx context.Context, a, b Setup) (func(dst []float32, src raster.Pixels), error)
	Figures(ctx context.Context, pic *Picture, set Setup, progress func(float64)) (Figures, error)
	// Values gives the pins' colours by the exact chain: every pixel of a pin
	// passes the chain, then the results are averaged.
	Values(ctx context.Context, pic *Picture, set Setup, pins []Pin) ([]PinValue, error)
	// Propose finds the picture's own telling colours, away from the pins in have.
	Propose(ctx context.Context, pic *Picture, have []Pin) ([]Pin, error)
	// Words makes the one sentence of a sheet from its pins, of which chosen is
	// the one to speak of (-1 for the most telling), or from its figures. It also
	// returns the pin that the sentence speaks of, or -1.
	Words(set Setup, pins []Pin, values []PinValue, chosen int, fig Figures) (sentence string, spoken int)
}
