package words

import (
	"fmt"
	"math"
	"strings"

	"firstsheet/proof/cie"
)

// Fact is something known by name, with what the name means in plain words.
type Fact struct{ Name, Value, Means string }

// Lab writes a colour as L*, a*, b* to one decimal.
func Lab(c cie.Lab) string {
	return fmt.Sprintf("L* %s, a* %s, b* %s", Figure(c.L), Figure(c.A), Figure(c.B))
}

// Figure writes a number to one decimal, with a true minus and without "-0.0".
func Figure(v float64) string {
	s := fmt.Sprintf("%.1f", v)
	if s == "-0.0" {
		s = "0.0"
	}
	return strings.Replace(s, "-", "−", 1)
}

// Signed is Figure with a plus before what is above 0.
func Signed(v float64) string {
	s := Figure(v)
	if v > 0 && s != "0.0" {
		s = "+" + s
	}
	return s
}

// Triple writes a colour as L* a* b* in whole numbers.
func Triple(c cie.Lab) string {
	n := func(v float64) string { return strings.TrimSuffix(Figure(math.Round(v)), ".0") }
	return n(c.L) + "  " + n(c.A) + "  " + n(c.B)
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
