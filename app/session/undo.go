package session

import (
	"slices"

	"firstsheet/proof/pin"
)

// Choices are what a person has set on the desk: all that undo brings back. What was
// computed, where one looks and what is open is none of it.
type Choices struct {
	Sheets  [MaxSheets]Sheet
	Count   int
	Active  int
	Default Sheet
	Desk    string
	Looking Looking
	Pins    [MaxPins]pin.Pin
	NumPins int
	Assumed string
	Screen  Screen
}

// Choices returns what is set on the desk.
func (s State) Choices() Choices {
	c := Choices{s.Sheets, s.Count, s.Active, s.Default, s.Desk, s.Looking, s.Pins, s.NumPins, s.Picture.Assumed, s.Screen}
	c.Looking.BandsHeld = false
	return c
}

// restored returns the state with other choices.
func (s State) restored(c Choices) State {
	if c.Pins != s.Pins {
		s.Pin, s.Values = -1, [MaxSheets][MaxPins]PinValue{} // of other pins
	}
	s.Sheets, s.Count, s.Active, s.Default, s.Desk = c.Sheets, c.Count, c.Active, c.Default, c.Desk
	s.Looking, s.Pins, s.NumPins, s.Picture.Assumed, s.Screen = c.Looking, c.Pins, c.NumPins, c.Assumed, c.Screen
	return s
}

// Undo takes the last change of what is set back, Redo makes it again. The session turns
// both into a restore, for only it remembers.
type (
	Undo struct{}
	Redo struct{}
)

func (Undo) reduce(s State) State { return s }
func (Redo) reduce(s State) State { return s }

// restore sets choices of another moment.
type restore struct{ choices Choices }

func (a restore) reduce(s State) State { return s.restored(a.choices) }

// history remembers choices, the latest last.
type history struct {
	past, future []Choices
	last         any // what the last change was made by, where several make one
}

// keptChanges is how many changes can be taken back: an evening's work, at 3 KB each.
const keptChanges = 500

// turn answers Undo and Redo with the action that does it, and leaves others alone.
func (h *history) turn(s State, a Action) Action {
	from, to := &h.past, &h.future
	switch a.(type) {
	case Undo:
	case Redo:
		from, to = to, from
	default:
		return a
	}
	n := len(*from)
	if n == 0 {
		return a
	}
	back := restore{(*from)[n-1]}
	*from = (*from)[:n-1]
	*to = append(*to, s.Choices())
	h.last = nil
	return back
}

// note remembers what an action has changed.
func (h *history) note(old, now State, a Action) {
	switch a := a.(type) {
	case restore:
		return
	case PictureOpened:
		if old.Picture.Key != now.Picture.Key && !old.Loading.Keep {
			*h = history{} // another picture has pins of its own
			return
		}
		// What was observed of the picture before it was read anew is gone.
		h.each(func(c Choices) Choices { return now.restored(c).lasting().Choices() })
		old = old.lasting()
	case PinsProposed:
		if now.Unasked {
			return // nobody did that
		}
	case PaperGone:
		// What lay on it then lies on another now.
		h.each(func(c Choices) Choices { return a.reduce(now.restored(c)).Choices() })
		return
	case MeetScreen:
		// What is taken back is seen on the screen of now.
		h.each(func(c Choices) Choices { return a.reduce(now.restored(c)).Choices() })
		return
	}
	was, is := old.Choices(), now.Choices()
	was.Active = is.Active // to look at another sheet changes nothing
	if was == is {
		return
	}
	by := stretch(was, is, a)
	if by == nil || by != h.last {
		h.past = append(h.past, old.Choices())
		if n := len(h.past) - keptChanges; n > 0 {
			h.past = slices.Delete(h.past, 0, n)
		}
	}
	h.last, h.future = by, nil
}

// each changes all that is remembered.
func (h *history) each(change func(Choices) Choices) {
	for _, list := range [][]Choices{h.past, h.future} {
		for i := range list {
			list[i] = change(list[i])
		}
	}
}

// stretch names what belongs together: all moves of one drag, all steps of one slider.
// nil is a change of its own.
func stretch(was, is Choices, a Action) any {
	if m, ok := a.(MovePin); ok {
		return MovePin{N: m.N}
	}
	was.Looking.Lux, was.Looking.Luminance = is.Looking.Lux, is.Looking.Luminance
	if was == is {
		return SetLooking{}
	}
	return nil
}
