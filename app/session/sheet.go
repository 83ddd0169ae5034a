package session

import (
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
)

// Show says what a sheet shows of its picture.
type Show uint8

const (
	// ShowPicture shows the picture itself.
	ShowPicture Show = iota
	// ShowDifference shows how far it is from another, in reach bands.
	ShowDifference
)

// Sheet is one sheet on the desk: a set-up and what only the desk knows of it.
type Sheet struct {
	// Setup is the choice of paper, intent, compensation and white, with the slip that
	// the large switch makes. What all sheets share (source, screen, light) is empty
	// here; [State.Setup] fills it in.
	setup.Setup
	Original bool // the picture itself, on no paper
	// Observed is the key of an observation of a bad print that lies in the picture's
	// place, 0 for none: a sheet that was seen, not computed. See [Session.Observe].
	Observed int
	Wrong    bool // the large switch: true makes the slip
	Chosen   bool // somebody chose the slip; else it is the usual one
	Show     Show
	Against  int // for ShowDifference: another sheet's number, or -1 for the original
}

// IsProof tells whether a sheet is computed for a paper: it is neither the original nor
// an observed print.
func (sh Sheet) IsProof() bool { return !sh.Original && sh.Observed == 0 }

// PictureOf returns the key of what lies on a sheet: the open picture, or an observation.
func (s State) PictureOf(sh Sheet) int {
	if sh.Observed != 0 {
		return sh.Observed
	}
	return s.Picture.Key
}

// Setup returns the set-up by which a sheet is computed. It is the only place where
// what the desk knows becomes one.
func (s State) Setup(sh Sheet) setup.Setup {
	set := sh.Setup
	set.Source, set.Screen = s.Picture.Assumed, s.Screen.Key
	set.CountWhite = s.Looking.CountWhite
	set.Dimmed = s.Looking.TooBright
	set.Dim = slip.Dim(s.Looking.Lux, s.Looking.Luminance)
	switch {
	case sh.Observed != 0:
		return set.Observed()
	case sh.Original:
		return set.Original()
	case !sh.Wrong:
		return set.Right()
	}
	return set
}

// Righted returns the sheet as the proof as it should be.
func (sh Sheet) Righted() Sheet {
	sh.Original, sh.Observed, sh.Wrong, sh.Show = false, 0, false, ShowPicture
	return sh
}

// Proof returns the sheet that the bench's controls speak of: the active one,
// or where that is no proof, the first that is. The number is -1 when the
// desk holds none.
func (s State) Proof() (Sheet, int) {
	if s.Active < s.Count && s.Sheets[s.Active].IsProof() {
		return s.Sheets[s.Active], s.Active
	}
	for i := 0; i < s.Count; i++ {
		if s.Sheets[i].IsProof() {
			return s.Sheets[i], i
		}
	}
	return s.Default, -1
}

// Refusal says why sheet n shows no picture at this moment, held keys counted in: a
// sentence, or "" where nothing forbids it.
func (s State) Refusal(n int) string {
	if s.Held != HeldNone && n == s.Active {
		return s.Peek.Refused
	}
	if why := s.Results[n].Route.Refused; why != "" {
		return why
	}
	if sh := s.Sheets[n]; sh.Show == ShowDifference && valid(s, sh.Against) && s.Results[sh.Against].Route.Refused != "" {
		return "Sheet " + itoa(sh.Against+1) + ", from which the difference would be shown, is empty itself."
	}
	return ""
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
	if !base.IsProof() {
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
