package gamut

import (
	"context"
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// Engine is what the package asks of the engine; *proof.Engine is one.
type Engine interface {
	// Chain returns the exact chain of a plan. The caller closes it.
	Chain(p proof.Plan) (*proof.Chain, error)
}

// Outline is where a device's colours end, made ready to be cut through at any
// lightness and hue while a slider is dragged. It is immutable.
type Outline struct {
	// White and Black are the device's lightest and darkest colours.
	White, Black cie.Lab
	// Volume is in cubic Lab units.
	Volume float64
	rows   [halfPlanes][]cie.LCh // from white to black at each degree of hue
	most   [halfPlanes][lightnesses]float32
}

// halfPlanes is the number of half planes that an outline is kept in.
const halfPlanes = 360

// lightnesses is the number of lightnesses, a half apart, that the largest chroma is
// kept at.
const lightnesses = 201

// outlineNodes are the samples along an edge of a face of the device's cube.
const outlineNodes = 17

// PaperOutline returns where a paper ends: relative to its own white, as reach
// and differences are counted, or absolute, as printed.
func PaperOutline(ctx context.Context, e Engine, paper *proof.Profile, absolute bool) (*Outline, error) {
	p := proof.Plan{Source: paper, Screen: proof.SpaceProfile(space.SRGB())}
	if absolute {
		// The paper's own numbers sent to it as they are.
		p.Paper, p.White = paper, proof.PaperWhite
	}
	return outline(ctx, e, p)
}

// SpaceOutline returns where a screen or an RGB space ends, its white being
// white.
func SpaceOutline(ctx context.Context, e Engine, p *proof.Profile) (*Outline, error) {
	return outline(ctx, e, proof.Plan{Source: p, Screen: proof.SpaceProfile(space.SRGB())})
}

func outline(ctx context.Context, e Engine, p proof.Plan) (*Outline, error) {
	chain, err := e.Chain(p)
	if err != nil {
		return nil, err
	}
	defer chain.Close()
	channels := p.Source.Channels()
	b, err := New(ctx, channels, outlineNodes, func(ctx context.Context, numbers []float64) ([]cie.Lab, error) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		values := make([]proof.Value, len(numbers)/channels)
		if err := chain.Values(values, numbers); err != nil {
			return nil, err
		}
		out := make([]cie.Lab, len(values))
		for i, v := range values {
			out[i] = v.Look
		}
		return out, nil
	})
	if err != nil {
		return nil, err
	}
	o := &Outline{White: b.White(), Black: b.Black(), Volume: b.Volume()}
	for h := range o.rows {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		o.rows[h] = b.HueSlice(float64(h))
		for l := range o.most[h] {
			o.most[h][l] = float32(ChromaAt(o.rows[h], float64(l)/2))
		}
	}
	return o, nil
}

// AtLightness returns the closed outline in the a*b* plane of a lightness, one
// point a degree of hue; nil where the device has nothing of that lightness.
func (o *Outline) AtLightness(lightness float64) []cie.Lab {
	out := make([]cie.Lab, 0, halfPlanes)
	most := 0.0
	for h, row := range o.rows {
		c := ChromaAt(row, lightness)
		most = math.Max(most, c)
		out = append(out, cie.LCh{L: lightness, C: c, H: float64(h)}.Lab())
	}
	if most == 0 {
		return nil
	}
	return out
}

// AtHue returns the open outline in the half plane of a hue in degrees, from
// white over the most saturated colour to black.
func (o *Outline) AtHue(hue float64) []cie.LCh {
	hue = math.Mod(math.Mod(hue, 360)+360, 360)
	h := int(hue) % halfPlanes
	f := hue - math.Floor(hue)
	a, b := o.rows[h], o.rows[(h+1)%halfPlanes]
	out := make([]cie.LCh, len(a))
	for i := range a {
		out[i] = cie.LCh{L: a[i].L + (b[i].L-a[i].L)*f, C: a[i].C + (b[i].C-a[i].C)*f, H: hue}
	}
	return out
}

// Beyond reports whether a colour lies outside by more than slack units of
// chroma, to the half unit of lightness and the degree of hue that the outline is
// kept at: fast enough for every colour of a picture.
func (o *Outline) Beyond(c cie.Lab, slack float64) bool {
	if c.L > o.White.L+slack || c.L < o.Black.L-slack {
		return true
	}
	l := int(math.Round(math.Max(0, math.Min(100, c.L)) * 2))
	h := int(math.Round(c.Hue())) % halfPlanes
	return c.Chroma() > float64(o.most[h][l])+slack
}

// Chroma returns the largest chroma at a lightness and hue.
func (o *Outline) Chroma(lightness, hue float64) float64 {
	hue = math.Mod(math.Mod(hue, 360)+360, 360)
	h := int(hue) % halfPlanes
	f := hue - math.Floor(hue)
	return ChromaAt(o.rows[h], lightness)*(1-f) + ChromaAt(o.rows[(h+1)%halfPlanes], lightness)*f
}

// MostChroma returns the largest chroma, looked for at every fifth degree of hue: some
// percent low where the outline has a sharp corner between them.
func (o *Outline) MostChroma() float64 {
	var most float64
	for h := 0; h < halfPlanes; h += 5 {
		for _, p := range o.rows[h] {
			most = math.Max(most, p.C)
		}
	}
	return most
}
