package cause

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"firstsheet/proof/chart"
	"firstsheet/proof/check"
	"firstsheet/proof/cie"
)

// mostSpots bounds a table of pins; a measured check sheet has 162.
const mostSpots = 5000

// ReadTable reads colours off a print from comma-separated text with a header and the
// columns pin, c1, c2, c3 (c4 where the original has four channels; its numbers, 0 to
// 255), L, a, b (the print, D50, relative to the paper's white), in any order and
// among others. Lines that begin with # are passed over.
//
// The error says in which line what is wrong; nothing that is not finite is taken.
func ReadTable(r io.Reader, channels int) ([]Spot, error) {
	rows := csv.NewReader(r)
	rows.Comment, rows.TrimLeadingSpace = '#', true
	header, err := rows.Read()
	if err == io.EOF {
		return nil, errors.New("the table is empty")
	}
	if err != nil {
		return nil, err
	}
	header[0] = strings.TrimPrefix(header[0], "\ufeff")
	columns := []string{"pin"}
	for i := range channels {
		columns = append(columns, fmt.Sprintf("c%d", i+1))
	}
	columns = append(columns, "L", "a", "b")
	where := make([]int, len(columns))
	for i, name := range columns {
		where[i] = slices.IndexFunc(header, func(h string) bool { return strings.EqualFold(strings.TrimSpace(h), name) })
		if where[i] < 0 {
			return nil, fmt.Errorf("the table has no column %s: its header is to be %s", name, strings.Join(columns, ","))
		}
	}
	var spots []Spot
	for {
		row, err := rows.Read()
		if err == io.EOF {
			return spots, nil
		}
		if err != nil {
			return nil, err
		}
		line, _ := rows.FieldPos(0)
		s, err := tableSpot(row, where, channels)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		if spots = append(spots, s); len(spots) > mostSpots {
			return nil, fmt.Errorf("the table has more than %d pins", mostSpots)
		}
	}
}

func tableSpot(row []string, where []int, channels int) (Spot, error) {
	s := Spot{Name: strings.TrimSpace(row[where[0]])}
	var v []float64
	for _, w := range where[1:] {
		n, err := strconv.ParseFloat(strings.TrimSpace(row[w]), 64)
		if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
			return s, fmt.Errorf("%.40q is no number", row[w])
		}
		v = append(v, n)
	}
	for _, n := range v[:channels] {
		if n < 0 || n > 255 {
			return s, fmt.Errorf("%g is not between 0 and 255", n)
		}
		s.Numbers = append(s.Numbers, n/255)
	}
	s.Lab = cie.Lab{L: v[channels], A: v[channels+1], B: v[channels+2]}
	return s, nil
}

// FromChart returns measured patches as places of a print, relative to the paper's
// white: that of the lightest patch that was printed as white (every channel of RGB in
// full, no ink of CMYK), or where none was, the given one (D50, absolute).
func FromChart(ms *chart.Measurements, white cie.Lab) []Spot {
	bare := 1.0
	if ms.Device == chart.CMYK {
		bare = 0
	}
	lightest := math.Inf(-1)
	for _, p := range ms.Patches {
		inked := slices.ContainsFunc(p.Device, func(v float64) bool { return v != bare })
		if !inked && p.Lab.L > lightest {
			lightest, white = p.Lab.L, p.Lab
		}
	}
	spots := make([]Spot, len(ms.Patches))
	for i, p := range ms.Patches {
		spots[i] = Spot{Name: p.Place(), Numbers: p.Device, Lab: p.Lab.BesideWhite(white)}
	}
	return spots
}

// FromScan returns the patches of a scanned check sheet as places of a print.
func FromScan(s check.Scan) []Spot {
	spots := make([]Spot, len(s.Readings))
	for i, r := range s.Readings {
		spots[i] = Spot{Name: r.Patch.Name, Numbers: slices.Clone(r.Patch.RGB[:]), Lab: r.Lab}
	}
	return spots
}
