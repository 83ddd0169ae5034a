package lesson

import (
	"context"
	"fmt"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/words"
)

// Rewritten is a picture's colours written as another space's numbers.
type Rewritten struct {
	// ID is the space's, "" for none, and Name what it is called.
	ID, Name string
	plan     proof.Plan // shows the picture on a screen that has that space
}

// Levels writes a picture in the other space's numbers, at the size that a projector of
// 4K shows, in 8 bits. Colours outside the space are clipped to it, as they are where a
// picture is saved in it.
func (r Rewritten) Levels(ctx context.Context, e Engine, levels []raster.Pixels) ([]raster.Pixels, error) {
	px := levels[0]
	for _, half := range levels[1:] {
		if max(half.W, half.H) < singleSide {
			break
		}
		px = half
	}
	img, err := render(ctx, e, r.plan, px)
	if err != nil {
		return nil, err
	}
	out := raster.New(px.W, px.H, 3, false)
	for i := range px.W * px.H {
		copy(out.P8[3*i:3*i+3], img.Pix[4*i:])
	}
	return raster.Levels(out), nil
}

// direction is what one and the same mistake, nobody converting, does to the same
// colour in numbers of two spaces.
type direction struct {
	to                 Rewritten
	from               string // the picture's own space
	wider              bool   // the picture's own is the wider one
	name               string // the mistake's
	own, other         Row
	set, otherSet      setup.Setup
	numbers, rewritten string // what the pin's numbers are in each
}

// noticeable is the least ΔE00 between two prints for a room to see which is which: the
// border of "clearly" in package words.
const noticeable = 4

// direction works out the pair for a pin. It is empty where an unconverted print is
// impossible, or alike for both.
func (k *maker) direction(ctx context.Context, row int) (direction, error) {
	d := direction{from: k.plan.Source.Name()}
	unconverted := -1
	for i, s := range k.tries {
		if len(s.Plan.Conversions) == 0 {
			unconverted = i
		}
	}
	if unconverted < 0 || k.plan.Source.Channels() != 3 {
		return d, nil
	}
	s := k.tries[unconverted]
	ref, wider, err := k.contrast()
	if err != nil || ref == "" {
		return d, err
	}
	d.wider, d.name, d.own, d.set, d.otherSet = wider, s.Name, s.Rows[row], s.Setup, s.Setup
	d.otherSet.Source = ref
	bare := k.Right.Original()
	bare.Screen, bare.Dim = ref, 0
	to, err := bare.Plan(k.Find)
	if err != nil {
		return d, err
	}
	rightSet := k.Right
	rightSet.Source = ref
	var right, wrong Colour
	for _, of := range []struct {
		set setup.Setup
		to  *Colour
	}{{rightSet, &right}, {d.otherSet, &wrong}} {
		plan, err := of.set.Plan(k.Find)
		if err == nil {
			*of.to, err = k.rewritten(ctx, to, plan, k.Pins[row])
		}
		if err != nil {
			return d, err
		}
	}
	d.other = Row{Pin: k.Pins[row].Name, Right: right, Wrong: wrong, Change: words.Compare(right.Seen, wrong.Seen)}
	d.numbers, d.rewritten = Numbers(d.own.Right.File, k.plan.Source), Numbers(right.File, to.Screen)
	if cie.DeltaE00(d.own.Wrong.Seen, wrong.Seen) < noticeable {
		return d, nil
	}
	d.to = Rewritten{ID: ref, Name: to.Screen.Name(), plan: to}
	return d, nil
}

// rewritten reads a pin whose colours are first written in another space's numbers.
func (k *maker) rewritten(ctx context.Context, to, plan proof.Plan, q pin.Pin) (Colour, error) {
	first, err := k.e.Chain(to)
	if err != nil {
		return Colour{}, err
	}
	defer first.Close()
	var src, dst []float64
	points := q.Pixels(k.Numbers.W, k.Numbers.H)
	for _, at := range points {
		src = k.Numbers.At(src, at.X, at.Y)
	}
	values := make([]proof.Value, len(points))
	if err := first.Values(values, src); err != nil {
		return Colour{}, err
	}
	for _, v := range values {
		dst = append(dst, v.Screen[:]...)
	}
	second, err := k.e.Chain(plan)
	if err != nil {
		return Colour{}, err
	}
	defer second.Close()
	var c Colour
	c.Value, c.Numbers, err = pin.ReadNumbers(second, dst, len(points))
	c.Seen = c.Relative
	if err == nil {
		err = ctx.Err()
	}
	return c, err
}

