package proof

import (
	"fmt"
	"math"

	"firstsheet/proof/lcms"
)

// opener opens links of one context: each profile and each link once.
type opener struct {
	ctx      *lcms.Context
	lab      *lcms.Profile
	profiles map[string]*lcms.Profile
	links    links
}

// links are those that were opened, by what they do.
type links map[string]*link

func (l links) close() {
	for _, one := range l {
		one.Close()
	}
}

func newOpener(ctx *lcms.Context) (*opener, error) {
	lab, err := ctx.Lab()
	if err != nil {
		return nil, err
	}
	return &opener{ctx, lab, map[string]*lcms.Profile{}, links{}}, nil
}

// close lets go of the profiles: the links keep what they need of them.
func (o *opener) close() {
	for _, h := range o.profiles {
		h.Close()
	}
	o.lab.Close()
}

func (o *opener) profile(p *Profile) (*lcms.Profile, error) {
	if h, ok := o.profiles[p.ID()]; ok {
		return h, nil
	}
	h, err := p.open(o.ctx)
	if err != nil {
		return nil, err
	}
	o.profiles[p.ID()] = h
	return h, nil
}

// link opens one hop; nil stands for Lab. The caller closes the opener's links.
func (o *opener) link(from, to *Profile, intent Intent, bpc bool) (*link, error) {
	key := fmt.Sprintf("%s>%s %d %t", idOf(from), idOf(to), intent, bpc)
	if l, ok := o.links[key]; ok {
		return l, nil
	}
	ends, name := [2]*lcms.Profile{o.lab, o.lab}, ""
	for i, p := range []*Profile{from, to} {
		if p == nil {
			continue
		}
		name = p.Name()
		h, err := o.profile(p)
		if err != nil {
			return nil, err
		}
		ends[i] = h
	}
	t, err := o.ctx.Float(ends[0], ends[1], lcms.Options{Intent: int(intent), BPC: bpc})
	if err != nil {
		return nil, &ProfileError{"convert", name, Refused, err}
	}
	l := &link{t, whose(from, to)}
	o.links[key] = l
	return l, nil
}

// fromLab reports whether a conversion of a source's numbers can begin at their originals,
// which are computed anyway: where the source looks the same by every intent, and its black
// is without any light, so that there is nothing to know of it for compensation. Little CMS
// itself goes by Lab there.
func (o *opener) fromLab(source *Profile, k Conversion) (bool, error) {
	if k.From.ID() != source.ID() || k.Intent == AbsoluteColorimetric || source.hasTables() {
		return false, nil
	}
	l, err := o.link(source, nil, RelativeColorimetric, false)
	if err != nil {
		return false, err
	}
	var black [3]float64
	err = l.run(black[:], make([]float64, source.Channels()))
	return math.Abs(black[0]) < noLight, err
}

// noLight is the L* below which a black is without light: an eighth of what single
// precision tells of white.
const noLight = 1e-6
