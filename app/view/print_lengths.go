package view

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"firstsheet/proof/printfile"
	"firstsheet/proof/words"
)

// lengthUnit is a unit that lengths are typed and shown in.
type lengthUnit int

const (
	millimetres lengthUnit = iota
	centimetres
	inches
)

// lengthUnits are the units' names, by lengthUnit, and what each is in millimetres.
var (
	lengthUnits = []string{"mm", "cm", "in"}
	unitMM      = []float64{1, 10, 25.4}
)

// figure writes millimetres in the unit, as finely as a ruler shows.
func (u lengthUnit) figure(mm float64) string {
	places := []int{1, 2, 2}[u]
	s := strconv.FormatFloat(mm/unitMM[u], 'f', places, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// length is a figure with its unit.
func (u lengthUnit) length(mm float64) string { return u.figure(mm) + " " + lengthUnits[u] }

// area is a width by a height.
func (u lengthUnit) area(r printfile.Rect) string {
	return u.figure(r.W) + " × " + u.figure(r.H) + " " + lengthUnits[u]
}

// parse reads a length of 0 and more; one without a unit of its own is in u. It may begin
// with a minus where signed.
func (u lengthUnit) parse(s string, signed bool) (mm float64, ok bool) {
	s = strings.TrimSpace(strings.ReplaceAll(strings.ReplaceAll(s, ",", "."), "−", "-"))
	sign := 1.0
	if rest, minus := strings.CutPrefix(s, "-"); minus && signed {
		s, sign = rest, -1
	}
	if s == "" || strings.Trim(s, "0.") == "" {
		return 0, s != "."
	}
	if last := s[len(s)-1]; last >= '0' && last <= '9' || last == '.' {
		s += lengthUnits[u]
	}
	mm, err := printfile.ParseLength(s)
	return sign * mm, err == nil
}

// margins writes margins: one figure where all are equal, else left, top, right, bottom.
func (u lengthUnit) margins(m printfile.Margins) string {
	if m == printfile.Even(m.Left) {
		return u.figure(m.Left)
	}
	return fmt.Sprintf("%s %s %s %s", u.figure(m.Left), u.figure(m.Top), u.figure(m.Right), u.figure(m.Bottom))
}

// parseMargins reads one length for all edges, or four.
func (u lengthUnit) parseMargins(s string) (m printfile.Margins, ok bool) {
	fields := strings.Fields(s)
	if len(fields) == 0 {
		return m, true
	}
	if len(fields) != 1 && len(fields) != 4 {
		return m, false
	}
	var v [4]float64
	for i := range v {
		if v[i], ok = u.parse(fields[i%len(fields)], false); !ok {
			return m, false
		}
	}
	return printfile.Margins{Left: v[0], Top: v[1], Right: v[2], Bottom: v[3]}, true
}

// far writes a distance from which something is looked at.
func (u lengthUnit) far(mm float64) string {
	switch {
	case u == inches:
		return fmt.Sprintf("%.0f in", mm/unitMM[inches])
	case mm < 1000:
		return fmt.Sprintf("%.0f cm", mm/10)
	}
	return fmt.Sprintf("%.1f m", mm/1000)
}

// cutText writes what a crop cuts off, in hundredths: one figure where all are equal.
func cutText(c printfile.Crop) string {
	if c == (printfile.Crop{}) {
		return ""
	}
	cut := [4]float64{c.X, c.Y, 1 - c.X - c.W, 1 - c.Y - c.H}
	var out []string
	for _, v := range cut {
		s := strconv.FormatFloat(math.Abs(100*v), 'f', 1, 64)
		out = append(out, strings.TrimSuffix(s, ".0"))
	}
	if out[0] == out[1] && out[1] == out[2] && out[2] == out[3] {
		return out[0]
	}
	return strings.Join(out, " ")
}

// parseCut reads what is cut off, one figure for all edges or four.
func parseCut(s string) (c printfile.Crop, ok bool) {
	typed := strings.Fields(strings.ReplaceAll(s, "%", " "))
	if len(typed) == 0 {
		return c, true
	}
	if len(typed) != 1 && len(typed) != 4 {
		return c, false
	}
	var v [4]float64
	for i := range v {
		if v[i], ok = words.Number(typed[i%len(typed)]); !ok || v[i] < 0 {
			return c, false
		}
		v[i] /= 100
	}
	if v[0]+v[2] > 0.99 || v[1]+v[3] > 0.99 {
		return c, false
	}
	if v == [4]float64{} {
		return c, true
	}
	return printfile.Crop{X: v[0], Y: v[1], W: 1 - v[0] - v[2], H: 1 - v[1] - v[3]}, true
}
