package rank

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/words"
)

// Candidate is one way to print the picture.
type Candidate struct {
	// ID is the caller's own key.
	ID string `json:"id"`
	// Paper and Intent are in words, as they are to be told.
	Paper        string `json:"paper"`
	Intent       string `json:"intent"`
	Compensation bool   `json:"compensation"`
	// Either says that the way prints the same with compensation and without; it is
	// set by [Order].
	Either bool `json:"either,omitempty"`
	// White and Black are the paper's bare white and deepest black, absolute
	// colorimetric Lab.
	White cie.Lab `json:"white"`
	Black cie.Lab `json:"black"`
}

// Value is one colour, converted.
type Value struct {
	// Original and Print are the colour of the file and the relative look of
	// the print.
	Original, Print cie.Lab
	// Reach is the ΔE00 by which the original is out of the paper's reach,
	// whatever the intent.
	Reach float64
	// Darker says that the original is darker than the paper's black.
	Darker bool
}

// Eval converts colours as the exact chain does. numbers are the picture's own,
// interleaved and 0 to 1; there is a Value for each. It is called several times
// for a candidate, one call after the other.
type Eval func(ctx context.Context, numbers []float64) ([]Value, error)

// Spot is a pin on the picture: its name and the numbers of the pixels it
// reads, interleaved and 0 to 1.
type Spot struct {
	Name    string
	Numbers []float64
}

// Picture is what is looked at of a picture.
type Picture struct {
	// Whole is what [Compute] has the engine count figures over; nil for [Evaluate] alone.
	Whole    *proof.Picture
	Channels int
	// Numbers and Weights are the colours of the picture and for how many of its
	// pixels each stands: those of [proof.CountColours].
	Numbers, Weights []float64
	// Small is the picture reduced to W by H pixels, some 400 wide, averaged
	// and not rounded; nil leaves smoothness out.
	Small []float64
	W, H  int
	// Spots are the pins.
	Spots []Spot
}

// Turn is the turn of a pin's hue in degrees, or of skin.
type Turn struct {
	Name string `json:"name"`
	// Degrees is positive counter-clockwise in the a*b* plane.
	Degrees float64 `json:"degrees"`
	// DeltaE00 is the pin's whole difference.
	DeltaE00 float64 `json:"deltaE00"`
	// Coloured is false where either C* is below 8: there is no hue to turn,
	// and Degrees is 0.
	Coloured bool `json:"coloured"`
}

// Separation tells how many steps of tone stay apart.
//
// Own definition. The picture's tones of one end of the scale are put in order
// of L*, in classes of 0.25; of each class that holds at least 1 in 100,000
// pixels the mean L* of the original and of the print is taken. Walking up from
// the darkest class, a step is counted whenever the lightness has risen by 1 ΔE00
// since the last count: once over the originals, once over the prints.
type Separation struct {
	// Steps is how many the original has, Kept how many of them the print has.
	Steps int `json:"steps"`
	Kept  int `json:"kept"`
}

// Share returns the share of the steps that are kept, 1 where there are none.
func (s Separation) Share() float64 {
	if s.Steps == 0 {
		return 1
	}
	return float64(s.Kept) / float64(s.Steps)
}

// Smoothness tells what becomes of gradients.
//
// Own definition. A gradient is a pair of pixels of the reduced picture, a
// fiftieth of its longer side apart in a row or in a column, that differ by 0.3
// to 3 ΔE00: not flat, and not an edge. It is flattened when its print differs by
// less than a quarter of that, and broken when the print differs by more than
// three times that and by more than 2 ΔE00, as at the border of a clipped
// patch. Next neighbours would not do: those of a sky that fades over the
// whole width differ by 0.05.
type Smoothness struct {
	Pairs     int `json:"pairs"`
	Flattened int `json:"flattened"`
	Broken    int `json:"broken"`
}

// Lost returns the share of gradients that are flattened or broken.
func (s Smoothness) Lost() float64 {
	if s.Pairs == 0 {
		return 0
	}
	return float64(s.Flattened+s.Broken) / float64(s.Pairs)
}

// Limits of the figures.
const (
	OutOfReach   = 2.0  // ΔE00 from which a colour counts as out of reach, one of [proof.BandEdges]
	ShadowTo     = 20.0 // L* up to which shadow separation is counted
	HighlightsIn = 80.0 // L* from which highlight separation is counted

	classWidth  = 0.25
	classShare  = 1e-5
	gradientMin = 0.3
	gradientMax = 3
	flattened   = 0.25
	broken      = 3
	brokenFrom  = 2
	baseline    = 50 // the longer side over the distance of a pair
)

