package proof

import (
	"errors"
	"math"
	"sync/atomic"

	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
)

// core is what all chains of one plan share: the transforms. It counts its users.
type core struct {
	plan Plan
	ctx  *lcms.Context

	toLab    *link   // source to Lab, relative, no compensation
	fromLab  bool    // the first conversion goes on from there and not from the numbers
	links    []*link // the conversions
	relative *link   // paper to Lab by A2B1
	absolute *link   // the same with the media white; nil when not needed
	into     *link   // Lab into the reach paper and back; nil without one
	back     *link
	screen   *link // Lab to the screen, relative, no compensation

	white       cie.Lab // of the paper that the source is seen on already; of none white itself
	screenBlack float64 // luminance of the screen's black where it counts, else 0
	paperBlack  cie.Lab // the reach paper's black, absolute; L* is minus infinity without one
	deepest     float64 // L* of the same black relative to that paper's white

	open  links
	users atomic.Int32
}

// link is one hop of a chain, with the name of the profile that is answerable for it.
type link struct {
	*lcms.Transform
	name string
}

// whose returns that name; nil stands for Lab.
func whose(from, to *Profile) string {
	switch {
	case from == nil:
		return to.Name()
	case to == nil || to.ID() == from.ID():
		return from.Name()
	}
	return from.Name() + " or " + to.Name()
}

// ErrNotFinite is what a *[ProfileError] wraps where a profile gives numbers that are
// infinite or none at all.
var ErrNotFinite = errors.New("for some colours it gives numbers that are not finite")

// run transforms colours as [lcms.Transform.Run] does. It fails with a *ProfileError
// when a number comes out that is infinite or none at all: a profile with floating
// point elements can do that.
func (l *link) run(dst, src []float64) error {
	l.Run(dst, src)
	for _, v := range dst {
		if v-v != 0 {
			return &ProfileError{"convert", l.name, Refused, ErrNotFinite}
		}
	}
	return nil
}

// A screen whose detected black is lighter than this gets all sheets scaled to it.
const screenBlackLimit = 0.5 // L*

// newCore opens all that the plan needs, for one user.
func newCore(plan Plan) (_ *core, err error) {
	if err := plan.Check(); err != nil {
		return nil, err
	}
	c := &core{plan: plan, paperBlack: cie.Lab{L: math.Inf(-1)}, white: cie.Lab{L: 100}, deepest: math.Inf(-1)}
	c.users.Store(1)
	if c.ctx, err = lcms.NewContext(); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			c.release()
		}
	}()
	open, err := newOpener(c.ctx)
	if err != nil {
		return nil, err
	}
	defer open.close()
	c.open = open.links
	hop := open.link

	if c.toLab, err = hop(plan.Source, nil, RelativeColorimetric, false); err != nil {
		return nil, err
	}
	if c.screen, err = hop(nil, plan.Screen, RelativeColorimetric, false); err != nil {
		return nil, err
	}
	v, err := open.profile(plan.Screen)
	if err != nil {
		return nil, err
	}
	if black, err := v.Black(int(RelativeColorimetric)); err == nil && black.ToLab(cie.D50).L > screenBlackLimit {
		c.screenBlack = black.Y
	}
	for i, k := range plan.Conversions {
		from := k.From
		if i == 0 {
			if c.fromLab, err = open.fromLab(plan.Source, k); err != nil {
				return nil, err
			}
			if c.fromLab {
				from = nil
			}
		}
		t, err := hop(from, k.To, k.Intent, k.BPC)
		if err != nil {
			return nil, err
		}
		c.links = append(c.links, t)
	}
	if plan.Printed != nil && plan.White == PaperWhite {
		if w, ok := plan.Printed.MediaWhite(); ok {
			c.white = w
		}
	}
	if plan.Paper != nil {
		if c.relative, err = hop(plan.Paper, nil, RelativeColorimetric, false); err != nil {
			return nil, err
		}
		if plan.White == PaperWhite || plan.CountWhite {
			if c.absolute, err = hop(plan.Paper, nil, AbsoluteColorimetric, false); err != nil {
				return nil, err
			}
		}
	}
	if r := plan.reach(); r != nil {
		if c.into, err = hop(nil, r, RelativeColorimetric, false); err != nil {
			return nil, err
		}
		if c.back, err = hop(r, nil, RelativeColorimetric, false); err != nil {
			return nil, err
		}
		absolute, err := hop(r, nil, AbsoluteColorimetric, false)
		if err != nil {
			return nil, err
		}
		if err = c.findBlack(absolute); err != nil {
			return nil, err
		}
	}
	return c, c.probe()
}

