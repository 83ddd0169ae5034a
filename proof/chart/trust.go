package chart

import (
	"context"
	"fmt"
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/words"
)

// What a print measured with its own list never comes near. Of the public press sets
// (FOGRA28 to 40, TR002 to 006) the flattest, newsprint, spans 49 in L* and 73 thousand
// cubic units and has the worst held-out mean, 0.3 ΔE00. The bounds are our own choice, far
// from those. A test holds three of the sets against them.
const (
	leastSpan      = 20.0   // L* from the darkest patch to the lightest
	leastVolume    = 15_000 // cubic CIELAB units of the fitted model's gamut
	worstHeldOut   = 5.0    // ΔE00, mean
	worstGreyFall  = 4.0    // L* by which greys may darken on their way to the paper
	worstPaperDrop = 5.0    // L* by which bare paper may be darker than the lightest patch
)

// distrust tells why measurements can't be of this chart, one sentence a reason, each
// with its figure and what has likely happened: by their range of tones and by what
// stands at bare paper. It needs no model, which such readings often do not carry.
func distrust(ms *Measurements) (reasons []string) {
	light, dark := math.Inf(-1), math.Inf(1)
	paper, bare := math.Inf(-1), ms.Device.bare()
	for _, p := range ms.Patches {
		light, dark = math.Max(light, p.Lab.L), math.Min(dark, p.Lab.L)
		onPaper := true
		for _, v := range p.Device {
			onPaper = onPaper && math.Abs(v-bare) <= edgeSlack
		}
		if onPaper {
			paper = math.Max(paper, p.Lab.L)
		}
	}
	if span := light - dark; span < leastSpan {
		return []string{fmt.Sprintf("The darkest patch is only %.1f L* below the lightest (%.1f and %.1f), no print of a chart is so flat: a blank or another sheet was measured, or the values were lost in exporting.", span, dark, light)}
	}
	if drop := light - paper; drop > worstPaperDrop {
		reasons = append(reasons, fmt.Sprintf("What stands for bare paper is %.1f L* darker than the lightest patch (%.1f and %.1f): the rows are in another order than the list's, or the list is another chart's.", drop, paper, light))
	}
	return reasons
}

// distrust tells the same by the fitted model: by how well patches are predicted from all
// others, by the greys, by the size of the gamut and the hues of its corners. The error is
// the context's.
func (m *Model) distrust(ctx context.Context) (reasons []string, err error) {
	if mean := m.report.HeldOut.Mean; mean > worstHeldOut {
		reasons = append(reasons, fmt.Sprintf("A patch predicted from all others is off by %.1f ΔE00 in the mean, where a sound reading gives less than 1: the rows are in another order than the list's, or the list is another chart's.", mean))
	}
	if fall, from, to := m.greyFall(); fall > worstGreyFall {
		reasons = append(reasons, fmt.Sprintf("The greys darken by %.1f L* from %.0f to %.0f %% on their way to the paper, where they should only lighten: the rows are in another order than the list's, or rows were read as each other.", fall, 100*from, 100*to))
	}
	b, err := gamut.New(ctx, m.space.Channels(), 9, func(_ context.Context, numbers []float64) ([]cie.Lab, error) {
		n := m.space.Channels()
		out := make([]cie.Lab, len(numbers)/n)
		for i := range out {
			out[i] = m.Lab(numbers[i*n : i*n+n])
		}
		return out, nil
	})
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	volume := 0.0
	if err == nil { // else there is no solid at all
		volume = b.Volume()
	}
	if volume < leastVolume {
		reasons = append(reasons, fmt.Sprintf("All colours together fill %.0f cubic units of CIELAB, and newsprint, the least of colour prints, 73 thousand: the chart was printed in greys, another sheet was measured, or the list is another chart's.", volume))
	}
	if off := m.exchanged(); len(reasons) == 0 && len(off) > 1 {
		reasons = append(reasons, fmt.Sprintf("%s: the columns of %s numbers are in another order than their names, or the list is another chart's.", words.Capital(words.List(off)), m.space))
	}
	return reasons, nil
}

// solid is one number full on and the others off.
type solid struct {
	name string
	hue  float64 // CIELAB, degrees, D50
}

// solids of each kind of device. Of the public press sets (FOGRA28 to 30, 39 and 40) and the
// built-in papers red has 28 to 37, green 150 to 157, blue 284 to 298, cyan 227 to 238,
// magenta 356 to 364 and yellow 90 to 93 degrees.
func (d Device) solids() []solid {
	if d == CMYK {
		return []solid{{"cyan", 233}, {"magenta", 0}, {"yellow", 92}}
	}
	return []solid{{"red", 35}, {"green", 153}, {"blue", 292}}
}

const (
	leastSolid = 10.0 // C* from which a hue tells anything
	// A missing ink turns one solid by up to 80 degrees and others by up to 68; numbers that
	// are exchanged turn two by 92 and more.
	worstTurn = 75.0
)

// exchanged tells of each solid that has the hue of another. One alone may be an ink that
// does not print; where columns are exchanged it is two.
func (m *Model) exchanged() (off []string) {
	for i, s := range m.space.solids() {
		x := make([]float64, m.space.Channels())
		x[i] = 1
		c := m.Lab(x).LCh()
		if turn := math.Abs(math.Remainder(c.H-s.hue, 360)); c.C >= leastSolid && turn > worstTurn {
			off = append(off, fmt.Sprintf("full %s has a hue of %.0f degrees where prints have about %.0f", s.name, c.H, s.hue))
		}
	}
	return off
}

// greyFall returns by how much the model's neutrals darken at most on the way from full
// ink to bare paper, and between which shares of it. In CMYK the neutrals are black
// alone.
func (m *Model) greyFall() (fall, from, to float64) {
	const steps = 32
	x := make([]float64, m.space.Channels())
	top, at := math.Inf(-1), 0.0
	for i := range steps + 1 {
		v := float64(i) / steps
		if m.space == CMYK {
			x[3] = 1 - v
		} else {
			x[0], x[1], x[2] = v, v, v
		}
		l := m.Lab(x).L
		if top-l > fall {
			fall, from, to = top-l, at, v
		}
		if l > top {
			top, at = l, v
		}
	}
	return fall, from, to
}
