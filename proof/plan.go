package proof

import (
	"fmt"
	"strings"
)

// White says which white the look of a print is seen against.
type White uint8

// The two ways to show a print's white.
const (
	ScreenWhite White = iota // paper white becomes the screen's white; black stays as printed
	PaperWhite               // white and black both as printed
)

// Conversion is one link of the route that changes numbers: device numbers of
// From to device numbers of To. It converts whatever numbers arrive as if they
// were From's.
type Conversion struct {
	From, To *Profile
	Intent   Intent
	BPC      bool
	// By says who converts, in words: the route shows it.
	By string
	// Clipped says that the numbers are stored before they go on, in 8 bits: they
	// are clipped to 0..1, and in pictures rounded too.
	Clipped bool
	// LeftOut says that compensation was asked for and is left out by mistake.
	LeftOut bool
}

// Plan decides everything about one rendering.
type Plan struct {
	// Source is what the picture's numbers truly mean.
	Source *Profile
	// Conversions are the separation, first to last. Without any the numbers are
	// sent as they are.
	Conversions []Conversion
	// Paper is the profile whose ink on paper is looked at, through A2B1. Without
	// a paper the plan shows the original itself.
	Paper *Profile
	// Printed is the paper that the source's numbers are seen on already, relative to
	// its white: a print as it was observed. Nil for a picture; only without Paper.
	Printed *Profile
	// Reach is the paper that the gamut warning speaks of; nil stands for Paper.
	Reach *Profile
	// White says which white the look is seen against.
	White White
	// CountWhite makes differences count the paper's white: the original against
	// the absolute look instead of the relative one.
	CountWhite bool
	// Screen is what the result is shown on.
	Screen *Profile
	// Dim is the factor of luminance of a print seen beside too bright a screen;
	// 0 stands for 1. It changes the picture, never the figures.
	Dim float64
	// Setting says in words under which wrong media setting the print was made;
	// "" for the right one. Paper is then the profile of that mistake.
	Setting string
	// Mishap is what went wrong with the print beside its conversions, nil for nothing.
	// It counts in the figures, and the reach goes on speaking of the sound paper.
	Mishap *Mishap
}

// reach returns the paper that the gamut warning speaks of, or nil.
func (p Plan) reach() *Profile {
	if p.Reach != nil {
		return p.Reach
	}
	return p.Paper
}

// dim returns the factor of luminance.
func (p Plan) dim() float64 {
	if p.Dim == 0 {
		return 1
	}
	return p.Dim
}

// Check reports why the plan cannot be carried out, nil when it can.
func (p Plan) Check() error {
	if p.Source == nil || p.Screen == nil {
		return &PlanError{"a plan needs a source and a screen"}
	}
	if err := p.Source.CheckSource(); err != nil {
		return err
	}
	if err := p.Screen.CheckScreen(); err != nil {
		return err
	}
	if p.Paper != nil && p.Printed != nil {
		return &PlanError{"what is printed already cannot be printed again"}
	}
	if p.Paper == nil {
		if len(p.Conversions) > 0 {
			return &PlanError{"a plan without a paper has no conversions"}
		}
		if p.Mishap != nil {
			return &PlanError{"what is not printed cannot have come out wrong"}
		}
		return nil
	}
	channels, name := p.Source.Channels(), p.Source.Name()
	for _, c := range p.Conversions {
		if c.From.Channels() != channels {
			return &PlanError{fmt.Sprintf("numbers of %s have %d channels and cannot be taken for %s, which has %d",
				name, channels, c.From.Name(), c.From.Channels())}
		}
		channels, name = c.To.Channels(), c.To.Name()
	}
	if channels != p.Paper.Channels() {
		return &PlanError{fmt.Sprintf("numbers of %s have %d channels and cannot be sent to %s, which has %d",
			name, channels, p.Paper.Name(), p.Paper.Channels())}
	}
	return nil
}

// idOf returns the ID of a profile, "-" for none.
func idOf(p *Profile) string {
	if p == nil {
		return "-"
	}
	return p.ID()
}

// Key identifies the plan: two plans with one key render alike.
func (p Plan) Key() string {
	var b strings.Builder
	id := idOf
	fmt.Fprintf(&b, "%s|%s|%s|%s|%s|%d|%t|%g", id(p.Source), id(p.Paper), id(p.Printed), id(p.reach()), id(p.Screen), p.White, p.CountWhite, p.dim())
	if p.Mishap != nil {
		fmt.Fprintf(&b, "|%s", p.Mishap.ID)
	}
	for _, c := range p.Conversions {
		fmt.Fprintf(&b, "|%s>%s %d %t %t", id(c.From), id(c.To), c.Intent, c.BPC, c.Clipped)
	}
	return b.String()
}

// String lists the plan's stages, one a line.
func (p Plan) String() string {
	var b strings.Builder
	for i, s := range p.Route().Stations {
		if i > 0 {
			b.WriteByte('\n')
		}
		fmt.Fprintf(&b, "%s: %s", s.Title, s.Detail)
		if s.Fault != NoFault {
			fmt.Fprintf(&b, " [%s]", s.Trouble())
		}
	}
	return b.String()
}

// Notes returns what is assumed or cannot be had in the plan, each a sentence for
// the person: stand-in tables, compensation that cannot be left out.
func (p Plan) Notes() []string {
	var notes []string
	add := func(format string, args ...any) {
		s := fmt.Sprintf(format, args...)
		for _, n := range notes {
			if n == s {
				return
			}
		}
		notes = append(notes, s)
	}
	for _, c := range p.Conversions {
		if _, standIn, ok := c.To.Table(FromPCS, c.Intent); ok && standIn {
			add("%s has no table of its own for the %s intent; its perceptual one stands in.", c.To.Name(), c.Intent)
		}
		if _, standIn, ok := c.From.Table(ToPCS, c.Intent); ok && standIn {
			add("%s has no table of its own for the %s intent; its perceptual one stands in.", c.From.Name(), c.Intent)
		}
		switch {
		case c.Intent == AbsoluteColorimetric && (c.BPC || c.LeftOut):
			add("Black point compensation does nothing with the absolute colorimetric intent.")
		case !c.BPC && c.To.ForcesBPC(c.Intent):
			add("Black point compensation cannot be left out here: %s is a version 4 profile, and with the %s intent it always happens.", c.To.Name(), c.Intent)
		}
	}
	if p.Paper != nil {
		if _, standIn, ok := p.Paper.Table(ToPCS, RelativeColorimetric); ok && standIn {
			add("%s has no colorimetric table for its look; its perceptual one stands in.", p.Paper.Name())
		}
	}
	return notes
}
