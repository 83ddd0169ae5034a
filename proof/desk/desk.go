// Package desk keeps what lies on the desk from one start of the program to the next,
// and the prints that were made from it.
//
// The desk is one JSON file, written aside and renamed each time: a program that is
// killed at any moment comes back with the last complete one. Prints are job tickets,
// one file each. FORMAT.md beside this file describes both.
package desk

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"firstsheet/proof/aside"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
	"firstsheet/proof/words"
)

// Format and Version begin the file. How an older version is read is in upgrades.
const (
	Format  = "Firstsheet desk"
	Version = 1
)

// Limits: what a desk holds, and far more than a person puts on one.
const (
	MaxSheets = 8
	MaxPins   = 64
	maxBytes  = 1 << 20
	// maxPrints is one a day for ten years.
	maxPrints = 3650
)

// Desk is everything that a start brings back.
type Desk struct {
	Format  string    `json:"format"`
	Version int       `json:"version"`
	Saved   time.Time `json:"saved"`
	Picture Picture   `json:"picture"`
	Sheets  []Sheet   `json:"sheets"`
	// Active is the sheet that choices go to, from 0.
	Active int       `json:"active"`
	View   View      `json:"view"`
	Pins   []pin.Pin `json:"pins"`
	Looked Looked    `json:"looked"`
	// Print is what the print card was set to; its set-up is the active sheet's.
	Print printfile.Job `json:"print"`
}

// Picture is what lies on all sheets.
type Picture struct {
	// Path is "" for the demo picture.
	Path string `json:"path,omitempty"`
	// SHA256 tells whether the file is still the same.
	SHA256 string `json:"sha256,omitempty"`
}

// Sheet is one sheet.
type Sheet struct {
	// Setup is how it is proofed; without a paper it is the original. Slips in it are
	// those that are chosen, shown when Wrong is set.
	Setup setup.Setup `json:"setup"`
	Wrong bool        `json:"gone_wrong"`
	// UsualSlip is set where nobody chose the slip: it is the usual one of picture and paper,
	// and follows them.
	UsualSlip bool `json:"usual_slip,omitempty"`
	// Difference shows it as a map of ΔE00 against the sheet Against, counted from 1, or
	// against the original where that is 0.
	Difference bool `json:"difference_map,omitempty"`
	Against    int  `json:"against_sheet,omitempty"`
}

// View is the part of the picture that all sheets show.
type View struct {
	Fit bool `json:"fit"`
	// X and Y are the middle, in fractions of the picture; Scale is device pixels to a
	// pixel of the picture. They count where Fit is not set.
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
	Scale float64 `json:"scale"`
}

// Looked is how sheets are looked at.
type Looked struct {
	// Overlays are the IDs of what is drawn over the sheets; an unknown one is left out.
	Overlays []string `json:"overlays"`
	// NoPins hides the pins.
	NoPins    bool    `json:"pins_hidden,omitempty"`
	Threshold float64 `json:"threshold_dE00"`
	Lux       float64 `json:"light_lx,omitempty"`
	Luminance float64 `json:"screen_white_cdm2,omitempty"`
	// ScreenPPI is the screen's true resolution as it was measured, 0 before.
	ScreenPPI float64 `json:"screen_ppi,omitempty"`
	// TooBright shows all as on a screen that is set too bright; Light is light
	// surroundings.
	TooBright bool `json:"screen_too_bright,omitempty"`
	Light     bool `json:"light_surroundings,omitempty"`
}

// ErrNewer is what a desk of a later program fails with.
var ErrNewer = errors.New("it was saved by a newer version of Firstsheet")

// upgrade brings the fields of one version to those of the next.
type upgrade func(fields map[string]json.RawMessage) error

// upgrades lead from version 1 to [Version], one after the other; there is none before
// there is a second version.
func upgrades() []upgrade { return nil }

// Parse reads a saved desk of this version or an older one.
func Parse(data []byte) (Desk, error) { return parse(data, Version, upgrades()) }