// probe runs a few colours through the chain, so that a profile that cannot be trusted
// is refused before anything is shown: all channels alike, and one at a time beside
// none and beside full others, as curves are.
func (c *core) probe() error {
	const steps = 16
	channels := c.plan.Source.Channels()
	var src []float64
	for k := -1; k < channels; k++ {
		for i := range 2 * (steps + 1) {
			for at := range channels {
				v := float64(i / (steps + 1)) // of the others
				if k < 0 || at == k {
					v = float64(i%(steps+1)) / steps
				}
				src = append(src, v)
			}
		}
	}
	return c.values(make([]Value, len(src)/channels), src)
}

// findBlack finds the colour of the numbers that Lab 0, 0, 0 is printed with on the
// reach paper, of which absolute tells the absolute look.
func (c *core) findBlack(absolute *link) error {
	_, channels := c.into.Channels()
	device := make([]float64, channels)
	if err := c.into.run(device, []float64{0, 0, 0}); err != nil {
		return err
	}
	var black, relative [3]float64
	if err := absolute.run(black[:], device); err != nil {
		return err
	}
	if err := c.back.run(relative[:], device); err != nil {
		return err
	}
	c.paperBlack, c.deepest = cie.Lab{L: black[0], A: black[1], B: black[2]}, relative[0]
	return nil
}

// hold counts another user, unless there are none left.
func (c *core) hold() bool {
	for {
		n := c.users.Load()
		if n <= 0 {
			return false
		}
		if c.users.CompareAndSwap(n, n+1) {
			return true
		}
	}
}

// release counts a user less and after the last one closes the transforms.
func (c *core) release() {
	if c.users.Add(-1) > 0 {
		return
	}
	c.open.close()
	if c.ctx != nil {
		c.ctx.Close()
	}
}

// values computes colours, see [Chain.Values]; dst has one for each of src.
func (c *core) values(dst []Value, src []float64) error {
	n := len(dst)
	original, reach, screen := make([]float64, 3*n), make([]float64, n), make([]float64, 3*n)
	if err := c.original(original, src); err != nil {
		return err
	}
	var device, relative, absolute []float64
	if c.plan.Paper != nil {
		var err error
		if device, err = c.passSeen(src, original, len(c.links)); err != nil {
			return err
		}
		if relative, absolute, err = c.print(device); err != nil {
			return err
		}
	}
	if err := c.reach(reach, original); err != nil {
		return err
	}
	look := c.shown(original, relative, absolute)
	counted := c.counted(original, relative, absolute)
	if err := c.toScreen(screen, look); err != nil {
		return err
	}
	channels := len(device) / max(n, 1)
	for i := range dst {
		v := &dst[i]
		v.Original = labAt(original, i)
		v.Relative, v.Look = v.Original, labAt(look, i)
		if relative != nil {
			v.Relative = labAt(relative, i)
		}
		v.Device = device[i*channels : (i+1)*channels : (i+1)*channels]
		for k := range v.Screen {
			v.Screen[k] = clip01(screen[3*i+k])
		}
		v.Counted = labAt(counted, i)
		v.DeltaE00 = cie.DeltaE00(v.Original, v.Counted)
		v.Reach = reach[i]
		v.Darker = c.darker(v.Original)
	}
	return nil
}

func labAt(v []float64, i int) cie.Lab { return cie.Lab{L: v[3*i], A: v[3*i+1], B: v[3*i+2]} }

func clip01(v float64) float64 { return min(max(v, 0), 1) }

func (c *core) original(dst, src []float64) error { return c.toLab.run(dst, src) }

// separate returns the numbers that the printer gets for colours of the source.
func (c *core) separate(src []float64) ([]float64, error) {
	return c.pass(src, 0, len(c.links))
}

// pass sends numbers through the conversions lo up to but not including hi.
func (c *core) pass(numbers []float64, lo, hi int) ([]float64, error) {
	if lo > 0 || !c.fromLab {
		return c.convert(numbers, lo, hi)
	}
	original := make([]float64, len(numbers)/c.plan.Source.Channels()*3)
	if err := c.original(original, numbers); err != nil {
		return nil, err
	}
	return c.convert(original, lo, hi)
}

