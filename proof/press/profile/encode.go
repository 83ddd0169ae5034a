package profile

import (
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
)

// encoding is how CIELAB is put into 16 bits, as a share of 65535.
type encoding struct {
	// full is the share that L* 100 has; zero the share of a* = b* = 0; step one
	// unit of a* or b*.
	full, zero, step float64
	// entries is the number of a curve's entries such that L* 100 lies on one.
	entries int
}

var (
	// ICC.1:2001-04, 6.3.4: L* 100 is FF00h, a* and b* have 256 steps a unit.
	encodingV2 = encoding{full: 65280.0 / 65535, zero: 32768.0 / 65535, step: 256.0 / 65535, entries: 257*4 + 1}
	// ICC.1:2010, 6.3.4.2: L* 100 is FFFFh, a* and b* have 257 steps a unit.
	encodingV4 = encoding{full: 1, zero: 128.0 / 255, step: 1.0 / 255, entries: 255*4 + 1}
)

func (e encoding) encode(c cie.Lab) []float64 {
	return []float64{clamp01(c.L / 100 * e.full), clamp01(e.zero + c.A*e.step), clamp01(e.zero + c.B*e.step)}
}

func (e encoding) decode(v []float64) cie.Lab {
	return cie.Lab{L: v[0] / e.full * 100, A: (v[1] - e.zero) / e.step, B: (v[2] - e.zero) / e.step}
}

// stored returns c as 16 bits hold it.
func (e encoding) stored(c cie.Lab) cie.Lab {
	v := e.encode(c)
	for i := range v {
		v[i] = float64(share(v[i])) / 65535
	}
	return e.decode(v)
}

func clamp01(x float64) float64 { return min(max(x, 0), 1) }

// bend packs the inverse grid's nodes closer around the neutral axis, where
// pictures are: with 33 nodes 5 units of a* or b* apart there and 13 far out.
const bend = 0.6

// bent and straight are inverse to each other, on -1 to 1.
func bent(x float64) float64     { return x * (1 + bend) / (1 + bend*math.Abs(x)) }
func straight(y float64) float64 { return y / (1 + bend - bend*math.Abs(y)) }

// nodeLab returns the colour of node i of an inverse grid, L* varying slowest.
// The middle nodes of a* and b* are exactly neutral, the last of L* is 100.
func nodeLab(grid, i int) cie.Lab {
	at := func(k int) float64 { return 128 * straight(2*float64(k)/float64(grid-1)-1) }
	return cie.Lab{L: 100 * float64(i/grid/grid) / float64(grid-1), A: at(i / grid % grid), B: at(i % grid)}
}

// inputCurves lead from encoded Lab to the inverse grid.
func (e encoding) inputCurves() [][]uint16 {
	light, colour := make([]uint16, e.entries), make([]uint16, e.entries)
	for i := range light {
		v := float64(i) / float64(e.entries-1)
		light[i] = share(v / e.full)
		colour[i] = share(0.5 + 0.5*bent((v-e.zero)/e.step/128))
	}
	return [][]uint16{light, colour, colour}
}

func share(v float64) uint16 { return uint16(math.Round(65535 * clamp01(v))) }

// The inverse grid holds device numbers from -excess to 1+excess; the curve
// behind it cuts that off. Its corners lie on entries.
const clipEntries = 11

func clipCurve() []uint16 {
	c := make([]uint16, clipEntries)
	for i := range c {
		c[i] = share(float64(i)/(clipEntries-1)*(1+2*excess) - excess)
	}
	return c
}

// inverseLut packs solved nodes. What is at an end is rounded away from the
// middle, so that no ink stays no ink.
func (b *builder) inverseLut(e encoding, nodes []device) icc.Lut {
	n := b.spec.Channels
	lut := icc.Lut{Grid: b.spec.InverseGrid, In: e.inputCurves(), Nodes: make([]uint16, 0, n*len(nodes))}
	for _, d := range nodes {
		for ch := range n {
			v := 65535 * (d[ch] + excess) / (1 + 2*excess)
			switch {
			case d[ch] >= 1:
				v = math.Ceil(v)
			case d[ch] <= 0:
				v = math.Floor(v)
			default:
				v = math.Round(v)
			}
			lut.Nodes = append(lut.Nodes, uint16(min(max(v, 0), 65535)))
		}
	}
	for range n {
		lut.Out = append(lut.Out, clipCurve())
	}
	return lut
}