func parse(data []byte, version int, upgrades []upgrade) (Desk, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(data, &fields); err != nil {
		return Desk{}, fmt.Errorf("it is no saved desk: %w", words.Unfit(err))
	}
	var format string
	var has int
	_ = json.Unmarshal(fields["format"], &format) // what is missing fails below
	_ = json.Unmarshal(fields["version"], &has)
	switch {
	case format != Format:
		return Desk{}, errors.New("it is no saved desk")
	case has > version:
		return Desk{}, ErrNewer
	case has < 1:
		return Desk{}, fmt.Errorf("it has version %d", has)
	}
	for v := has; v < version; v++ {
		if err := upgrades[v-1](fields); err != nil {
			return Desk{}, fmt.Errorf("version %d: %w", v, err)
		}
	}
	whole, err := json.Marshal(fields)
	if err != nil {
		return Desk{}, err
	}
	var d Desk
	if err := json.Unmarshal(whole, &d); err != nil {
		return Desk{}, words.Unfit(err)
	}
	d.Version = version
	return d, d.Check()
}

// Check reports what cannot be on a desk.
func (d Desk) Check() error {
	within := func(v, low, high float64) bool { return v >= low && v <= high } // false for NaN
	switch {
	case len(d.Sheets) == 0 || len(d.Sheets) > MaxSheets:
		return fmt.Errorf("desk: %d sheets, want 1 to %d", len(d.Sheets), MaxSheets)
	case d.Active < 0 || d.Active >= len(d.Sheets):
		return fmt.Errorf("desk: sheet %d of %d is the active one", d.Active+1, len(d.Sheets))
	case len(d.Pins) > MaxPins:
		return fmt.Errorf("desk: %d pins, at most %d", len(d.Pins), MaxPins)
	case !d.View.Fit && !(within(d.View.X, 0, 1) && within(d.View.Y, 0, 1) && within(d.View.Scale, 1e-4, 1e4)):
		return fmt.Errorf("desk: a view of %g, %g at %g", d.View.X, d.View.Y, d.View.Scale)
	}
	for i, sh := range d.Sheets {
		if sh.Against < 0 || sh.Against > len(d.Sheets) {
			return fmt.Errorf("desk: sheet %d is compared with sheet %d of %d", i+1, sh.Against, len(d.Sheets))
		}
	}
	for _, v := range []float64{d.Looked.Threshold, d.Looked.Lux, d.Looked.Luminance, d.Looked.ScreenPPI} {
		if !within(v, 0, 1e6) {
			return fmt.Errorf("desk: it is looked at with %g", v)
		}
	}
	for _, p := range d.Pins {
		if err := p.Check(); err != nil {
			return fmt.Errorf("desk: %w", err)
		}
	}
	return nil
}

// Encode returns the desk as the file holds it.
func (d Desk) Encode() ([]byte, error) {
	d.Format, d.Version = Format, Version
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(d)
	return b.Bytes(), err
}

// Store is the folder in which desk and prints are kept. Methods may be called from
// one goroutine at a time.
type Store struct{ dir string }

// FileError says which file could not be read or written.
type FileError struct {
	Path string
	Err  error
}

func (e *FileError) Error() string { return fmt.Sprintf("desk: %s: %v", e.Path, e.Err) }
func (e *FileError) Unwrap() error { return e.Err }

// ErrNone is returned where nothing was saved yet: the first start.
var ErrNone = errors.New("desk: nothing was saved yet")

const (
	deskFile     = "desk.json"
	brokenFile   = "desk.unreadable.json"
	printsFolder = "prints"
	ticketEnding = ".ticket.json"
)

// Open returns the store in a folder, which is made with the first save. What a killed
// program left half written there is cleared away.
func Open(dir string) *Store {
	for _, d := range []string{dir, filepath.Join(dir, printsFolder)} {
		aside.Sweep(d)
	}
	return &Store{dir}
}

// Save keeps the desk in place of the one before.
func (s *Store) Save(d Desk) error {
	path := filepath.Join(s.dir, deskFile)
	if err := d.Check(); err != nil {
		return &FileError{path, err}
	}
	d.Saved = time.Now().UTC().Truncate(time.Second)
	data, err := d.Encode()
	if err != nil {
		return &FileError{path, err}
	}
	return write(path, data)
}