// passSeen sends source numbers whose originals are known through the first conversions.
func (c *core) passSeen(src, original []float64, hi int) ([]float64, error) {
	if c.fromLab {
		src = original
	}
	return c.convert(src, 0, hi)
}

// convert runs the links lo up to but not including hi. The last one's numbers go to the
// printer and are clipped, as those that are stored between two conversions are.
func (c *core) convert(numbers []float64, lo, hi int) ([]float64, error) {
	if lo == hi {
		numbers = append([]float64(nil), numbers...)
	}
	for i := lo; i < hi; i++ {
		in, out := c.links[i].Channels()
		next := make([]float64, len(numbers)/in*out)
		if err := c.links[i].run(next, numbers); err != nil {
			return nil, err
		}
		numbers = next
		if c.plan.Conversions[i].Clipped {
			clipAll(numbers)
		}
	}
	if hi == len(c.links) {
		clipAll(numbers)
	}
	return numbers, nil
}

// look returns the look of colours in print as [core.print] does, and nothing without a paper.
func (c *core) look(src, original []float64) (relative, absolute []float64, err error) {
	if c.plan.Paper == nil {
		return nil, nil, nil
	}
	device, err := c.passSeen(src, original, len(c.links))
	if err != nil {
		return nil, nil, err
	}
	return c.print(device)
}

// print returns the look of device numbers relative to the paper's white, and the
// absolute one where the plan needs it, else nil.
func (c *core) print(device []float64) (relative, absolute []float64, err error) {
	n := len(device) / c.plan.Paper.Channels()
	relative = make([]float64, 3*n)
	if err := c.relative.run(relative, device); err != nil {
		return nil, nil, err
	}
	if c.absolute != nil {
		absolute = make([]float64, 3*n)
		if err := c.absolute.run(absolute, device); err != nil {
			return nil, nil, err
		}
	}
	c.plan.spoil(device, relative, absolute)
	return relative, absolute, nil
}

func clipAll(v []float64) {
	for i := range v {
		v[i] = clip01(v[i])
	}
}

// shown picks the Lab that goes to the screen.
func (c *core) shown(original, relative, absolute []float64) []float64 {
	switch {
	case relative == nil && c.white != cie.Lab{L: 100}:
		return onWhite(original, c.white)
	case relative == nil:
		return original
	case c.plan.White == PaperWhite:
		return absolute
	}
	return relative
}

// onWhite returns colours relative to a white as they are on it.
func onWhite(relative []float64, white cie.Lab) []float64 {
	out := make([]float64, len(relative))
	for i := range len(relative) / 3 {
		l := labAt(relative, i).OnWhite(white)
		out[3*i], out[3*i+1], out[3*i+2] = l.L, l.A, l.B
	}
	return out
}

// counted picks the Lab that differences are told for.
func (c *core) counted(original, relative, absolute []float64) []float64 {
	switch {
	case relative == nil:
		return original
	case c.plan.CountWhite:
		return absolute
	}
	return relative
}

// reach writes the round trip difference of each colour; zeros without a paper.
func (c *core) reach(dst, original []float64) error {
	if c.into == nil {
		return nil
	}
	_, channels := c.into.Channels()
	device := make([]float64, len(dst)*channels)
	if err := c.into.run(device, original); err != nil {
		return err
	}
	again := make([]float64, len(original))
	if err := c.back.run(again, device); err != nil {
		return err
	}
	for i := range dst {
		dst[i] = cie.DeltaE00(labAt(original, i), labAt(again, i))
	}
	return nil
}

// toScreen writes the screen's numbers of a look, not clipped. It may overwrite
// neither argument's backing array but dst.
func (c *core) toScreen(dst, look []float64) error {
	if dim := c.plan.dim(); dim != 1 || c.screenBlack != 0 {
		scale := cie.NewBlackScale(0, c.screenBlack)
		mapped := make([]float64, len(look))
		for i := 0; i < len(look)/3; i++ {
			l := scale.Apply(labAt(look, i).ToXYZ(cie.D50).Scale(dim)).ToLab(cie.D50)
			mapped[3*i], mapped[3*i+1], mapped[3*i+2] = l.L, l.A, l.B
		}
		look = mapped
	}
	return c.screen.run(dst, look)
}
