package printfile

import (
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/space"
)

// light turns a picture's numbers into linear light and back: what is mixed when
// pixels are made of several. Each channel has a curve of its own, measured through
// the engine: for matrix profiles and built-in spaces it is their tone curve, and sums
// of light are sums of XYZ. Table profiles are taken to be nearly so.
//
// An ink's curve is that of the light it takes away, so that mixing its numbers is
// mixing printed dots.
type light struct {
	channels int
	decode   [][]float32 // by channel and 16-bit number: 0 to 1
	encode   [][]float32 // by channel and the root of the light: 0 to 1

	// For sharpening: XYZ (D50) of linear light is black + matrix * light. known is
	// false for inks, whose light does not add up.
	known         bool
	matrix, back  cie.Mat3
	black         cie.XYZ
	greyFrom, rng float64 // a grey picture's luminance is greyFrom + rng * light
}

const (
	lightNodes = 2049 // of a measured curve; linear between them
	rootSteps  = 1 << 16
)

// original is the plan that shows a source itself.
func original(source *proof.Profile) proof.Plan {
	return proof.Plan{Source: source, Screen: proof.SpaceProfile(space.SRGB())}
}

// newLight measures a source.
func newLight(e Engine, source *proof.Profile) (*light, error) {
	c, err := e.Chain(original(source))
	if err != nil {
		return nil, err
	}
	defer c.Close()
	n := source.Channels()
	l := &light{channels: n}
	measure := func(src []float64) ([]cie.XYZ, error) {
		values := make([]proof.Value, len(src)/n)
		if err := c.Values(values, src); err != nil {
			return nil, err
		}
		out := make([]cie.XYZ, len(values))
		for i, v := range values {
			out[i] = v.Original.ToXYZ(cie.D50)
		}
		return out, nil
	}
	var ends []cie.XYZ
	for k := range n {
		src := make([]float64, n*lightNodes)
		for i := range lightNodes {
			src[i*n+k] = float64(i) / (lightNodes - 1)
		}
		ramp, err := measure(src)
		if err != nil {
			return nil, err
		}
		l.black = ramp[0]
		ends = append(ends, ramp[lightNodes-1])
		l.add(curveOf(ramp))
	}
	l.primaries(source, ends)
	return l, nil
}

// curveOf returns a rising curve from 0 to 1 out of a measured ramp: of X, Y and Z
// the one that changes most.
func curveOf(ramp []cie.XYZ) []float64 {
	parts := []func(cie.XYZ) float64{
		func(c cie.XYZ) float64 { return c.Y }, func(c cie.XYZ) float64 { return c.X }, func(c cie.XYZ) float64 { return c.Z },
	}
	last := len(ramp) - 1
	part, span := parts[0], 0.0
	for _, p := range parts {
		if s := math.Abs(p(ramp[last]) - p(ramp[0])); s > span {
			part, span = p, s
		}
	}
	out := make([]float64, len(ramp))
	// A curve must rise to have an inverse; a measured one can be flat or fall.
	const least = 1e-7
	for i := range out {
		v := float64(i) / float64(last)
		if span > 0 {
			v = (part(ramp[i]) - part(ramp[0])) / (part(ramp[last]) - part(ramp[0]))
		}
		if i > 0 {
			v = max(v, out[i-1]+least)
		}
		out[i] = v
	}
	for i := range out {
		out[i] /= out[last]
	}
	return out
}

// add makes a channel's tables.
func (l *light) add(curve []float64) {
	last := float64(len(curve) - 1)
	at := func(v float64) float64 {
		i := min(int(v*last), len(curve)-2)
		f := v*last - float64(i)
		return curve[i]*(1-f) + curve[i+1]*f
	}
	decode := make([]float32, 65536)
	for i := range decode {
		decode[i] = float32(at(float64(i) / 65535))
	}
	encode := make([]float32, rootSteps+2)
	i := 0
	for s := range encode {
		y := min(float64(s)/rootSteps*float64(s)/rootSteps, 1)
		for i < len(curve)-2 && curve[i+1] < y {
			i++
		}
		encode[s] = float32((float64(i) + (y-curve[i])/(curve[i+1]-curve[i])) / last)
	}
	l.decode, l.encode = append(l.decode, decode), append(l.encode, encode)
}

// number returns the number, 0 to 1, of a channel's light; light outside 0 to 1 is
// clipped.
func (l *light) number(channel int, y float32) float64 {
	if !(y > 0) {
		return 0
	}
	if y >= 1 {
		return 1
	}
	root := math.Sqrt(float64(y)) * rootSteps
	i := int(root)
	e := l.encode[channel][i : i+2]
	return float64(e[0]) + float64(e[1]-e[0])*(root-float64(i))
}

// primaries finds how light adds up to XYZ.
func (l *light) primaries(source *proof.Profile, ends []cie.XYZ) {
	k := l.black
	switch {
	case source.ColorSpace() == icc.SpaceGray && ends[0].Y > k.Y:
		l.known, l.greyFrom, l.rng = true, k.Y, ends[0].Y-k.Y
	case source.ColorSpace() == icc.SpaceRGB:
		for i, e := range ends {
			l.matrix[i], l.matrix[3+i], l.matrix[6+i] = e.X-k.X, e.Y-k.Y, e.Z-k.Z
		}
		l.back, l.known = l.matrix.Inverse()
	}
}

// lightness returns L* of one pixel's light.
func (l *light) lightness(px []float32) float64 {
	y := 0.0
	if l.channels == 1 {
		y = l.greyFrom + l.rng*float64(px[0])
	} else {
		y = l.black.Y + l.matrix[3]*float64(px[0]) + l.matrix[4]*float64(px[1]) + l.matrix[5]*float64(px[2])
	}
	return cie.XYZ{Y: y}.ToLab(cie.D50).L
}

// relight changes L* of one pixel's light by d and leaves a* and b* as they are.
func (l *light) relight(px []float32, d float64) {
	if l.channels == 1 {
		y := cie.Lab{L: cie.XYZ{Y: l.greyFrom + l.rng*float64(px[0])}.ToLab(cie.D50).L + d}.ToXYZ(cie.D50).Y
		px[0] = float32((y - l.greyFrom) / l.rng)
		return
	}
	v := l.matrix.Apply([3]float64{float64(px[0]), float64(px[1]), float64(px[2])})
	c := cie.XYZ{X: v[0] + l.black.X, Y: v[1] + l.black.Y, Z: v[2] + l.black.Z}.ToLab(cie.D50)
	c.L += d
	x := c.ToXYZ(cie.D50)
	v = l.back.Apply([3]float64{x.X - l.black.X, x.Y - l.black.Y, x.Z - l.black.Z})
	px[0], px[1], px[2] = float32(v[0]), float32(v[1]), float32(v[2])
}

// wideChroma is the C* of a space's green from which on eight bits are too few for
// its steps to be unseen: sRGB's has 120, Adobe RGB's (1998) 154, Rec. 2020's 171,
// ROMM's 205. Common practice, no source.
const wideChroma = 165

// wide reports whether the source is such a space of red, green and blue.
func (l *light) wide() bool {
	if !l.known || l.channels != 3 {
		return false
	}
	g := cie.XYZ{X: l.black.X + l.matrix[1], Y: l.black.Y + l.matrix[4], Z: l.black.Z + l.matrix[7]}
	return g.ToLab(cie.D50).Chroma() > wideChroma
}
