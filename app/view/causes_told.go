package view

import (
	"math"
	"slices"

	"firstsheet/app/session"
	"firstsheet/proof/cause"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// causesOf is all of the window's state that a search for a cause depends on.
type causesOf struct {
	set     setup.Setup // the route as it was meant
	picture int
	pins    [session.MaxPins]pin.Pin
	n       int
	library int
}

func newCausesOf(now session.State) causesOf {
	right, _ := rightProof(now, "")
	return causesOf{set: right, picture: now.Picture.Key, pins: now.Pins, n: now.NumPins, library: now.Library}
}

// spotted is a place of the picture, as a pin marks it: it outlives the pin's name.
type spotted struct{ x, y, radius float64 }

func spottedBy(p pin.Pin) spotted { return spotted{p.X, p.Y, p.Radius} }

// wholePrint is the place of what is said of all of it.
var wholePrint = spotted{x: -1}

// saying is a word that was said of a place.
type saying struct {
	of   spotted
	word cause.Word
	hue  words.Hue
}

// way is how a person tells what a print looks like.
type way int

const (
	byEye way = iota
	inWords
	byMeasure
	byPhoto
	ways
)

// wayNames are the ways as the card's choice writes them.
var wayNames = [ways]string{"by eye", "in words", "measured", "photo"}

// readFile are colours that were read from a file.
type readFile struct {
	name  string
	spots []cause.Spot
	notes []string
	sheet bool // of a check sheet, not of the picture
}

// causeTold is all that a person has told about a bad print. The card keeps it while it
// is closed. All of it belongs to the drawing goroutine.
type causeTold struct {
	picture  int
	outcomes map[string]bool // by a step's ID: passed; those not tried are not in it
	matched  map[spotted]cie.LCh
	said     map[saying]bool
	file     readFile
	sigma    int // of causeSigmas
	photo    toldPhoto
	without  [ways]bool     // told, but not to be counted
	prior    map[string]int // how likely before looking, of priorWords, by a belief's ID; the usual left out
	laid     map[string]int // observations that lay on the desk, by what they are
}

// newCauseTold returns what is told of a picture's print at first: nothing but what was
// held for likely before, nil for the usual.
func newCauseTold(picture int, before *causeTold) *causeTold {
	prior := map[string]int{}
	if before != nil {
		prior = before.prior
	}
	return &causeTold{picture: picture, prior: prior, outcomes: map[string]bool{}, matched: map[spotted]cie.LCh{}, said: map[saying]bool{}, sigma: 1, laid: map[string]int{}}
}

// causeSigmas are what a reading may be off by, in each of L*, a* and b* (common
// practice, no source).
var causeSigmas = []struct {
	name  string
	sigma float64
	help  string
}{
	{"± 0.5", 0.5, "An instrument on even patches."},
	{"± 1", cause.UsualSpread, "An instrument held by hand on a picture that is not flat."},
	{"± 3", 3, "A scanner or a camera without a profile of its own."},
}

// causePlaces are the places of the picture that can be spoken of.
type causePlaces struct {
	pins  []cause.Spot // of the pins, in their order; their Lab is the right print's
	all   []cause.Spot // places spread over the picture
	white cie.Lab      // the paper's
}

// asksOfSheet tells whether what is asked about is a printed check sheet and not the
// picture's print.
func (t *causeTold) asksOfSheet() bool {
	return len(t.file.spots) > 0 && t.file.sheet && !t.without[byMeasure]
}

// turned returns how a pin was matched, and whether it was.
func (t *causeTold) turned(p pin.Pin) (cie.LCh, bool) {
	c, ok := t.matched[spottedBy(p)]
	return c, ok
}

// counts is how many pieces were told in a way.
func (t *causeTold) counts(w way, pins []pin.Pin) int {
	n := 0
	switch w {
	case byEye:
		for _, p := range pins {
			if _, ok := t.turned(p); ok {
				n++
			}
		}
	case inWords:
		for s := range t.said {
			if s.of == wholePrint || placeOf(s.of, pins) >= 0 {
				n++
			}
		}
	case byMeasure:
		n = len(t.file.spots)
	case byPhoto:
		n = len(t.photo.read.Regions)
	}
	return n
}

func placeOf(s spotted, pins []pin.Pin) int {
	return slices.IndexFunc(pins, func(p pin.Pin) bool { return spottedBy(p) == s })
}

// evidence puts together what was told and is to be counted. What lies on a check
// sheet says nothing about the picture's places, so it stands alone.
func (t *causeTold) evidence(pins []pin.Pin, at causePlaces) []cause.Evidence {
	var out []cause.Evidence
	if t.asksOfSheet() {
		out = append(out, t.measurement())
	} else {
		out = t.ofPicture(pins, at)
	}
	for _, s := range cause.PrinterFirst() {
		if passed, tried := t.outcomes[s.ID]; tried {
			out = append(out, cause.Outcome{Step: s.ID, Passed: passed})
		}
	}
	return out
}

func (t *causeTold) measurement() cause.Measured {
	return cause.Measured{Spots: t.file.spots, Sigma: causeSigmas[t.sigma].sigma}
}

func (t *causeTold) ofPicture(pins []pin.Pin, at causePlaces) []cause.Evidence {
	var out []cause.Evidence
	counted := func(w way) bool { return !t.without[w] && t.counts(w, pins) > 0 }
	if counted(byEye) {
		var m cause.Matched
		for i, p := range pins[:min(len(pins), len(at.pins))] {
			if c, ok := t.turned(p); ok {
				s := at.pins[i]
				s.Lab = c.Lab()
				m.Spots = append(m.Spots, s)
			}
		}
		out = append(out, m)
	}
	if counted(inWords) {
		out = append(out, t.words(pins, at))
	}
	if counted(byMeasure) {
		out = append(out, t.measurement())
	}
	if counted(byPhoto) {
		out = append(out, t.photo.read)
	}
	return out
}

// words are those said: of the pins, and of the whole by places spread over it.
func (t *causeTold) words(pins []pin.Pin, at causePlaces) cause.Words {
	w := cause.Words{Places: slices.Concat(at.pins, at.all)}
	for s := range t.said {
		place := cause.Whole
		if s.of != wholePrint {
			if place = placeOf(s.of, pins); place < 0 || place >= len(at.pins) {
				continue
			}
		}
		w.Said = append(w.Said, cause.Saying{Word: s.word, Place: place, Hue: s.hue})
	}
	slices.SortFunc(w.Said, func(a, b cause.Saying) int {
		return (a.Place-b.Place)*1000 + (int(a.Word)-int(b.Word))*100 + int(a.Hue) - int(b.Hue)
	})
	return w
}

// more are the places of the print that could still be looked at.
func (t *causeTold) more(pins []pin.Pin, at causePlaces) []cause.Spot {
	if t.asksOfSheet() {
		return nil
	}
	var out []cause.Spot
	for _, i := range t.unseen(pins[:min(len(pins), len(at.pins))]) {
		out = append(out, at.pins[i])
	}
	return out
}

// unseen are the numbers of the pins that nobody has looked at.
func (t *causeTold) unseen(pins []pin.Pin) []int {
	var out []int
	for i, p := range pins {
		if _, ok := t.turned(p); !ok {
			out = append(out, i)
		}
	}
	return out
}

// How far one press of a key turns a colour: less than what by eye is told apart at
// arm's length, so that the match is not missed between two presses (own choice).
const (
	turnLightness = 1.5
	turnChroma    = 2.5
	turnHue       = 4.0 // degrees
	mostChroma    = 130
)

// turn changes a colour by steps, within what a print can be.
func turn(c cie.LCh, lightness, chroma, hue float64) cie.LCh {
	c.L = min(max(c.L+lightness*turnLightness, 0), 100)
	c.C = min(max(c.C+chroma*turnChroma, 0), mostChroma)
	c.H = math.Mod(c.H+hue*turnHue+360, 360)
	return c
}

// mostRead pixels of a pin are run through hundreds of set-ups: where they differ by ΔE 10
// among each other their mean is fixed to 1.6, and an eye's match to 4.
const mostRead = 40

// numbersAt returns a pin's numbers on a picture, pixel by pixel.
func numbersAt(pic *session.Picture, p pin.Pin) []float64 {
	full := pic.Levels[0]
	px := p.Pixels(full.W, full.H)
	step := (len(px) + mostRead - 1) / mostRead
	var out []float64
	for i := 0; i < len(px); i += max(step, 1) {
		out = full.At(out, px[i].X, px[i].Y)
	}
	return out
}

// The places that speak for the whole picture: middles of so many fields.
const spreadColumns, spreadRows = 8, 6

// spread returns the numbers of places spread over a picture, of its smallest level:
// each is the mean of its surroundings.
func spread(pic *session.Picture) []cause.Spot {
	small := pic.Levels[len(pic.Levels)-1]
	var out []cause.Spot
	for j := range spreadRows {
		for i := range spreadColumns {
			x, y := (2*i+1)*small.W/(2*spreadColumns), (2*j+1)*small.H/(2*spreadRows)
			out = append(out, cause.Spot{Numbers: small.At(nil, x, y)})
		}
	}
	return out
}