// Figures are what is computed of one candidate. Shares are of the picture's
// pixels of alpha above 0, 0 to 1. [Compute] takes Out, Darker, Mean, P95 and Max from
// [proof.Engine.Count]; [Evaluate] counts them over the colours that it is given.
type Figures struct {
	// Out is the share with a reach of at least 2 ΔE00 that is not darker than
	// the paper; Darker is the share that is.
	Out    float64 `json:"out"`
	Darker float64 `json:"darker"`

	// Mean, P95 and Max are of ΔE00 (ISO/CIE 11664-6) between original and
	// print; P95 is the 95th percentile by nearest rank.
	Mean float64 `json:"mean"`
	P95  float64 `json:"p95"`
	Max  float64 `json:"max"`

	// Pins holds the turn of each pin's mean colour (see package pin).
	Pins []Turn `json:"pins,omitempty"`

	// SkinShare is the share of skin-like colours (see words.SkinLike). SkinTurn
	// is the mean turn of their hue, SkinOff the mean of its size, both over
	// those that keep a C* of 8.
	SkinShare float64 `json:"skinShare"`
	SkinTurn  float64 `json:"skinTurn"`
	SkinOff   float64 `json:"skinOff"`

	Shadows    Separation `json:"shadows"`
	Highlights Separation `json:"highlights"`
	Smoothness Smoothness `json:"smoothness"`

	// Range is the paper's contrast as L* of white minus L* of black; Contrast
	// the ratio of their luminances, 0 for a black without any.
	Range    float64 `json:"range"`
	Contrast float64 `json:"contrast"`
}

// PinOff returns the largest turn of a pin's hue by size, with its name.
func (f Figures) PinOff() (name string, degrees float64) {
	for _, p := range f.Pins {
		if d := math.Abs(p.Degrees); d > degrees {
			name, degrees = p.Name, d
		}
	}
	return name, degrees
}

// ErrEmpty is returned for a picture that has no visible pixel.
var ErrEmpty = errors.New("rank: the picture has no visible pixel")

// Tally gathers the figures of one candidate. Add every colour, then take
// [Tally.Figures].
type Tally struct {
	candidate Candidate
	counted   proof.Tally
	weight    float64

	skin    struct{ weight, coloured, turn, off float64 }
	classes map[int]*class
	pins    []Turn
	smooth  Smoothness
}

type class struct{ weight, original, print float64 }

// NewTally returns an empty tally.
func NewTally(c Candidate) *Tally { return &Tally{candidate: c, classes: map[int]*class{}} }

// Add counts a colour that stands for weight pixels, a whole number.
func (t *Tally) Add(v Value, weight float64) {
	t.weight += weight
	t.counted.Add(cie.DeltaE00(v.Original, v.Print), v.Reach, v.Darker, weight)
	if words.SkinLike(v.Original) {
		t.skin.weight += weight
		if v.Print.Chroma() >= words.NamedChroma {
			turn := cie.HueTurn(v.Original.Hue(), v.Print.Hue())
			t.skin.coloured += weight
			t.skin.turn += weight * turn
			t.skin.off += weight * math.Abs(turn)
		}
	}
	if v.Original.L < ShadowTo || v.Original.L > HighlightsIn {
		k := int(math.Floor(v.Original.L / classWidth))
		c := t.classes[k]
		if c == nil {
			c = &class{}
			t.classes[k] = c
		}
		c.weight += weight
		c.original += weight * v.Original.L
		c.print += weight * v.Print.L
	}
}

// AddPin counts a pin's mean colours.
func (t *Tally) AddPin(name string, original, print cie.Lab) {
	p := Turn{Name: name, DeltaE00: cie.DeltaE00(original, print)}
	if original.Chroma() >= words.NamedChroma && print.Chroma() >= words.NamedChroma {
		p.Coloured, p.Degrees = true, cie.HueTurn(original.Hue(), print.Hue())
	}
	t.pins = append(t.pins, p)
}

// AddSmall counts the gradients of a reduced picture of w by h colours, row by
// row. It returns ctx.Err() when cancelled.
func (t *Tally) AddSmall(ctx context.Context, w, h int, values []Value) error {
	if w < 0 || h < 0 || len(values) != w*h {
		return fmt.Errorf("rank: reduced picture of %d by %d with %d colours", w, h, len(values))
	}
	pair := func(a, b *Value) {
		before := cie.DeltaE00(a.Original, b.Original)
		if before < gradientMin || before > gradientMax {
			return
		}
		t.smooth.Pairs++
		after := cie.DeltaE00(a.Print, b.Print)
		switch {
		case after < flattened*before:
			t.smooth.Flattened++
		case after > broken*before && after > brokenFrom:
			t.smooth.Broken++
		}
	}
	far := max(1, max(w, h)/baseline)
	for y := range h {
		if err := ctx.Err(); err != nil {
			return err
		}
		for x := range w {
			i := y*w + x
			if x+far < w {
				pair(&values[i], &values[i+far])
			}
			if y+far < h {
				pair(&values[i], &values[i+far*w])
			}
		}
	}
	return nil
}

