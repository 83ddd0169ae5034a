package proof

import "firstsheet/proof/lcms"

// opener opens links of one context: each profile once.
type opener struct {
	ctx      *lcms.Context
	lab      *lcms.Profile
	profiles map[string]*lcms.Profile
}

func newOpener(ctx *lcms.Context) (*opener, error) {
	lab, err := ctx.Lab()
	if err != nil {
		return nil, err
	}
	return &opener{ctx, lab, map[string]*lcms.Profile{}}, nil
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

// link opens one hop; nil stands for Lab. The caller closes its transform.
func (o *opener) link(from, to *Profile, intent Intent, bpc bool) (*link, error) {
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
	return &link{t, whose(from, to)}, nil
}
