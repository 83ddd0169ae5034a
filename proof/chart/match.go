package chart

import (
	"fmt"
	"io"
	"math"
	"strings"
)

// sameDevice is how far device values may differ and still mean the same patch:
// half a step of values that were rounded to whole percents.
const sameDevice = 0.0051

// ReadAgainst reads measurements and gives each its place on a known chart, so
// that they have locations, and device values where the measuring program left
// them out. list comes from [ReadList] or [Target.List].
//
// It fails like [ReadWith] and [Match].
func ReadAgainst(r io.Reader, list *Measurements, opts ReadOptions) (*Measurements, error) {
	tables, err := ReadTables(r)
	if err != nil {
		return nil, err
	}
	var bare *Measurements
	for i, t := range tables {
		c, err := findColumns(t)
		if err != nil {
			return nil, err
		}
		if c.colour == noColour || bare != nil && c.device == nil {
			continue
		}
		if c.device == nil {
			c.space = list.Device
		}
		ms, err := wholeChart(tables, i, c, opts)
		if err != nil {
			return nil, err
		}
		if c.device != nil {
			return Match(list, ms)
		}
		bare = ms
	}
	if bare == nil {
		return nil, lacking(tables)
	}
	return Match(list, bare)
}

// Match returns the measurements in the order of the chart's list, with the
// list's identifiers, locations and device values. Patches are matched by device
// values where the measurements have them (by identifier among equal ones), else
// by location, else by identifier, else by their order where there are as many.
// What was left unmatched on either side is told in the notes.
//
// It fails with a *FormatError where nothing matches or less than half of the
// list does: then it is another chart.
func Match(list, measured *Measurements) (*Measurements, error) {
	if len(measured.Patches) == 0 || len(list.Patches) == 0 {
		return nil, wrong(0, "nothing to match: the list has %d patches, the measurements have %d", len(list.Patches), len(measured.Patches))
	}
	if measured.Patches[0].Device != nil && list.Device != measured.Device {
		return nil, wrong(0, "the chart is of %s, the measurements are of %s", list.Device, measured.Device)
	}
	var pairs []int // for each of the list, the index measured, or -1
	var how string
	switch {
	case measured.Patches[0].Device != nil:
		pairs, how = byDevice(list.Patches, measured.Patches), "device values"
	default:
		pairs, how = byName(list.Patches, measured)
		if pairs == nil {
			return nil, wrong(0, "the measurements have no device values, and their names fit neither the chart's locations nor its identifiers; by order they can't be matched either, %d against %d", len(measured.Patches), len(list.Patches))
		}
	}
	out := *measured
	out.Device = list.Device
	out.Notes = append([]string(nil), measured.Notes...)
	out.Patches = nil
	var missing []string
	for i, j := range pairs {
		p := list.Patches[i]
		if j < 0 {
			missing = append(missing, p.Place())
			continue
		}
		q := measured.Patches[j]
		p.Lab, p.Line = q.Lab, q.Line
		out.Patches = append(out.Patches, p)
	}
	if 2*len(out.Patches) < len(list.Patches) {
		return nil, wrong(0, "only %d of the chart's %d patches are among the %d measured: it is another chart", len(out.Patches), len(list.Patches), len(measured.Patches))
	}
	out.note("%d of %d patches were matched by %s.", len(out.Patches), len(list.Patches), how)
	if n := len(missing); n > 0 {
		out.note("Not measured: %s.", some(missing))
	}
	if n := len(measured.Patches) - len(out.Patches); n > 0 {
		out.note("%d measured patches are not on the chart and were left out.", n)
	}
	return &out, nil
}

// some lists the first few names.
func some(names []string) string {
	const few = 8
	if len(names) <= few {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:few], ", "), len(names)-few)
}

func byDevice(list, measured []Patch) []int {
	used := make([]bool, len(measured))
	pairs := make([]int, len(list))
	far := func(a, b []float64) float64 {
		d := 0.0
		for i := range a {
			d = math.Max(d, math.Abs(a[i]-b[i]))
		}
		return d
	}
	// First those that agree in their name too: a chart has its paper several
	// times, and each stands at its own place.
	named := map[string]int{}
	for j, q := range measured {
		named[q.ID] = j
	}
	for i, p := range list {
		pairs[i] = -1
		if j, ok := named[p.ID]; ok && !used[j] && far(p.Device, measured[j].Device) <= sameDevice {
			pairs[i], used[j] = j, true
		}
	}
	for i, p := range list {
		if pairs[i] >= 0 {
			continue
		}
		best := sameDevice
		for j, q := range measured {
			if used[j] {
				continue
			}
			if d := far(p.Device, q.Device); d < best {
				best, pairs[i] = d, j
			}
		}
		if pairs[i] >= 0 {
			used[pairs[i]] = true
		}
	}
	return pairs
}

func byName(list []Patch, ms *Measurements) ([]int, string) {
	measured := ms.Patches
	id := func(p Patch) string {
		if ms.numbered {
			return "" // row numbers are no names: one lost row would shift all
		}
		return p.ID
	}
	for _, try := range []struct {
		how         string
		of, against func(Patch) string
	}{
		{"location", func(p Patch) string { return p.Loc }, func(p Patch) string { return p.Loc }},
		{"identifier", func(p Patch) string { return p.ID }, id},
		// Some programs write the location where the identifier belongs.
		{"location", func(p Patch) string { return p.Loc }, id},
	} {
		at := map[string]int{}
		for j, q := range measured {
			if n := try.against(q); n != "" {
				at[n] = j
			}
		}
		pairs, hits := make([]int, len(list)), 0
		for i, p := range list {
			pairs[i] = -1
			if j, ok := at[try.of(p)]; ok && try.of(p) != "" {
				pairs[i] = j
				hits++
			}
		}
		if 2*hits >= len(list) {
			return pairs, try.how
		}
	}
	if len(list) != len(measured) {
		return nil, ""
	}
	pairs := make([]int, len(list))
	for i := range pairs {
		pairs[i] = i
	}
	return pairs, "order"
}
