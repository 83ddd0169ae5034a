package engine

import (
	"fmt"
	"strings"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/setup"
)

// Route implements session.Engine.
func (e *Engine) Route(pic *session.Picture, set setup.Setup, screen session.Screen) (session.Route, error) {
	plan, err := e.Plan(pic, set)
	if err != nil {
		return session.Route{}, err
	}
	// The chain before the words: a set-up that cannot run has no route.
	c, err := e.Chain(plan)
	if err != nil {
		return session.Route{}, err
	}
	defer c.Close()
	var out session.Route
	for _, s := range plan.Route().Stations {
		if out.N == session.MaxStations {
			break
		}
		st := session.Station{Station: s}
		switch s.Kind {
		case proof.FileStation:
			st.Brief = st.Detail
			switch {
			case set.Printed != "": // it is no file of numbers that could be labelled
			case set.Source != "":
				st.Brief += " assumed"
				st.Detail += ", assumed"
				st.Ask = session.AskSource
			case pic.Info.Origin == setup.Embedded:
				st.Detail += ", embedded"
			default:
				st.Detail += ", named in the file"
			}
		case proof.ScreenStation:
			st.Ask = session.AskScreen
			if screen.Assumed {
				st.Detail += " assumed"
				st.Brief = st.Detail
				st.Detail += ": wrong if it is wide-gamut"
			}
			if l := c.ScreenBlack(); l > 0 {
				st.Detail += fmt.Sprintf(", its black is L* %.1f: all sheets are lifted to it", l)
			}
		}
		out.Stations[out.N] = st
		out.N++
	}
	out.Note = strings.Join(plan.Notes(), " ")
	if set.Paper != "" {
		out.Paper = plan.Paper.Name()
		out.Idle = e.idle(pic, set)
	}
	return out, nil
}

// idle says why compensation does nothing in a set-up, "" where it does
// something: the two plans are asked, not the rule book.
func (e *Engine) idle(pic *session.Picture, set setup.Setup) string {
	set = set.Right()
	set.Dimmed = false
	plan, err := e.Plan(pic, set)
	if err != nil {
		return ""
	}
	if set.Intent == proof.AbsoluteColorimetric {
		return "does nothing with the absolute intent"
	}
	if plan.Paper.ForcesBPC(set.Intent) {
		return "always happens here: a version 4 profile, " + set.Intent.Short()
	}
	var look [2]cie.Lab
	for i, on := range []bool{false, true} {
		set.BPC = on
		c, err := e.chain(pic, set)
		if err != nil {
			return ""
		}
		// A dark grey shows the compensation more surely than black itself.
		src := make([]float64, plan.Source.Channels())
		for k := range src {
			src[k] = 0.12
			if plan.Source.Channels() == 4 {
				src[k] = 0.85
			}
		}
		look[i] = c.Value(src).Relative
		c.Close()
	}
	if cie.DeltaE00(look[0], look[1]) < 0.05 {
		return "does nothing here: the shadows come out alike without it"
	}
	return ""
}