// separation counts the steps of the classes from low up to high.
func (t *Tally) separation(low, high float64) Separation {
	var keys []int
	for k, c := range t.classes {
		mid := (float64(k) + 0.5) * classWidth
		if mid >= low && mid <= high && c.weight >= classShare*t.weight {
			keys = append(keys, k)
		}
	}
	sort.Ints(keys)
	var originals, prints []float64
	for _, k := range keys {
		c := t.classes[k]
		originals = append(originals, c.original/c.weight)
		prints = append(prints, c.print/c.weight)
	}
	s := Separation{Steps: steps(originals), Kept: steps(prints)}
	// A print that stretches tones has more steps than there were to keep.
	s.Kept = min(s.Kept, s.Steps)
	return s
}

// steps counts how often the lightness rises by 1 ΔE00.
func steps(lightness []float64) int {
	n := 0
	for i, last := 0, 0.0; i < len(lightness); i++ {
		l := lightness[i]
		if i == 0 {
			last = l
		} else if l > last && cie.DeltaE00(cie.Lab{L: last}, cie.Lab{L: l}) >= 1 {
			n++
			last = l
		}
	}
	return n
}

// Figures returns what has been counted.
func (t *Tally) Figures() (Figures, error) {
	if t.weight <= 0 {
		return Figures{}, ErrEmpty
	}
	f := Figures{
		Pins:       append([]Turn(nil), t.pins...),
		SkinShare:  t.skin.weight / t.weight,
		Shadows:    t.separation(math.Inf(-1), ShadowTo),
		Highlights: t.separation(HighlightsIn, math.Inf(1)),
		Smoothness: t.smooth,
	}
	f.count(t.counted.Figures())
	if t.skin.coloured > 0 {
		f.SkinTurn, f.SkinOff = t.skin.turn/t.skin.coloured, t.skin.off/t.skin.coloured
	}
	f.Range, f.Contrast = Range(t.candidate.White, t.candidate.Black)
	return f, nil
}

// count takes over what the engine counts.
func (f *Figures) count(c proof.Figures) {
	f.Out, f.Darker, f.Mean, f.P95, f.Max = c.Outside(OutOfReach), c.Darker, c.Mean, c.P95, c.Max
}

// Range returns a paper's contrast from its absolute white and black: the
// difference of L*, and the ratio of luminances, 0 for a black without any.
func Range(white, black cie.Lab) (lightness, ratio float64) {
	if y := black.ToXYZ(cie.D50).Y; y > 0 {
		ratio = white.ToXYZ(cie.D50).Y / y
	}
	return white.L - black.L, ratio
}

// batch is how many colours go to an Eval at once: some milliseconds of the
// exact chain, the time in which a cancelled run ends.
const batch = 8192

// Evaluate converts the picture and returns the candidate's figures. It returns
// ctx.Err() when cancelled, and Eval's own errors.
func Evaluate(ctx context.Context, p *Picture, c Candidate, eval Eval) (Figures, error) {
	if p.Channels <= 0 || len(p.Weights) == 0 || len(p.Numbers) != len(p.Weights)*p.Channels {
		return Figures{}, fmt.Errorf("%w: %d numbers of %d channels for %d weights", ErrEmpty, len(p.Numbers), p.Channels, len(p.Weights))
	}
	t := NewTally(c)
	all := func(numbers []float64, use func(i int, v Value)) error {
		n := len(numbers) / p.Channels
		for from := 0; from < n; from += batch {
			if err := ctx.Err(); err != nil {
				return err
			}
			to := min(n, from+batch)
			values, err := eval(ctx, numbers[from*p.Channels:to*p.Channels])
			if err != nil {
				return err
			}
			if len(values) != to-from {
				return fmt.Errorf("rank: %d values for %d colours", len(values), to-from)
			}
			for i, v := range values {
				use(from+i, v)
			}
		}
		return nil
	}
	if err := all(p.Numbers, func(i int, v Value) { t.Add(v, p.Weights[i]) }); err != nil {
		return Figures{}, err
	}
	for _, s := range p.Spots {
		var originals, prints []cie.Lab
		if err := all(s.Numbers, func(_ int, v Value) {
			originals, prints = append(originals, v.Original), append(prints, v.Print)
		}); err != nil {
			return Figures{}, err
		}
		if len(originals) == 0 {
			continue
		}
		before, err := pin.Average(originals)
		if err != nil {
			return Figures{}, err
		}
		after, err := pin.Average(prints)
		if err != nil {
			return Figures{}, err
		}
		t.AddPin(s.Name, before.Lab, after.Lab)
	}
	if p.Small != nil {
		if len(p.Small) != p.W*p.H*p.Channels {
			return Figures{}, fmt.Errorf("rank: reduced picture of %d by %d by %d with %d numbers", p.W, p.H, p.Channels, len(p.Small))
		}
		values := make([]Value, p.W*p.H)
		if err := all(p.Small, func(i int, v Value) { values[i] = v }); err != nil {
			return Figures{}, err
		}
		if err := t.AddSmall(ctx, p.W, p.H, values); err != nil {
			return Figures{}, err
		}
	}
	return t.Figures()
}
