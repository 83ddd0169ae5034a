package paper

import (
	"context"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
)

// Facts is what a profile says of a paper, and what is found by using it.
type Facts struct {
	Description string `json:"description"`
	Copyright   string `json:"copyright,omitempty"`
	// Space is the device colour space, such as RGB or CMYK.
	Space    string `json:"color_space"`
	Channels int    `json:"channels"`
	Version  string `json:"version"`
	Bytes    int    `json:"bytes"`
	// Intents tells of the three intents with tables, in the order of their numbers.
	// The absolute one shares the relative one's.
	Intents []IntentFacts `json:"intents"`
	// White is the paper's white and Black its black: absolute CIELAB under D50. Black
	// is the colour that Lab 0, 0, 0 is printed with.
	White cie.Lab `json:"white"`
	// WhiteKnown is false when the profile says no media white point; White is then
	// what its table gives for no ink.
	WhiteKnown bool    `json:"white_known"`
	Black      cie.Lab `json:"black"`
	// Volume is the size of the gamut in cubic units of CIELAB, relative to the
	// paper's white, with no more ink than TotalInk; 0 for grey.
	Volume float64 `json:"gamut_volume"`
	// TotalInk is the largest sum of channels that the profile's own tables ask for,
	// whatever the intent, 3 being 300 percent; 0 where that has no meaning.
	TotalInk float64 `json:"total_ink,omitempty"`
	// GamutTag says that the profile carries a gamut tag. The program does not need
	// it: the reach is found by going there and back.
	GamutTag bool `json:"gamut_tag"`
	// EightBit says that colours go into the paper's numbers through tables of 8 bits,
	// whose rounding hides differences of about 1 ΔE00.
	EightBit bool `json:"eight_bit_tables"`
	// Assumed lists what is missing in the profile and what stands in, in sentences.
	Assumed []string `json:"assumed,omitempty"`
}

// IntentFacts tells which tables serve an intent.
type IntentFacts struct {
	Intent string `json:"intent"`
	// Into is the tag that leads into the paper's numbers, Out the one that tells
	// their look; "" without tables.
	Into icc.Signature `json:"into,omitempty"`
	Out  icc.Signature `json:"out,omitempty"`
	// StandIn says that the perceptual table stands in for Into because the intent has none.
	StandIn bool `json:"stand_in,omitempty"`
	// SameAs names an intent before it whose very table Into is, "" for a table of
	// its own.
	SameAs string `json:"same_as,omitempty"`
}

// Inspect says what a paper's profile is. It takes a few tenths of a second, most of
// it for the gamut. The error is a *proof.ProfileError, or the context's.
func Inspect(ctx context.Context, p *proof.Profile) (Facts, error) {
	if err := p.CheckPaper(); err != nil {
		return Facts{}, err
	}
	file := p.File()
	f := Facts{
		Description: file.Description(), Copyright: file.Copyright(),
		Space: trimmed(p.ColorSpace()), Channels: p.Channels(), Version: file.Version(), Bytes: len(p.Data()),
		GamutTag: file.Has("gamt"),
	}
	f.intents(p)
	probe, err := newProbe(p)
	if err != nil {
		return Facts{}, err
	}
	defer probe.close()
	if f.White, f.WhiteKnown = p.MediaWhite(); !f.WhiteKnown {
		f.Assumed = append(f.Assumed, "The profile says no media white point: what its tables give for pure white stands in.")
		if f.White, err = probe.look(100); err != nil {
			return Facts{}, err
		}
	}
	if f.Black, err = probe.look(0); err != nil {
		return Facts{}, err
	}
	if f.Channels > 3 {
		if f.TotalInk, err = totalInk(ctx, probe); err != nil {
			return f, err
		}
		probe.limit = f.TotalInk
	}
	if f.Volume, err = volume(ctx, probe); err != nil {
		return Facts{}, err
	}
	return f, nil
}

func trimmed(s icc.Signature) string {
	for len(s) > 0 && s[len(s)-1] == ' ' {
		s = s[:len(s)-1]
	}
	return string(s)
}

// Curve tells a paper of one grey ink without tables: one curve serves every intent.
func (f *Facts) Curve() bool { return len(f.Intents) > 0 && f.Intents[0].Into == "" }

