package session

import "image/color"

// MaxSheets is how many sheets lie on the desk at most: four still leave each
// of them readable on a 1024-pixel-wide screen.
const MaxSheets = 4

// MaxPins is how many pins a picture carries at most. Sixteen rows fill the
// pin table; a picture's telling colours are fewer.
const MaxPins = 16

// Intent is an ICC rendering intent by its number in the profile header.
type Intent uint8

// The four intents of ISO 15076-1.
const (
	Perceptual Intent = iota
	Relative
	Saturation
	Absolute
)

// Name is the intent's name in the words of the trade.
func (i Intent) Name() string {
	switch i {
	case Perceptual:
		return "perceptual"
	case Relative:
		return "relative"
	case Saturation:
		return "saturation"
	case Absolute:
		return "absolute"
	}
	return "unknown"
}

// White says which white a sheet is shown with.
type White uint8

const (
	// PaperWhite shows paper and ink as printed (absolute).
	PaperWhite White = iota
	// ScreenWhite shows the paper's white as the screen's white (relative).
	ScreenWhite
)

// Name is the white's name in plain words.
func (w White) Name() string {
	if w == ScreenWhite {
		return "screen’s white"
	}
	return "paper’s white"
}

// Slip is the mistake chosen for a sheet, with what it needs to know. Two
// mistakes may be made at once; the second is empty otherwise.
type Slip struct {
	ID         [2]string
	OtherPaper string // paper ID, for 'another paper's profile'
	Reads      string // space ID that numbers are wrongly taken for
	Second     Intent // the second converter's intent, for 'converted twice'
	Setting    string // ID of the wrong media setting; "" for the paper's first
	Chosen     bool   // somebody chose it; else it is the usual one
}

// Show says what a sheet shows of its picture.
type Show uint8

const (
	// ShowPicture shows the picture itself.
	ShowPicture Show = iota
	// ShowDifference shows how far it is from another, in reach bands.
	ShowDifference
)

// Sheet is one sheet on the desk: everything that decides how it looks.
type Sheet struct {
	Original bool // the picture itself, on no paper
	Paper    string
	Intent   Intent
	BPC      bool
	White    White
	Wrong    bool // the large switch: true shows the slip
	Slip     Slip
	Show     Show
	Against  int // for ShowDifference: another sheet's number, or -1 for the original
}

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
	Bands      bool    // reach bands over the proofs
	BandsHeld  bool    // the same while the key is held
	Darker     bool    // pattern where the picture is darker than the paper's black
	Threshold  float64 // ΔE00 from which a colour counts as out of reach: 1, 2, 4 or 8
	CountWhite bool    // count the paper's white in differences
	TooBright  bool    // the sheets as on a screen set too bright
	Lux        float64 // light on the print, lx
	Luminance  float64 // the screen's white, cd/m2
}

// Pin is a mark on the picture.
type Pin struct {
	Name   string
	X, Y   float64 // picture pixels
	Radius float64 // picture pixels; the mean over this circle is read
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
	Embedded bool   // the file carries its own profile
	Named    string // what the file itself says of its space: profile description or space name
	Assumed  string // space ID that is assumed where the file says nothing; "" when it says
	Alpha    bool
	Notes    string // remarks in plain words, one a line
}

// Screen is the profile that the sheets are shown through.
type Screen struct {
	Key     string // profile key in the engine: a space ID, "system" or "file:..."
	Name    string
	Assumed bool   // nobody told us: sRGB is assumed
	Black   string // a remark when the screen's black is lifted
}

// Station is one stop on the route line.
type Station struct {
	Kind  string // file, converter, numbers, ink, screen
	Plain string // plain words
	Trade string // the trade's terms
	Fault Fault  // what is wrong with the link that leads here
	Note  string // why, in a few words
	Ask   string // a choice offered on a click: "source", "screen", or ""
}

// Fault says how the link into a station is wrong. Each has a shape of its own.
type Fault uint8

const (
	// FaultNone is a sound link.
	FaultNone Fault = iota
	// FaultExtra is a link that should not be there.
	FaultExtra
	// FaultMissing is a link left out.
	FaultMissing
	// FaultWrong is a link that takes the numbers for something else.
	FaultWrong
)

// MaxStations bounds a route: file, two converters with their numbers, ink,
// light, screen.
const MaxStations = 8

// Route is the chain that the colours travel, as data.
type Route struct {
	N        int
	Stations [MaxStations]Station
	Idle     string // why compensation does nothing here, or ""
	Note     string // anything else that the route has to say
}

// NumBands is the number of reach bands: 0 is inside the reach, then from 1,
// 2, 4 and 8 ΔE00 on.
const NumBands = 5

