package session

import (
	"strings"

	"firstsheet/app/overlay"
	"firstsheet/proof/desk"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// What of State a saved desk holds, and how it comes back, is all in this file.

// Laid is what of a saved desk waits until its picture is open.
type Laid struct {
	SHA256  string // of the picture's file when it was saved, "" where that is not known
	Pins    [MaxPins]pin.Pin
	NumPins int
	Source  string    // what an unlabelled picture's numbers are
	View    desk.View // in fractions: the file's size may have changed
	// Missing is set where the picture could not be opened and another took its place.
	Missing bool
}

// on puts what has waited on the desk, now that the picture is there.
func (l Laid) on(s State) State {
	s.Pins, s.NumPins, s.Pin = l.Pins, l.NumPins, -1
	if l.Source != "" && s.Picture.Assumed != "" {
		s.Picture.Assumed = l.Source
	}
	if v := l.View; !v.Fit {
		s.View = clampView(s.Cell, Viewport{CX: v.X * float64(s.Picture.W), CY: v.Y * float64(s.Picture.H),
			Scale: clamp(v.Scale, MinScale, MaxScale)}, s.Picture.W, s.Picture.H)
	}
	return s
}

// Saved returns the desk as it is saved; sha256 is the picture file's.
func (s State) Saved(sha256 string) desk.Desk {
	s = s.lasting()
	d := desk.Desk{
		Picture: desk.Picture{Path: s.Picture.Path, SHA256: sha256},
		Active:  s.Active,
		View:    desk.View{Fit: s.View.Fit},
		Pins:    append([]pin.Pin{}, s.Pins[:s.NumPins]...),
		Looked: desk.Looked{
			Overlays: s.Looking.Overlays.IDs(), NoPins: s.Looking.NoPins, Threshold: s.Looking.Threshold,
			Lux: s.Looking.Lux, Luminance: s.Looking.Luminance, ScreenPPI: s.ScreenPPI, TooBright: s.Looking.TooBright, Light: s.Light,
		},
		Print: s.Print,
	}
	if !s.View.Fit && s.Picture.W > 0 && s.Picture.H > 0 {
		d.View = desk.View{X: clamp(s.View.CX/float64(s.Picture.W), 0, 1), Y: clamp(s.View.CY/float64(s.Picture.H), 0, 1), Scale: s.View.Scale}
	}
	for _, sh := range s.Sheets[:s.Count] {
		d.Sheets = append(d.Sheets, s.savedSheet(sh))
	}
	return d
}

// lasting returns the desk without what lasts no longer than the program runs: an
// observed print is evidence told to a card, and its photograph is the person's own file.
func (s State) lasting() State {
	for n := s.Count - 1; n >= 0; n-- {
		if s.Sheets[n].Observed == 0 {
			continue
		}
		if s.Count == 1 {
			s.Sheets[n] = s.Sheets[n].Righted()
			continue
		}
		s = RemoveSheet{n}.reduce(s)
	}
	return s
}

// savedSheet fills in what all sheets share.
func (s State) savedSheet(sh Sheet) desk.Sheet {
	set := sh.Setup
	set.Source, set.Screen, set.CountWhite = s.Picture.Assumed, s.Screen.Key, s.Looking.CountWhite
	out := desk.Sheet{Setup: set, Wrong: sh.Wrong, Difference: sh.Show == ShowDifference}
	if !sh.Chosen {
		out.Setup = set.Right() // the usual slip is found anew
		if sh.Wrong {
			out.Setup, out.UsualSlip = set, true
		}
	}
	if sh.Original {
		out.Setup, out.Wrong, out.UsualSlip = setup.Setup{Source: set.Source, Screen: set.Screen, White: set.White, CountWhite: set.CountWhite}, false, false
	}
	if out.Difference {
		out.Against = sh.Against + 1
	}
	return out
}

// layDesk brings a saved desk back and has its picture opened. Sheets that are more than
// a desk has room for are left out.
type layDesk struct {
	desk desk.Desk
	// path is opened in place of the desk's own picture; "" for none.
	path string
}

func (a layDesk) reduce(s State) State {
	d := a.desk
	base := s.Default
	for _, saved := range d.Sheets {
		if saved.Setup.Paper != "" {
			base = laidSheet(saved, base)
			base.Wrong, base.Show, base.Against = false, ShowPicture, -1
			break
		}
	}
	s.Default = base
	s.Count = min(len(d.Sheets), MaxSheets)
	for i := range s.Count {
		s.Sheets[i] = laidSheet(d.Sheets[i], base)
		if s.Sheets[i].Against >= s.Count {
			s.Sheets[i].Against = -1
		}
	}
	s.Active, s.Desk = min(d.Active, s.Count-1), ""
	s.Looking = laidLooking(s.Looking, d)
	s.Light = d.Looked.Light
	if d.Looked.ScreenPPI > 0 {
		s.ScreenPPI = d.Looked.ScreenPPI
	}
	s = SetPrint{d.Print}.reduce(s)
	s.Loading = Loading{Serial: s.Loading.Serial + 1, Path: d.Picture.Path, Demo: d.Picture.Path == "", Laid: true,
		Instead: s.Picture.Key == 0}
	s.Laid = Laid{SHA256: d.Picture.SHA256, View: d.View, Source: d.Sheets[0].Setup.Source}
	s.Laid.NumPins = copy(s.Laid.Pins[:], d.Pins)
	if a.path != "" && a.path != d.Picture.Path {
		s.Loading = Loading{Serial: s.Loading.Serial, Path: a.path, Instead: s.Loading.Instead}
		s.Laid = Laid{}
	}
	return s
}

// laidSheet is a sheet as it was saved; an original keeps the proof base beneath.
func laidSheet(d desk.Sheet, base Sheet) Sheet {
	sh := Sheet{Setup: d.Setup, Wrong: d.Wrong, Chosen: d.Setup.Wrong() && !d.UsualSlip, Against: -1}
	sh.Source, sh.Screen, sh.CountWhite, sh.Dimmed, sh.Dim = "", "", false, false, 0
	if d.Setup.Paper == "" {
		sh = base
		sh.White, sh.Original, sh.Wrong = d.Setup.White, true, false
	}
	sh.Show, sh.Against = ShowPicture, -1
	if d.Difference {
		sh.Show, sh.Against = ShowDifference, d.Against-1
	}
	return sh
}

func laidLooking(l Looking, d desk.Desk) Looking {
	l.Overlays, l.NoPins = overlay.Of(d.Looked.Overlays...), d.Looked.NoPins
	l.TooBright, l.CountWhite = d.Looked.TooBright, d.Sheets[0].Setup.CountWhite
	for _, q := range []struct {
		into *float64
		v    float64
	}{{&l.Threshold, d.Looked.Threshold}, {&l.Lux, d.Looked.Lux}, {&l.Luminance, d.Looked.Luminance}} {
		if q.v > 0 {
			*q.into = q.v
		}
	}
	return l
}

// savedScreen is the screen that a desk was saved with, where the person had chosen one:
// what the system says now goes before what it said then. path is its profile's file.
func savedScreen(d desk.Desk) (known Screen, path string) {
	key := d.Sheets[0].Setup.Screen
	if s, ok := space.ByID(key); ok {
		if s.ID == "srgb" {
			return Screen{}, ""
		}
		return Screen{Key: s.ID, Name: s.Name}, ""
	}
	if strings.HasPrefix(key, SystemScreen) {
		return Screen{}, ""
	}
	return Screen{}, key
}

// usualPrint is the job that the print card starts with: as large as an A4 sheet lets,
// with the narrow border that most printers leave (common practice, no source).
func usualPrint() printfile.Job {
	j := printfile.Usual(setup.Setup{})
	for _, s := range printfile.Sheets() {
		if s.Name == "A4" {
			j.Sheet = s
		}
	}
	j.Sheet.Margins = printfile.Even(5)
	return j
}

// SetPrint sets what the print card is set to. A job that cannot be is not taken.
type SetPrint struct{ Job printfile.Job }

func (a SetPrint) reduce(s State) State {
	a.Job.Setup = setup.Setup{Paper: "any"} // without one no job can be
	if a.Job.Check() == nil {
		a.Job.Setup = setup.Setup{}
		s.Print = a.Job
	}
	return s
}

// SetScreenPPI tells the screen's true resolution, device pixels an inch.
type SetScreenPPI struct{ PPI float64 }

// The resolutions that screens have: a large wall display and a telephone.
const (
	MinScreenPPI = 20
	MaxScreenPPI = 800
)

func (a SetScreenPPI) reduce(s State) State {
	if a.PPI >= MinScreenPPI && a.PPI <= MaxScreenPPI {
		s.ScreenPPI = a.PPI
	}
	return s
}

// PrintJob returns the job of the print card for the active sheet's proof, or says why
// that cannot be printed: it is the original, or a mistake is on.
func (s State) PrintJob() (job printfile.Job, refused string) {
	sh := s.Sheets[s.Active]
	switch {
	case s.Picture.Key == 0:
		return job, "No picture is open yet. Open one on the desk first."
	case sh.Observed != 0:
		return job, "The active sheet is a print as it was observed. Print a proof’s set-up: its paper, intent and compensation."
	case sh.Original:
		return job, "The active sheet is the original, which lies on no paper. Print a proof’s set-up: its paper, intent and compensation."
	case sh.Wrong:
		return job, "The active sheet is gone wrong on purpose. A mistake is for looking at; print the right way."
	}
	job = s.Print
	job.Setup = setup.Setup{Paper: sh.Paper, Intent: sh.Intent, BPC: sh.BPC, White: sh.White}
	if s.Picture.Assumed != assumedSource {
		job.Setup.Source = s.Picture.Assumed
	}
	return job, ""
}

// assumedSource is what a picture's numbers are taken for where neither its file nor the
// person says anything: a set-up without a source says the same.
const assumedSource = "srgb"
