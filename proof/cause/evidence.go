package cause

import (
	"fmt"
	"math"

	"firstsheet/proof/cie"
)

// Evidence is what is known of the bad print: [Measured], [Matched], [Words],
// [Photo] or [Outcome].
type Evidence interface {
	// check reports what is wrong with the evidence itself.
	check() error
	// spots are the places whose colours it needs predicted.
	spots() []Spot
	// seen says that an eye has judged the print where it hangs: it sees a lamp and
	// too bright a screen, an instrument does not.
	seen() bool
	// logLikelihood returns the natural logarithm of the probability of what is
	// observed, up to a constant, if a hypothesis holds that predicts these colours
	// where the right route prints those.
	logLikelihood(h *hypothesis, right, predicted []cie.Lab) float64
	// observed returns the observed colours as they compare with predicted ones, nil
	// where no colours are observed.
	observed(predicted []cie.Lab) []cie.Lab
	// spread is the standard deviation of an observed component of Lab; 0 where no
	// colours are observed.
	spread() float64
}

// EvidenceError says what is wrong with the evidence, in words for the person.
type EvidenceError struct{ Reason string }

func (e *EvidenceError) Error() string { return "cause: " + e.Reason }

func evidenceError(format string, args ...any) error {
	return &EvidenceError{fmt.Sprintf(format, args...)}
}

// Spreads are standard deviations in each of L*, a* and b*.
const (
	// ModelSpread is what a sound profile and numbers rounded to 8 bits are off by:
	// rounding alone costs a mean of 0.2 ΔE00.
	ModelSpread = 0.25
	// UsualSpread is that of a pin measured on paper, held by hand on a picture that
	// is not flat (common practice, no source).
	UsualSpread = 1.0
	// EyeSpread is that of a colour turned by eye until it looks like the print
	// (common practice, no source).
	EyeSpread = 4.0

	// A share of the pins is misread altogether: the wrong place, a thumb in the light.
	grossShare  = 1.0 / 200
	grossSpread = 20.0
)

// seenAsIs returns the colours observed at spots.
func seenAsIs(spots []Spot) []cie.Lab {
	out := make([]cie.Lab, len(spots))
	for i, s := range spots {
		out[i] = s.Lab
	}
	return out
}

// MinSpread and MaxSpread are the spreads that a reading can be said to have.
const (
	MinSpread = 0.05
	MaxSpread = 20.0
)

// MinSpots is how many places are the least: fewer colours fit nearly any cause.
const MinSpots = 4

// Measured are colours read from the print by an instrument or from a scan.
type Measured struct {
	Spots []Spot
	// Sigma is the standard deviation of a reading in each of L*, a* and b*, from
	// MinSpread to MaxSpread; 0 stands for [UsualSpread].
	Sigma float64
}

func (m Measured) sigma() float64 {
	if m.Sigma == 0 {
		return UsualSpread
	}
	return m.Sigma
}

func (m Measured) check() error {
	if s := m.sigma(); !(s >= MinSpread && s <= MaxSpread) {
		return evidenceError("a spread of %g is not within %g to %g", m.Sigma, MinSpread, MaxSpread)
	}
	return checkSpots(m.Spots)
}

func (m Measured) observed([]cie.Lab) []cie.Lab { return seenAsIs(m.Spots) }
func (m Measured) spots() []Spot                { return m.Spots }
func (m Measured) seen() bool                   { return false }
func (m Measured) spread() float64              { return math.Hypot(m.sigma(), ModelSpread) }

func (m Measured) logLikelihood(_ *hypothesis, _, predicted []cie.Lab) float64 {
	return spotsLikelihood(m.Spots, predicted, m.spread())
}

// Matched are colours turned by eye, beside the picture, until each looked like the
// print.
type Matched struct{ Spots []Spot }

func (m Matched) check() error                 { return checkSpots(m.Spots) }
func (m Matched) observed([]cie.Lab) []cie.Lab { return seenAsIs(m.Spots) }
func (m Matched) spots() []Spot                { return m.Spots }
func (m Matched) seen() bool                   { return true }
func (m Matched) spread() float64              { return EyeSpread }

func (m Matched) logLikelihood(_ *hypothesis, _, predicted []cie.Lab) float64 {
	return spotsLikelihood(m.Spots, predicted, m.spread())
}

func checkSpots(spots []Spot) error {
	if len(spots) < MinSpots {
		few := fmt.Sprintf("%d pins are", len(spots))
		if len(spots) == 1 {
			few = "one pin is"
		}
		return evidenceError("%s too few to tell causes apart: read at least %d, dark ones and saturated ones among them", few, MinSpots)
	}
	for _, s := range spots {
		for _, v := range s.Numbers {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return evidenceError("the original's numbers of %s are not numbers", named(s.Name))
			}
		}
		if c := s.Lab; !(c.L >= -5 && c.L <= 130 && math.Abs(c.A) <= 200 && math.Abs(c.B) <= 200) {
			return evidenceError("the colour of %s, Lab %.4g, %.4g, %.4g, is no colour of a print", named(s.Name), c.L, c.A, c.B)
		}
	}
	return nil
}

func spotsLikelihood(spots []Spot, predicted []cie.Lab, sigma float64) float64 {
	var sum float64
	for i, s := range spots {
		sum += logNoise(cie.DeltaE76(s.Lab, predicted[i]), sigma)
	}
	return sum
}

// logNoise returns the logarithm of the density of a reading that far away: a
// Gaussian in three dimensions, and a wide one for what is misread.
func logNoise(distance, sigma float64) float64 {
	gauss := func(share, s float64) float64 {
		return math.Log(share) - 3*math.Log(s) - distance*distance/(2*s*s)
	}
	return logAdd(gauss(1-grossShare, sigma), gauss(grossShare, math.Hypot(sigma, grossSpread)))
}

// logAdd returns log(exp(a) + exp(b)).
func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	return a + math.Log1p(math.Exp(b-a))
}