// Figures are a sheet's figures over the whole picture at full size.
type Figures struct {
	Known     bool
	Bands     [NumBands]float64 // share of the picture in each band; they and Darker sum to 1
	Outside   float64           // share beyond the threshold of 2
	Darker    float64           // share darker than this paper's black
	Mean, P95 float64           // ΔE00 of proof against original
	Max       float64
}

// Result is what was computed for a sheet.
type Result struct {
	Gen       uint64 // the request that these belong to
	Computing bool
	Progress  float64
	Figures   Figures
	Route     Route
	Words     string // the one sentence, "" while it is being found
	Spoken    int    // the pin it speaks of, or -1
	Refused   string // why this set-up can't be, or ""
	Ground    color.RGBA
}

// PinValue is a pin's colour on a sheet, by the exact chain.
type PinValue struct {
	Known    bool
	Original [3]float64 // Lab, D50
	Counted  [3]float64 // Lab that ΔE00 and words are told for: relative, or absolute where the paper’s white counts
	Relative [3]float64 // Lab relative to the paper's white
	Right    [3]float64 // the same without the sheet's slip, where Slipped
	Slipped  bool
	DeltaE00 float64
	Reach    float64
	Darker   bool
	Screen   color.RGBA // as on this screen
	OnScreen color.RGBA // the original on this screen
	Words    string
}

// Notice is a sentence for the user. Serial tells one from the next.
type Notice struct {
	Serial   int
	Headline string
	Hint     string
	Failure  bool
}

// Task is long work that is under way.
type Task struct {
	Name string
	Done float64 // 0 to 1; below 0 when unknown
	Stop bool    // it can be stopped
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
)

// Folds says which parts of the bench are unfolded.
type Folds struct {
	Looking, Pins bool
}

// Loading is a picture being opened.
type Loading struct {
	Serial int
	Path   string
	Demo   bool
	Source string // space or profile to take the numbers for; "" as the file says
	Keep   bool   // keep the pins and the view: the same picture saved anew
	// Instead is set where it comes in place of one that could not be opened: what
	// was said about that one stays to be read.
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
	Pins    [MaxPins]Pin
	NumPins int
	Pin     int // the chosen pin, -1 for none
	// Proposing goes up with each wish for proposed pins.
	Proposing int
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
	Task      Task
	Card      string // the open card's ID
	Ask       Ask
	Light     bool // light surroundings; the desk is the same grey in both
	Pointer   Pointer
	Desk      string // the ready-made desk's ID last taken
	Default   Sheet  // the set-up that a new proof starts with
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
	proof := Sheet{Paper: paper, Intent: Relative, BPC: true, White: PaperWhite, Against: -1,
		Slip: Slip{ID: [2]string{usualSlip(3, 3)}, Second: Perceptual}}
	s := State{
		Count:   2,
		Active:  1,
		View:    Viewport{Fit: true},
		Cell:    Cell{Scale: 1, Exact: true},
		Looking: Looking{Threshold: 2, Darker: true, Lux: 315, Luminance: 160},
		Pin:     -1,
		Screen:  Screen{Key: "srgb", Name: "sRGB", Assumed: true},
		Desk:    "pair",
		Default: proof,
	}
	orig := proof
	orig.Original = true
	s.Sheets[0] = orig
	for i := 1; i < MaxSheets; i++ {
		s.Sheets[i] = proof
	}
	return s
}

// Proof returns the sheet that the bench's controls speak of: the active one,
// or where that is the original, the first proof. The number is -1 when the
// desk holds none.
func (s State) Proof() (Sheet, int) {
	if s.Active < s.Count && !s.Sheets[s.Active].Original {
		return s.Sheets[s.Active], s.Active
	}
	for i := 0; i < s.Count; i++ {
		if !s.Sheets[i].Original {
			return s.Sheets[i], i
		}
	}
	return s.Default, -1
}

// Shown returns the set-up that sheet n shows at this moment, held keys
// counted in.
func (s State) Shown(n int) Sheet {
	sh := s.Sheets[n]
	if s.Held == HeldNone || n != s.Active {
		return sh
	}
	if s.Held == HeldNext {
		return s.Sheets[(n+1)%max(s.Count, 1)]
	}
	base := sh
	if base.Original {
		base, _ = s.Proof()
	}
	base.Show = ShowPicture
	switch s.Held {
	case HeldOriginal:
		base.Original = true
	case HeldProof:
		base.Original, base.Wrong = false, false
	case HeldSlip:
		base.Original, base.Wrong = false, true
	}
	return base
}

// BandsShown tells whether the reach bands are drawn at this moment.
func (s State) BandsShown() bool { return s.Looking.Bands != s.Looking.BandsHeld }