func (f *Facts) intents(p *proof.Profile) {
	file := p.File()
	offsets := map[icc.Signature]int{}
	for _, t := range file.Tags {
		offsets[t.Signature] = t.Offset
	}
	for _, i := range []proof.Intent{proof.Perceptual, proof.RelativeColorimetric, proof.Saturation} {
		fact := IntentFacts{Intent: i.Short()}
		var has bool
		if fact.Into, fact.StandIn, has = p.Table(proof.FromPCS, i); !has {
			fact.Into = ""
		}
		if fact.Out, _, has = p.Table(proof.ToPCS, i); !has {
			fact.Out = ""
		}
		for _, before := range f.Intents {
			if !fact.StandIn && fact.Into != "" && fact.SameAs == "" && offsets[before.Into] == offsets[fact.Into] {
				fact.SameAs = before.Intent
			}
		}
		f.EightBit = f.EightBit || file.EightBit(fact.Into)
		f.Intents = append(f.Intents, fact)
		if fact.StandIn {
			f.Assumed = append(f.Assumed, "There is no table for the "+i.String()+" intent: the perceptual one stands in.")
		}
	}
	if tag, standIn, ok := p.Table(proof.ToPCS, proof.RelativeColorimetric); ok && standIn {
		f.Assumed = append(f.Assumed, "There is no colorimetric table for the look of the print: the perceptual one ("+string(tag)+") stands in.")
	}
	if f.Curve() {
		f.Assumed = append(f.Assumed, "The profile has no tables: one curve serves every intent.")
	}
}

// probe is a paper opened to be asked for single colours.
type probe struct {
	name     string
	ctx      *lcms.Context
	profile  *lcms.Profile
	channels int
	limit    float64 // the most ink that is asked of it, 0 for no limit
	lab      *lcms.Profile
	into     *lcms.Transform // Lab to device, relative
	relative *lcms.Transform // device to Lab
	absolute *lcms.Transform
	open     []interface{ Close() }
}

func newProbe(p *proof.Profile) (_ *probe, err error) {
	q := &probe{name: p.Name(), channels: p.Channels()}
	defer func() {
		if err != nil {
			q.close()
			err = q.refused(err)
		}
	}()
	if q.ctx, err = lcms.NewContext(); err != nil {
		return nil, err
	}
	if q.profile, err = q.ctx.Open(p.Data()); err != nil {
		return nil, err
	}
	q.open = append(q.open, q.profile)
	lab, err := q.ctx.Lab()
	if err != nil {
		return nil, err
	}
	q.lab = lab
	q.open = append(q.open, lab)
	for _, t := range []struct {
		to       **lcms.Transform
		from, by *lcms.Profile
		intent   proof.Intent
	}{
		{&q.into, lab, q.profile, proof.RelativeColorimetric},
		{&q.relative, q.profile, lab, proof.RelativeColorimetric},
		{&q.absolute, q.profile, lab, proof.AbsoluteColorimetric},
	} {
		if *t.to, err = q.ctx.Float(t.from, t.by, lcms.Options{Intent: int(t.intent)}); err != nil {
			return nil, err
		}
		q.open = append(q.open, *t.to)
	}
	return q, nil
}

func (q *probe) close() {
	for _, o := range q.open {
		o.Close()
	}
	if q.ctx != nil {
		q.ctx.Close()
	}
}

func (q *probe) refused(err error) error {
	return &proof.ProfileError{Op: "use as a paper", Profile: q.name, Kind: proof.Refused, Err: err}
}

// run transforms colours, and fails where what comes out is no colour.
func (q *probe) run(t *lcms.Transform, dst, src []float64) error {
	t.Run(dst, src)
	for _, v := range dst {
		if v-v != 0 {
			return q.refused(proof.ErrNotFinite)
		}
	}
	return nil
}

// look returns the absolute look of the numbers that a neutral of that L* is
// printed with.
func (q *probe) look(l float64) (cie.Lab, error) {
	device := make([]float64, q.channels)
	if err := q.run(q.into, device, []float64{l, 0, 0}); err != nil {
		return cie.Lab{}, err
	}
	for i := range device {
		device[i] = min(max(device[i], 0), 1)
	}
	var lab [3]float64
	if err := q.run(q.absolute, lab[:], device); err != nil {
		return cie.Lab{}, err
	}
	return cie.Lab{L: lab[0], A: lab[1], B: lab[2]}, nil
}
