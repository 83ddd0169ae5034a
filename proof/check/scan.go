package check

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/register"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// Reading is a patch as a scan shows it.
type Reading struct {
	Patch Patch
	// Lab is its colour, D50, relative to the bare paper around it.
	Lab cie.Lab
	// Spread is the root mean square distance of the patch's pixels from Lab.
	Spread float64
}

// Scan is what was read off a scan or photograph of a printed check sheet.
type Scan struct {
	Readings []Reading
	// Notes are sentences on what was assumed.
	Notes []string
}

// samples a side of a patch; its outer fifth is left to blurred edges.
const (
	samples = 8
	inner   = 0.6
)

// ReadScan reads the patches of a sheet in a space off a picture of its print: turned
// and seen at a slant as it may be. The round marks say where everything is, the bare
// paper between the patches how the light falls.
//
// Lab is what the picture's profile says of its numbers, sRGB where it has none: a
// scanner without a profile of its own is off by several ΔE00, and the notes say so.
// It returns a *ScanError where the sheet is not all there, and ctx's error.
func ReadScan(ctx context.Context, engine *proof.Engine, pic *photo.Picture, s space.Space) (Scan, error) {
	source, err := setup.SourceOf(pic, nil)
	if err != nil {
		return Scan{}, err
	}
	const least = 500
	if min(pic.W, pic.H) < least {
		return Scan{}, &ScanError{fmt.Sprintf("the picture has only %d x %d pixels: scan at 100 ppi or more", pic.W, pic.H)}
	}
	h, err := locate(source.Picture)
	if err != nil {
		return Scan{}, err
	}
	if err := ctx.Err(); err != nil {
		return Scan{}, err
	}
	patches := Patches(s)
	where := slices.Concat(places(patches), bare())
	spots, err := read(engine, source, h, where)
	if err != nil {
		return Scan{}, err
	}
	light, err := fitLight(where[len(patches):], spots[len(patches):])
	if err != nil {
		return Scan{}, err
	}
	out := Scan{Notes: slices.Clone(source.Notes)}
	for i, p := range patches {
		w := light.at(where[i].middle())
		c := spots[i].Lab.ToXYZ(cie.D50)
		lab := cie.XYZ{X: c.X / w.X * cie.D50.X, Y: c.Y / w.Y, Z: c.Z / w.Z * cie.D50.Z}.ToLab(cie.D50)
		out.Readings = append(out.Readings, Reading{p, lab, spots[i].Spread})
	}
	out.Notes = append(out.Notes, "A scan or photograph is no measurement: its colours are as good as its profile.")
	return out, nil
}

// read returns the colours under parts of the design.
func read(engine *proof.Engine, source setup.Source, h register.Homography, where []rect) ([]pin.Reading, error) {
	p := source.Picture
	var numbers []float64
	for _, r := range where {
		for i := range samples {
			for j := range samples {
				u := 0.5 + inner*((float64(i)+0.5)/samples-0.5)
				v := 0.5 + inner*((float64(j)+0.5)/samples-0.5)
				at := h.Apply(register.Point{X: r.x + u*r.w, Y: r.y + v*r.h})
				if !(at.X >= 0 && at.Y >= 0 && at.X < float64(p.W) && at.Y < float64(p.H)) {
					return nil, &ScanError{"part of the check sheet lies outside the picture: scan the whole sheet"}
				}
				numbers = append(numbers, p.At(int(at.X), int(at.Y))...)
			}
		}
	}
	chain, err := engine.Chain(proof.Plan{Source: source.Profile, Screen: proof.SpaceProfile(space.SRGB())})
	if err != nil {
		return nil, err
	}
	defer chain.Close()
	values := make([]proof.Value, len(numbers)/p.Channels)
	chain.Values(values, numbers)
	out := make([]pin.Reading, len(where))
	colours := make([]cie.Lab, samples*samples)
	for i := range where {
		for k := range colours {
			colours[k] = values[i*len(colours)+k].Original
		}
		r, err := pin.Average(colours)
		if err != nil {
			return nil, err
		}
		out[i] = r
	}
	return out, nil
}

// light is the bare paper's XYZ over the design: the logarithm of each is a quadratic
// in x and y.
type light [3][6]float64

func terms(p register.Point) [6]float64 {
	x, y := p.X/designW-0.5, p.Y/designH-0.5
	return [6]float64{1, x, y, x * x, x * y, y * y}
}

func (l light) at(p register.Point) cie.XYZ {
	t := terms(p)
	var out [3]float64
	for k := range l {
		for i, v := range t {
			out[k] += v * l[k][i]
		}
		out[k] = math.Exp(out[k])
	}
	return cie.XYZ{X: out[0], Y: out[1], Z: out[2]}
}

// fitLight fits the light to spots of bare paper. Those that are darker than the
// others say are dirt or shadow and are left out.
func fitLight(where []rect, spots []pin.Reading) (light, error) {
	const off = 0.06 // of the light
	use := make([]bool, len(where))
	for i := range use {
		use[i] = true
	}
	var l light
	for range 4 {
		n := 0
		for _, u := range use {
			if u {
				n++
			}
		}
		if n < 12 {
			return l, &ScanError{"the bare paper of the sheet cannot be read: is it a check sheet, evenly lit?"}
		}
		a := mat.NewDense(n, 6, nil)
		b := mat.NewDense(n, 3, nil)
		row := 0
		for i, r := range where {
			if !use[i] {
				continue
			}
			t := terms(r.middle())
			a.SetRow(row, t[:])
			c := spots[i].Lab.ToXYZ(cie.D50)
			b.SetRow(row, []float64{math.Log(max(c.X, 1e-3)), math.Log(max(c.Y, 1e-3)), math.Log(max(c.Z, 1e-3))})
			row++
		}
		var x mat.Dense
		if err := x.Solve(a, b); err != nil {
			return l, &ScanError{"the bare paper of the sheet cannot be read: is it a check sheet, evenly lit?"}
		}
		for k := range l {
			for i := range l[k] {
				l[k][i] = x.At(i, k)
			}
		}
		for i, r := range where {
			w, y := l.at(r.middle()).Y, spots[i].Lab.ToXYZ(cie.D50).Y
			use[i] = math.Abs(y/w-1) < off
		}
	}
	return l, nil
}
