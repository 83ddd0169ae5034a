package words

import (
	"fmt"
	"math"
	"strings"

	"firstsheet/proof/cie"
)

// Fact is something known by name, with what the name means in plain words.
type Fact struct{ Name, Value, Means string }

// Share writes a share of 0 to 1 in percent, so that small ones do not vanish.
func Share(v float64) string {
	switch p := v * 100; {
	case p == 0:
		return "0 %"
	case p < 0.1:
		return "under 0.1 %"
	case p < 9.95:
		return fmt.Sprintf("%.1f %%", p)
	default:
		return fmt.Sprintf("%.0f %%", p)
	}
}

// AboutShare writes a share that is known of some 4,000 of a picture's pixels: in whole
// percents, of which the last may be off by one or two.
func AboutShare(v float64) string {
	switch p := v * 100; {
	case p < 2:
		return "under 2 %"
	case p > 98:
		return "over 98 %"
	default:
		return fmt.Sprintf("about %.0f %%", p)
	}
}

// Lab writes a colour's lightness, a* and b*.
func Lab(c cie.Lab) string {
	return fmt.Sprintf("L* %s, a* %s, b* %s", Figure(c.L), Figure(c.A), Figure(c.B))
}

// LCh writes a colour's lightness, chroma and hue.
func LCh(c cie.Lab) string {
	return fmt.Sprintf("L* %s, C* %s, h %.0f°", Figure(c.L), Figure(c.Chroma()), math.Mod(math.Round(c.Hue()), 360))
}

// DeltaE00 writes a CIEDE2000 difference.
func DeltaE00(d float64) string { return "ΔE00 " + Figure(d) }

// Volume writes the size of a gamut, given in cubic units of CIELAB, in thousands of them.
func Volume(v float64) string {
	return fmt.Sprintf("%.0f thousand cubic units of CIELAB", v/1000)
}

// RoundLab writes a colour in whole units, for a room to read.
func RoundLab(c cie.Lab) string {
	return fmt.Sprintf("L* %s a* %s b* %s", Whole(c.L), Whole(c.A), Whole(c.B))
}

// Figure writes a number with one decimal, a true minus and no sign on zero.
func Figure(v float64) string { return figure("%.1f", math.Round(v*10)/10) }

// Whole writes a number without decimals, with a true minus and no sign on zero.
func Whole(v float64) string { return figure("%.0f", math.Round(v)) }

// Signed is [Figure] with a plus before what is above zero.
func Signed(v float64) string {
	if s := Figure(v); v > 0 && s != "0.0" {
		return "+" + s
	}
	return Figure(v)
}

func figure(form string, v float64) string {
	if v < 0 {
		return "−" + fmt.Sprintf(form, -v)
	}
	return fmt.Sprintf(form, v+0)
}

// Triple writes a colour as L* a* b* in whole numbers.
func Triple(c cie.Lab) string {
	return Whole(c.L) + "  " + Whole(c.A) + "  " + Whole(c.B)
}

// Number reads a number from 0 up as people write it, with a comma or a point; "" is
// 0. It reports whether s is one.
func Number(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, true
	}
	var v float64
	var rest string
	if n, _ := fmt.Sscanf(strings.Replace(s, ",", ".", 1)+" ", "%g%s", &v, &rest); n != 1 || math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
		return 0, false
	}
	return v, true
}
