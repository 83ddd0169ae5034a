// Package ticket holds the record of a print: everything that it takes to make it
// again, and what came of it.
//
// A ticket is a JSON file of a versioned format of our own, described by the
// fields of [Ticket], and one page to be filed with the print (PDF). It names its picture
// and its paper's profile by their content, so that a ticket whose picture or
// profile has changed since can say so.
package ticket

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// Format and Version begin every ticket. A version that is read but no longer written
// is brought up to date by Read.
const (
	Format  = "Firstsheet job ticket"
	Version = 1
)

// Ticket is the record of one print.
type Ticket struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	// Made is when the print file was made.
	Made    time.Time `json:"made"`
	Picture Picture   `json:"picture"`
	Paper   Paper     `json:"paper"`
	// Job is every choice; what follows up to Outcome is told by it and is there to be
	// read by people.
	Job      printfile.Job `json:"job"`
	File     File          `json:"file"`
	Route    []Station     `json:"route"`
	Settings []string      `json:"driver_settings"`
	Warnings []string      `json:"warnings,omitempty"`
	Pins     []Pin         `json:"pins,omitempty"`
	// Original and Proof are a small pair of pictures, PNG in sRGB.
	Original []byte `json:"original_png,omitempty"`
	Proof    []byte `json:"proof_png,omitempty"`
	// Outcome is what came of the print, noted later.
	Outcome Outcome `json:"outcome"`
}

// Picture says what was printed.
type Picture struct {
	Name   string `json:"name"`
	Path   string `json:"path,omitempty"`
	SHA256 string `json:"sha256,omitempty"` // of the file, hexadecimal
	W      int    `json:"width"`
	H      int    `json:"height"`
	Source string `json:"source"` // what its numbers are
	Origin string `json:"origin"` // how that is known
}

// Paper says on what.
type Paper struct {
	ID        string  `json:"id"`
	Name      string  `json:"name"`
	Profile   string  `json:"profile"`
	ProfileID string  `json:"profile_id"` // by the profile's content
	Printer   string  `json:"printer,omitempty"`
	Media     string  `json:"media_setting,omitempty"`
	BlackInk  string  `json:"black_ink,omitempty"`
	DryHours  float64 `json:"dry_hours,omitempty"`
}

