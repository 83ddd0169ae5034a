package chart

import (
	"fmt"
	"math"
	"slices"

	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// PatchDrift is one patch of a verification.
type PatchDrift struct {
	Place    string    `json:"place"`
	Device   []float64 `json:"device"`
	Expected cie.Lab   `json:"expected"` // what the profile says, absolute
	Measured cie.Lab   `json:"measured"`
	DeltaE00 float64   `json:"delta_e00"`
	Hue      string    `json:"hue"`  // family of the expected colour; grey where it has no hue worth naming
	Tone     string    `json:"tone"` // paper, highlights, mid tones, shadows or black
	// Exchanged is the place of the patch whose reading fits here, as this one's fits
	// there; "" where there is none. Such patches say nothing about the paper and are
	// left out of the hues, the tones and the sentences.
	Exchanged string `json:"exchanged,omitempty"`
}

// Drift sums up the patches of a hue family or tone.
type Drift struct {
	Name string `json:"name"`
	Spread
	// Lightness and Chroma are the mean changes of L* and C*, in their own units.
	Lightness float64 `json:"lightness"`
	Chroma    float64 `json:"chroma"`
	// Turn is the mean turn of hue in degrees, positive from red towards yellow;
	// 0 for greys and tones.
	Turn float64 `json:"turn"`
	// A and B are the mean changes of a* and b*.
	A float64 `json:"a"`
	B float64 `json:"b"`
}

// Verification says how far a paper prints from what its profile says.
// All differences are ΔE00.
type Verification struct {
	All       Spread       `json:"all"`
	ByHue     []Drift      `json:"by_hue"`
	ByTone    []Drift      `json:"by_tone"`
	Patches   []PatchDrift `json:"patches"`   // in the order of the measurements
	Sentences []string     `json:"sentences"` // computed from the figures above
	Orders    []string     `json:"orders"`    // suspected wrong order of the readings, in words
	Aids      []string     `json:"aids"`      // how such figures are commonly read; no verdict
	Notes     []string     `json:"notes"`     // what was decided in reading

	from string // what it is compared with, in words
}

// fewestVerified patches say anything about a paper.
const fewestVerified = 10

// namedDrift is the mean weighted CIEDE2000 term from which on a change of a
// group is put into words: the unit of the formula.
const namedDrift = 1.0

// Readings of a verification are believed to be out of order when another order
// fits the profile twice as well and by 2 ΔE00: real drift moves colours
// together, it does not exchange them.
const (
	verifyShare = 0.5
	verifyGain  = 2.0
)

// Tone ranges, in parts of the way from the paper's black to its white in L*
// (own definition).
const (
	shadowsBelow    = 1.0 / 3
	highlightsAbove = 2.0 / 3
)

// Verify compares the measurements of a printed chart with what a profile
// predicts for the same device values: predict returns absolute D50 Lab, as
// [Prediction.Lab] does. Nothing passes or fails: it reports drift by hue and by
// tone and says in words what has changed.
//
// It fails with a *FormatError where there are fewer than 10 patches or no
// device values, and with predict's error.
func Verify(ms *Measurements, predict func(device []float64) (cie.Lab, error)) (*Verification, error) {
	if len(ms.Patches) < fewestVerified {
		return nil, wrong(0, "%d patches are too few to verify a profile with: at least %d", len(ms.Patches), fewestVerified)
	}
	var expected []cie.Lab
	for _, p := range ms.Patches {
		if n := ms.Device.Channels(); len(p.Device) != n {
			return nil, wrong(p.Line, "patch %s has %d device values, %s needs %d: match it to its chart first", p.Place(), len(p.Device), ms.Device, n)
		}
		c, err := predict(p.Device)
		if err != nil {
			return nil, fmt.Errorf("chart: patch %s: %w", p.Place(), err)
		}
		expected = append(expected, c)
	}
	return verify(ms, expected, predict, "the profile")
}

// verify compares measurements with what was expected of each; from says in words
// whence. White and black, by which tones are told apart, are the prediction's.
func verify(ms *Measurements, expected []cie.Lab, predict func(device []float64) (cie.Lab, error), from string) (*Verification, error) {
	n := ms.Device.Channels()
	none, full := make([]float64, n), make([]float64, n)
	for i := range full {
		none[i], full[i] = ms.Device.bare(), 1-ms.Device.bare()
	}
	white, err := predict(none)
	if err != nil {
		return nil, err
	}
	black, err := predict(full)
	if err != nil {
		return nil, err
	}
	v := &Verification{from: from, Notes: append([]string(nil), ms.Notes...), Aids: []string{
		"ΔE00 of 1 is about one just noticeable difference for flat patches side by side (what the formula aims at).",
		"2 to 3 is commonly called visible side by side (common practice, no source).",
		"Two readings of one sheet differ by a few tenths, two prints of one printer by about as much again (common practice, no source).",
		"These are aids for reading. No standard is applied and nothing passes or fails.",
	}}
	var all []float64
	for i, p := range ms.Patches {
		was := expected[i]
		d := PatchDrift{Place: p.Place(), Device: p.Device, Expected: was, Measured: p.Lab,
			DeltaE00: cie.DeltaE00(was, p.Lab), Hue: grey, Tone: toneOf(p.Device, none, was, white, black)}
		if was.Chroma() >= words.NamedChroma {
			d.Hue = words.HueOf(was).String()
		}
		v.Patches = append(v.Patches, d)
		all = append(all, d.DeltaE00)
	}
	v.All = NewSpread(all)
	exchanged := v.exchange()
	v.ByHue = groups(v.Patches, hueOrder(), func(d PatchDrift) string { return d.Hue })
	v.ByTone = groups(v.Patches, []string{tonePaper, toneHighlights, toneMid, toneShadows, toneBlack}, func(d PatchDrift) string { return d.Tone })
	v.Orders = betterOrder(ms.Patches, func(order []int) float64 {
		sum := 0.0
		for i, j := range order {
			sum += cie.DeltaE00(v.Patches[i].Expected, ms.Patches[j].Lab)
		}
		return sum / float64(len(order))
	}, verifyShare, verifyGain, "mean ΔE00")
	v.Orders = append(v.Orders, exchanged...)
	v.Sentences = v.say()
	return v, nil
}

// exchange marks pairs of patches whose readings fit each other's place far better
// than their own, and tells each.
func (v *Verification) exchange() (told []string) {
	var deltas []float64
	for _, p := range v.Patches {
		deltas = append(deltas, p.DeltaE00)
	}
	limit := math.Max(misreadFloor, misreadMedians*median(deltas))
	var bad []int
	for i, d := range deltas {
		if d > limit {
			bad = append(bad, i)
		}
	}
	fits := func(reading, place int) bool {
		return cie.DeltaE00(v.Patches[reading].Measured, v.Patches[place].Expected) < limit/2
	}
	for a, i := range bad {
		for _, j := range bad[a+1:] {
			p, q := &v.Patches[i], &v.Patches[j]
			if p.Exchanged == "" && q.Exchanged == "" && fits(i, j) && fits(j, i) {
				p.Exchanged, q.Exchanged = q.Place, p.Place
				told = append(told, fmt.Sprintf("%s and %s read as each other: measure them again. They are left out of what is said of hues and tones.", p.Place, q.Place))
			}
		}
	}
	return told
}

const (
	grey           = "grey"
	tonePaper      = "paper"
	toneHighlights = "highlights"
	toneMid        = "mid tones"
	toneShadows    = "shadows"
	toneBlack      = "black"
)

func toneOf(device, none []float64, expected, white, black cie.Lab) string {
	bare := 0.0
	for i, v := range device {
		bare = math.Max(bare, math.Abs(v-none[i]))
	}
	part := (expected.L - black.L) / (white.L - black.L)
	switch {
	case bare <= sameDevice:
		return tonePaper
	case cie.DeltaE00(expected, black) < 1:
		return toneBlack
	case part < shadowsBelow:
		return toneShadows
	case part > highlightsAbove:
		return toneHighlights
	}
	return toneMid
}

// hueOrder lists the families, greys first.
func hueOrder() []string {
	out := []string{grey}
	for h := words.Red; ; h++ {
		name := h.String()
		if slices.Contains(out, name) { // the names come round again
			return out
		}
		out = append(out, name)
	}
}

// groups sums up the patches by name, in the given order, without empty ones.
func groups(ps []PatchDrift, order []string, name func(PatchDrift) string) []Drift {
	var out []Drift
	for _, want := range order {
		var d []float64
		g := Drift{Name: want}
		turns := 0
		for _, p := range ps {
			if name(p) != want || p.Exchanged != "" {
				continue
			}
			d = append(d, p.DeltaE00)
			g.Lightness += p.Measured.L - p.Expected.L
			g.Chroma += p.Measured.Chroma() - p.Expected.Chroma()
			g.A += p.Measured.A - p.Expected.A
			g.B += p.Measured.B - p.Expected.B
			if p.Hue == want && want != grey && p.Measured.Chroma() >= words.NamedChroma {
				g.Turn += cie.HueTurn(p.Expected.Hue(), p.Measured.Hue())
				turns++
			}
		}
		if len(d) == 0 {
			continue
		}
		n := float64(len(d))
		g.Lightness, g.Chroma, g.A, g.B = g.Lightness/n, g.Chroma/n, g.A/n, g.B/n
		if turns > 0 {
			g.Turn /= float64(turns)
		}
		g.Spread = NewSpread(d)
		out = append(out, g)
	}
	return out
}
