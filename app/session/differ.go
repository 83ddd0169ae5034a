package session

import (
	"firstsheet/proof/differ"
)

// MaxPlaces is how many places 'Where do they differ?' goes to in turn.
const MaxPlaces = 5

// Differing is a place at which the sheets differ, and what differs there.
type Differing struct {
	differ.Place
	Words string
}

// Differ is what was found of where the sheets on the desk differ.
type Differ struct {
	Serial  int  // goes up with each search
	Seeking bool // one is under way
	Places  [MaxPlaces]Differing
	N, At   int
	of      differOf // what the places were found for
	view    Viewport // that shows the place
}

// differOf is all that decides where sheets differ.
type differOf struct {
	picture, edition int
	assumed          string
	sheets           [MaxSheets]Sheet
	count, active    int
}

func (s State) differOf() differOf {
	return differOf{s.Picture.Key, s.Edition, s.Picture.Assumed, s.Sheets, s.Count, s.Active}
}

// DifferWords returns what differs at the place that the sheets were taken to, "" when
// they show another by now.
func (s State) DifferWords() string {
	d := s.Differ
	if d.N == 0 || d.of != s.differOf() || d.view != s.View {
		return ""
	}
	return d.Places[d.At].Words
}

// FindDifference takes all sheets to the place where the active one differs most from
// another, and each further time to the next place.
type FindDifference struct{}

func (FindDifference) reduce(s State) State {
	d := &s.Differ
	switch {
	case s.Picture.Key == 0:
		return s
	case s.Count < 2:
		return tell(s, Notice{Headline: "One sheet alone differs from nothing.", Hint: "Lay another beside it, or take a ready-made desk of two.", sheets: s.differOf()})
	case s.Sheets[s.Active].Observed != 0:
		return tell(s, Notice{Headline: "Differences are sought from a sheet that is computed.", Hint: "Make the proof or the prediction beside the observed print the active sheet, or hold down N to blink between them.", sheets: s.differOf()})
	case d.N > 0 && d.of == s.differOf():
		return goToDifference(s, (d.At+1)%d.N)
	}
	*d = Differ{Serial: d.Serial + 1, Seeking: true, of: s.differOf()}
	return s
}

// DifferencesFound brings the places of a search, or why it failed.
type DifferencesFound struct {
	Serial  int
	Places  [MaxPlaces]Differing
	N       int
	Failure Notice
}

func (a DifferencesFound) reduce(s State) State {
	if a.Serial != s.Differ.Serial || !s.Differ.Seeking {
		return s
	}
	s.Differ.Seeking = false
	if s.Differ.of != s.differOf() {
		return s // of sheets that lie there no more
	}
	if a.Failure != (Notice{}) {
		return tell(s, a.Failure)
	}
	if a.N == 0 {
		return tell(s, Notice{Headline: "No piece of these sheets differs by as much as ΔE00 1: to the eye they are alike.", sheets: s.differOf()})
	}
	s.Differ.Places, s.Differ.N = a.Places, a.N
	return goToDifference(s, 0)
}

// goToDifference shows a place so that it fills about half of each sheet.
func goToDifference(s State, n int) State {
	s.Differ.At = n
	p := s.Differ.Places[n]
	side := p.Side * long(s.Picture)
	scale := clamp(float64(min(s.Cell.W, s.Cell.H))/2/side, FitScale(s.Cell, s.Picture.W, s.Picture.H), 4)
	s.View = clampView(s.Cell, Viewport{Scale: scale, CX: p.X * float64(s.Picture.W), CY: p.Y * float64(s.Picture.H)}, s.Picture.W, s.Picture.H)
	s.Differ.view = s.View
	return s
}
