// Package slip holds the colour-management mistakes that Firstsheet can show. Each
// is a change of the plan, nothing else: a link too many, missing or wrong. The
// engine then runs the wrong plan as faithfully as it would the right one.
//
// To add a slip, write it in a file of its own and name it in [All].
package slip

import (
	"fmt"
	"math"

	"firstsheet/proof"
	"firstsheet/proof/icc"
	"firstsheet/proof/space"
)

// Options are what a slip may need to know beside the plan. Nil fields stand for
// the usual case, where there is one.
type Options struct {
	// Reads is the space that numbers are wrongly taken for.
	Reads *proof.Profile
	// Second is the second converter's intent.
	Second proof.Intent
	// Other is the paper whose profile is wrongly used.
	Other *proof.Profile
	// Setting is the same paper printed under another media setting, and
	// SettingName what the driver calls it.
	Setting     *proof.Profile
	SettingName string
	// Dim is the luminance of the print beside the screen, as a share of what it
	// should be; 0 stands for [UsualDim].
	Dim float64
}

// Luminance returns Dim, or the usual one where nothing is told.
func (o Options) Luminance() float64 {
	if o.Dim == 0 {
		return UsualDim
	}
	return o.Dim
}

// Slip is one mistake.
type Slip struct {
	// ID names it on a command line and in files.
	ID string
	// Name is what the window calls it.
	Name string
	// Recognise says how a print tells that this happened, Prevent how it is
	// prevented: general advice, no claim about a picture.
	Recognise, Prevent string
	// What it must be told, by the field of Options: Reads, Other, Setting. NeedsSecond
	// says that it has a second converter, whose intent and space may be told.
	NeedsReads, NeedsPaper, NeedsSetting, NeedsSecond bool
	// OnScreen says that it lies in how the print is looked at and changes no figure.
	OnScreen bool
	// WholeSheet says that it is made at the printer for all that lies on the sheet: no
	// part of one can have it alone.
	WholeSheet bool
	// Idle says why the plan that Apply returned has a route as it should be all the
	// same; nil for a slip that always shows.
	Idle func(proof.Plan) string
	// Apply returns the plan with the mistake made, leaving its argument alone, or
	// a *proof.PlanError that says why it cannot be made here.
	Apply func(proof.Plan, Options) (proof.Plan, error)
}

// Shows returns nil where the slip is seen in the route of the plan that Apply returned,
// else a *proof.PlanError that says why it is not.
func (s Slip) Shows(p proof.Plan) error {
	switch {
	case p.Route().Faulty():
		return nil
	case s.Idle == nil:
		return refuse("it leaves the route as it should be")
	}
	return &proof.PlanError{Reason: s.Idle(p)}
}

// All returns every slip in the order in which several are applied together:
// first what happens to the file, then to the conversion, then at the printer.
func All() []Slip {
	return []Slip{
		wrongSource(),
		compensationOff(),
		twice(),
		otherPaper(),
		never(),
		wrongSetting(),
		brightScreen(),
	}
}

// ByID returns the slip of that ID, and whether there is one.
func ByID(id string) (Slip, bool) {
	for _, s := range All() {
		if s.ID == id {
			return s, true
		}
	}
	return Slip{}, false
}

// Apply makes the mistakes of the given IDs together, in whatever order they are
// named. The error is a *proof.PlanError: an unknown ID, or mistakes that cannot
// happen together or with this plan.
func Apply(p proof.Plan, ids []string, o Options) (proof.Plan, error) {
	wanted := map[string]bool{}
	for _, id := range ids {
		if _, ok := ByID(id); !ok {
			return p, refuse("no slip is called %q", id)
		}
		wanted[id] = true
	}
	if wanted[neverID] && len(wanted) > 1 {
		return p, refuse("with no conversion at all there is no other mistake to make: 'never' goes with no other slip")
	}
	if p.Paper == nil {
		if len(wanted) > 0 {
			return p, refuse("the original has no conversion that could go wrong")
		}
		return p, nil
	}
	// With both, the space that is given belongs to the file; the second converter
	// takes its numbers for sRGB.
	later := o
	if wanted[wrongSourceID] {
		later.Reads = proof.SpaceProfile(space.SRGB())
	}
	p.Reach = p.Paper // the warning goes on speaking of the paper that was meant
	for _, s := range All() {
		if !wanted[s.ID] {
			continue
		}
		options := later
		if s.ID == wrongSourceID {
			options = o
		}
		var err error
		if p, err = s.Apply(p, options); err != nil {
			return p, err
		}
	}
	return p, p.Check()
}