// leastWider is how much larger the triangle of a space's primaries must be in the a*b*
// plane for it to be called the wider one: those of sRGB and of opRGB, which everybody
// takes for two sizes, are 1.2 to 1.
const leastWider = 1.15

// contrast returns the space whose numbers teach most beside the picture's own: the
// narrowest where the picture's is wide, else the widest. "" where there is none.
func (k *maker) contrast() (ref string, wider bool, err error) {
	own, err := k.size(k.plan.Source)
	if err != nil {
		return "", false, err
	}
	var narrow, wide string
	var least, most float64
	for _, s := range k.distinct {
		p, err := k.Find.Profile(s)
		if err != nil || p.Channels() != 3 || p.CheckScreen() != nil {
			continue
		}
		size, err := k.size(p)
		if err != nil {
			return "", false, err
		}
		if narrow == "" || size < least {
			narrow, least = s, size
		}
		if wide == "" || size > most {
			wide, most = s, size
		}
	}
	switch {
	case narrow == "":
		return "", false, nil
	case own > least*leastWider:
		return narrow, true, nil
	case most > own*leastWider:
		return wide, false, nil
	}
	return "", false, nil
}

// size is the area of a space's primaries in the a*b* plane.
func (k *maker) size(p *proof.Profile) (float64, error) {
	var at [3]cie.Lab
	for i := range at {
		v := make([]float64, 3)
		v[i] = 1
		var err error
		if at[i], err = k.colour(p, v); err != nil {
			return 0, err
		}
	}
	x1, y1, x2, y2 := at[1].A-at[0].A, at[1].B-at[0].B, at[2].A-at[0].A, at[2].B-at[0].B
	return max(x1*y2-x2*y1, x2*y1-x1*y2) / 2, nil
}

func (d direction) width(own bool) string {
	if own == d.wider {
		return "the wider space"
	}
	return "the narrower space"
}

// say tells what the pair shows.
func (d direction) say() string {
	what := fmt.Sprintf("What ‘%s’ does to a colour", d.name)
	if a, b := d.own.Change, d.other.Change; a.Hue != words.Unnamed && b.Hue != words.Unnamed && a.Towards != b.Towards {
		what = fmt.Sprintf("Which way ‘%s’ turns a colour", d.name)
	}
	return what + " depends on what the numbers were. Both prints come from the same colours:"
}

// prints are the pair, the wider space's first.
func (d direction) prints() []Print {
	own := Print{Setup: d.set, Caption: d.from + " numbers, " + d.width(true), Told: d.told(d.own)}
	other := Print{Setup: d.otherSet, Rewritten: true, Caption: d.to.Name + " numbers, " + d.width(false), Told: d.told(d.other)}
	if d.wider {
		return []Print{own, other}
	}
	return []Print{other, own}
}

func (d direction) told(r Row) string {
	return words.Stop(words.Capital(words.The(r.Pin)) + ": " + r.Change.Plainly())
}

func (d direction) figures(what string) []string {
	line := func(space, numbers string, r Row) string {
		return words.Stop(fmt.Sprintf("%s in %s numbers: %s; with ‘%s’ the print is %s. ", words.Capital(what), space, numbers, d.name, words.RoundLab(r.Wrong.Seen)) +
			compared + " " + r.Change.Sentence() + ", " + words.DeltaE00(r.Change.DeltaE00))
	}
	out := []string{line(d.from, d.numbers, d.own), line(d.to.Name, d.rewritten, d.other)}
	if d.wider {
		out = append(out, fmt.Sprintf("What %s can’t hold is clipped to it, as it is when a picture is saved so.", d.to.Name))
	}
	return out
}

// keepName is what the mistake that was to be kept is called.
func (w *fiveMaker) keepName() string {
	if s, ok := slip.ByID(w.Keep.Slips); ok {
		return s.Name
	}
	return ""
}
