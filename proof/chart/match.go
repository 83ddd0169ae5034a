package chart

import (
	"fmt"
	"io"
	"math"
	"slices"
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
	free := newCells(measured)
	pairs := make([]int, len(list))
	// First those that agree in their name too: a chart has its paper several
	// times, and each stands at its own place.
	named := map[string]int{}
	for j, q := range measured {
		named[q.ID] = j
	}
	for i, p := range list {
		pairs[i] = -1
		if j, ok := named[p.ID]; ok && farDevice(p.Device, measured[j].Device) <= sameDevice && free.take(measured[j].Device, j) {
			pairs[i] = j
		}
	}
	for i, p := range list {
		if pairs[i] >= 0 {
			continue
		}
		if pairs[i] = free.nearest(p.Device, measured); pairs[i] >= 0 {
			free.take(measured[pairs[i]].Device, pairs[i])
		}
	}
	return pairs
}

// farDevice is the largest difference of two device values of one length.
func farDevice(a, b []float64) float64 {
	d := 0.0
	for i := range a {
		d = math.Max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

// cells hold the indices of patches that are not taken yet, in order, by where their
// first three device values lie: what is within sameDevice is in the same cell or beside it,
// so that a chart is matched without comparing all with all.
type cells map[[3]int][]int

func newCells(patches []Patch) cells {
	c := cells{}
	for j, p := range patches {
		at := cellOf(p.Device)
		c[at] = append(c[at], j)
	}
	return c
}

func cellOf(device []float64) (at [3]int) {
	for k := range min(3, len(device)) {
		at[k] = int(math.Floor(device[k] / sameDevice))
	}
	return at
}

// take removes patch j, whose device values are given; false where it was taken before.
func (c cells) take(device []float64, j int) bool {
	at := cellOf(device)
	k, there := slices.BinarySearch(c[at], j)
	if there {
		c[at] = slices.Delete(c[at], k, k+1)
	}
	return there
}

// nearest returns the free patch nearest to device and nearer than sameDevice, -1 where
// there is none; the first of equals.
func (c cells) nearest(device []float64, patches []Patch) int {
	nearest, best := -1, sameDevice
	look := func(at [3]int) {
		for _, j := range c[at] {
			d := farDevice(device, patches[j].Device)
			if d < best || d == best && j < nearest {
				best, nearest = d, j
			}
			if d == 0 {
				return
			}
		}
	}
	middle := cellOf(device)
	for k := range 27 {
		look([3]int{middle[0] + k%3 - 1, middle[1] + k/3%3 - 1, middle[2] + k/9 - 1})
	}
	return nearest
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
