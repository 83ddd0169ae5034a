package proof

import (
	"math"
	"sync/atomic"

	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
)

// core is what all chains of one plan share: the transforms. It counts its users.
type core struct {
	plan Plan
	ctx  *lcms.Context

	toLab    *lcms.Transform   // source to Lab, relative, no compensation
	links    []*lcms.Transform // the conversions
	relative *lcms.Transform   // paper to Lab by A2B1
	absolute *lcms.Transform   // the same with the media white; nil when not needed
	into     *lcms.Transform   // Lab into the reach paper and back; nil without one
	back     *lcms.Transform
	screen   *lcms.Transform // Lab to the screen, relative, no compensation

	screenBlack float64 // luminance of the screen's black where it counts, else 0
	paperBlack  float64 // L* of the reach paper's black, absolute; below 0 without one
	deepest     float64 // L* of the same black relative to that paper's white

	open  []interface{ Close() }
	users atomic.Int32
}

// A screen whose detected black is lighter than this gets all sheets scaled to it.
const screenBlackLimit = 0.5 // L*

// newCore opens all that the plan needs, for one user.
func newCore(plan Plan) (_ *core, err error) {
	if err := plan.Check(); err != nil {
		return nil, err
	}
	c := &core{plan: plan, paperBlack: math.Inf(-1), deepest: math.Inf(-1)}
	c.users.Store(1)
	if c.ctx, err = lcms.NewContext(); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			c.release()
		}
	}()
	opened := map[string]*lcms.Profile{}
	get := func(p *Profile) (*lcms.Profile, error) {
		if h, ok := opened[p.id]; ok {
			return h, nil
		}
		h, err := p.open(c.ctx)
		if err != nil {
			return nil, err
		}
		opened[p.id] = h
		return h, nil
	}
	// The transforms keep what they need of the profiles.
	defer func() {
		for _, h := range opened {
			h.Close()
		}
	}()
	lab, err := c.ctx.Lab()
	if err != nil {
		return nil, err
	}
	defer lab.Close()

	link := func(from, to *Profile, intent Intent, bpc bool) (*lcms.Transform, error) {
		ends, name := [2]*lcms.Profile{lab, lab}, ""
		for i, p := range []*Profile{from, to} {
			if p == nil {
				continue
			}
			name = p.Name()
			h, err := get(p)
			if err != nil {
				return nil, err
			}
			ends[i] = h
		}
		t, err := c.ctx.Float(ends[0], ends[1], lcms.Options{Intent: int(intent), BPC: bpc})
		if err != nil {
			return nil, &ProfileError{"convert", name, Refused, err}
		}
		c.open = append(c.open, t)
		return t, nil
	}

	if c.toLab, err = link(plan.Source, nil, RelativeColorimetric, false); err != nil {
		return nil, err
	}
	if c.screen, err = link(nil, plan.Screen, RelativeColorimetric, false); err != nil {
		return nil, err
	}
	v, err := get(plan.Screen)
	if err != nil {
		return nil, err
	}
	if black, err := v.Black(int(RelativeColorimetric)); err == nil && black.ToLab(cie.D50).L > screenBlackLimit {
		c.screenBlack = black.Y
	}
	for _, k := range plan.Conversions {
		t, err := link(k.From, k.To, k.Intent, k.BPC)
		if err != nil {
			return nil, err
		}
		c.links = append(c.links, t)
	}
	if plan.Paper != nil {
		if c.relative, err = link(plan.Paper, nil, RelativeColorimetric, false); err != nil {
			return nil, err
		}
		if plan.White == PaperWhite || plan.CountWhite {
			if c.absolute, err = link(plan.Paper, nil, AbsoluteColorimetric, false); err != nil {
				return nil, err
			}
		}
	}
	if r := plan.reach(); r != nil {
		if c.into, err = link(nil, r, RelativeColorimetric, false); err != nil {
			return nil, err
		}
		if c.back, err = link(r, nil, RelativeColorimetric, false); err != nil {
			return nil, err
		}
		absolute, err := link(r, nil, AbsoluteColorimetric, false)
		if err != nil {
			return nil, err
		}
		c.findBlack(absolute)
	}
	return c, nil
}

