package session

import (
	"firstsheet/proof"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// Told is the one sentence under the sheets, and the pin that it speaks of, or -1.
type Told struct {
	Text string
	// Brief leaves out the reason, for a narrow place; "" where Text gives none.
	Brief string
	Pin   int
}

// Say returns a sentence that gives no reason.
func Say(text string, pin int) Told { return Told{Text: Sentence(text), Pin: pin} }

// SayWhy returns a sentence and its reason, joined as they are to be read together.
func SayWhy(text, joint, reason string, pin int) Told {
	return Told{Text: Sentence(text + joint + reason), Brief: Sentence(text), Pin: pin}
}

// Told returns what is to be said at this moment: of the place that the sheets were taken
// to; of two proofs side by side what the active one does against the other; else of the
// active sheet, or where that is no proof, of the first one.
func (s State) Told() Told {
	if text := s.DifferWords(); text != "" {
		return Told{Text: text, Pin: -1}
	}
	r := s.Results[s.Active]
	if s.Refusal(s.Active) != "" {
		return Told{Pin: -1} // the sheet itself says why it is empty
	}
	if t, ok := s.compared(); ok {
		return t
	}
	if r.Told.Text != "" {
		return r.Told
	}
	if _, n := s.Proof(); n >= 0 && !s.Sheets[s.Active].IsProof() && s.Results[n].Told.Text != "" {
		return s.Results[n].Told
	}
	if r.Computing {
		return Told{Text: "…", Pin: -1} // an old sentence beside a new sheet would be false
	}
	return Told{Pin: -1}
}

// compared tells what the active proof does to a pin against another proof beside it,
// both as they should be.
func (s State) compared() (Told, bool) {
	other := s.beside()
	if other < 0 {
		return Told{}, false
	}
	if s.Results[s.Active].Told.Text == "" || s.Results[other].Told.Text == "" {
		return Told{}, false // the values are those of a set-up before
	}
	mine, theirs := s.Values[s.Active], s.Values[other]
	change := func(n int) words.Change { return words.Compare(theirs[n].Counted, mine[n].Counted) }
	chosen, most := -1, 0.0
	for n := range s.NumPins {
		if !mine[n].Known || !theirs[n].Known {
			return Told{}, false // they are on their way
		}
		if d := change(n).DeltaE00; chosen < 0 || d > most {
			chosen, most = n, d
		}
	}
	if validPin(s, s.Pin) {
		chosen = s.Pin
	}
	if chosen < 0 {
		return Told{}, false
	}
	by, against := s.apart(s.Active, other)
	against += ToWhichEye(s.Setup(s.Sheets[s.Active]), s.Setup(s.Sheets[other]))
	return Say(change(chosen).Beside(words.This(s.Pins[chosen].Name)+" "+by, against), chosen), true
}

// ToWhichEye says, after a comparison of two set-ups, to what eye it holds where the screen
// shows another: by the absolute intent colours are alike on papers of different white, and
// differ for who is used to each. "" where nothing need be said.
func ToWhichEye(a, b setup.Setup) string {
	absolute := a.Intent == proof.AbsoluteColorimetric || b.Intent == proof.AbsoluteColorimetric
	if !absolute || a.Paper == b.Paper || a.Paper == "" || b.Paper == "" || a.White != proof.PaperWhite || a.CountWhite {
		return ""
	}
	return ", to an eye used to each paper’s white"
}

// beside returns the first other proof that is made another way than the active one, or
// -1; where either is a slip there is no comparing them.
func (s State) beside() int {
	proper := func(n int) bool {
		sh := s.Sheets[n]
		return sh.IsProof() && !sh.Wrong && s.Results[n].Route.Refused == ""
	}
	if !proper(s.Active) {
		return -1
	}
	for n := range s.Count {
		if n != s.Active && proper(n) && s.Setup(s.Sheets[n]) != s.Setup(s.Sheets[s.Active]) {
			return n
		}
	}
	return -1
}

// apart says in what two proofs differ: how the first is made, and what the second is.
func (s State) apart(n, other int) (by, against string) {
	a, b := s.Sheets[n], s.Sheets[other]
	switch {
	case a.Paper != b.Paper:
		return "on " + s.Results[n].Route.Paper, s.Results[other].Route.Paper
	case a.Intent != b.Intent:
		return "by the " + a.Intent.Short() + " intent", "the " + b.Intent.Short() + " one"
	case a.BPC && !b.BPC && a.Intent != proof.AbsoluteColorimetric:
		return "with compensation", "the one without"
	}
	return "without compensation", "the one with it"
}

// GoToPin takes all sheets to a pin, and chooses it.
type GoToPin struct{ N int }

func (a GoToPin) reduce(s State) State {
	if !validPin(s, a.N) {
		return s
	}
	s.Pin = a.N
	p := s.Pins[a.N]
	// So near that the pin's surroundings fill the sheet, and not farther than now.
	scale := clamp(0.4*float64(min(s.Cell.W, s.Cell.H))/(6*PinRadius(s.Picture, p)+1),
		Place(s.Cell, s.View, s.Picture.W, s.Picture.H).Scale, 4)
	s.View = clampView(s.Cell, Viewport{Scale: scale, CX: p.X * float64(s.Picture.W), CY: p.Y * float64(s.Picture.H)}, s.Picture.W, s.Picture.H)
	return s
}
