package session

import (
	"image/color"

	"firstsheet/proof"
)

// RequestStarted gives sheet N's request its number.
type RequestStarted struct {
	N   int
	Gen uint64
}

func (a RequestStarted) reduce(s State) State {
	if a.N < 0 || a.N >= MaxSheets || a.Gen <= s.Results[a.N].Gen {
		return s
	}
	r := &s.Results[a.N]
	if r.Route.Refused != "" {
		r.Route = Route{} // the new one may well run
	}
	*r = Result{Gen: a.Gen, Computing: true, Route: r.Route, Ground: r.Ground, Told: Told{Pin: -1}}
	s.Stale[a.N] = true
	return s
}

// RouteFound carries the route of a request.
type RouteFound struct {
	N     int
	Gen   uint64
	Route Route
}

func (a RouteFound) reduce(s State) State {
	if r := current(&s, a.N, a.Gen); r != nil {
		r.Route = a.Route
	}
	return s
}

// PeekFound carries the route of what a held key shows.
type PeekFound struct {
	of    wanted
	Route Route
}

func (a PeekFound) reduce(s State) State {
	if s.Held != HeldNone && a.of == s.held() {
		s.Peek = a.Route
	}
	return s
}

// SetupRefused tells that a set-up can't be.
type SetupRefused struct {
	N      int
	Gen    uint64
	Reason string
}

func (a SetupRefused) reduce(s State) State {
	r := current(&s, a.N, a.Gen)
	if r == nil {
		return s
	}
	r.Computing, r.Glance, r.Figures, r.Measured, r.Told = false, proof.Figures{}, proof.Figures{}, false, Told{Pin: -1}
	r.Route = refusedRoute(a.Reason)
	s.Values[a.N] = [MaxPins]PinValue{}
	s.Stale[a.N] = false
	return s
}

// FiguresGlanced carries the figures of some of a sheet's pixels.
type FiguresGlanced struct {
	N       int
	Gen     uint64
	Figures proof.Figures
}

func (a FiguresGlanced) reduce(s State) State {
	if r := current(&s, a.N, a.Gen); r != nil && r.Computing {
		r.Glance = a.Figures
	}
	return s
}

// FiguresCounting tells how much of the picture is counted, 0 to 1.
type FiguresCounting struct {
	N    int
	Gen  uint64
	Done float64
}

func (a FiguresCounting) reduce(s State) State {
	if r := current(&s, a.N, a.Gen); r != nil {
		r.Progress = a.Done
	}
	return s
}

// FiguresFound carries the figures of a sheet.
type FiguresFound struct {
	N       int
	Gen     uint64
	Figures proof.Figures
}

func (a FiguresFound) reduce(s State) State {
	if r := current(&s, a.N, a.Gen); r != nil {
		r.Glance, r.Figures, r.Measured, r.Computing, r.Progress = proof.Figures{}, a.Figures, true, false, 1
	}
	return s
}

// ValuesFound carries the pins' values and the sentence of a sheet.
type ValuesFound struct {
	N      int
	Gen    uint64
	Values [MaxPins]PinValue
	Told   Told
}

func (a ValuesFound) reduce(s State) State {
	if r := current(&s, a.N, a.Gen); r != nil {
		s.Values[a.N] = a.Values
		r.Told = a.Told
	}
	return s
}

// FrameDone tells that a new set of buffers lies in the Store.
type FrameDone struct {
	Frame  uint64
	Stale  [MaxSheets]bool
	Ground [MaxSheets]color.RGBA
}

func (a FrameDone) reduce(s State) State {
	if a.Frame <= s.Frame {
		return s
	}
	s.Frame, s.Stale = a.Frame, a.Stale
	for i := range a.Ground {
		s.Results[i].Ground = a.Ground[i]
	}
	return s
}

// current returns sheet n's result where it is still that of request gen, else nil.
func current(s *State, n int, gen uint64) *Result {
	if n < 0 || n >= MaxSheets || s.Results[n].Gen != gen {
		return nil
	}
	return &s.Results[n]
}
