package cause

import (
	"fmt"
	"math"
	"strings"

	"firstsheet/proof/check"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// CheckKind is what a check takes.
type CheckKind uint8

// The kinds, the cheapest first.
const (
	Enough        CheckKind = iota // nothing more is needed
	LookAtSetting                  // no colour tells: look at what was set
	ReadPlace                      // read another place of the print there is
	NozzlePattern                  // print the nozzle pattern
	PrintSheet                     // print the check sheet by the same route
)

// Check is something to do that tells more.
type Check struct {
	Kind CheckKind
	// Text says in plain words what to do and what it will tell.
	Text string
	// Bits is the expected information about the cause, in bits.
	Bits float64
	// Place is the index in Case.More with ReadPlace, else -1; Patch the ID of the
	// check sheet's most telling patch with PrintSheet, else "".
	Place int
	Patch string
}

// From enoughShare on a cause counts as found. A check of less than worthwhile bits
// is not worth the paper; the cheapest of those is advised that tell at least
// nearlyAsMuch of the most.
const (
	enoughShare  = 0.95
	worthwhile   = 0.05
	nearlyAsMuch = 0.7
)

// patchSpots returns the check sheet's patches as places of a print. Its numbers
// stand for themselves, whatever the original's space; inks have no check sheet.
func patchSpots(channels int) []Spot {
	if channels != 3 {
		return nil
	}
	var out []Spot
	for _, p := range check.Patches(space.SRGB()) {
		out = append(out, Spot{Name: p.Name, Numbers: p.RGB[:]})
	}
	return out
}

// next chooses the check that decides most.
func (f *finding) next(groups []group, a Answer) Check {
	first := a.Causes[0]
	done := Check{Kind: Enough, Place: -1}
	switch {
	case !a.Explained:
		steps := PrinterFirst()
		done.Kind = NozzlePattern
		done.Text = "Go by the guided order, the printer first: " + lowered(steps[0].Do) + " " + steps[1].Do
		return done
	case first.Probability >= enoughShare && first.ID == rightID:
		done.Text = "Nothing more needs printing. If the print looked wrong, look at it again in daylight and away from the screen."
		return done
	case first.Probability >= enoughShare:
		done.Text = "Nothing more needs printing before it is put right. " + first.Prevent
		return done
	}
	rivals := f.rivals(groups)
	best, most := Check{Place: -1}, 0.0
	var all []Check
	for _, c := range []func([]rival) Check{f.readPlace, f.nozzles, f.sheet} {
		one := c(rivals)
		all = append(all, one)
		most = max(most, one.Bits)
	}
	if most < worthwhile {
		best.Kind, best.Bits = LookAtSetting, most
		best.Text = "No colour tells these apart on this paper. Look at what was set: " + f.settings(groups, a)
		return best
	}
	for _, c := range all {
		if c.Bits >= nearlyAsMuch*most {
			return c
		}
	}
	return best
}

// settings says where to look for each of the causes left open.
func (f *finding) settings(groups []group, a Answer) string {
	var parts []string
	for i, c := range a.Causes {
		if i == 3 || c.Probability < 1-TieShare {
			break
		}
		if c.ID != rightID {
			parts = append(parts, fmt.Sprintf("%s: %s", c.Name, c.Prevent))
		}
	}
	return strings.Join(parts, " ")
}

// rival is a cause by its likeliest variant.
type rival struct {
	h    int
	name string
	p    float64
}

// rivals returns the causes that together hold all but a thousandth.
func (f *finding) rivals(groups []group) []rival {
	var out []rival
	var sum float64
	for _, g := range groups {
		out = append(out, rival{g.members[0], nameOf(f.all[g.members[0]]), g.probability})
		if sum += g.probability; sum > 0.999 {
			break
		}
	}
	for i := range out {
		out[i].p /= sum
	}
	return out
}

// bits returns a lower bound of the information that readings give about which rival
// it is: distance returns how far two of them lie apart, in standard deviations.
//
// Source: Kolchinsky and Tracey, Estimating mixture entropy with pairwise distances,
// Entropy 19 (2017) 361: the bound by the Bhattacharyya distance, which for Gaussians
// of one covariance is d^2 / 8.
func bits(rivals []rival, distance func(i, k int) float64) float64 {
	var sum float64
	for i, r := range rivals {
		var mix float64
		for k, s := range rivals {
			d := distance(i, k)
			mix += s.p * math.Exp(-d*d/8)
		}
		sum -= r.p * math.Log2(mix)
	}
	return max(sum, 0)
}

// sigma is the spread of a further reading.
func (f *finding) sigma() float64 {
	for _, e := range f.evidence {
		if s := e.spread(); s > 0 {
			return s
		}
	}
	return math.Hypot(UsualSpread, ModelSpread)
}

// telling returns which of some colours tells the rivals apart best.
func (f *finding) telling(rivals []rival, colours [][]cie.Lab) (which int, information float64) {
	which = -1
	s := f.sigma()
	for j := range colours[rivals[0].h] {
		b := bits(rivals, func(i, k int) float64 {
			return cie.DeltaE76(colours[rivals[i].h][j], colours[rivals[k].h][j]) / s
		})
		if b > information {
			which, information = j, b
		}
	}
	return which, information
}

func (f *finding) readPlace(rivals []rival) Check {
	which, b := f.telling(rivals, f.more)
	if which < 0 {
		return Check{Kind: ReadPlace, Place: -1}
	}
	return Check{Kind: ReadPlace, Bits: b, Place: which,
		Text: fmt.Sprintf("Read one more place of the print you have: %s. %s", f.moreSpots[which].Name, f.expect(rivals, f.more, which))}
}

func (f *finding) nozzles(rivals []rival) Check {
	step := PrinterFirst()[0]
	b := bits(rivals, func(i, k int) float64 {
		if step.shows(f.all[rivals[i].h].trouble()) != step.shows(f.all[rivals[k].h].trouble()) {
			return 2 * 2.05 // what a pattern read wrongly once in 50 times is worth
		}
		return 0
	})
	return Check{Kind: NozzlePattern, Bits: b, Place: -1, Text: step.Do + " " + step.Pass + " Then: " + lowered(step.Cleared)}
}

func (f *finding) sheet(rivals []rival) Check {
	c := Check{Kind: PrintSheet, Place: -1}
	which, _ := f.telling(rivals, f.patches)
	if which < 0 {
		return c
	}
	s := f.sigma()
	c.Bits = bits(rivals, func(i, k int) float64 {
		var sum float64
		for j, v := range f.patches[rivals[i].h] {
			d := cie.DeltaE76(v, f.patches[rivals[k].h][j]) / s
			sum += d * d
		}
		return math.Sqrt(sum)
	})
	patch := check.Patches(space.SRGB())[which]
	c.Patch = patch.ID
	c.Text = fmt.Sprintf("Print the check sheet by the same route as this print, and read it. Its patch %s (%s) tells most. %s",
		patch.ID, patch.Name, f.expect(rivals, f.patches, which))
	return c
}

// expect says what a place will look like under the two likeliest causes.
func (f *finding) expect(rivals []rival, colours [][]cie.Lab, which int) string {
	var parts []string
	right := colours[0][which]
	for _, r := range rivals[:min(2, len(rivals))] {
		parts = append(parts, fmt.Sprintf("with ‘%s’ it %s", r.name, seenAs(right, colours[r.h][which])))
	}
	return "Against the right proof: " + strings.Join(parts, "; ") + "."
}

func seenAs(right, look cie.Lab) string {
	c := words.Compare(right, look)
	if c.Same() {
		return "is as it should be"
	}
	return "is off by ΔE00 " + fmt.Sprintf("%.0f", c.DeltaE00) + " (" + c.Sentence() + ")"
}

func lowered(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