func refuse(format string, args ...any) error {
	return &proof.PlanError{Reason: fmt.Sprintf(format, args...)}
}

// change returns the plan with its own copy of the conversions.
func change(p proof.Plan) proof.Plan {
	p.Conversions = append([]proof.Conversion(nil), p.Conversions...)
	return p
}

const (
	wrongSourceID = "wrongsource"
	neverID       = "never"
)

func wrongSource() Slip {
	return Slip{
		ID: wrongSourceID, Name: "wrong source space", NeedsReads: true,
		Recognise: "The whole picture is off in one way, greys stay grey; a picture of another space printed the same way is off differently.",
		Prevent:   "Embed the profile when saving, and never let a program drop or replace it without asking.",
		Apply: func(p proof.Plan, o Options) (proof.Plan, error) {
			if o.Reads == nil {
				return p, refuse("the space that the numbers are wrongly taken for must be given")
			}
			if o.Reads.Channels() != p.Source.Channels() {
				return p, refuse("numbers of %s have %d channels and cannot be taken for %s, which has %d",
					p.Source.Name(), p.Source.Channels(), o.Reads.Name(), o.Reads.Channels())
			}
			p = change(p)
			p.Conversions[0].From = o.Reads
			return p, nil
		},
		Idle: func(p proof.Plan) string { return "the numbers are those of " + p.Source.Name() + " already" },
	}
}

func compensationOff() Slip {
	return Slip{
		ID: "compensation", Name: "compensation left out",
		Recognise: "Midtones and colours are right, but shadows that differ on screen are one black on paper.",
		Prevent:   "Switch black point compensation on with the relative colorimetric intent, and note that it is on.",
		Apply: func(p proof.Plan, _ Options) (proof.Plan, error) {
			p = change(p)
			c := &p.Conversions[0]
			c.LeftOut = c.BPC
			c.BPC = false
			return p, nil
		},
		Idle: func(p proof.Plan) string {
			switch c := p.Conversions[0]; {
			case c.Intent == proof.AbsoluteColorimetric:
				return fmt.Sprintf("black point compensation does nothing with the %s intent", c.Intent)
			case c.To.ForcesBPC(c.Intent):
				return fmt.Sprintf("%s is a version 4 profile, and with the %s intent compensation always happens", c.To.Name(), c.Intent)
			}
			return "the route as it should be has no compensation that could be left out"
		},
	}
}

func twice() Slip {
	return Slip{
		ID: "twice", Name: "converted twice", NeedsSecond: true,
		Recognise: "Colours are off though every setting of the program is right; switching the driver's colour handling off changes the print.",
		Prevent:   "Let exactly one link convert: where the program does, switch the driver's own colour handling off.",
		Apply: func(p proof.Plan, o Options) (proof.Plan, error) {
			reads := o.Reads
			if reads == nil {
				if p.Paper.ColorSpace() != icc.SpaceRGB {
					return p, refuse("numbers for %s are %s: the space that the second converter takes them for must be given",
						p.Paper.Name(), p.Paper.ColorSpace())
				}
				reads = proof.SpaceProfile(space.SRGB())
			}
			if reads.Channels() != p.Paper.Channels() {
				return p, refuse("numbers for %s have %d channels and cannot be taken for %s, which has %d",
					p.Paper.Name(), p.Paper.Channels(), reads.Name(), reads.Channels())
			}
			p = change(p)
			last := len(p.Conversions) - 1
			p.Conversions[last].Clipped = true
			p.Conversions = append(p.Conversions, proof.Conversion{
				From: reads, To: p.Paper, Intent: o.Second, By: "the driver",
			})
			return p, nil
		},
	}
}