// findBlack finds the lightness of the numbers that Lab 0, 0, 0 is printed with on the
// reach paper, of which absolute tells the absolute look.
func (c *core) findBlack(absolute *lcms.Transform) {
	_, channels := c.into.Channels()
	device := make([]float64, channels)
	c.into.Run(device, []float64{0, 0, 0})
	var black [3]float64
	absolute.Run(black[:], device)
	c.paperBlack = black[0]
	c.back.Run(black[:], device)
	c.deepest = black[0]
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
	for _, o := range c.open {
		o.Close()
	}
	if c.ctx != nil {
		c.ctx.Close()
	}
}

func labAt(v []float64, i int) cie.Lab { return cie.Lab{L: v[3*i], A: v[3*i+1], B: v[3*i+2]} }

func clip01(v float64) float64 { return min(max(v, 0), 1) }

func (c *core) original(dst, src []float64) { c.toLab.Run(dst, src) }

// separate returns the numbers that the printer gets for n colours.
func (c *core) separate(src []float64) []float64 {
	return c.pass(src, 0, len(c.links))
}

// pass sends numbers through the conversions lo up to but not including hi. The
// last one's numbers go to the printer and are clipped, as those that are stored
// between two conversions are.
func (c *core) pass(numbers []float64, lo, hi int) []float64 {
	if lo == hi {
		numbers = append([]float64(nil), numbers...)
	}
	for i := lo; i < hi; i++ {
		in, out := c.links[i].Channels()
		next := make([]float64, len(numbers)/in*out)
		c.links[i].Run(next, numbers)
		numbers = next
		if c.plan.Conversions[i].Clipped {
			clipAll(numbers)
		}
	}
	if hi == len(c.links) {
		clipAll(numbers)
	}
	return numbers
}

// print returns the look of device numbers relative to the paper's white, and the
// absolute one where the plan needs it, else nil.
func (c *core) print(device []float64) (relative, absolute []float64) {
	n := len(device) / c.plan.Paper.Channels()
	relative = make([]float64, 3*n)
	c.relative.Run(relative, device)
	if c.absolute != nil {
		absolute = make([]float64, 3*n)
		c.absolute.Run(absolute, device)
	}
	return relative, absolute
}

func clipAll(v []float64) {
	for i := range v {
		v[i] = clip01(v[i])
	}
}

// shown picks the Lab that goes to the screen.
func (c *core) shown(original, relative, absolute []float64) []float64 {
	switch {
	case relative == nil:
		return original
	case c.plan.White == PaperWhite:
		return absolute
	}
	return relative
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
func (c *core) reach(dst, original []float64) {
	if c.into == nil {
		return
	}
	_, channels := c.into.Channels()
	device := make([]float64, len(dst)*channels)
	c.into.Run(device, original)
	again := make([]float64, len(original))
	c.back.Run(again, device)
	for i := range dst {
		dst[i] = cie.DeltaE00(labAt(original, i), labAt(again, i))
	}
}

// toScreen writes the screen's numbers of a look, not clipped. It may overwrite
// neither argument's backing array but dst.
func (c *core) toScreen(dst, look []float64) {
	if dim := c.plan.dim(); dim != 1 || c.screenBlack != 0 {
		scale := cie.NewBlackScale(0, c.screenBlack)
		mapped := make([]float64, len(look))
		for i := 0; i < len(look)/3; i++ {
			l := scale.Apply(labAt(look, i).ToXYZ(cie.D50).Scale(dim)).ToLab(cie.D50)
			mapped[3*i], mapped[3*i+1], mapped[3*i+2] = l.L, l.A, l.B
		}
		look = mapped
	}
	c.screen.Run(dst, look)
}
