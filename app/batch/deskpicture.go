package main

import (
	"context"
	"flag"
	"fmt"
	"image"
	"image/color"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/tableau"
	"firstsheet/proof/ticket"
	"firstsheet/proof/words"
)

func deskCommand() command {
	return command{
		name: "desk", args: "PHOTO -sheets SHEET,SHEET... -out FILE.png|.jpg|.tif [flags]",
		help: `One to four sheets side by side as one picture, with legends, pins and a sentence.

A sheet is "original", or PAPER[:INTENT[:on|off]], such as pearl:perceptual:off; intent
and compensation are relative and on where they are left out. The picture is in the
screen's space, whose profile is embedded; the caution stands in its foot line.`,
		define: func(f *flag.FlagSet) func(context.Context, []string, streams) error {
			j := &deskJob{}
			spaces := strings.Join(spaceIDs(), "|")
			f.StringVar(&j.source, "source", "", "what the numbers are: `"+spaces+"|FILE`")
			f.StringVar(&j.sheets, "sheets", "", "the sheets, joined by commas: `original|PAPER[:INTENT[:on|off]]`")
			f.StringVar(&j.white, "white", "screen", "the white that prints are seen against: `paper|screen`")
			f.StringVar(&j.screen, "screen", "srgb", "the screen's profile: `"+spaces+"|FILE`")
			f.StringVar(&j.pins, "pins", "", "pins to mark, `FILE.json` of name, x, y and radius")
			f.IntVar(&j.side, "side", 1200, "longer side of each picture in `PIXELS`")
			f.StringVar(&j.out, "out", "", "write the picture to `FILE`")
			defineLibrary(f, &j.library)
			return j.run
		},
	}
}

type deskJob struct {
	source, sheets, white, screen, pins, out, library string
	side                                              int

	sets   []setup.Setup
	marked []pin.Pin
	photo  setup.Source
	small  raster.Pixels
	shown  *proof.Profile
}

func (j *deskJob) run(ctx context.Context, args []string, s streams) error {
	if len(args) != 1 {
		return misused("one photograph is wanted, not %d", len(args))
	}
	if err := j.check(); err != nil {
		return err
	}
	var err error
	if j.marked, err = readPins(j.pins); err != nil {
		return err
	}
	engine := proof.NewEngine()
	defer engine.Close()
	img, err := j.draw(ctx, engine, args[0])
	if err != nil {
		return naming(args[0], err)
	}
	return photo.WriteRows(ctx, j.out, photo.Painted(img, j.shown.Data()), photo.WriteOptions{Keep: []string{args[0], j.pins, j.source, j.screen}})
}

// readPins reads a file of pins; "" has none.
func readPins(path string) (pins []pin.Pin, err error) {
	if path == "" {
		return nil, nil
	}
	data, err := readText(path)
	if err != nil {
		return nil, err
	}
	pins, err = pin.ReadList(data)
	return pins, naming(path, err)
}

// check reads the command line.
func (j *deskJob) check() error {
	if ext := strings.ToLower(filepath.Ext(j.out)); !slices.Contains([]string{".png", ".jpg", ".jpeg", ".tif", ".tiff"}, ext) {
		return misused("-out is %q, which does not end in .png, .jpg or .tif", j.out)
	}
	if j.side < 100 || j.side > 8000 {
		return misused("-side is %d, not 100 to 8000", j.side)
	}
	list := listed(j.sheets)
	if len(list) == 0 || len(list) > tableau.MaxSheets {
		return misused("-sheets names %d sheets, want 1 to %d", len(list), tableau.MaxSheets)
	}
	for _, text := range list {
		set, err := j.sheet(text)
		if err != nil {
			return err
		}
		j.sets = append(j.sets, set)
	}
	return nil
}

