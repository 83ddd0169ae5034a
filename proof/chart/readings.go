package chart

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/words"
)

// Taken is one reading of a printed chart: what was measured of it at one time, from
// one file or from several pages.
type Taken struct {
	Paths        []string
	Measurements *Measurements
	// Day is when it was measured, as 2006-01-02: as the file says, else the day the
	// file was written.
	Day string
}

// Readings reads the files and tells readings apart: pages of one chart belong
// together, and what holds a place again that was measured already is a reading of its
// own. Readings are never merged here; [Mean] does that for whoever asks for it. The
// error is a *Fault that names the file; nothing is kept of a failed reading.
func (s Sheets) Readings() ([]Taken, error) {
	if len(s.Paths) == 0 {
		return nil, &Fault{"", errors.New("no measured file is chosen")}
	}
	list, err := s.list()
	if err != nil {
		return nil, err
	}
	var all []Taken
	for _, path := range s.Paths {
		data, err := readText(path)
		if err != nil {
			return nil, &Fault{path, err}
		}
		options := ReadOptions{DeviceScale: s.Scale}
		ms, err := ReadWith(bytes.NewReader(data), options)
		if list != nil && err != nil {
			// Without printed numbers it is placed by the list alone.
			ms, err = ReadAgainst(bytes.NewReader(data), list, options)
		}
		if err != nil {
			return nil, &Fault{path, err}
		}
		for _, pass := range passes(ms) {
			if all, err = place(all, Taken{[]string{path}, pass, dayOf(pass.Created, path)}); err != nil {
				return nil, &Fault{path, err}
			}
		}
	}
	if list != nil {
		for i, t := range all {
			if all[i].Measurements, err = Match(list, t.Measurements); err != nil {
				return nil, &Fault{s.List, err}
			}
		}
	}
	return all, nil
}

// list reads the chart's patch list, nil where none is given.
func (s Sheets) list() (*Measurements, error) {
	if s.List == "" {
		return nil, nil
	}
	data, err := readText(s.List)
	if err != nil {
		return nil, &Fault{s.List, err}
	}
	list, err := ReadList(bytes.NewReader(data), ReadOptions{DeviceScale: s.Scale})
	if err != nil {
		return nil, &Fault{s.List, err}
	}
	return list, nil
}

// place puts a file's measurements to the first reading in which they are another page,
// and begins a new reading where there is none.
func place(all []Taken, t Taken) ([]Taken, error) {
	for i := range all {
		if err := fits(all[i].Measurements, t.Measurements); err != nil {
			return nil, err
		}
	}
	for i := range all {
		have := all[i].Measurements
		if again(have, t.Measurements) {
			continue
		}
		whole := *have
		whole.Patches = append(append([]Patch(nil), have.Patches...), t.Measurements.Patches...)
		whole.Notes = append(append([]string(nil), have.Notes...), t.Measurements.Notes...)
		if whole.Condition == "" {
			whole.Condition = t.Measurements.Condition
		}
		all[i] = Taken{append(all[i].Paths, t.Paths...), &whole, max(all[i].Day, t.Day)}
		return all, nil
	}
	return append(all, t), nil
}

// fits tells why a second file can't be of the same chart.
func fits(all, ms *Measurements) error {
	switch {
	case all.Device != ms.Device:
		return &FormatError{Msg: fmt.Sprintf("it was measured from %s numbers, the file before it from %s", ms.Device, all.Device)}
	case all.Condition != "" && ms.Condition != "" && all.Condition != ms.Condition:
		return &FormatError{Msg: fmt.Sprintf("it was measured under %s, the file before it under %s", ms.Condition, all.Condition)}
	}
	return nil
}

// manyAgain is the part of a page without names whose row numbers and printed numbers
// are those of another: less is chance, for each page begins with its row 1.
const manyAgain = 0.5

// again tells whether one set of patches holds a place of another, printed from the
// same numbers.
func again(have, more *Measurements) bool {
	at := map[string][]Patch{}
	for _, p := range have.Patches {
		at[p.Place()] = append(at[p.Place()], p)
	}
	repeated := 0
	for _, p := range more.Patches {
		for _, q := range at[p.Place()] {
			if sameNumbers(p.Device, q.Device) {
				repeated++
				break
			}
		}
	}
	if have.numbered || more.numbered {
		return float64(repeated) >= manyAgain*float64(min(len(have.Patches), len(more.Patches)))
	}
	return repeated > 0
}

func sameNumbers(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if math.Abs(a[i]-b[i]) > sameDevice {
			return false
		}
	}
	return true
}

