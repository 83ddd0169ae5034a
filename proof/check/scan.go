package check

import (
	"context"
	"fmt"
	"slices"

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
	// Readings are of the patches that the picture can hold, in the sheet's order.
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
// Patches at the end of the picture's numbers are left out, for nobody knows how much
// stronger they are: a print's greens and cyans do not fit into a scan saved as sRGB.
// It returns a *ScanError where the sheet is not all there, and ctx's error.
func ReadScan(ctx context.Context, engine setup.Chains, pic *photo.Picture, s space.Space) (Scan, error) {
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
	spots, ended, err := read(engine, source, h, where)
	if err != nil {
		return Scan{}, err
	}
	light, err := fitLight(where[len(patches):], spots[len(patches):])
	if err != nil {
		return Scan{}, &ScanError{"the bare paper of the sheet cannot be read: is it a check sheet, evenly lit?"}
	}
	out := Scan{Notes: slices.Clone(source.Notes)}
	for i, p := range patches {
		if ended[i] {
			continue
		}
		w := light.At(share(where[i].middle()))
		c := spots[i].Lab.ToXYZ(cie.D50)
		lab := cie.XYZ{X: c.X / w[0] * cie.D50.X, Y: c.Y / w[1], Z: c.Z / w[2] * cie.D50.Z}.ToLab(cie.D50)
		out.Readings = append(out.Readings, Reading{p, lab, spots[i].Spread})
	}
	if n := len(patches) - len(out.Readings); n > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("Patches left out: %d of %d. This picture's numbers end there, and the print may be stronger. A scan saved in a wider space, or a little darker, holds more.",
			n, len(patches)))
	}
	if !slices.Contains(ended[len(patches):], false) {
		out.Notes = append(out.Notes, "The bare paper is where this picture's numbers end. If it is burnt out, all other colours read too light: scan or photograph it a little darker.")
	}
	out.Notes = append(out.Notes, "A scan or photograph is no measurement: its colours are as good as its profile.")
	return out, nil
}

// mostEnded is the share of a patch's pixels that may be at the end of the numbers, as
// noise and dust take them there.
const mostEnded = 0.25

// atEnd tells numbers of which one is the least or the most that there is. Of inks that
// says nothing: most colours go without one.
func atEnd(numbers []float64) bool {
	return len(numbers) <= 3 && (slices.Min(numbers) <= 0 || slices.Max(numbers) >= 1)
}

// read returns the colours under parts of the design, and which of them the picture may
// not hold.
func read(engine setup.Chains, source setup.Source, h register.Homography, where []rect) ([]pin.Reading, []bool, error) {
	p := source.Picture
	var numbers []float64
	ended := make([]bool, len(where))
	for k, r := range where {
		ends := 0
		for i := range samples {
			for j := range samples {
				u := 0.5 + inner*((float64(i)+0.5)/samples-0.5)
				v := 0.5 + inner*((float64(j)+0.5)/samples-0.5)
				at := h.Apply(register.Point{X: r.x + u*r.w, Y: r.y + v*r.h})
				if !(at.X >= 0 && at.Y >= 0 && at.X < float64(p.W) && at.Y < float64(p.H)) {
					return nil, nil, &ScanError{"part of the check sheet lies outside the picture: scan the whole sheet"}
				}
				pixel := p.At(int(at.X), int(at.Y))
				if atEnd(pixel) {
					ends++
				}
				numbers = append(numbers, pixel...)
			}
		}
		ended[k] = float64(ends) > mostEnded*samples*samples
	}
	chain, err := engine.Chain(proof.Plan{Source: source.Profile, Screen: proof.SpaceProfile(space.SRGB())})
	if err != nil {
		return nil, nil, err
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
			return nil, nil, err
		}
		out[i] = r
	}
	return out, ended, nil
}

// share returns a point of the design as a share of it.
func share(p register.Point) register.Point {
	return register.Point{X: p.X / designW, Y: p.Y / designH}
}

// fitLight fits the light, in X, Y and Z, to spots of bare paper.
func fitLight(where []rect, spots []pin.Reading) (register.Light, error) {
	var at []register.Point
	var colours [][3]float64
	for i, r := range where {
		c := spots[i].Lab.ToXYZ(cie.D50)
		at, colours = append(at, share(r.middle())), append(colours, [3]float64{c.X, c.Y, c.Z})
	}
	const off, least = 0.06, 12
	return register.FitLight(at, colours, off, least)
}
