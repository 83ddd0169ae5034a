// Package mishap lists what can go wrong with a print beside colour management: an ink
// that is clogged or missing, and a print that is looked at in the wrong light. Each is a
// [proof.Mishap] of a plan, so that it can be looked at as any proof can.
//
// Inks, and paper that glows, are changed as the paper's ink model says (package press);
// the colour before the change is the profile's. Papers without a model have no such
// mishaps. Left out on purpose: what a model of even fields cannot show, such as the
// stripes of single nozzles.
package mishap

import (
	"fmt"
	"strings"
	"sync"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/light"
	"firstsheet/proof/paper"
	"firstsheet/proof/press"
)

// Kind is what goes wrong.
type Kind string

// The kinds.
const (
	Ink   Kind = "ink"
	Light Kind = "light"
)

// Mishap is one that can happen to prints on a paper.
type Mishap struct {
	proof.Mishap
	Kind Kind
	// Cause names all that are one and the same to a person, whatever their extent.
	Cause string
	// Name is what people call the cause, Detail tells its extent.
	Name, Detail string
	// Recognise says how a print tells that this happened, Prevent how it is prevented.
	Recognise, Prevent string
}

// clogged is the share of an ink that still comes out where half of its nozzles do.
const clogged = 0.5

// lampKelvin and lampLux are a room lit by warm lamps in the evening (common
// practice, no source).
const (
	lampKelvin = 2700
	lampLux    = 100
)

// Of returns the mishaps that can happen to prints on a paper. Models of inks are made when
// they are first asked for a colour: to list mishaps takes no time.
func Of(stock paper.Paper) []Mishap {
	var all []Mishap
	sheet, modelled := press.StockByID(stock.ID)
	modelled = modelled && stock.Builtin
	if modelled {
		all = append(all, inks(sheet)...)
	}
	if m, err := light.Seen(lampKelvin, light.Adaptation(lampLux)); err == nil {
		all = append(all, warmLamp(m))
	}
	if modelled && sheet.Brightener > 0 {
		all = append(all, noUltraviolet(sheet))
	}
	return all
}

// ByID returns the mishap of that ID on a paper, and whether there is one.
func ByID(stock paper.Paper, id string) (Mishap, bool) {
	for _, m := range Of(stock) {
		if m.ID == id {
			return m, true
		}
	}
	return Mishap{}, false
}

// Name returns what the mishap of an ID is called in a few words, "" for none.
func Name(id string) string {
	switch id {
	case lampID:
		return "seen under a warm lamp"
	case noUVID:
		return "seen without ultraviolet"
	}
	for _, name := range press.InkNames() {
		switch id {
		case inkID(name, 0):
			return "no " + name + " ink"
		case inkID(name, clogged):
			return "half of the " + name + " ink"
		}
	}
	return ""
}

// Modelled tells whether the mishap of an ID is simulated by the paper's ink model.
func Modelled(id string) bool { return id != "" && id != lampID }

const (
	lampID = "warmlamp"
	noUVID = "noultraviolet"
)

func inkCause(name string) string { return "clogged-" + strings.ReplaceAll(name, " ", "-") }

func inkID(name string, left float64) string {
	if left > 0 {
		return inkCause(name) + "-half"
	}
	return inkCause(name) + "-all"
}

