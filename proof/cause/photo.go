package cause

import (
	"context"
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/register"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// Photo is evidence: a photograph or scan of the bad print, compared with the original
// region by region. [ReadPhoto] makes it.
//
// Exposure, white balance, the fall of light and the slope of the tone curve are not
// known and are integrated out. They are smooth functions of few numbers, with normal
// priors: narrow ones where the paper's margin told the light.
type Photo struct {
	// Regions are where both pictures were compared; the observed colours are balanced
	// on bare paper, or on the lightest region where none is seen.
	Regions []Spot
	// Places are the regions' middles as shares of the picture, Spread how much the
	// colours inside each differ (root mean square CIE76 distance).
	Places []register.Point
	Spread []float64
	// Margin says that bare paper around the picture told light and white.
	Margin bool
	// Light is what bare paper shows at each place, in the channels of linear sRGB: as the
	// margin told it, or where there is none even and so that the lightest region is no
	// lighter than paper.
	Light register.Light
	// Match is where the print lies in the photograph.
	Match register.Match
	Notes []string
}

// The regions: columns by rows over the picture's longer and shorter side, each read
// at so many places a side.
const (
	regionsLong, regionsShort = 12, 8
	regionSamples             = 4
)

// Spreads of a photograph; own definitions, tried on simulated photographs.
const (
	// PhotoSpread is that of a region's colour in each of L*, a* and b*, apart from what
	// is integrated out.
	PhotoSpread = 1.8
	// textureShare of a region's own spread is added, for what lies a little beside its
	// place.
	textureShare = 0.12

	// Of the logarithm of each channel's gain, and of the fall of light across the
	// picture, with a margin and without; of the slope of the tone curve.
	gainMargin, gainNone   = 0.05, 0.3
	lightMargin, lightNone = 0.05, 0.25
	toneSpread             = 0.04
)

// ReadPhoto lays a photograph of a print onto its original and reads it. corners, nil
// or four of the photograph's pixels, are the printed picture's corners set by hand,
// clockwise. The photograph's numbers are what its file says, sRGB where it says
// nothing.
//
// progress is told how far it is, 0 to 1; nil for none. It returns an *EvidenceError
// where the photograph shows something else or too little
// of it can be compared, with Match as far as it came, and ctx's error.
func ReadPhoto(ctx context.Context, engine setup.Chains, original setup.Source, photograph *photo.Picture, corners []register.Point, progress func(float64)) (Photo, error) {
	source, err := setup.SourceOf(photograph, nil)
	if err != nil {
		return Photo{}, err
	}
	p := Photo{Notes: source.Notes}
	p.Match, err = register.Align(ctx, original.Picture, source.Picture, corners, progress)
	switch {
	case errors.Is(err, register.ErrOther):
		return p, evidenceError("the photograph shows something else, or the print is not found in it (likeness %.2f, at least %.2f is needed): set its corners by hand", p.Match.Alike, register.LeastAlike)
	case errors.Is(err, register.ErrTiny):
		return p, evidenceError("the photograph or the original has too few pixels to be compared")
	case err != nil:
		return p, err
	}
	r := photoReader{original: original.Picture, photograph: source.Picture, toPhoto: p.Match.Map}
	r.chain, err = engine.Chain(proof.Plan{Source: source.Profile, Screen: proof.SpaceProfile(space.SRGB())})
	if err != nil {
		return p, err
	}
	defer r.chain.Close()
	if light, ok := r.margin(); ok {
		p.Margin, p.Light = true, light
	}
	r.regions(&p)
	if len(p.Regions) < MinSpots {
		return p, evidenceError("too little of the photograph can be compared: it is too light, too dark or too blurred")
	}
	if !p.Margin {
		p.balance()
		p.Notes = append(p.Notes, "No bare paper is seen around the picture: its white is not known, and the photograph tells less.")
	}
	return p, nil
}

// photoReader reads both pictures place by place. A place is a share of the original.
type photoReader struct {
	original, photograph *photo.Picture
	toPhoto              register.Homography
	chain                *proof.Chain
}

// camera are the channels that a camera balances: linear sRGB, and back.
var camera = struct{ to, from cie.Mat3 }{inverseOf(space.SRGB().ToXYZ()), space.SRGB().ToXYZ()}

func inverseOf(m cie.Mat3) cie.Mat3 {
	inverse, _ := m.Inverse() // sRGB's primaries span the plane
	return inverse
}

// patch returns the mean numbers of a square of pixels around a place of a picture,
// and whether it lies inside and no channel is at its end.
func patchOf(p *photo.Picture, at register.Point, reach int) (numbers []float64, ok bool) {
	x, y := int(math.Floor(at.X)), int(math.Floor(at.Y))
	if !(at.X >= 0 && at.Y >= 0) || x < reach || y < reach || x >= p.W-reach || y >= p.H-reach {
		return nil, false
	}
	numbers = make([]float64, p.Channels)
	n := float64((2*reach + 1) * (2*reach + 1))
	for j := y - reach; j <= y+reach; j++ {
		for i := x - reach; i <= x+reach; i++ {
			for k, v := range p.At(i, j) {
				numbers[k] += v / n
			}
		}
	}
	return numbers, true
}

// seenAt returns the camera's channels at a place, and whether they can be trusted.
func (r photoReader) seenAt(at register.Point) (rgb [3]float64, ok bool) {
	w, h := float64(r.original.W), float64(r.original.H)
	here := r.toPhoto.Apply(register.Point{X: at.X * w, Y: at.Y * h})
	next := r.toPhoto.Apply(register.Point{X: at.X*w + w/400, Y: at.Y * h})
	reach := max(0, int(math.Hypot(next.X-here.X, next.Y-here.Y)/2))
	numbers, ok := patchOf(r.photograph, here, min(reach, 8))
	if !ok {
		return rgb, false
	}
	for _, v := range numbers {
		const low, high = 0.006, 0.99 // a channel at its end tells nothing
		ok = ok && v > low && v < high
	}
	return cameraOf(r.chain.Value(numbers).Original), ok
}

// margin reads bare paper around the picture, and reports whether there is some.
func (r photoReader) margin() (register.Light, bool) {
	var where []register.Point
	var colours [][3]float64
	aspect := float64(r.original.W) / float64(r.original.H)
	for _, out := range []float64{0.008, 0.014, 0.02} {
		x, y := out, out*aspect // as shares of the width and the height
		const n = 24
		for i := range n {
			t := (float64(i) + 0.5) / n
			for _, p := range []register.Point{{X: t, Y: -y}, {X: t, Y: 1 + y}, {X: -x, Y: t}, {X: 1 + x, Y: t}} {
				if c, ok := r.seenAt(p); ok && min(c[0], c[1], c[2]) > 0.02 {
					where, colours = append(where, p), append(colours, c)
				}
			}
		}
	}
	const off = 0.08
	least := 3 * 24 * 2 // half of all
	light, err := register.FitLight(where, colours, off, least)
	return light, err == nil
}

// regions reads the regions of both pictures.
func (r photoReader) regions(p *Photo) {
	columns, rows := regionsLong, regionsShort
	if r.original.H > r.original.W {
		columns, rows = rows, columns
	}
	reach := max(0, r.original.W/800)
	for row := range rows {
		for column := range columns {
			var numbers []float64
			var seen []cie.Lab
			for j := range regionSamples {
				for i := range regionSamples {
					at := register.Point{
						X: (float64(column) + (float64(i)+0.5)/regionSamples) / float64(columns),
						Y: (float64(row) + (float64(j)+0.5)/regionSamples) / float64(rows),
					}
					own, inside := patchOf(r.original, register.Point{X: at.X * float64(r.original.W), Y: at.Y * float64(r.original.H)}, reach)
					rgb, ok := r.seenAt(at)
					if !inside || !ok {
						continue
					}
					for k, w := range p.Light.At(at) {
						rgb[k] /= w
					}
					numbers = append(numbers, own...)
					seen = append(seen, labOf(rgb))
				}
			}
			if len(seen) < regionSamples*regionSamples/2 {
				continue
			}
			reading, err := pin.Average(seen)
			if err != nil {
				continue
			}
			p.Regions = append(p.Regions, Spot{Numbers: numbers, Lab: reading.Lab})
			p.Places = append(p.Places, register.Point{X: (float64(column) + 0.5) / float64(columns), Y: (float64(row) + 0.5) / float64(rows)})
			p.Spread = append(p.Spread, reading.Spread)
		}
	}
}

// balance makes the lightest region as light as white at most; what its colour is
// remains open.
func (p *Photo) balance() {
	most := 0.0
	for _, s := range p.Regions {
		most = max(most, s.Lab.ToXYZ(cie.D50).Y)
	}
	for i := range p.Regions {
		p.Regions[i].Lab = p.Regions[i].Lab.ToXYZ(cie.D50).Scale(0.9 / most).ToLab(cie.D50)
	}
	for k := range p.Light {
		p.Light[k][0] = math.Log(most / 0.9)
	}
}

// cameraOf returns the camera's channels of a colour, [labOf] the colour of such.
func cameraOf(c cie.Lab) [3]float64 {
	x := c.ToXYZ(cie.D50)
	return camera.to.Apply([3]float64{x.X, x.Y, x.Z})
}

func labOf(rgb [3]float64) cie.Lab {
	v := camera.from.Apply(rgb)
	return cie.XYZ{X: v[0], Y: v[1], Z: v[2]}.ToLab(cie.D50)
}

func (p Photo) check() error {
	if len(p.Regions) < MinSpots || len(p.Places) != len(p.Regions) || len(p.Spread) != len(p.Regions) {
		return evidenceError("the photograph has not been read")
	}
	return checkSpots(p.Regions)
}

func (p Photo) spots() []Spot   { return p.Regions }
func (p Photo) seen() bool      { return false }
func (p Photo) spread() float64 { return PhotoSpread }
func (p Photo) photographed()   {}

// nuisances is how many numbers describe what is not known of a photograph: three
// gains, five terms of the light, the slope of the tone curve.
const nuisances = 9

// priors returns their standard deviations.
func (p Photo) priors() [nuisances]float64 {
	gain, light := gainNone, lightNone
	if p.Margin {
		gain, light = gainMargin, lightMargin
	}
	return [nuisances]float64{gain, gain, gain, light, light, light, light, light, toneSpread}
}

// taken returns how a camera of these nuisances shows a predicted colour at a place.
func taken(c cie.Lab, at register.Point, theta *[nuisances]float64) cie.Lab {
	rgb, _ := exposed(c, at, theta)
	return labOf(rgb)
}

// exposed returns the camera's channels, and the logarithm that the tone curve's slope
// is multiplied with in each.
func exposed(c cie.Lab, at register.Point, theta *[nuisances]float64) (rgb, tone [3]float64) {
	rgb = cameraOf(c)
	t := register.LightTerms(at)
	light := 0.0
	for i := 1; i < len(t); i++ {
		light += theta[2+i] * t[i]
	}
	const floor = 1e-3
	for k, v := range rgb {
		tone[k] = math.Log(max(math.Abs(v), floor))
		rgb[k] = v * math.Exp(theta[k]+light+theta[8]*tone[k])
	}
	return rgb, tone
}

// slopes returns the colour that a camera shows and how each nuisance moves it.
func slopes(c cie.Lab, at register.Point, theta *[nuisances]float64) (now cie.Lab, slope [nuisances][3]float64) {
	rgb, tone := exposed(c, at, theta)
	now = labOf(rgb)
	const h = 1e-4
	t := register.LightTerms(at)
	for k := range rgb {
		moved := rgb
		moved[k] *= 1 + h
		d := difference(labOf(moved), now)
		for j := range d {
			d[j] /= h
			slope[k][j] = d[j]
			for i := 1; i < len(t); i++ {
				slope[2+i][j] += t[i] * d[j]
			}
			slope[8][j] += tone[k] * d[j]
		}
	}
	return now, slope
}

// sigma is the spread of one region.
func (p Photo) sigma(i int) float64 { return math.Hypot(PhotoSpread, textureShare*p.Spread[i]) }

// fit finds the likeliest nuisances for predicted colours, by Gauss-Newton steps, and
// the logarithm of the share of their prior's room that the data leave them.
func (p Photo) fit(predicted []cie.Lab) (theta [nuisances]float64, logRoom float64) {
	prior := p.priors()
	const rounds = 4
	for range rounds {
		var normal [nuisances * nuisances]float64
		var right [nuisances]float64
		for k, s := range prior {
			normal[k*nuisances+k] = 1 / (s * s)
			right[k] = -theta[k] / (s * s)
		}
		for i, c := range predicted {
			now, slope := slopes(c, p.Places[i], &theta)
			off := difference(p.Regions[i].Lab, now)
			// Far-off regions are misread ones and pull less.
			s := p.sigma(i)
			weight := 1 / (s * s) * min(1, 4*s/max(math.Sqrt(dot(off, off)), 1e-9))
			for a := range nuisances {
				for b := a; b < nuisances; b++ {
					normal[a*nuisances+b] += weight * dot(slope[a], slope[b])
				}
				right[a] += weight * dot(slope[a], off)
			}
		}
		var c mat.Cholesky
		if !c.Factorize(mat.NewSymDense(nuisances, normal[:])) {
			return theta, 0
		}
		var step mat.VecDense
		if c.SolveVecTo(&step, mat.NewVecDense(nuisances, right[:])) != nil {
			return theta, 0
		}
		for k := range theta {
			theta[k] += min(max(step.AtVec(k), -0.5), 0.5)
		}
		logRoom = -0.5 * c.LogDet()
	}
	for k, s := range prior {
		logRoom -= math.Log(s)
		logRoom -= theta[k] * theta[k] / (2 * s * s)
	}
	return theta, logRoom
}

func difference(a, b cie.Lab) [3]float64 { return [3]float64{a.L - b.L, a.A - b.A, a.B - b.B} }

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// logLikelihood integrates the nuisances out by Laplace's method.
func (p Photo) logLikelihood(_ *hypothesis, _, predicted []cie.Lab) float64 {
	theta, sum := p.fit(predicted)
	for i, c := range predicted {
		sum += logNoise(cie.DeltaE76(p.Regions[i].Lab, taken(c, p.Places[i], &theta)), p.sigma(i))
	}
	return sum
}

// observed returns the regions' colours with the likeliest exposure, white balance and
// light for the predicted ones taken out.
func (p Photo) observed(predicted []cie.Lab) []cie.Lab {
	theta, _ := p.fit(predicted)
	out := make([]cie.Lab, len(predicted))
	for i, c := range predicted {
		shown := taken(c, p.Places[i], &theta)
		seen := p.Regions[i].Lab
		out[i] = cie.Lab{L: seen.L + c.L - shown.L, A: seen.A + c.A - shown.A, B: seen.B + c.B - shown.B}
	}
	return out
}
