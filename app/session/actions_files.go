package session

import (
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/pin"
)

// OpenPicture asks for a picture; Path "" with Demo opens the demo picture.
type OpenPicture struct {
	Path string
	Demo bool
	// First is set at the start: what was said before stays to be read.
	First bool
}

func (a OpenPicture) reduce(s State) State {
	s.Loading = Loading{Serial: s.Loading.Serial + 1, Path: a.Path, Demo: a.Demo, Instead: a.First}
	s.Laid = Laid{}
	return s
}

// ReloadPicture reads the open picture anew and keeps pins and view.
type ReloadPicture struct{}

func (ReloadPicture) reduce(s State) State {
	s.Loading = Loading{Serial: s.Loading.Serial + 1, Path: s.Picture.Path, Demo: s.Picture.Path == "",
		Source: s.Picture.Assumed, Keep: true}
	return s
}

// AssumeSource says what space the numbers are in: a space ID, the path of a profile or
// "" for what the file says.
type AssumeSource struct{ Source string }

func (a AssumeSource) reduce(s State) State {
	s.Picture.Assumed = a.Source
	return s
}

// AddPaper adds a profile file to the papers.
type AddPaper struct{ Path string }

func (a AddPaper) reduce(s State) State {
	s.Adding = AddingPaper{Serial: s.Adding.Serial + 1, Path: a.Path}
	return s
}

// TakeProfile asks for a profile file to become the screen's or the source's.
type TakeProfile struct {
	Path   string
	Source bool
}

func (a TakeProfile) reduce(s State) State {
	s.Wish = Wish{Serial: s.Wish.Serial + 1, Path: a.Path, Source: a.Source}
	return s
}

// SetScreen sets the screen's profile.
type SetScreen struct{ Screen Screen }

func (a SetScreen) reduce(s State) State {
	s.Screen = a.Screen
	return s
}

// MeetScreen tells which profile the screen has that the window has come to lie on, by the
// system's word. What a person has said of the screen stands.
type MeetScreen struct{ Screen Screen }

func (a MeetScreen) reduce(s State) State {
	if s.Screen.Assumed || strings.HasPrefix(s.Screen.Key, SystemScreen) {
		s.Screen = a.Screen
	}
	return s
}

// PictureOpened tells that the picture of request Serial lies in the Store.
type PictureOpened struct {
	Serial int
	Info   PictureInfo
	Pins   [MaxPins]pin.Pin
	NumPin int
}

func (a PictureOpened) reduce(s State) State {
	if a.Serial != s.Loading.Serial {
		return s
	}
	instead, laid := s.Loading.Instead, s.Loading.Laid
	keep := s.Loading.Keep && a.Info.W == s.Picture.W && a.Info.H == s.Picture.H
	s.Picture = a.Info
	s.Loading = Loading{Serial: s.Loading.Serial}
	s = s.lasting() // what was observed was a print of the picture before
	if !keep {
		s.Pins, s.NumPins, s.Pin = a.Pins, a.NumPin, -1
		s.View = Viewport{Fit: true}
		if a.NumPin == 0 && !laid {
			s.Proposing++
			s.Unasked = true
		}
	}
	if laid {
		s = s.Laid.on(s)
	}
	s.Values = [MaxSheets][MaxPins]PinValue{}
	for i := range s.Results {
		r := &s.Results[i]
		r.Glance, r.Figures, r.Measured, r.Told = proof.Figures{}, proof.Figures{}, false, Told{Pin: -1}
	}
	s.Pointer = Pointer{}
	if s.Notice.Failure && !instead {
		s.Notice = Notice{Serial: s.Notice.Serial}
	}
	if a.Info.Notes != "" {
		s = tell(s, Notice{Headline: "About ‘" + a.Info.Name + "’: " + Typeset(strings.ReplaceAll(a.Info.Notes, "\n", " ")), picture: a.Info.Key})
	}
	return s
}

// PictureFailed tells that it could not be opened.
type PictureFailed struct {
	Serial int
	Notice Notice
}

func (a PictureFailed) reduce(s State) State {
	if a.Serial != s.Loading.Serial {
		return s
	}
	demo := s.Loading.Demo
	s.Laid.Missing = s.Loading.Laid && s.Picture.Key == 0
	s.Loading = Loading{Serial: s.Loading.Serial}
	s = tell(s, a.Notice)
	if s.Picture.Key == 0 && !demo {
		// An empty desk serves nobody.
		s.Loading = Loading{Serial: s.Loading.Serial + 1, Demo: true, Instead: true}
	}
	return s
}

// LibraryChanged tells that the Store has a new list of papers; Use is a
// paper to put the active proof on, or "".
type LibraryChanged struct {
	Serial int
	Use    string
	Notice Notice
}

func (a LibraryChanged) reduce(s State) State {
	s.Library++
	if a.Serial == s.Adding.Serial {
		s.Adding.Path = ""
	}
	if a.Use != "" {
		s = change(s, func(sh *Sheet) { sh.Paper = a.Use })
	}
	if a.Notice.Headline != "" {
		s = tell(s, a.Notice)
	}
	return s
}

// PapersSavedAnew tells that a profile in use has new content.
type PapersSavedAnew struct{}

func (PapersSavedAnew) reduce(s State) State {
	s.Edition++
	s.Library++
	return s
}

// PaperFailed tells that a paper could not be added.
type PaperFailed struct {
	Serial int
	Notice Notice
}

func (a PaperFailed) reduce(s State) State {
	if a.Serial == s.Adding.Serial {
		s.Adding.Path = ""
		s = tell(s, a.Notice)
	}
	return s
}
