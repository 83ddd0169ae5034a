package session

import (
	"image/color"

	"firstsheet/app/overlay"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
)

// MaxSheets is how many sheets lie on the desk at most: four still leave each
// of them readable on a 1024-pixel-wide screen.
const MaxSheets = 4

// MaxPins is how many pins a picture carries at most. Sixteen rows fill the
// pin table; a picture's telling colours are fewer.
const MaxPins = 16

// Viewport is what part of the picture all sheets show. They share one, so
// they can't drift apart.
type Viewport struct {
	Fit    bool
	CX, CY float64 // centre, in picture pixels from the top left corner
	Scale  float64 // device pixels per picture pixel; ignored while Fit
}

// Cell is the room that each sheet has on the desk, in device pixels.
type Cell struct {
	W, H  int
	Scale float64 // device pixels per toolkit unit
	Exact bool    // false where the toolkit can't place device pixels exactly
}

// Held is what a held key shows in place of the active sheet.
type Held uint8

// The keys that show something only while they are held.
const (
	HeldNone Held = iota
	HeldOriginal
	HeldProof
	HeldSlip
	HeldNext
)

// Looking is how the sheets are looked at; it changes no colour on paper.
type Looking struct {
	Overlays   overlay.Set // what is switched on of what can be drawn over the sheets
	BandsHeld  bool        // the reach bands the other way round, while the key is held
	NoPins     bool        // no pins are drawn over the sheets
	Threshold  float64     // ΔE00 from which a colour counts as out of reach: 1, 2, 4 or 8
	CountWhite bool        // count the paper's white in differences
	TooBright  bool        // the sheets as on a screen set too bright
	Lux        float64     // light on the print, lx
	Luminance  float64     // the screen's white, cd/m2
}

// PictureInfo is what State knows of the open picture; its pixels lie in the
// Store under Key.
type PictureInfo struct {
	Key      int
	Path     string // empty for the demo picture
	Name     string
	W, H     int
	Channels int
	Depth    int
	Origin   setup.Origin // how it is known what the numbers are
	Named    string       // what the file itself says of its space: profile description or space name
	Assumed  string       // space ID or profile path that is assumed where the file says nothing; "" when it says
	Alpha    bool
	Notes    string // remarks in plain words, one a line
}

// Screen is the profile that the sheets are shown through.
type Screen struct {
	Key     string // a space ID, the path of a profile, or a key that the engine gave
	Name    string
	Assumed bool // nobody told us: sRGB is assumed
}

// SystemScreen begins the keys of screens' profiles that come from the system and not
// from a file.
const SystemScreen = "system:"

// Station is one stop on the route line.
type Station struct {
	proof.Station
	Ask Ask // a question that a click puts: AskSource, AskScreen or AskNothing
}

// MaxStations bounds a route: file, two converters with their numbers, ink,
// light, screen.
const MaxStations = 8

// Route is the chain that the colours travel, as data.
type Route struct {
	Paper    string // what the paper is called, "" for the original
	N        int
	Stations [MaxStations]Station
	Idle     string // why compensation does nothing here, or ""
	Note     string // anything else that the route has to say
	Refused  string // why it can't be run, a sentence, or ""
}

// refusedRoute is the route of a set-up that can't be run.
func refusedRoute(why string) Route {
	r := Route{N: 1, Refused: why}
	r.Stations[0] = Station{Station: proof.Station{Title: "This route can’t be run", Detail: "the empty sheet says why"}}
	return r
}

// Result is what was computed for a sheet.
type Result struct {
	Gen       uint64 // the request that these belong to
	Computing bool
	Progress  float64
	Glance    proof.Figures // of some of the pixels, until all are counted; no Pixels where it is not there
	Figures   proof.Figures
	Measured  bool // Figures are there, of the whole picture
	Route     Route
	Told      Told // the one sentence, empty while it is being found
	Ground    color.RGBA
}

// PinValue is what a sheet says of a pin, by the exact chain.
type PinValue struct {
	pin.Value
	Known    bool
	OnScreen [3]float64 // the original as the screen is told it, 0 to 1
	// Right is the value's Counted without the sheet's slip, where Slipped.
	Right   cie.Lab
	Slipped bool
	Words   string
}

// Notice is a sentence for the user. Serial tells one from the next. What is said of a
// picture or of sheets goes when others lie there.
type Notice struct {
	Serial   int
	Headline string
	Hint     string
	Failure  bool
	picture  int      // that it speaks of, 0 for none
	sheets   differOf // that it speaks of, zero for none
}

// past tells whether a notice speaks of what lies there no more.
func (n Notice) past(s State) bool {
	return n.picture != 0 && n.picture != s.Picture.Key || n.sheets != (differOf{}) && n.sheets != s.differOf()
}