// forwardLut packs the forward table, after change if there is one.
func (b *builder) forwardLut(e encoding, change func(cie.Lab) cie.Lab) icc.Lut {
	lut := icc.Lut{Grid: b.spec.ForwardGrid, Nodes: make([]uint16, 0, 3*len(b.forward.values))}
	for _, c := range b.forward.values {
		if change != nil {
			c = change(c)
		}
		for _, v := range e.encode(c) {
			lut.Nodes = append(lut.Nodes, share(v))
		}
	}
	for range b.spec.Channels {
		lut.In = append(lut.In, icc.IdentityCurve())
	}
	for range 3 {
		lut.Out = append(lut.Out, icc.IdentityCurve())
	}
	return lut
}

// inReach is the distance, by the clipping's own measure, up to which a colour
// counts as inside the gamut in the gamut tag.
const inReach = 0.5

// gamutLut packs the gamut tag: 0 inside, rising to 1 at a distance of 50.
func (b *builder) gamutLut(e encoding, off []float64) icc.Lut {
	lut := icc.Lut{Grid: b.spec.InverseGrid, In: e.inputCurves(), Out: [][]uint16{icc.IdentityCurve()}, Nodes: make([]uint16, len(off))}
	for i, d := range off {
		if d > inReach {
			lut.Nodes[i] = max(share((d-inReach)/50), 1)
		}
	}
	return lut
}

// draft begins a profile.
func (b *builder) draft(version uint32) *icc.Draft {
	space := icc.SpaceRGB
	if b.spec.Channels == 4 {
		space = icc.SpaceCMYK
	}
	return &icc.Draft{Version: version, Class: icc.ClassOutput, Space: space, PCS: icc.SpaceLab, Created: b.spec.Created}
}

// write2 writes version 2. The three tables to Lab share one: what ink looks
// like does not depend on the intent it was asked for by.
func (b *builder) write2(forward icc.Lut, inverse []icc.Lut, gamut icc.Lut) ([]byte, error) {
	d := b.draft(icc.Version24)
	d.Add("desc", icc.EncodeDescription(b.spec.Description))
	d.Add("cprt", icc.EncodeText(b.spec.Copyright))
	if b.spec.Maker != "" {
		d.Add("dmnd", icc.EncodeDescription(b.spec.Maker))
	}
	if b.spec.Model != "" {
		d.Add("dmdd", icc.EncodeDescription(b.spec.Model))
	}
	a2b, err := icc.EncodeLut16(forward)
	if err != nil {
		return nil, err
	}
	for _, sig := range []icc.Signature{"A2B0", "A2B1", "A2B2"} {
		d.Add(sig, a2b)
	}
	for i, sig := range []icc.Signature{"B2A0", "B2A1", "B2A2"} {
		b2a, err := icc.EncodeLut16(inverse[i])
		if err != nil {
			return nil, err
		}
		d.Add(sig, b2a)
	}
	g, err := icc.EncodeLut16(gamut)
	if err != nil {
		return nil, err
	}
	d.Add("gamt", g)
	return b.finish(d)
}

// write4 writes version 4. Perceptual and saturation tables see the reference
// medium, whose black is L* 3.14: the paper's black lands there on the way to
// Lab, by the straight-line map in XYZ, and comes from there on the way back. No
// chromatic adaptation tag: the colours are measured under D50 as they are.
func (b *builder) write4(inverse []icc.Lut, gamut icc.Lut) ([]byte, error) {
	d := b.draft(icc.Version43)
	d.Add("desc", icc.EncodeLocalized(b.spec.Description))
	d.Add("cprt", icc.EncodeLocalized(b.spec.Copyright))
	if b.spec.Maker != "" {
		d.Add("dmnd", icc.EncodeLocalized(b.spec.Maker))
	}
	if b.spec.Model != "" {
		d.Add("dmdd", icc.EncodeLocalized(b.spec.Model))
	}
	// Each of X, Y and Z by itself, so that a black with a cast lands on the medium's
	// neutral one too; by one factor for all, the cast would grow to several times its
	// size in so dark a colour.
	black := b.gamut.darkest.ToXYZ(cie.D50)
	medium, err := icc.EncodeLutAB(b.forwardLut(encodingV4, func(c cie.Lab) cie.Lab {
		x := c.ToXYZ(cie.D50)
		return cie.XYZ{X: ontoMedium(x.X, black.X, cie.D50.X), Y: ontoMedium(x.Y, black.Y, cie.D50.Y), Z: ontoMedium(x.Z, black.Z, cie.D50.Z)}.ToLab(cie.D50)
	}), true)
	if err != nil {
		return nil, err
	}
	plain, err := icc.EncodeLutAB(b.forwardLut(encodingV4, nil), true)
	if err != nil {
		return nil, err
	}
	d.Add("A2B0", medium)
	d.Add("A2B1", plain)
	d.Add("A2B2", medium)
	for i, sig := range []icc.Signature{"B2A0", "B2A1", "B2A2"} {
		b2a, err := icc.EncodeLutAB(inverse[i], false)
		if err != nil {
			return nil, err
		}
		d.Add(sig, b2a)
	}
	g, err := icc.EncodeLutAB(gamut, false)
	if err != nil {
		return nil, err
	}
	d.Add("gamt", g)
	return b.finish(d)
}

