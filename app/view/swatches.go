package view

import (
	"image/color"
	"slices"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/setup"
)

// swatches are Lab colours as bytes of the screen. They belong to the drawing goroutine.
type swatches struct {
	lane   *lane
	of     []cie.Lab
	screen string
	seen   []color.RGBA
}

// follow has other colours found, or the same for another screen, and calls then when
// they are there.
func (s *swatches) follow(e session.Engine, screen string, colours []cie.Lab, then func()) {
	if screen == s.screen && slices.Equal(colours, s.of) {
		return
	}
	s.of, s.screen = colours, screen
	s.lane.start(func(job) func() {
		p, err := screenProfile(e, screen)
		if err != nil {
			return nil // the desk itself tells what is wrong with the screen's profile
		}
		seen, err := gamut.Paint(e, p, colours)
		if err != nil {
			return nil
		}
		return func() {
			s.seen = seen
			then()
		}
	})
}

// at is the i-th colour, that of the moment before while a new one is being found, and
// a grey where that is of other colours.
func (s *swatches) at(i int) color.RGBA {
	if len(s.seen) != len(s.of) || i >= len(s.seen) {
		return plotGround
	}
	return s.seen[i]
}

// screenProfile is the profile of a screen.
func screenProfile(e session.Engine, key string) (*proof.Profile, error) {
	plan, err := e.Plan(nil, setup.Setup{Source: "srgb", Screen: key}) // for its screen alone
	return plan.Screen, err
}
