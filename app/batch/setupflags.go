package main

import (
	"errors"
	"flag"
	"fmt"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// setupFlags are the flags that say how a picture or colours are proofed.
type setupFlags struct {
	source, paper, intent, bpc, white, screen string
	slips, reads, second, other, setting      string
	count                                     string
	library                                   string
}

func (s *setupFlags) define(f *flag.FlagSet) {
	spaces := strings.Join(spaceIDs(), "|")
	f.StringVar(&s.source, "source", "", "what the numbers are: `"+spaces+"|FILE`")
	f.StringVar(&s.paper, "paper", "", "the paper: `ID|FILE`")
	f.StringVar(&s.intent, "intent", "relative", "rendering intent: `perceptual|relative|saturation|absolute`")
	f.StringVar(&s.bpc, "bpc", "on", "black point compensation: `on|off`")
	f.StringVar(&s.white, "white", "screen", "the white that the print is seen against: `paper|screen`")
	f.StringVar(&s.screen, "screen", "srgb", "the screen's profile: `"+spaces+"|FILE`")
	f.StringVar(&s.slips, "slip", "none", "mistakes to make, several joined by commas: `none|"+strings.Join(slipIDs(), "|")+"`")
	f.StringVar(&s.reads, "reads", "", "what numbers are wrongly taken for, with wrongsource and twice: `"+spaces+"|FILE`")
	f.StringVar(&s.second, "second", "perceptual", "the second converter's intent, with twice: `perceptual|relative|saturation`")
	f.StringVar(&s.other, "otherpaper", "", "the paper whose profile is wrongly used, with otherpaper: `ID|FILE`")
	f.StringVar(&s.setting, "setting", "", "the wrong media setting, with wrongsetting: `ID`; its first when left out")
	defineLibrary(f, &s.library)
}

func defineLibrary(f *flag.FlagSet, dir *string) {
	f.StringVar(dir, "library", "", "`DIR` of the added papers; firstsheet/papers among the user's settings when left out")
}

func openLibrary(dir string) *paper.Library { return paper.Open(dir) }

func spaceIDs() (ids []string) {
	for _, s := range space.All() {
		ids = append(ids, s.ID)
	}
	return ids
}

func slipIDs() (ids []string) {
	for _, s := range slip.All() {
		ids = append(ids, s.ID)
	}
	return ids
}

// setup returns the set-up that the flags name, or a usage error.
func (s *setupFlags) setup() (setup.Setup, error) {
	if s.paper == "" {
		return setup.Setup{}, misused("-paper is missing")
	}
	out := setup.Setup{
		Source: s.source, Paper: s.paper, Screen: s.screen,
		Reads: s.reads, Other: s.other, Setting: s.setting,
	}
	var err error
	if out.Intent, err = proof.ParseIntent(s.intent); err != nil {
		return out, misused("-intent is %q, not perceptual, relative, saturation or absolute", s.intent)
	}
	if out.Second, err = proof.ParseIntent(s.second); err != nil || out.Second == proof.AbsoluteColorimetric {
		return out, misused("-second is %q, not perceptual, relative or saturation", s.second)
	}
	if out.BPC, err = onOff("bpc", s.bpc); err != nil {
		return out, err
	}
	switch s.white {
	case "paper":
		out.White = proof.PaperWhite
	case "screen":
		out.White = proof.ScreenWhite
	default:
		return out, misused("-white is %q, not paper or screen", s.white)
	}
	out.Slips = strings.ReplaceAll(s.slips, " ", "")
	if out.Slips == "none" {
		out.Slips = ""
	}
	return out, s.told(out.Slips)
}

// told checks that each slip is told what it needs, and that nothing is told to none.
func (s *setupFlags) told(slips string) error {
	var reads, other, setting bool
	for _, id := range listed(slips) {
		made, ok := slip.ByID(id)
		switch {
		case !ok:
			return misused("-slip names %q, which is none of none, %s", id, strings.Join(slipIDs(), ", "))
		case made.NeedsReads && s.reads == "":
			return misused("-slip %s needs -reads: the space that the numbers are wrongly taken for", id)
		case made.NeedsPaper && s.other == "":
			return misused("-slip %s needs -otherpaper: the paper whose profile is wrongly used", id)
		}
		reads, other, setting = reads || made.NeedsReads || made.NeedsSecond, other || made.NeedsPaper, setting || made.NeedsSetting
	}
	switch {
	case s.reads != "" && !reads:
		return misused("-reads is given, and no -slip that takes numbers for another space")
	case s.other != "" && !other:
		return misused("-otherpaper is given, and no -slip otherpaper")
	case s.setting != "" && !setting:
		return misused("-setting is given, and no -slip wrongsetting")
	}
	return nil
}

func onOff(name, word string) (bool, error) {
	switch word {
	case "on":
		return true, nil
	case "off":
		return false, nil
	}
	return false, misused("-%s is %q, not on or off", name, word)
}

// plan returns the plan of a set-up; picture is what a picture's own numbers are.
func (s *setupFlags) plan(set setup.Setup, picture *proof.Profile) (proof.Plan, error) {
	plan, err := set.Plan(setup.Files{Library: openLibrary(s.library), Picture: picture})
	if errors.Is(err, proof.ErrPlan) {
		// The reason speaks of profiles by their descriptions.
		err = fmt.Errorf("%w (paper %s)", err, s.paper)
	}
	return plan, err
}
