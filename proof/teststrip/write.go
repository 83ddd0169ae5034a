package teststrip

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/setup"
)

// Options says how a strip is written.
type Options struct {
	// Bare leaves the paper's profile out of the file. With it, a program that heeds
	// labels shows the strip truly, and has nothing to convert where it prints to
	// the same profile; without it, nothing but conversion switched off keeps the
	// numbers as they are.
	Bare bool
	// Card is what is noted of the paper.
	Card paper.Card
	// Keep names files that must not be written to.
	Keep []string
}

// Caution is said wherever a strip is written.
func Caution(paper string) string {
	return "The strip holds " + paper + "’s own numbers. Print it at 100 % with every colour conversion off, in the program and in the driver: " +
		"otherwise each piece is converted once more, and the strip shows that mistake alone."
}

// TextFile is the name of the text beside a strip.
func TextFile(path string) string { return strings.TrimSuffix(path, filepath.Ext(path)) + ".txt" }

// Write makes the strip and writes it as a 16-bit TIFF or PNG, by the name's ending,
// and a text beside it that says how to print it and what each piece is. Each file is
// complete or absent. The error is one of Lay, of the engine, a *photo.Error, or the
// context's.
func (o Order) Write(ctx context.Context, e setup.Chains, path string, opt Options, progress func(float64)) error {
	img, err := o.Make(ctx, e, func(done float64) {
		if progress != nil {
			progress(done * 0.9)
		}
	})
	if err != nil {
		return err
	}
	pic := &photo.Picture{W: img.W, H: img.H, Channels: img.Channels, Depth: 16, Pix16: img.Pix}
	if !opt.Bare {
		pic.ICC = o.Paper.Data()
	}
	if err := photo.Write(ctx, path, pic, photo.WriteOptions{PPI: img.PPI, Keep: opt.Keep}); err != nil {
		return err
	}
	if err := photo.Save(ctx, TextFile(path), opt.Keep, func(w *os.File) error {
		_, err := io.WriteString(w, o.Text(filepath.Base(path), opt))
		return err
	}); err != nil {
		return err
	}
	if progress != nil {
		progress(1)
	}
	return nil
}

// Text says how a strip is printed and what is on it.
func (o Order) Text(name string, opt Options) string {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	p("Test strip %s", name)
	p("")
	p("Paper: %s (profile ID %s)", o.Paper.Name(), o.Paper.ID())
	p("Size: %.0f by %.0f mm at %g ppi, 16 bits a channel", o.Sheet.Width, o.Sheet.Height, o.Sheet.PPI)
	if opt.Bare {
		p("Profile in the file: none")
	} else {
		p("Profile in the file: the paper's own")
	}
	p("")
	p("How to print it")
	p("%s", Caution(o.Paper.Name()))
	if c := opt.Card; c.Media != "" {
		p("Media setting of the driver: %s.", c.Media)
	}
	if c := opt.Card; c.BlackInk != "" {
		p("Black ink: %s.", c.BlackInk)
	}
	if c := opt.Card; c.DryHours > 0 {
		p("Let it dry for %.0f hours before judging it, in the light in which the print will hang.", c.DryHours)
	}
	p("")
	p("The pieces, row by row from the top left")
	for i, q := range o.Pieces() {
		p("%3d  %s: %s", i+1, q.Pin, q.Way.Name())
		if q.Way.Detail != "" {
			p("     %s", q.Way.Detail)
		}
		p("     %s", way(q.Way.Plan))
	}
	p("")
	p("Pieces with a mistake are on the strip to show what it looks like; they are no proposal.")
	return b.String()
}

// way is a plan's route in one line.
func way(plan proof.Plan) string {
	var parts []string
	for _, s := range plan.Route().Stations {
		if s.Kind == proof.ScreenStation {
			continue
		}
		t := s.Title + " (" + s.Detail + ")"
		if s.Fault != proof.NoFault {
			t += " [" + s.Trouble() + "]"
		}
		parts = append(parts, t)
	}
	return strings.Join(parts, " > ")
}
