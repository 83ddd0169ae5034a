// Command shifts writes proof/slip/SHIFTS.md: what each slip does to each pin of
// the demo picture on each demo paper, computed by the exact chain.
//
//	go run ./proof/slip/shifts > proof/slip/SHIFTS.md
package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"

	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
)

func main() {
	if err := write(os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "shifts:", err)
		os.Exit(1)
	}
}

// spot is a pin's pixels.
type spot struct {
	name    string
	numbers []float64
}

// finder finds the demo picture's profile and the built-in papers.
type finder struct{ setup.Files }

func (f finder) Paper(ref string) (paper.Paper, error) {
	for _, p := range paper.All() {
		if p.ID == ref {
			return p, nil
		}
	}
	return paper.Paper{}, fmt.Errorf("no built-in paper is called %q", ref)
}

// wrongPaper names, for each paper, the one whose profile is taken by mistake: a
// glossy one for a matte one and the other way round.
var wrongPaper = map[string]string{"cotton": "pearl", "pearl": "cotton", "gloss": "cotton", "washi": "pearl"}

const head = `# What each slip does to the demo picture

Made by ` + "`go run ./proof/slip/shifts > proof/slip/SHIFTS.md`" + `; do not edit. The demo picture's numbers are ROMM RGB. Each cell
tells the print against the original: the turn of the CIELAB hue in degrees (positive from red towards yellow, a dot where
either colour is nearly neutral, C* below 8), the change of C* and of L*, relative to the paper's white; relative
colorimetric, black point compensation on, by the exact chain, averaged over each pin.

`

func write(w io.Writer) error {
	spots, source, err := demo()
	if err != nil {
		return err
	}
	find := finder{setup.Files{Picture: source}}
	engine := proof.NewEngine()
	defer engine.Close()
	fmt.Fprint(w, head)
	for _, p := range paper.All() {
		fmt.Fprintf(w, "## %s\n\n| route |", p.Name)
		for _, s := range spots {
			fmt.Fprintf(w, " %s |", s.name)
		}
		fmt.Fprint(w, "\n| --- |")
		for range spots {
			fmt.Fprint(w, " --- |")
		}
		fmt.Fprintln(w)
		for _, row := range rows(p) {
			if err := writeRow(w, engine, find, row, spots); err != nil {
				return fmt.Errorf("%s, %s: %w", p.Name, row.name, err)
			}
		}
		fmt.Fprintln(w)
	}
	return nil
}

type row struct {
	name string
	set  setup.Setup
}

// rows returns the right way and every slip on a paper.
func rows(p paper.Paper) []row {
	right := setup.Usual(p.ID)
	all := []row{{"as it should be", right}}
	add := func(name, id string, change func(*setup.Setup)) {
		s := right
		s.Slips = id
		change(&s)
		all = append(all, row{name, s})
	}
	for _, s := range slip.All() {
		switch {
		case s.NeedsReads:
			add(s.Name+": taken for sRGB", s.ID, func(s *setup.Setup) { s.Reads = "srgb" })
		case s.NeedsPaper:
			add(s.Name+": "+wrongPaper[p.ID], s.ID, func(s *setup.Setup) { s.Other = wrongPaper[p.ID] })
		case s.NeedsSetting:
			for _, wrong := range p.Settings {
				add(s.Name+": "+wrong.Name, s.ID, func(s *setup.Setup) { s.Setting = wrong.ID })
			}
		case !s.OnScreen:
			add(s.Name, s.ID, func(*setup.Setup) {})
		}
	}
	return all
}

func writeRow(w io.Writer, engine *proof.Engine, find setup.Finder, r row, spots []spot) error {
	plan, err := r.set.Plan(find)
	if err != nil {
		return err
	}
	chain, err := engine.Chain(plan)
	if err != nil {
		return err
	}
	defer chain.Close()
	fmt.Fprintf(w, "| %s |", r.name)
	for _, s := range spots {
		values := make([]proof.Value, len(s.numbers)/plan.Source.Channels())
		if err := chain.Values(values, s.numbers); err != nil {
			return err
		}
		original, print := make([]cie.Lab, len(values)), make([]cie.Lab, len(values))
		for i, v := range values {
			original[i], print[i] = v.Original, v.Relative
		}
		from, err := pin.Average(original)
		if err != nil {
			return err
		}
		to, err := pin.Average(print)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, " %s |", shift(from.Lab.LCh(), to.Lab.LCh()))
	}
	fmt.Fprintln(w)
	return nil
}

// shift tells hue, chroma and lightness of a step in whole units.
func shift(from, to cie.LCh) string {
	hue := "·"
	if from.C >= 8 && to.C >= 8 {
		hue = signed(cie.HueTurn(from.H, to.H)) + "°"
	}
	return fmt.Sprintf("%s, %s, %s", hue, signed(to.C-from.C), signed(to.L-from.L))
}

func signed(v float64) string {
	if v = math.Round(v); v == 0 {
		return "0"
	}
	return fmt.Sprintf("%+.0f", v)
}

// demo returns the demo picture's pins as numbers, and what those numbers are.
func demo() ([]spot, *proof.Profile, error) {
	picture, err := photo.OpenReader(context.Background(), "regatta.jpg", bytes.NewReader(assets.RegattaJPEG()))
	if err != nil {
		return nil, nil, err
	}
	source, err := setup.SourceOf(picture, nil)
	if err != nil {
		return nil, nil, err
	}
	pins, err := assets.RegattaPins()
	if err != nil {
		return nil, nil, err
	}
	var spots []spot
	for _, p := range pins {
		s := spot{name: p.Name}
		for _, q := range (pin.Pin{X: p.X, Y: p.Y, Radius: p.Radius}).Pixels(picture.W, picture.H) {
			s.numbers = append(s.numbers, picture.At(q.X, q.Y)...)
		}
		spots = append(spots, s)
	}
	return spots, source.Profile, nil
}
