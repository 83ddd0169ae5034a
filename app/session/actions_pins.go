package session

import (
	"math"

	"firstsheet/proof/pin"
)

// PutPin puts a pin at a picture point.
type PutPin struct {
	X, Y float64
	Name string
}

func (a PutPin) reduce(s State) State {
	w, h := float64(s.Picture.W), float64(s.Picture.H)
	if s.NumPins == MaxPins || !(a.X >= 0 && a.Y >= 0 && a.X < w && a.Y < h) {
		return s
	}
	name := a.Name
	if name == "" {
		name = freeName(s)
	}
	s.Pins[s.NumPins] = pin.Pin{Name: name, X: a.X / w, Y: a.Y / h, Radius: defaultRadius(s.Picture)}
	s.Pin = s.NumPins
	s.NumPins++
	s.Folds.Pins = true
	return s
}

// MovePin moves pin N.
type MovePin struct {
	N    int
	X, Y float64
}

func (a MovePin) reduce(s State) State {
	if validPin(s, a.N) {
		s.Pins[a.N].X = clamp(a.X/math.Max(float64(s.Picture.W), 1), 0, 1)
		s.Pins[a.N].Y = clamp(a.Y/math.Max(float64(s.Picture.H), 1), 0, 1)
	}
	return s
}

// NamePin names pin N.
type NamePin struct {
	N    int
	Name string
}

func (a NamePin) reduce(s State) State {
	if validPin(s, a.N) && a.Name != "" {
		s.Pins[a.N].Name = a.Name
	}
	return s
}

// DeletePin takes pin N away.
type DeletePin struct{ N int }

func (a DeletePin) reduce(s State) State {
	if !validPin(s, a.N) {
		return s
	}
	copy(s.Pins[a.N:], s.Pins[a.N+1:])
	for i := range s.Values {
		copy(s.Values[i][a.N:], s.Values[i][a.N+1:])
		s.Values[i][MaxPins-1] = PinValue{}
	}
	s.NumPins--
	s.Pins[s.NumPins] = pin.Pin{}
	s.Pin = -1
	return s
}

// WidenPin makes the circle that pin N reads wider, or narrower by a factor below 1.
type WidenPin struct {
	N      int
	Factor float64
}

func (a WidenPin) reduce(s State) State {
	if validPin(s, a.N) {
		r := PinRadius(s.Picture, s.Pins[a.N])*a.Factor + 2*(a.Factor-1) // so that a single pixel grows too
		s.Pins[a.N].Radius = clamp(math.Round(r), 0, maxPinRadius) / long(s.Picture)
	}
	return s
}

// maxPinRadius is in picture pixels: more is no colour but a picture.
const maxPinRadius = 500

// PinRadius returns a pin's radius in picture pixels.
func PinRadius(pic PictureInfo, p pin.Pin) float64 { return p.Radius * long(pic) }

// ProposePins asks the program for the picture's own telling colours.
type ProposePins struct{}

func (ProposePins) reduce(s State) State {
	s.Proposing++
	s.Unasked = false
	return s
}

// ChoosePin chooses pin N; -1 chooses none.
type ChoosePin struct{ N int }

func (a ChoosePin) reduce(s State) State {
	s.Pin = -1
	if validPin(s, a.N) {
		s.Pin = a.N
	}
	return s
}

// PinsProposed brings proposed pins for a picture.
type PinsProposed struct {
	Picture int
	Pins    [MaxPins]pin.Pin
	N       int
}

func (a PinsProposed) reduce(s State) State {
	if a.Picture != s.Picture.Key {
		return s
	}
	n := copy(s.Pins[s.NumPins:], a.Pins[:a.N])
	s.NumPins += n
	if n > 0 && !s.Unasked {
		s.Folds.Pins = true
	}
	return s
}

func validPin(s State, n int) bool { return n >= 0 && n < s.NumPins }

// long is the picture's longer side in pixels, at least 1.
func long(p PictureInfo) float64 { return float64(max(p.W, p.H, 1)) }

// defaultRadius is a two-hundredth of the longer side, and a pixel at least: on a print
// of A3 that is a circle of about 4 mm, as much as an eye takes for one colour.
func defaultRadius(p PictureInfo) float64 {
	return math.Max(1, math.Round(long(p)/200)) / long(p)
}

// freeName is "Pin 1", "Pin 2", ... the first that no pin has.
func freeName(s State) string {
	for i := 1; ; i++ {
		name := "Pin " + itoa(i)
		used := false
		for _, p := range s.Pins[:s.NumPins] {
			used = used || p.Name == name
		}
		if !used {
			return name
		}
	}
}
