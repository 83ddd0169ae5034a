package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

func proofCommand() command {
	return command{
		name: "proof", args: "PHOTO -paper ID|FILE -out FILE.png|.jpg|.tif [-reach FILE.png] [-figures FILE.json] [flags]",
		help: `The proof of a photograph at full size, its reach map and its figures.

-out is the picture as this screen shows the print, with the screen's profile
embedded. -reach is the picture in pale grey under the reach bands, hatched where it
is darker than the paper's black. -figures are the figures, the route and all that
was assumed. Without -source the numbers are what the file says they are.
The files appear all together or, when anything fails, not at all.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			p := &proofJob{spare: raster.NewSpare[uint8]()}
			p.flags.define(f)
			f.StringVar(&p.flags.count, "countwhite", "off", "count the paper's white in the figures: `on|off`")
			f.StringVar(&p.out, "out", "", "write the proof to `FILE`")
			f.StringVar(&p.reach, "reach", "", "write the reach map to `FILE.png`")
			f.StringVar(&p.figures, "figures", "", "write the figures to `FILE.json`")
			return p.run
		},
	}
}

type proofJob struct {
	flags               setupFlags
	photo               string
	out, reach, figures string

	set     setup.Setup
	reading *photo.Reading
	source  setup.Source
	plan    proof.Plan
	strips  *proof.Strips
	found   proof.Figures
	spare   raster.Spare[uint8] // of bands that have been packed
	blackL  float64             // of the paper
	screenL float64             // of the screen's black, where it counts

	files                           aside.Files
	outAside, reachAside, figsAside string
}

func (j *proofJob) run(ctx context.Context, args []string, s streams) error {
	if err := j.check(args); err != nil {
		return err
	}
	defer j.files.Discard()
	if err := j.claim(); err != nil {
		return err
	}
	engine := proof.NewEngine()
	defer engine.Close()
	if err := j.prepare(ctx, engine); err != nil {
		return err
	}
	defer j.reading.Close()
	if err := j.show(ctx); err != nil {
		return err
	}
	var err error
	if j.found, err = j.strips.Figures(ctx); err != nil {
		return err
	}
	report := j.report()
	if j.figures != "" {
		if err := writeJSONFile(j.figsAside, report); err != nil {
			return at(j.figures, err)
		}
	}
	if err := errors.Join(j.tell(s.out, report), ctx.Err()); err != nil {
		return err
	}
	return j.files.Commit()
}

// check looks at the command line alone.
func (j *proofJob) check(args []string) error {
	if len(args) != 1 {
		return misused("one photograph is wanted, not %d", len(args))
	}
	j.photo = args[0]
	if j.out == "" && j.reach == "" && j.figures == "" {
		return misused("-out is missing")
	}
	for _, o := range []struct {
		name, path string
		endings    []string
	}{
		{"out", j.out, []string{".png", ".jpg", ".jpeg", ".tif", ".tiff"}},
		{"reach", j.reach, []string{".png"}},
		{"figures", j.figures, []string{".json"}},
	} {
		if o.path != "" && !slices.Contains(o.endings, strings.ToLower(filepath.Ext(o.path))) {
			return misused("-%s is %q, which does not end in %s", o.name, o.path, strings.Join(o.endings, ", "))
		}
	}
	var err error
	if j.set, err = j.flags.setup(); err != nil {
		return err
	}
	j.set.CountWhite, err = onOff("countwhite", j.flags.count)
	return err
}

// prepare opens what is named and samples the plan.
func (j *proofJob) prepare(ctx context.Context, engine *proof.Engine) error {
	// The paper first: a mistyped name should not wait for a large picture.
	if _, err := openLibrary(j.flags.library).Resolve(j.set.Paper); err != nil {
		return err
	}
	var err error
	if j.reading, err = photo.Begin(ctx, j.photo); err != nil {
		return err
	}
	if err := j.sample(ctx, engine); err != nil {
		j.reading.Close()
		return naming(j.photo, err)
	}
	return nil
}

// sample finds what the picture's numbers are and samples the plan.
func (j *proofJob) sample(ctx context.Context, engine *proof.Engine) error {
	var err error
	if j.source, err = sourceOf(j.reading.Picture, j.set.Source); err != nil {
		return err
	}
	j.set.Source = ""
	if j.plan, err = j.flags.plan(j.set, j.source.Profile); err != nil {
		return err
	}
	chain, err := engine.Chain(j.plan)
	if err != nil {
		return err
	}
	j.blackL, j.screenL = chain.PaperBlack().L, chain.ScreenBlack()
	chain.Close()
	p := j.reading.Picture
	j.strips, err = engine.Strips(ctx, j.plan, p.W, p.H, p.Depth == 16)
	return err
}

// naming puts the file into an error that does not name it.
func naming(path string, err error) error {
	if err == nil || errors.Is(err, context.Canceled) || strings.Contains(err.Error(), path) {
		return err
	}
	return fmt.Errorf("%s: %w", path, err)
}

// claim finds out before anything is computed whether the outputs can appear.
func (j *proofJob) claim() error {
	j.files.Keep = []string{j.photo, j.flags.paper, j.flags.source, j.flags.screen, j.flags.reads, j.flags.other}
	for _, o := range []struct {
		path  string
		aside *string
	}{{j.out, &j.outAside}, {j.reach, &j.reachAside}, {j.figures, &j.figsAside}} {
		if o.path == "" {
			continue
		}
		var err error
		if *o.aside, err = j.files.Claim(o.path); err != nil {
			return err
		}
	}
	return nil
}

// show proofs and counts all strips and writes the pictures aside. Strips are read, proofed
// and packed at the same time, and none is kept. The map's lines and hatching look around, so
// that it takes the picture as a whole.
func (j *proofJob) show(ctx context.Context) error {
	if j.reach != "" {
		if err := j.reading.Whole(ctx); err != nil {
			return err
		}
	}
	p := j.reading.Picture
	shown := photo.Rows{W: p.W, H: p.H, Channels: 3, Depth: 8, ICC: j.plan.Screen.Data(), Padded: true, Band: j.band, Done: func(px raster.Pixels) { j.spare.Put(px.P8) }}
	if j.out != "" {
		if err := photo.WriteRows(ctx, j.outAside, shown, photo.WriteOptions{}); err != nil {
			return at(j.out, err)
		}
	} else if err := shown.Make(ctx); err != nil {
		return at("", err)
	}
	if j.reach != "" {
		return at(j.reach, j.writeReach(ctx, j.reachAside, j.source.Numbers(p.Pixels())))
	}
	return nil
}

// band returns rows of the proof, without their pixels where only figures are wanted.
func (j *proofJob) band(ctx context.Context, y0, y1 int) (raster.Pixels, error) {
	px := raster.Pixels{W: j.reading.W, H: y1 - y0, Channels: 4}
	if j.out != "" {
		px.P8 = j.spare.Get(4 * px.W * px.H)
	}
	return px, j.strip(ctx, px.P8, y0, y1)
}

// strip reads, proofs and counts rows. dst may be nil.
func (j *proofJob) strip(ctx context.Context, dst []uint8, y0, y1 int) error {
	px, alpha, err := j.reading.Rows(ctx, y0, y1)
	if err != nil {
		return &unread{err}
	}
	defer j.reading.Done(px)
	return j.strips.Proof(ctx, dst, y0, j.source.Numbers(px), alpha)
}

// unread is an error of the photograph that was met while an output was written.
type unread struct{ err error }

func (e *unread) Error() string { return e.err.Error() }
func (e *unread) Unwrap() error { return e.err }

// at says of which output an error is that speaks of the file aside.
func at(path string, err error) error {
	if err == nil || errors.Is(err, context.Canceled) {
		return err
	}
	if e, ok := errors.AsType[*unread](err); ok {
		return e.err
	}
	if e, ok := errors.AsType[*photo.Error](err); ok {
		return &photo.Error{Path: path, Kind: e.Kind, Err: e.Err}
	}
	if _, named := errors.AsType[*aside.Error](err); named {
		return err
	}
	return fmt.Errorf("%s: %w", path, aside.Bare(err))
}

// tell sums up for whoever sits at the terminal.
func (j *proofJob) tell(w io.Writer, r proofReport) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", j.plan)
	fmt.Fprintf(&b, "out of reach (ΔE00 2 and more) %.1f %%, darker than the paper %.1f %%, ΔE00 mean %.2f, 95th percentile %.2f, largest %.2f\n",
		j.found.Outside(2)*100, j.found.Darker*100, j.found.Mean, j.found.P95, j.found.Max)
	for _, n := range append(append([]string(nil), r.Assumptions...), r.Notes...) {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