// passes tells apart the readings in one file, where each named place comes again as
// often: the first of each place is the first pass, and so on.
func passes(ms *Measurements) []*Measurements {
	if ms.numbered {
		return []*Measurements{ms}
	}
	seen := map[string][]Patch{}
	var out [][]Patch
	for _, p := range ms.Patches {
		n := 0
		for _, q := range seen[p.Place()] {
			if sameNumbers(p.Device, q.Device) {
				n++
			}
		}
		seen[p.Place()] = append(seen[p.Place()], p)
		if n == len(out) {
			out = append(out, nil)
		}
		out[n] = append(out[n], p)
	}
	if len(out) < 2 || 2*len(out[1]) < len(out[0]) {
		return []*Measurements{ms} // a few names that serve several patches
	}
	var all []*Measurements
	for _, patches := range out {
		pass := *ms
		pass.Patches = patches
		all = append(all, &pass)
	}
	return all
}

// dayOf returns the day that a file says it was measured on, else the day it was
// written, else today.
func dayOf(created, path string) string {
	created = strings.TrimSpace(created)
	for _, form := range []string{time.DateOnly, time.RFC3339, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006/01/02", "2006-01-02 15:04",
		time.ANSIC, time.UnixDate, time.RFC1123, time.RFC1123Z, "January 2, 2006", "Jan 2, 2006", "2 January 2006", "02.01.2006", "2.1.2006"} {
		if t, err := time.Parse(form, created); err == nil {
			return t.Format(time.DateOnly)
		}
	}
	if info, err := os.Stat(path); err == nil {
		return info.ModTime().Format(time.DateOnly)
	}
	return time.Now().Format(time.DateOnly)
}

// Mean returns the mean of several readings of one chart, patch by patch, and how far
// the single ones are from it. Places that not all readings have are left out, and told
// in the notes. It fails with a *FormatError where they share fewer than 10 places.
func Mean(readings []*Measurements) (*Measurements, Spread, error) {
	first := readings[0]
	out := *first
	out.Patches, out.Notes = nil, nil
	var apart []float64
	for _, p := range first.Patches {
		sum := p.Lab
		found := []cie.Lab{p.Lab}
		for _, other := range readings[1:] {
			for _, q := range other.Patches {
				if q.Place() == p.Place() && sameNumbers(p.Device, q.Device) {
					sum = cie.Lab{L: sum.L + q.Lab.L, A: sum.A + q.Lab.A, B: sum.B + q.Lab.B}
					found = append(found, q.Lab)
					break
				}
			}
		}
		if len(found) < len(readings) {
			continue
		}
		n := float64(len(found))
		p.Lab = cie.Lab{L: sum.L / n, A: sum.A / n, B: sum.B / n}
		for _, c := range found {
			apart = append(apart, cie.DeltaE00(p.Lab, c))
		}
		out.Patches = append(out.Patches, p)
	}
	if len(out.Patches) < fewestVerified {
		return nil, Spread{}, wrong(0, "the readings share %d places; at least %d are needed to put them together", len(out.Patches), fewestVerified)
	}
	spread := NewSpread(apart)
	out.note("It is the mean of %d readings, which are %.2f ΔE00 from it in the mean, %.2f at most.", len(readings), spread.Mean, spread.Max)
	if n := len(first.Patches) - len(out.Patches); n > 0 {
		out.note("%d places that not all readings have were left out.", n)
	}
	return &out, spread, nil
}

// Noted returns a verification as it is noted with its paper, alone: merged says of how
// many readings it is the mean, 0 for one alone.
func Noted(ms *Measurements, v *Verification, day string, merged int) paper.Reading {
	r := paper.Reading{Date: day, Patches: v.All.Count, Mean: v.All.Mean, P95: v.All.P95, Max: v.All.Max,
		Condition: ms.Condition, Words: v.Sentences, Merged: merged}
	for _, p := range ms.Patches {
		r.Measured = append(r.Measured, paper.Measured{Place: p.Place(), Device: p.Device, Lab: p.Lab})
	}
	return r
}

// FromNoted returns the measurements of a reading that was noted, nil where only its
// figures were.
func FromNoted(r paper.Reading) *Measurements {
	if len(r.Measured) == 0 {
		return nil
	}
	ms := &Measurements{Condition: r.Condition, Created: r.Date}
	if len(r.Measured[0].Device) == CMYK.Channels() {
		ms.Device = CMYK
	}
	for _, m := range r.Measured {
		ms.Patches = append(ms.Patches, Patch{ID: m.Place, Device: m.Device, Lab: m.Lab})
	}
	return ms
}

// SeveralTold says that files hold more than one reading.
func SeveralTold(list []Taken) string {
	var days []string
	for _, t := range list {
		days = append(days, t.Day)
	}
	return fmt.Sprintf("The files hold %d readings of the same places (%s). Each is kept alone.", len(list), words.List(days))
}

// farApart is the mean ΔE00 from their mean above which readings are hardly of one
// sheet: two readings of one differ by a few tenths (common practice, no source).
const farApart = 0.5

// MeanTold says what the mean of n readings stands for.
func MeanTold(n int, apart Spread) string {
	s := fmt.Sprintf("The %d readings are %.1f ΔE00 from their mean on average, %.1f at most.", n, apart.Mean, apart.Max)
	if apart.Mean > farApart {
		s += " That is more than an instrument’s noise: the mean would hide that something has moved."
	}
	return s
}
