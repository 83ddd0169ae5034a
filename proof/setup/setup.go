// Package setup makes plans out of what a person chooses: names of a space, a paper,
// an intent and slips become a proof.Plan. The window and the command line share
// it, so that equal choices give equal numbers.
package setup

import (
	"errors"
	"fmt"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/mishap"
	"firstsheet/proof/paper"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// Converter is who converts where all is as it should be.
const Converter = "Firstsheet"

// Setup is one choice, by names. It is comparable: equal ones look the same.
type Setup struct {
	// Source is what the picture's numbers are: "" for what the picture itself says,
	// else the ID of a built-in space or the path of a profile.
	Source string
	// Paper is an ID or a path; "" shows the original itself.
	Paper  string
	Intent proof.Intent
	BPC    bool
	White  proof.White
	// CountWhite makes differences count the paper's white.
	CountWhite bool
	// Screen is the ID of a built-in space or the path of a profile; "" is sRGB.
	Screen string
	// Printed is the paper, an ID or a path, that the picture's numbers are seen on
	// already, relative to its white: a print as it was observed. Only without Paper.
	Printed string
	// Slips are IDs of package slip, joined by commas; "" for the right way. The
	// rest is what they may need, each "" for the usual case.
	Slips   string
	Reads   string       // space or profile that numbers are wrongly taken for
	Second  proof.Intent // the second converter's intent
	Other   string       // the paper whose profile is wrongly used
	Setting string       // the wrong media setting
	// Mishap is the ID of what went wrong beside colour management, as package mishap
	// lists it for the paper; "" for nothing. It goes with no slip.
	Mishap string
	// Dim is the luminance of a print beside the screen as a share of what it should
	// be, by the person's own light and screen (slip.Dim); 0 for slip.UsualDim.
	Dim float64
	// Dimmed shows everything, the original too, as beside that screen.
	Dimmed bool
}

// Wrong tells whether anything has gone wrong in the set-up: slips, or a mishap.
func (s Setup) Wrong() bool { return s.Slips != "" || s.Mishap != "" }

// Right returns the set-up without what has gone wrong.
func (s Setup) Right() Setup { return s.With(Setup{}) }

// With returns the set-up with what has gone wrong in another: its slips and what they
// were told, or its mishap.
func (s Setup) With(slips Setup) Setup {
	s.Slips, s.Reads, s.Second, s.Other, s.Setting, s.Mishap = slips.Slips, slips.Reads, slips.Second, slips.Other, slips.Setting, slips.Mishap
	return s
}

// Original returns the set-up of the picture itself, on no paper, seen as s is.
func (s Setup) Original() Setup {
	return Setup{Source: s.Source, Screen: s.Screen, Dim: s.Dim, Dimmed: s.Dimmed}
}

// Observed returns the set-up that shows a print on the set-up's paper as it was
// observed, seen as s is. The picture is then the observation, which says itself what
// its numbers are.
func (s Setup) Observed() Setup {
	return Setup{Printed: s.Paper, White: s.White, Screen: s.Screen, Dim: s.Dim, Dimmed: s.Dimmed}
}

// SlipIDs returns the IDs of the slips, none for the right way.
func (s Setup) SlipIDs() []string {
	if s.Slips == "" {
		return nil
	}
	return strings.Split(s.Slips, ",")
}

// Usual returns the set-up that everything starts with: relative colorimetric with
// compensation, the screen's white.
func Usual(paper string) Setup {
	return Setup{Paper: paper, Intent: proof.RelativeColorimetric, BPC: true, White: proof.ScreenWhite}
}

// Finder finds what names stand for.
type Finder interface {
	// Profile finds a picture's or screen's profile; ref is "" for the picture's own.
	Profile(ref string) (*proof.Profile, error)
	Paper(ref string) (paper.Paper, error)
}

// Plan returns the plan that the set-up stands for. The error is the finder's, or a
// *proof.PlanError or *proof.ProfileError that says why it cannot be.
func (s Setup) Plan(find Finder) (proof.Plan, error) {
	p := proof.Plan{White: s.White, CountWhite: s.CountWhite, Screen: proof.SpaceProfile(space.SRGB())}
	if s.Dimmed {
		p.Dim = slip.Options{Dim: s.Dim}.Luminance()
	}
	var err error
	if p.Source, err = profile(find, s.Source, (*proof.Profile).CheckSource); err != nil {
		return p, err
	}
	if s.Screen != "" {
		if p.Screen, err = profile(find, s.Screen, (*proof.Profile).CheckScreen); err != nil {
			return p, err
		}
	}
	if s.Printed != "" {
		on, err := find.Paper(s.Printed)
		if err != nil {
			return p, err
		}
		p.Printed, p.CountWhite = on.Profile, false
		return p, p.Check()
	}
	if s.Paper == "" {
		p.White, p.CountWhite = proof.ScreenWhite, false // a paper's
		return p, p.Check()
	}
	lies, err := find.Paper(s.Paper)
	if err != nil {
		return p, err
	}
	p.Paper = lies.Profile
	p.Conversions = []proof.Conversion{{From: p.Source, To: p.Paper, Intent: s.Intent, BPC: s.BPC, By: Converter}}
	ids := s.SlipIDs()
	switch {
	case s.Mishap != "" && len(ids) > 0:
		return p, &proof.PlanError{Reason: "a mishap is shown alone, without any slip"}
	case s.Mishap != "":
		m, ok := mishap.ByID(lies, s.Mishap)
		if !ok {
			return p, &proof.PlanError{Reason: fmt.Sprintf("what a print on %s looks like with %q is not known: it has no ink model", lies.Name, s.Mishap)}
		}
		p.Mishap = &m.Mishap
		return p, p.Check()
	case len(ids) == 0:
		return p, p.Check()
	}
	options := slip.Options{Second: s.Second, Dim: s.Dim}
	if s.Reads != "" {
		if options.Reads, err = profile(find, s.Reads, (*proof.Profile).CheckSource); err != nil {
			return p, err
		}
	}
	if s.Other != "" {
		other, err := find.Paper(s.Other)
		if err != nil {
			return p, err
		}
		options.Other = other.Profile
	}
	if wrong, ok := lies.Setting(s.Setting); ok {
		options.Setting, options.SettingName = wrong.Profile, wrong.Name
	} else if s.Setting != "" {
		return p, &proof.PlanError{Reason: lies.Name + " has no media setting called " + s.Setting}
	}
	return slip.Apply(p, ids, options)
}

// profile finds a profile and checks that it can serve. The error speaks of what the
// person named, not of what is written inside.
func profile(find Finder, ref string, check func(*proof.Profile) error) (*proof.Profile, error) {
	p, err := find.Profile(ref)
	if err != nil {
		return nil, err
	}
	err = check(p)
	if e, ok := errors.AsType[*proof.ProfileError](err); ok && ref != "" {
		err = &proof.ProfileError{Op: e.Op, Profile: ref, Kind: e.Kind, Err: e.Err}
	}
	return p, err
}

// Files finds profiles among the built-in spaces and in files, papers in a library.
type Files struct {
	Library *paper.Library
	// Picture is what the picture's own numbers are; nil where there is no picture.
	Picture *proof.Profile
}

// Profile implements [Finder].
func (f Files) Profile(ref string) (*proof.Profile, error) {
	if ref == "" {
		if f.Picture == nil {
			return nil, &proof.PlanError{Reason: "there is no picture whose numbers could be taken"}
		}
		return f.Picture, nil
	}
	if s, ok := space.ByID(ref); ok {
		return proof.SpaceProfile(s), nil
	}
	p, err := paper.ReadProfile(ref)
	if e, ok := errors.AsType[*paper.FileError](err); ok && e.Kind == paper.NotFound {
		return nil, &proof.PlanError{Reason: fmt.Sprintf("%q is neither a built-in space nor a file", ref)}
	}
	return p, err
}

// Paper implements [Finder].
func (f Files) Paper(ref string) (paper.Paper, error) { return f.Library.Resolve(ref) }
