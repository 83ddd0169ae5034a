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
			p := &proofJob{}
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
	source  setup.Source
	plan    proof.Plan
	grid    *proof.Grid
	found   proof.Figures
	blackL  float64 // of the paper
	screenL float64 // of the screen's black, where it counts

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
	pixels := j.source.Pixels()
	var err error
	if j.found, err = engine.Count(ctx, j.plan, proof.NewPicture(pixels, j.source.Picture.Alpha), nil); err != nil {
		return err
	}
	report := j.report()
	if err := j.write(ctx, pixels, report); err != nil {
		return err
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
	if j.source, err = openPhoto(ctx, j.photo, j.set.Source); err != nil {
		return err
	}
	j.set.Source = ""
	if j.plan, err = j.flags.plan(j.set, j.source.Profile); err != nil {
		return naming(j.photo, err)
	}
	chain, err := engine.Chain(j.plan)
	if err != nil {
		return naming(j.photo, err)
	}
	j.blackL, j.screenL = chain.PaperBlack().L, chain.ScreenBlack()
	chain.Close()
	if j.out != "" || j.reach != "" { // figures need none
		j.grid, err = engine.Grid(ctx, j.plan, proof.Fine)
	}
	return naming(j.photo, err)
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

// write writes the outputs aside.
func (j *proofJob) write(ctx context.Context, pixels raster.Pixels, report proofReport) error {
	if j.figures != "" {
		if err := writeJSONFile(j.figsAside, report); err != nil {
			return at(j.figures, err)
		}
	}
	if j.out != "" || j.reach != "" {
		shown := make([]uint8, pixels.W*pixels.H*4)
		if err := j.grid.Proof(ctx, shown, pixels); err != nil {
			return err
		}
		if j.reach != "" {
			if err := j.writeReach(ctx, j.reachAside, shown, pixels); err != nil {
				return at(j.reach, err)
			}
		}
		if j.out != "" {
			picture := opaque(shown, pixels.W, pixels.H, j.plan.Screen.Data())
			if err := photo.Write(ctx, j.outAside, picture, photo.WriteOptions{}); err != nil {
				return at(j.out, err)
			}
		}
	}
	return nil
}

// at says of which output an error is that speaks of the file aside.
func at(path string, err error) error {
	if errors.Is(err, context.Canceled) {
		return err
	}
	if e, ok := errors.AsType[*photo.Error](err); ok {
		return &photo.Error{Path: path, Kind: e.Kind, Err: e.Err}
	}
	if _, named := errors.AsType[*aside.Error](err); named {
		return err
	}
	return fmt.Errorf("%s: %w", path, aside.Bare(err))
}

// opaque makes a picture of red, green, blue and an alpha that does not matter,
// using their memory.
func opaque(rgba []uint8, w, h int, profile []byte) *photo.Picture {
	rgb := rgba[:w*h*3]
	for i := range w * h {
		copy(rgb[3*i:3*i+3], rgba[4*i:4*i+3])
	}
	return &photo.Picture{W: w, H: h, Channels: 3, Depth: 8, Pix8: rgb, ICC: profile}
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