func write(path string, data []byte) error {
	err := os.MkdirAll(filepath.Dir(path), 0o777)
	if err == nil {
		err = aside.Write(path, aside.Holding(data))
	}
	if err != nil {
		return &FileError{path, aside.Bare(err)}
	}
	return nil
}

// Load returns the desk that was saved last: ErrNone before the first, else a
// *FileError. One that cannot be read is kept under another name, so that the next
// save does not destroy it; one of a newer program stays where it is.
func (s *Store) Load() (Desk, error) {
	path := filepath.Join(s.dir, deskFile)
	data, err := readSmall(path, maxBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return Desk{}, ErrNone
	}
	if err != nil {
		return Desk{}, &FileError{path, aside.Bare(err)}
	}
	d, err := Parse(data)
	if err != nil {
		if !errors.Is(err, ErrNewer) {
			_ = os.Rename(path, filepath.Join(s.dir, brokenFile)) // it is told all the same
		}
		return Desk{}, &FileError{path, err}
	}
	return d, nil
}

// readSmall reads an ordinary file of bounded size.
func readSmall(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, errors.New("it is no ordinary file")
	case info.Size() > most:
		return nil, fmt.Errorf("it has %d bytes, at most %d are read", info.Size(), most)
	}
	return os.ReadFile(path)
}

// Print is a ticket that is kept.
type Print struct {
	// ID names it in the store.
	ID string
	ticket.Ticket
}

// Keep keeps a print's ticket and returns its ID. Tickets are named by their time.
func (s *Store) Keep(t ticket.Ticket) (id string, err error) {
	if t.Made.IsZero() || math.Abs(float64(t.Made.Year())-2100) > 200 {
		return "", fmt.Errorf("desk: a print of the year %d", t.Made.Year())
	}
	stamp := t.Made.UTC().Format("20060102-150405")
	id = stamp
	for n := 2; ; n++ {
		if _, err := os.Lstat(s.ticketPath(id)); errors.Is(err, fs.ErrNotExist) {
			break
		}
		id = fmt.Sprintf("%s-%d", stamp, n)
	}
	return id, s.put(id, t)
}

func (s *Store) ticketPath(id string) string {
	return filepath.Join(s.dir, printsFolder, id+ticketEnding)
}

func (s *Store) put(id string, t ticket.Ticket) error {
	data, err := t.Encode()
	if err != nil {
		return &FileError{s.ticketPath(id), err}
	}
	return write(s.ticketPath(id), data)
}

// Note notes what came of a print.
func (s *Store) Note(id string, o ticket.Outcome) error {
	if id != filepath.Base(id) {
		return fmt.Errorf("desk: %q is no print", id)
	}
	t, err := ticket.Open(s.ticketPath(id))
	if err != nil {
		return err
	}
	t.Outcome = o
	return s.put(id, t)
}

// Prints lists the prints that were made on a paper, by the ID of its profile, the
// latest first; "" lists those on every paper. Tickets that cannot be read are errors
// beside the list and never hide the others.
func (s *Store) Prints(profileID string) (list []Print, problems []error) {
	entries, err := os.ReadDir(filepath.Join(s.dir, printsFolder))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, []error{&FileError{filepath.Join(s.dir, printsFolder), aside.Bare(err)}}
	}
	var ids []string
	for _, e := range entries {
		if id, ok := strings.CutSuffix(e.Name(), ticketEnding); ok && !strings.HasPrefix(id, ".") {
			ids = append(ids, id)
		}
	}
	ids = ids[max(0, len(ids)-maxPrints):]
	for _, id := range slices.Backward(ids) {
		t, err := ticket.Open(s.ticketPath(id))
		switch {
		case err != nil:
			problems = append(problems, err)
		case profileID == "" || t.Paper.ProfileID == profileID:
			list = append(list, Print{id, t})
		}
	}
	slices.SortStableFunc(list, func(a, b Print) int { return b.Made.Compare(a.Made) })
	return list, problems
}