// File is the print file as it was written.
type File struct {
	Name     string  `json:"name,omitempty"`
	W        int     `json:"width"`
	H        int     `json:"height"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
	PPI      float64 `json:"ppi"`
	TruePPI  float64 `json:"true_ppi"`
	Profile  string  `json:"embedded_profile"`
	SHA256   string  `json:"sha256,omitempty"` // of the file, hexadecimal
}

// Station is one stop of the route.
type Station struct {
	Title  string `json:"title"`
	Detail string `json:"detail"`
	Why    string `json:"fault,omitempty"`
}

// Pin is a mark with its colours, CIELAB under D50.
type Pin struct {
	pin.Pin
	Original [3]float64 `json:"original_lab"`
	Print    [3]float64 `json:"print_lab"`
	DeltaE00 float64    `json:"dE00"`
	Words    string     `json:"words"`
}

// Verdict is how a finished print was judged.
type Verdict string

// The verdicts; "" before there is one.
const (
	Good   Verdict = "good"
	Usable Verdict = "usable"
	Bad    Verdict = "bad"
)

// Outcome is noted when the print has dried.
type Outcome struct {
	Verdict Verdict `json:"verdict,omitempty"`
	Notes   string  `json:"notes,omitempty"`
	// Judged is the day, as 2006-01-02, and Light in words what it was judged in.
	Judged string `json:"judged,omitempty"`
	Light  string `json:"light,omitempty"`
}

// smallSide is the longer side of the picture pair: 50 mm at 160 ppi.
const smallSide = 320

// New makes the ticket of a print. file is the path of the print file, which is read to
// know it again, "" for none; hash is the picture file's by [Hash], "" where there is no
// file; pins may be nil. Errors are the engine's, ctx's, or tell that file cannot be read.
func New(ctx context.Context, e printfile.Engine, p *printfile.Print, file, hash string, pins []pin.Pin, made time.Time) (Ticket, error) {
	source, stock, l := p.Source(), p.Paper(), p.Layout()
	t := Ticket{
		Format: Format, Version: Version, Made: made.UTC().Truncate(time.Second), Job: p.Job(),
		Picture: Picture{Path: source.Picture.Path, SHA256: hash, W: source.Picture.W, H: source.Picture.H,
			Source: source.Profile.Name(), Origin: source.Origin.String()},
		Paper: Paper{ID: p.Job().Setup.Paper, Name: stock.Name, Profile: profileName(stock.Profile), ProfileID: stock.Profile.ID(),
			Printer: stock.Card.Printer, Media: stock.Card.Media, BlackInk: stock.Card.BlackInk, DryHours: stock.Card.DryHours},
		File: File{W: l.FileW, H: l.FileH, WidthMM: tenth(l.File.W), HeightMM: tenth(l.File.H), PPI: l.PPI, TruePPI: tenth(l.TruePPI),
			Profile: p.Embedded().Name()},
	}
	if t.Picture.Path != "" {
		t.Picture.Name = filepath.Base(t.Picture.Path)
	}
	if file != "" {
		t.File.Name = filepath.Base(file)
		var err error
		if t.File.SHA256, err = Hash(ctx, file); err != nil {
			return t, err
		}
	}
	for _, s := range p.Route().Stations {
		t.Route = append(t.Route, Station{s.Title, s.Detail, s.Why})
	}
	t.Settings = settings(t)
	for _, w := range p.Warnings() {
		if w.Kind != printfile.DriverNotSaid { // the settings say it
			t.Warnings = append(t.Warnings, w.Sentence)
		}
	}
	plan := p.Plan()
	plan.Screen = proof.SpaceProfile(space.SRGB())
	chain, err := e.Chain(plan)
	if err != nil {
		return t, err
	}
	defer chain.Close()
	small, err := p.Small(ctx, smallSide)
	if err != nil {
		return t, err
	}
	if t.Original, t.Proof, err = pair(ctx, e, plan, chain, small); err != nil {
		return t, err
	}
	t.Pins, err = read(chain, source.Pixels(), pins)
	return t, err
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

// profileName is what a profile calls itself; papers give theirs another name.
func profileName(p *proof.Profile) string {
	if f := p.File(); f != nil && f.Description() != "" {
		return f.Description()
	}
	return p.Name()
}

// settings says in generic words what to choose in the next program and the driver.
func settings(t Ticket) []string {
	list := []string{printfile.Instruction(t.Job.Converts, t.Paper.Name)}
	media := "Media setting: the one that the profile was made for."
	if t.Paper.Media != "" {
		media = "Media setting: " + t.Paper.Media + "."
	}
	list = append(list, media, "Quality: the one that the profile was made with; scaling: off, 100 %.")
	if t.Paper.BlackInk != "" {
		list = append(list, "Black ink: "+t.Paper.BlackInk+" black.")
	}
	dry := "Let the print dry before it is judged or measured: a day (common practice)."
	if t.Paper.DryHours > 0 {
		dry = fmt.Sprintf("Let the print dry %g hours before it is judged or measured.", t.Paper.DryHours)
	}
	return append(list, dry)
}

// pair renders the original and its proof.
func pair(ctx context.Context, e printfile.Engine, plan proof.Plan, chain *proof.Chain, px raster.Pixels) (original, proofed []byte, err error) {
	plain, err := e.Chain(proof.Plan{Source: plan.Source, Screen: plan.Screen})
	if err != nil {
		return nil, nil, err
	}
	defer plain.Close()
	if original, err = rendered(ctx, plain, px); err != nil {
		return nil, nil, err
	}
	proofed, err = rendered(ctx, chain, px)
	return original, proofed, err
}

// rendered runs pixels through a chain and returns a PNG of what the screen is told.
func rendered(ctx context.Context, c *proof.Chain, px raster.Pixels) ([]byte, error) {
	img := image.NewRGBA(image.Rect(0, 0, px.W, px.H))
	if err := c.Picture(ctx, px, func(y int, row []proof.Value) {
		for x, v := range row {
			img.SetRGBA(x, y, raster.RGBA(v.Screen))
		}
	}); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err := png.Encode(&b, img)
	return b.Bytes(), err
}

// read reads the pins by the exact chain.
func read(c *proof.Chain, px raster.Pixels, pins []pin.Pin) ([]Pin, error) {
	var out []Pin
	for _, q := range pins {
		change, err := Compare(c, px, q)
		if err != nil {
			return nil, err
		}
		out = append(out, Pin{q, rounded(change.Original), rounded(change.Print), math.Round(change.DeltaE00*100) / 100, change.Sentence()})
	}
	return out, nil
}

// Compare tells what a print does to the colour under a pin: each pixel passes the
// chain, then the light is averaged.
func Compare(c *proof.Chain, px raster.Pixels, q pin.Pin) (words.Change, error) {
	v, _, err := pin.Read(c, px, q)
	if err != nil {
		return words.Change{}, err
	}
	return words.Compare(v.Original, v.Counted), nil
}

func rounded(c cie.Lab) [3]float64 { return [3]float64{tenth(c.L), tenth(c.A), tenth(c.B)} }

// Hash returns the SHA-256 of a picture file, hexadecimal. Tickets come from elsewhere
// and may name anything: what is no ordinary file is refused before it is opened, for a
// pipe would wait for its other end and a device would never end. It looks at ctx between
// pieces of a few megabytes and then returns ctx.Err(), wrapped.
func Hash(ctx context.Context, path string) (string, error) {
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() {
		err = &os.PathError{Op: "read", Path: path, Err: errors.New("it is no ordinary file")}
	}
	if err != nil {
		return "", fmt.Errorf("ticket: %w", err)
	}
	f, err := os.Open(path)
	if err != nil {
		return "", fmt.Errorf("ticket: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	const piece = 4 << 20
	for err == nil {
		if err = ctx.Err(); err == nil {
			_, err = io.CopyN(h, f, piece)
		}
	}
	if err != io.EOF {
		return "", fmt.Errorf("ticket: %s: %w", path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// Changes says what is no longer as it was when the ticket was made, a sentence each;
// nil when picture and profile are the same. hash is that of the picture file, "" where
// there is none to compare; profile is the paper's, nil when it is not found any more.
func (t Ticket) Changes(hash string, profile *proof.Profile) []string {
	var list []string
	if hash != "" && t.Picture.SHA256 != "" && hash != t.Picture.SHA256 {
		list = append(list, fmt.Sprintf("The picture %s is not the one that was printed: its file has changed since %s.", t.Picture.Name, t.Made.Format(time.DateOnly)))
	}
	switch {
	case profile == nil:
		list = append(list, fmt.Sprintf("The paper %s is not among the papers any more.", t.Paper.Name))
	case profile.ID() != t.Paper.ProfileID:
		list = append(list, fmt.Sprintf("The profile of %s is not the one that was printed with (%s): the print will come out otherwise.", t.Paper.Name, t.Paper.Profile))
	}
	return list
}

// MaxBytes is the most that a ticket file has: text, and two small pictures.
const MaxBytes = 4 << 20

// FileError says that a ticket cannot be read or written.
type FileError struct {
	Path string
	Err  error
}

func (e *FileError) Error() string { return fmt.Sprintf("ticket: %s: %v", e.Path, e.Err) }
func (e *FileError) Unwrap() error { return e.Err }

// ErrNewer is what a ticket of a later program fails with.
var ErrNewer = errors.New("it was written by a newer version of Firstsheet")

// Open reads a ticket file. The error is a *FileError.
func Open(path string) (Ticket, error) {
	fail := func(err error) (Ticket, error) {
		if e, ok := errors.AsType[*os.PathError](err); ok {
			err = e.Err
		}
		return Ticket{}, &FileError{path, err}
	}
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return fail(err)
	case !info.Mode().IsRegular():
		return fail(errors.New("it is no ordinary file"))
	case info.Size() > MaxBytes:
		return fail(fmt.Errorf("it has %d bytes, a ticket at most %d", info.Size(), MaxBytes))
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return fail(err)
	}
	t, err := Parse(data)
	if err != nil {
		return fail(err)
	}
	return t, nil
}

// Parse reads a ticket. What it does not know is passed over, what cannot be is an
// error: a ticket that comes from elsewhere is checked before anything is printed by it.
func Parse(data []byte) (Ticket, error) {
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return Ticket{}, fmt.Errorf("it is no job ticket: %w", words.Unfit(err))
	}
	switch {
	case head.Format != Format:
		return Ticket{}, errors.New("it is no job ticket")
	case head.Version > Version:
		return Ticket{}, ErrNewer
	case head.Version < 1:
		return Ticket{}, fmt.Errorf("it has version %d", head.Version)
	}
	var t Ticket
	if err := json.Unmarshal(data, &t); err != nil {
		return Ticket{}, words.Unfit(err)
	}
	if err := t.Job.Check(); err != nil {
		return Ticket{}, err
	}
	switch t.Outcome.Verdict {
	case "", Good, Usable, Bad:
	default:
		return Ticket{}, fmt.Errorf("its verdict is %q", t.Outcome.Verdict)
	}
	return t, nil
}

// Encode returns the ticket as a file holds it.
func (t Ticket) Encode() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(t)
	return b.Bytes(), err
}

// Write writes the ticket at path, as JSON or, where the name ends in .pdf, as its
// page. The file is complete or absent, and none of keep.
func (t Ticket) Write(ctx context.Context, path string, keep []string) error {
	return photo.Save(ctx, path, keep, func(f *os.File) error {
		if isPDF(path) {
			return t.WritePDF(f)
		}
		data, err := t.Encode()
		if err != nil {
			return err
		}
		_, err = f.Write(data)
		return err
	})
}
