package view

import (
	"fmt"
	"strconv"
	"strings"

	"firstsheet/proof/printfile"
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
	words := strings.Fields(s)
	if len(words) == 0 {
		return m, true
	}
	if len(words) != 1 && len(words) != 4 {
		return m, false
	}
	var v [4]float64
	for i := range v {
		if v[i], ok = u.parse(words[i%len(words)], false); !ok {
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