// ontoMedium maps a tristimulus value by the straight line that leaves white where
// it is and takes black to the black of the reference medium.
func ontoMedium(x, black, white float64) float64 {
	return white - (white-x)*(1-referenceBlack)*white/(white-black)
}

func (b *builder) finish(d *icc.Draft) ([]byte, error) {
	d.Add("wtpt", icc.EncodeXYZ(b.white))
	d.Add("meas", icc.EncodeMeasurement())
	if b.spec.Target != "" {
		d.Add("targ", icc.EncodeText(b.spec.Target))
	}
	return d.Bytes()
}

// Evaluate runs device numbers v, 0 to 1 each, through a table of three or four
// inputs: curves straight between entries, the grid by tetrahedra (over the last
// three inputs). The values are those stored, 65535 being 1.
func Evaluate(l icc.Lut, v []float64) []float64 { return evaluate(l, v, interpolate) }

// EvaluateLab does the same for a table from encoded CIELAB, its grid read by
// trilinear interpolation. That is what Little CMS uses for such tables: on a
// lightness axis that is not the cube's diagonal, tetrahedra would tint greys.
func EvaluateLab(l icc.Lut, v []float64) []float64 { return evaluate(l, v, trilinear) }

type interpolation func(grid int, in []float64, read func(i, k int) float64) [3]float64

func evaluate(l icc.Lut, v []float64, between interpolation) []float64 {
	in := make([]float64, len(l.In))
	for i := range in {
		in[i] = curveAt(l.In[i], v[i])
	}
	out := make([]float64, len(l.Out))
	for first := 0; first < len(out); first += 3 { // three outputs at a time
		c := between(l.Grid, in, func(i, k int) float64 {
			if first+k >= len(out) {
				return 0
			}
			return float64(l.Nodes[i*len(out)+first+k])
		})
		for k := 0; k < 3 && first+k < len(out); k++ {
			out[first+k] = curveAt(l.Out[first+k], c[k]/65535)
		}
	}
	return out
}

func trilinear(grid int, in []float64, read func(i, k int) float64) (out [3]float64) {
	var at [3]int
	var f [3]float64
	for i := range at {
		at[i], f[i] = cell(in[i], grid)
	}
	for corner := range 8 {
		weight, i := 1.0, 0
		for axis := range 3 {
			up := corner >> axis & 1
			i = i*grid + at[axis] + up
			if up == 1 {
				weight *= f[axis]
			} else {
				weight *= 1 - f[axis]
			}
		}
		if weight > 0 {
			for k := range out {
				out[k] += weight * read(i, k)
			}
		}
	}
	return out
}

func curveAt(c []uint16, x float64) float64 {
	i, f := cell(x, len(c))
	return (float64(c[i])*(1-f) + float64(c[i+1])*f) / 65535
}

func interpolate(grid int, in []float64, read func(i, k int) float64) [3]float64 {
	n := len(in)
	var at [4]int
	var f [4]float64
	stride := [4]int{}
	s := 1
	for i := n - 1; i >= 0; i-- {
		stride[i] = s
		s *= grid
		at[i], f[i] = cell(in[i], grid)
	}
	base := 0
	for i := range n {
		base += at[i] * stride[i]
	}
	three := func(base int) (out [3]float64) {
		order := []int{n - 3, n - 2, n - 1}
		for i := 1; i < 3; i++ {
			for j := i; j > 0 && f[order[j]] > f[order[j-1]]; j-- {
				order[j], order[j-1] = order[j-1], order[j]
			}
		}
		weight := 1 - f[order[0]]
		p := base
		for step := 0; ; step++ {
			for k := range out {
				out[k] += weight * read(p, k)
			}
			if step == 3 {
				return out
			}
			p += stride[order[step]]
			weight = f[order[step]]
			if step < 2 {
				weight -= f[order[step+1]]
			}
		}
	}
	low := three(base)
	if n == 3 {
		return low
	}
	high := three(base + stride[0])
	for k := range low {
		low[k] += f[0] * (high[k] - low[k])
	}
	return low
}