func otherPaper() Slip {
	return Slip{
		ID: "otherpaper", Name: "another paper's profile", NeedsPaper: true,
		Recognise: "Greys take a cast or shadows sit wrong, and the error goes with the paper, whatever the picture.",
		Prevent:   "Choose the profile by the paper that lies in the tray, and write both on the job ticket.",
		Apply: func(p proof.Plan, o Options) (proof.Plan, error) {
			if o.Other == nil {
				return p, refuse("the paper whose profile is wrongly used must be given")
			}
			if o.Other.Channels() != p.Paper.Channels() {
				return p, refuse("numbers made for %s have %d channels and cannot be printed on %s, which has %d",
					o.Other.Name(), o.Other.Channels(), p.Paper.Name(), p.Paper.Channels())
			}
			p = change(p)
			p.Conversions[len(p.Conversions)-1].To = o.Other
			return p, nil
		},
		Idle: func(p proof.Plan) string { return "the profile is that of " + p.Paper.Name() + " itself" },
	}
}

func never() Slip {
	return Slip{
		ID: neverID, Name: "never converted",
		Recognise: "Colours are off in every picture, most in the saturated ones; the paper's profile makes no difference when it is changed.",
		Prevent:   "Where the driver's colour handling is off, the program must convert to the paper's profile.",
		Apply: func(p proof.Plan, _ Options) (proof.Plan, error) {
			if p.Source.Channels() != p.Paper.Channels() {
				return p, refuse("numbers of %s have %d channels and %s takes %d: without a conversion they cannot be printed at all",
					p.Source.Name(), p.Source.Channels(), p.Paper.Name(), p.Paper.Channels())
			}
			p.Conversions = nil
			return p, nil
		},
	}
}

func wrongSetting() Slip {
	return Slip{
		ID: "wrongsetting", Name: "wrong media setting", NeedsSetting: true, WholeSheet: true,
		Recognise: "Ink puddles or looks thin, blacks are weak or blocked, and tones shift with how much ink the setting lays down.",
		Prevent:   "Set the driver to the media setting that the profile was made for; the paper card names it.",
		Apply: func(p proof.Plan, o Options) (proof.Plan, error) {
			if o.Setting == nil {
				return p, refuse("%s has no ink model, so another media setting cannot be simulated on it", p.Paper.Name())
			}
			p.Setting = o.SettingName
			p.Paper = o.Setting.Named(p.Paper.Name())
			return p, nil
		},
	}
}

// The usual room: the light on the print in lx and the screen's white in cd/m2 that
// are taken where nobody told others.
const (
	UsualLux       = 315
	UsualLuminance = 160
)

// UsualDim is [Dim] of the usual room.
const UsualDim = 0.63

// Dim returns the luminance of a print under lux beside a screen whose white has
// screenWhite candelas a square metre, as a share of what it should be: (E / pi) / Lw,
// for a perfectly white sheet under E lux has E / pi cd/m2. It is in hundredths, as it
// is told, and at least one of them. The usual room stands for what is not above 0.
func Dim(lux, screenWhite float64) float64 {
	if !(lux > 0 && screenWhite > 0) { // NaN too
		return UsualDim
	}
	return max(math.Round(100*lux/math.Pi/screenWhite)/100, 0.01)
}

func brightScreen() Slip {
	return Slip{
		ID: "brightscreen", Name: "screen too bright", OnScreen: true,
		Recognise: "Every print looks too dark beside the screen, yet right in good light on its own.",
		Prevent:   "Set the screen's white to the light that prints are judged in, and judge them in that light.",
		Apply: func(p proof.Plan, o Options) (proof.Plan, error) {
			p.Dim = o.Luminance()
			return p, nil
		},
		Idle: func(proof.Plan) string { return "the screen is no brighter than a print in its light" },
	}
}
