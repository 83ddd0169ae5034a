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
	"time"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/printfile"
	"firstsheet/proof/printrun"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
)

func printCommand() command {
	return command{
		name: "print", args: "PHOTO... -paper ID|FILE -long LENGTH -out FILE.tif|.png|.jpg | -ticket FILE.json -out DIR  [flags]",
		help: `The print file of a photograph, or of many through one job ticket.

One photograph: -out is the file; its size is told by -long, -short or -sheet. With
-converts here it holds the paper's own numbers, and everything behind it must leave
them alone; with later it keeps its space, and exactly one link behind it converts.
Many photographs, or folders of them: every choice comes from -ticket, -out is a folder,
each file gets its ticket beside it. Files that are already right are passed over. One
that fails is named, the others are done, and the command ends with 1.
Lengths are such as 400mm, 40cm or 15.75in.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			j := &printCommandLine{}
			j.define(f)
			return j.run
		},
	}
}

// printCommandLine are the flags of one run.
type printCommandLine struct {
	source, paper, intent, bpc, library   string
	converts, driver                      string
	long, short, sheet, margin, border    string
	fill                                  bool
	ppi                                   float64
	turn, depth, quality                  int
	crop, keep, sharpen, finish, distance string
	dither, packing, metadata             string
	out, ticketIn, ticketOut, pins        string
	untagged                              string
	jobs                                  int
	given                                 func() []string // names of the flags on the line
}

func (j *printCommandLine) define(f *flag.FlagSet) {
	spaces := strings.Join(spaceIDs(), "|")
	f.StringVar(&j.source, "source", "", "what the numbers are: `"+spaces+"|FILE`")
	f.StringVar(&j.paper, "paper", "", "the paper: `ID|FILE`")
	f.StringVar(&j.intent, "intent", "relative", "rendering intent: `perceptual|relative|saturation|absolute`")
	f.StringVar(&j.bpc, "bpc", "on", "black point compensation: `on|off`")
	f.StringVar(&j.converts, "converts", "here", "who converts to the paper's numbers: `here|later`")
	f.StringVar(&j.driver, "driver", "unknown", "what is set behind this program: `unknown|off|converts`")
	f.StringVar(&j.long, "long", "", "the picture's longer edge: `LENGTH`")
	f.StringVar(&j.short, "short", "", "the picture's shorter edge: `LENGTH`")
	f.StringVar(&j.sheet, "sheet", "", "the sheet: `A4|A3+|Letter|...|300x400mm|roll 610mm`; it is the size, too, where none is given")
	f.StringVar(&j.margin, "margin", "0mm", "white at the sheet's edges: `LENGTH`")
	f.BoolVar(&j.fill, "fill", false, "crop the picture to the shape inside the margins")
	f.StringVar(&j.border, "border", "0mm", "bare paper around the picture, part of the file: `LENGTH`")
	f.Float64Var(&j.ppi, "ppi", 300, "the file's pixels an inch; `0` keeps the picture's own pixels")
	f.IntVar(&j.turn, "turn", 0, "quarter turns clockwise: `0|1|2|3`")
	f.StringVar(&j.crop, "crop", "", "the part that is printed, fractions of the turned picture: `X,Y,W,H`")
	f.StringVar(&j.keep, "keep", "", "with -fill, which part of the picture stays: `X,Y`, each from -1 (left, top) over 0 (middle) to 1")
	f.StringVar(&j.sharpen, "sharpen", "auto", "output sharpening on lightness: `off|auto`")
	f.StringVar(&j.finish, "finish", "", "the paper's surface for it: `matte|pearl|gloss`; what the paper's card says when left out")
	f.StringVar(&j.distance, "distance", "", "from where the print is looked at: `LENGTH`")
	f.IntVar(&j.depth, "depth", 0, "bits: `8|16`; 16 when left out, 8 in a JPEG")
	f.StringVar(&j.dither, "dither", "on", "dither 8 bits, so that skies do not band: `on|off`")
	f.IntVar(&j.quality, "quality", 0, "of a JPEG, `1 to 100`; 98 when left out")
	f.StringVar(&j.packing, "packing", "ZIP", "of a TIFF: `ZIP|LZW`")
	f.StringVar(&j.metadata, "metadata", "all but the place", "camera data that go along: `all|all but the place|nothing`")
	f.StringVar(&j.out, "out", "", "the print `FILE`, or with -ticket the folder")
	f.StringVar(&j.ticketIn, "ticket", "", "print as the job ticket `FILE.json` says")
	f.StringVar(&j.ticketOut, "record", "", "write the job ticket to `FILE.json|.pdf`")
	f.StringVar(&j.pins, "pins", "", "pins whose colours go into the job ticket, `FILE.json` of name, x, y and radius")
	f.StringVar(&j.untagged, "untagged", "", "with -ticket, what photographs are whose files do not say so: `ID|FILE`; sRGB when left out")
	f.IntVar(&j.jobs, "jobs", 1, "how many photographs are worked on at once, with -ticket: `N`; each takes up to 1 GB")
	defineLibrary(f, &j.library)
	j.given = func() (names []string) {
		f.Visit(func(g *flag.Flag) { names = append(names, g.Name) })
		return names
	}
}

func (j *printCommandLine) run(ctx context.Context, args []string, s streams) error {
	switch {
	case len(args) == 0:
		return misused("a photograph is missing")
	case j.out == "":
		return misused("-out is missing")
	case j.jobs < 1 || j.jobs > 64:
		return misused("-jobs is %d, not 1 to 64", j.jobs)
	case j.ticketIn != "":
		return j.many(ctx, args, s)
	case len(args) != 1:
		return misused("%d photographs need a -ticket and a folder", len(args))
	}
	for _, name := range j.given() {
		if ofMany(name) {
			return misused("-%s is given, and it goes with -ticket", name)
		}
		if name == "quality" && j.quality == 0 {
			return misused("-quality is 0, not 1 to 100")
		}
	}
	job, err := j.job()
	if err != nil {
		return err
	}
	if ext := strings.ToLower(filepath.Ext(j.out)); !slices.Contains([]string{".tif", ".tiff", ".png", ".jpg", ".jpeg"}, ext) {
		return misused("-out is %q, which does not end in .tif, .png or .jpg", j.out)
	}
	if j.ticketOut != "" && !slices.Contains([]string{".json", ".pdf"}, strings.ToLower(filepath.Ext(j.ticketOut))) {
		return misused("-record is %q, which does not end in .json or .pdf", j.ticketOut)
	}
	engine := proof.NewEngine()
	defer engine.Close()
	return j.one(ctx, engine, args[0], job, s)
}

// job returns the choices that the flags name, or a usage error.
func (j *printCommandLine) job() (printfile.Job, error) {
	flags := setupFlags{source: j.source, paper: j.paper, intent: j.intent, bpc: j.bpc, white: "screen", second: "perceptual", slips: "none"}
	set, err := flags.setup()
	if err != nil {
		return printfile.Job{}, err
	}
	job := printfile.Job{Setup: set, PPI: j.ppi, Depth: j.depth, Quality: j.quality, Turn: uint8(j.turn & 0xFF)}
	for _, w := range []struct {
		name, word string
		into       interface{ UnmarshalText([]byte) error }
	}{
		{"converts", j.converts, &job.Converts}, {"driver", j.driver, &job.Driver},
		{"packing", strings.ToUpper(j.packing), &job.Packing}, {"metadata", j.metadata, &job.Metadata},
	} {
		if err := w.into.UnmarshalText([]byte(w.word)); err != nil {
			return job, misused("-%s is %q, which it cannot be", w.name, w.word)
		}
	}
	if j.finish != "" {
		if err := job.Sharpen.Finish.UnmarshalText([]byte(j.finish)); err != nil {
			return job, misused("-finish is %q, not matte, pearl or gloss", j.finish)
		}
	}
	switch j.sharpen {
	case "auto":
		job.Sharpen.On = true
	case "off":
	default:
		return job, misused("-sharpen is %q, not off or auto", j.sharpen)
	}
	dither, err := onOff("dither", j.dither)
	if err != nil {
		return job, err
	}
	job.Plain = !dither
	if err := j.size(&job); err != nil {
		return job, err
	}
	if err := job.Check(); err != nil {
		return job, misused("%s", strings.TrimPrefix(err.Error(), "printfile: "))
	}
	return job, nil
}

// size reads the measures.
func (j *printCommandLine) size(job *printfile.Job) error {
	length := func(name, text string, into *float64) error {
		if text == "" || strings.TrimLeft(text, "0.") == "" || text == "0mm" {
			return nil
		}
		mm, err := printfile.ParseLength(text)
		if err != nil {
			return misused("-%s is %q, no length such as 400mm, 40cm or 15.75in", name, text)
		}
		*into = mm
		return nil
	}
	var long, short, margin float64
	for _, l := range []struct {
		name, text string
		into       *float64
	}{{"long", j.long, &long}, {"short", j.short, &short}, {"margin", j.margin, &margin}, {"border", j.border, &job.Border}, {"distance", j.distance, &job.Distance}} {
		if err := length(l.name, l.text, l.into); err != nil {
			return err
		}
	}
	if j.sheet != "" {
		sheet, err := printfile.ParseSheet(j.sheet)
		if err != nil {
			return misused("-sheet is %q, no sheet such as A3, A3+, Letter, 300x400mm or roll 610mm", j.sheet)
		}
		job.Sheet = sheet
		job.Sheet.Margins = printfile.Even(margin)
	}
	switch {
	case long > 0 && short > 0:
		return misused("-long and -short are given both")
	case long > 0:
		job.Size = printfile.Size{By: printfile.LongEdge, Length: long}
	case short > 0:
		job.Size = printfile.Size{By: printfile.ShortEdge, Length: short}
	case j.sheet == "":
		return misused("-long is missing (or -short, or -sheet)")
	case j.fill:
		job.Size.By = printfile.FillSheet
	}
	if j.turn < 0 || j.turn > 3 {
		return misused("-turn is %d, not 0 to 3", j.turn)
	}
	if j.keep != "" {
		if n, err := fmt.Sscanf(j.keep, "%g,%g", &job.KeepX, &job.KeepY); err != nil || n != 2 {
			return misused("-keep is %q, not two figures X,Y", j.keep)
		}
	}
	if j.crop != "" {
		c := &job.Crop
		if n, err := fmt.Sscanf(j.crop, "%g,%g,%g,%g", &c.X, &c.Y, &c.W, &c.H); err != nil || n != 4 {
			return misused("-crop is %q, not four fractions X,Y,W,H", j.crop)
		}
	}
	return nil
}

// open reads a photograph and prepares its print.
func (j *printCommandLine) open(ctx context.Context, engine *proof.Engine, path string, job printfile.Job) (*printfile.Print, error) {
	library := openLibrary(j.library)
	// The paper first: a mistyped name should not wait for a large picture.
	if _, err := library.Resolve(job.Setup.Paper); err != nil {
		return nil, err
	}
	read, ref := openPhoto, job.Setup.Source
	if ref == "" {
		read, ref = openUntagged, j.untagged
	}
	source, err := read(ctx, path, ref)
	if err != nil {
		return nil, err
	}
	if source.Origin == setup.Given {
		job.Setup.Source = ref
	}
	p, err := printfile.Prepare(ctx, engine, setup.Files{Library: library, Picture: source.Profile}, source, job)
	return p, naming(path, err)
}

// one makes one print file and perhaps its ticket.
func (j *printCommandLine) one(ctx context.Context, engine *proof.Engine, path string, job printfile.Job, s streams) error {
	p, err := j.open(ctx, engine, path, job)
	if err != nil {
		return err
	}
	defer p.Close()
	files := aside.Files{Keep: []string{path, job.Setup.Paper, job.Setup.Source, j.pins}}
	defer files.Discard()
	file, err := files.Claim(j.out)
	if err != nil {
		return err
	}
	record := ""
	if j.ticketOut != "" {
		if record, err = files.Claim(j.ticketOut); err != nil {
			return err
		}
	}
	if err := p.Write(ctx, file, nil, nil); err != nil {
		return at(j.out, err)
	}
	if record != "" {
		t, err := j.record(ctx, engine, p, path, file)
		if err != nil {
			return naming(j.ticketOut, err)
		}
		if err := t.Write(ctx, record, nil); err != nil {
			return at(j.ticketOut, err)
		}
	}
	if err := errors.Join(j.tell(s.out, engine, p), ctx.Err()); err != nil {
		return err
	}
	return files.Commit()
}

// record makes the ticket of a print that was written to file.
func (j *printCommandLine) record(ctx context.Context, engine *proof.Engine, p *printfile.Print, picture, file string) (ticket.Ticket, error) {
	pins, err := readPins(j.pins)
	if err != nil {
		return ticket.Ticket{}, err
	}
	hash, err := ticket.Hash(ctx, picture)
	if err != nil {
		return ticket.Ticket{}, err
	}
	return ticket.New(ctx, engine, p, file, hash, pins, time.Now())
}

// tell sums up for whoever sits at the terminal.
func (j *printCommandLine) tell(w io.Writer, engine *proof.Engine, p *printfile.Print) error {
	l := p.Layout()
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d x %d pixels, %.1f x %.1f mm at %.0f ppi (the picture's own: %.0f ppi, good from %.0f cm)\n",
		j.out, l.FileW, l.FileH, l.File.W, l.File.H, l.PPI, l.TruePPI, l.Suits/10)
	for _, s := range p.Route().Stations {
		fmt.Fprintf(&b, "  %s: %s", s.Title, s.Detail)
		if s.Fault != proof.NoFault {
			fmt.Fprintf(&b, " [%s]", s.Trouble())
		}
		b.WriteByte('\n')
	}
	for _, x := range p.Warnings() {
		fmt.Fprintf(&b, "note: %s\n", x.Sentence)
	}
	// What the profile tells for certain is among the warnings.
	papers, _ := openLibrary(j.library).List()
	if v, err := printfile.Converted(engine, p.Source(), papers); err != nil {
		return err
	} else if v.Converted && !v.Certain {
		fmt.Fprintf(&b, "note: %s\n", v.Why)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// ofMany tells the flags that go with -ticket alone.
func ofMany(name string) bool { return name == "jobs" || name == "untagged" }

// many prints photographs through one ticket.
func (j *printCommandLine) many(ctx context.Context, args []string, s streams) error {
	for _, name := range j.given() {
		if !ofMany(name) && !slices.Contains([]string{"ticket", "out", "library"}, name) {
			return misused("-%s is given, and with -ticket every choice comes from there", name)
		}
	}
	t, err := ticket.Open(j.ticketIn)
	if err != nil {
		return err
	}
	photos, err := printrun.Photographs(args)
	if err != nil {
		return err
	}
	stock, err := openLibrary(j.library).Resolve(t.Job.Setup.Paper)
	if err != nil {
		return err
	}
	for _, c := range t.Changes("", stock.Profile) {
		fmt.Fprintf(s.err, "note: %s\n", c)
	}
	engine := proof.NewEngine()
	defer engine.Close()
	r := printrun.Run{
		Ticket: t, ProfileID: stock.Profile.ID(), Dir: j.out, Jobs: j.jobs, Engine: engine,
		Open: func(ctx context.Context, path string, job printfile.Job) (*printfile.Print, error) {
			return j.open(ctx, engine, path, job)
		},
		Untagged: j.untagged,
		Keep:     []string{j.ticketIn, t.Job.Setup.Paper, t.Job.Setup.Source, j.untagged},
	}
	return r.Do(ctx, photos, func(x printrun.Result) {
		switch {
		case x.Err != nil:
			fmt.Fprintf(s.err, "%d of %d: %s: %s\n", x.Done, x.Total, x.Path, oneLine(x.Err))
		case x.Kept:
			fmt.Fprintf(s.out, "%d of %d: %s is already right\n", x.Done, x.Total, x.Path)
		default:
			fmt.Fprintf(s.out, "%d of %d: %s\n", x.Done, x.Total, x.Path)
		}
	})
}