// Ask is a question that the window has to put by a dialog.
type Ask uint8

// The questions.
const (
	AskNothing Ask = iota
	AskPicture
	AskPaper
	AskScreen
	AskSource
	AskPinName
	AskTicket
	AskSaveSheet
	AskSaveDesk
	AskMenus // opens the menus, to be gone through by the arrow keys
	AskSheet // opens the active sheet's own menu
	AskSlip
	AskPapers
)

// Folds says which parts of the bench are unfolded.
type Folds struct {
	Looking, Pins bool
}

// LessonOn is what the lesson was opened on: a slip with what it was told, without one
// what shows most, and one of its five pages.
type LessonOn struct {
	Slip setup.Setup
	Page int
}

// Loading is a picture being opened.
type Loading struct {
	Serial int
	Path   string
	Demo   bool
	Source string // space or profile to take the numbers for; "" as the file says
	Keep   bool   // keep the pins and the view: the same picture saved anew
	// Laid is set where it comes with a saved desk: pins, view and source are those in
	// State's Laid.
	Laid bool
	// Instead is set where what was said before stays to be read: it comes at the start, or
	// in place of one that could not be opened.
	Instead bool
}

// AddingPaper is a profile being added.
type AddingPaper struct {
	Serial int
	Path   string
}

// Wish is a profile file that is to become the screen's or the picture's, once
// it has proved to be fit.
type Wish struct {
	Serial int
	Path   string
	Source bool // for the picture's numbers; else for the screen
}

// State is all that the window shows.
type State struct {
	Picture PictureInfo
	Loading Loading
	Adding  AddingPaper
	Sheets  [MaxSheets]Sheet
	Count   int
	Active  int
	View    Viewport
	Cell    Cell
	Looking Looking
	Pins    [MaxPins]pin.Pin
	NumPins int
	Pin     int // the chosen pin, -1 for none
	// Proposing goes up with each wish for proposed pins. Unasked is set where nobody has
	// wished for them: a picture that comes without pins gets some.
	Proposing int
	Unasked   bool
	Differ    Differ
	Held      Held
	Peek      Route // the route of what the held key shows
	Folds     Folds
	Screen    Screen
	Wish      Wish
	Edition   int // goes up when a profile in use was saved anew
	Library   int // goes up with each change of the papers' list in the Store
	Results   [MaxSheets]Result
	Values    [MaxSheets][MaxPins]PinValue
	Frame     uint64          // goes up with each finished set of buffers
	Stale     [MaxSheets]bool // the buffer on the desk is not of this set-up yet
	Notice    Notice
	Card      string // the open card's ID
	Lesson    LessonOn
	Ask       Ask
	Light     bool // light surroundings; the desk is the same grey in both
	Bare      bool // nothing but the sheets, on the whole screen
	Pointer   Pointer
	Desk      string // the ready-made desk's ID last taken
	Default   Sheet  // the set-up that a new proof starts with
	// Print is what the print card is set to; its set-up is the active proof's, and empty
	// here.
	Print printfile.Job
	// ScreenPPI is the screen's true resolution as it was measured, device pixels an
	// inch; 0 before.
	ScreenPPI float64
	// Laid is what of a saved desk waits for its picture.
	Laid Laid
	// CanUndo and CanRedo tell whether a change can be taken back, or made again.
	CanUndo, CanRedo bool
}

// Pointer is where the mouse is over the picture.
type Pointer struct {
	Over  bool
	Sheet int
	X, Y  float64
}

// Start is the state of a first start, before a picture is there: original
// and proof on the given paper, everything that is folded folded.
func Start(paper string) State {
	usual := setup.Usual(paper)
	usual.White, usual.Slips = proof.PaperWhite, usualSlip(3, 3)
	sheet := Sheet{Setup: usual, Against: -1}
	s := State{
		Count:   2,
		Active:  1,
		View:    Viewport{Fit: true},
		Cell:    Cell{Scale: 1, Exact: true},
		Looking: Looking{Overlays: overlay.Usual(), Threshold: 2, Lux: slip.UsualLux, Luminance: slip.UsualLuminance},
		Pin:     -1,
		Screen:  Screen{Key: "srgb", Name: "sRGB", Assumed: true},
		Desk:    "pair",
		Default: sheet,
		Print:   usualPrint(),
	}
	for i := range s.Sheets {
		s.Sheets[i] = sheet
		s.Sheets[i].Original = i == 0
	}
	return s
}

// Overlays returns what is drawn over the sheets at this moment.
func (s State) Overlays() overlay.Set {
	set := s.Looking.Overlays
	if s.Looking.BandsHeld {
		set = set.With(Bands, !set.Has(Bands))
	}
	return set
}

// Bands is the overlay that a held key shows or hides: the reach bands.
const Bands = "reach"