// inks lists each ink missing, and with half of its nozzles clogged.
func inks(sheet press.Stock) []Mishap {
	model := soundOn(sheet)
	var all []Mishap
	for ink, name := range press.InkNames() {
		for _, left := range []float64{0, clogged} {
			m := Mishap{
				Mishap: proof.Mishap{ID: inkID(name, left), Why: "no " + name + " ink comes out"},
				Kind:   Ink, Cause: inkCause(name), Name: "the " + name + " ink is clogged or missing", Detail: "none of it comes out",
				Recognise: "Colours that need this ink are off and all others are right; the nozzle pattern has gaps.",
				Prevent:   "Print the nozzle pattern before a large sheet, clean the heads until it has no gaps.",
			}
			if left > 0 {
				m.Detail, m.Why = "half of its nozzles are clogged", "half of the nozzles for "+name+" are clogged"
			}
			m.Change = func(device []float64, look cie.Lab) cie.Lab {
				if len(device) != 3 {
					return look
				}
				sound := model()
				amounts := sound.press.Driver.Separate(device[0], device[1], device[2])
				if amounts[ink] == 0 {
					return look
				}
				before := sound.at([3]float64(device), amounts)
				amounts[ink] *= left
				// The change is the model's, the colour it is made to the table's.
				return moved(look, before, sound.press.Reflectance(amounts).Lab().BesideWhite(sound.white))
			}
			all = append(all, m)
		}
	}
	return all
}

// soundPrints remembers what the model prints with all inks: that is asked for the same
// few colours by each ink. It may be used from many goroutines.
type soundPrints struct {
	press *press.Press
	white cie.Lab

	mu    sync.Mutex
	known map[[3]float64]cie.Lab
}

// mostKnown bounds what is remembered: far more colours than a question has.
const mostKnown = 1 << 14

// soundOn returns prints on a paper, whose model is made when they are first asked for.
func soundOn(sheet press.Stock) func() *soundPrints {
	return sync.OnceValue(func() *soundPrints {
		p := press.New(sheet, sheet.Right)
		return &soundPrints{press: p, white: p.White(), known: map[[3]float64]cie.Lab{}}
	})
}

func (s *soundPrints) at(device [3]float64, amounts [press.Inks]float64) cie.Lab {
	s.mu.Lock()
	c, ok := s.known[device]
	s.mu.Unlock()
	if ok {
		return c
	}
	c = s.press.Reflectance(amounts).Lab().BesideWhite(s.white)
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.known) >= mostKnown {
		clear(s.known)
	}
	s.known[device] = c
	return c
}

func warmLamp(seen cie.Mat3) Mishap {
	return Mishap{
		Mishap: proof.Mishap{ID: lampID, Why: fmt.Sprintf("it is seen under a lamp of %d K", lampKelvin), InLight: true,
			Change: func(_ []float64, look cie.Lab) cie.Lab {
				return look.ToXYZ(cie.D50).Transform(seen).ToLab(cie.D50)
			}},
		Kind: Light, Cause: lampID, Name: "judged under a warm lamp", Detail: fmt.Sprintf("a lamp of %d K", lampKelvin),
		Recognise: "The whole print looks warm, its bare margin too, and right by the window.",
		Prevent:   "Judge prints in the light that they are made for, D50 or daylight from a window.",
	}
}

// noUltraviolet is a brightened paper under a light without ultraviolet, seen by an
// eye that is used to the paper as it is.
func noUltraviolet(sheet press.Stock) Mishap {
	lit := soundOn(sheet)
	sheet.Brightener = 0
	unlit := soundOn(sheet)
	return Mishap{
		Mishap: proof.Mishap{ID: noUVID, Why: "the light has no ultraviolet, and the paper's brightener does not glow", InLight: true,
			Change: func(device []float64, look cie.Lab) cie.Lab {
				if len(device) != 3 {
					return look
				}
				white := lit().white
				return moved(look, lit().press.Forward(device).BesideWhite(white), unlit().press.Forward(device).BesideWhite(white))
			}},
		Kind: Light, Cause: noUVID, Name: "judged in light without ultraviolet", Detail: "the paper's brightener does not glow",
		Recognise: "Paper and pale colours look yellowish behind glass or by LED light, and right in daylight.",
		Prevent:   "Judge brightened paper in the light it will hang in, or choose a paper without brightener.",
	}
}

func moved(look, from, to cie.Lab) cie.Lab {
	return cie.Lab{L: look.L + to.L - from.L, A: look.A + to.A - from.A, B: look.B + to.B - from.B}
}