// sheet reads one sheet's choices.
func (j *deskJob) sheet(text string) (setup.Setup, error) {
	set := setup.Setup{Screen: j.screen}
	switch j.white {
	case "paper":
		set.White = proof.PaperWhite
	case "screen":
	default:
		return set, misused("-white is %q, not paper or screen", j.white)
	}
	if text == "original" {
		return set, nil
	}
	// A path may hold a colon: intent and compensation are cut off from the end.
	intent, bpc := "relative", "on"
	rest := text
	if cut := strings.LastIndexByte(rest, ':'); cut >= 0 && (rest[cut+1:] == "on" || rest[cut+1:] == "off") {
		rest, bpc = rest[:cut], rest[cut+1:]
	}
	if cut := strings.LastIndexByte(rest, ':'); cut >= 0 {
		if _, err := proof.ParseIntent(rest[cut+1:]); err == nil {
			rest, intent = rest[:cut], rest[cut+1:]
		}
	}
	var err error
	if set.Intent, err = proof.ParseIntent(intent); err != nil {
		return set, err
	}
	set.Paper, set.BPC = rest, bpc == "on"
	return set, nil
}

// draw renders the sheets and lays them out.
func (j *deskJob) draw(ctx context.Context, engine *proof.Engine, path string) (*image.RGBA, error) {
	var err error
	if j.photo, err = openPhoto(ctx, path, j.source); err != nil {
		return nil, err
	}
	px := j.photo.Pixels()
	f := min(float64(j.side)/float64(max(px.W, px.H)), 8)
	w, h := max(1, int(math.Round(float64(px.W)*f))), max(1, int(math.Round(float64(px.H)*f)))
	if j.small, err = printfile.Resize(ctx, engine, j.photo.Profile, px, w, h); err != nil {
		return nil, err
	}
	d := tableau.Desk{Foot: tableau.Caution}
	var told []string
	for _, set := range j.sets {
		s, said, err := j.render(ctx, engine, set)
		if err != nil {
			return nil, err
		}
		d.Sheets = append(d.Sheets, s)
		if said != "" {
			told = append(told, said)
		}
	}
	d.Sentence = strings.Join(told, " ")
	for i, p := range j.marked {
		d.Marks = append(d.Marks, tableau.Mark{Name: p.Name, X: p.X, Y: p.Y})
		d.Foot = fmt.Sprintf("%d %s. ", i+1, p.Name) + d.Foot
	}
	return tableau.Draw(d)
}

// render makes one sheet and what is told of it.
func (j *deskJob) render(ctx context.Context, engine *proof.Engine, set setup.Setup) (s tableau.Sheet, told string, err error) {
	plan, err := set.Plan(setup.Files{Library: openLibrary(j.library), Picture: j.photo.Profile})
	if err != nil {
		return s, "", err
	}
	j.shown = plan.Screen
	grid, err := engine.Grid(ctx, plan, proof.Fine)
	if err != nil {
		return s, "", err
	}
	s.Picture = image.NewRGBA(image.Rect(0, 0, j.small.W, j.small.H))
	if err := grid.Proof(ctx, s.Picture.Pix, j.small); err != nil {
		return s, "", err
	}
	if plan.Paper == nil {
		s.Title, s.Legend = tableau.Legend(plan, nil)
		s.Legend[0] += ", " + j.photo.Origin.String()
		s.Paper = color.RGBA{255, 255, 255, 255}
		return s, "", nil
	}
	figures, err := engine.Count(ctx, plan, proof.NewPicture(j.photo.Pixels(), j.photo.Picture.Alpha), nil)
	if err != nil {
		return s, "", err
	}
	ground, err := engine.Ground(plan)
	if err != nil {
		return s, "", err
	}
	s.Paper = raster.RGBA(ground)
	s.Title, s.Legend = tableau.Legend(plan, &figures)
	told, err = j.tell(engine, plan, figures)
	return s, told, err
}

// tell says of a sheet what its most changed pin does, or what of the picture it keeps.
func (j *deskJob) tell(engine *proof.Engine, plan proof.Plan, f proof.Figures) (string, error) {
	if len(j.marked) == 0 {
		return fmt.Sprintf("%s can print %s of this picture within ΔE00 2.", plan.Paper.Name(), words.Share(1-f.Outside(2)-f.Darker)), nil
	}
	chain, err := engine.Chain(plan)
	if err != nil {
		return "", err
	}
	defer chain.Close()
	px := j.photo.Pixels()
	var worst words.Change
	name := ""
	for _, p := range j.marked {
		c, err := ticket.Compare(chain, px, p)
		if err != nil {
			return "", err
		}
		if name == "" || c.DeltaE00 > worst.DeltaE00 {
			worst, name = c, p.Name
		}
	}
	return worst.OnSheet(plan.Paper.Name(), name) + ".", nil
}
