package cause

import (
	"context"
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/register"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// A print as it was observed, as a picture that lies beside its proofs: in 16 bits of
// ROMM RGB, which holds every surface colour, relative to the paper's white.

// Place is a place of a print and the colour that was observed there.
type Place struct {
	X, Y float64 // as shares of the picture's width and height
	Lab  cie.Lab // D50, relative to the paper's white
}

// Laid returns the photograph that p was read from as it lies on an original of the given
// size: w by h pixels over all of it, the light that fell on it taken out by p.Light.
// It returns ctx's error when it was stopped.
func (p Photo) Laid(ctx context.Context, engine setup.Chains, photograph *photo.Picture, originalW, originalH, w, h int) (*photo.Picture, error) {
	larger := register.Homography{float64(originalW) / float64(w), 0, 0, 0, float64(originalH) / float64(h), 0, 0, 0, 1}
	laid, err := register.Lay(ctx, photograph, larger.Then(p.Match.Map), w, h)
	if err != nil {
		return nil, err
	}
	source, err := setup.SourceOf(laid, nil)
	if err != nil {
		return nil, err
	}
	return repaint(ctx, engine, source.Profile, source.Pixels(), func(at register.Point, c cie.Lab) cie.Lab {
		rgb := cameraOf(c)
		for k, v := range p.Light.At(at) {
			rgb[k] /= v
		}
		return labOf(rgb)
	})
}

// Evened returns p with the light that suits a cause's predicted colours of its regions:
// where no bare paper told the light there is no other way to know it.
func (p Photo) Evened(predicted []cie.Lab) Photo {
	theta, _ := p.fit(predicted)
	for k := range p.Light {
		p.Light[k][0] += theta[k]
		for i := 1; i < len(p.Light[k]); i++ {
			p.Light[k][i] += theta[2+i]
		}
	}
	return p
}

// paintedRadius is that of a painted disc as a share of the picture's longer side: to be
// seen from where the whole picture is. A ring of ringWidth parts it from the picture.
const (
	paintedRadius = 0.045
	ringWidth     = 0.003
)

// Painted returns an original with the observed colours as discs on their places, as large
// as fits w by h pixels. levels are its numbers as [raster.Levels] makes them, profile what
// they are. It returns ctx's error when it was stopped.
func Painted(ctx context.Context, engine setup.Chains, profile *proof.Profile, levels []raster.Pixels, places []Place, w, h int) (*photo.Picture, error) {
	small, err := raster.Fit(ctx, levels, w, h)
	if err != nil {
		return nil, err
	}
	long := float64(max(small.W, small.H))
	return repaint(ctx, engine, profile, small, func(at register.Point, c cie.Lab) cie.Lab {
		for _, p := range places {
			d := math.Hypot((at.X-p.X)*float64(small.W), (at.Y-p.Y)*float64(small.H)) / long
			switch {
			case d < paintedRadius-ringWidth:
				return p.Lab
			case d < paintedRadius:
				return cie.Lab{L: 100}
			}
		}
		return c
	})
}

// repaint runs a picture through of, pixel by pixel: its colour, and its place as shares
// of the picture, become another colour.
func repaint(ctx context.Context, engine setup.Chains, profile *proof.Profile, px raster.Pixels, of func(at register.Point, c cie.Lab) cie.Lab) (*photo.Picture, error) {
	chain, err := engine.Chain(proof.Plan{Source: profile, Screen: proof.SpaceProfile(space.SRGB())})
	if err != nil {
		return nil, err
	}
	defer chain.Close()
	romm, _ := space.ByID("romm")
	w, h := px.W, px.H
	out := &photo.Picture{W: w, H: h, Channels: 3, Depth: 16, Pix16: make([]uint16, 3*w*h), ICC: romm.ICC()}
	fail := make(chan error, 1)
	raster.InRows(h, func(y0, y1 int) {
		values := make([]proof.Value, w)
		numbers := make([]float64, 0, w*px.Channels)
		for y := y0; y < y1 && ctx.Err() == nil; y++ {
			numbers = numbers[:0]
			for x := range w {
				numbers = px.At(numbers, x, y)
			}
			if err := chain.Values(values, numbers); err != nil {
				select {
				case fail <- err:
				default:
				}
				return
			}
			for x, v := range values {
				at := register.Point{X: (float64(x) + 0.5) / float64(w), Y: (float64(y) + 0.5) / float64(h)}
				for k, c := range romm.FromLab(of(at, v.Original)) {
					out.Pix16[3*(y*w+x)+k] = uint16(math.Round(65535 * min(max(c, 0), 1)))
				}
			}
		}
	})
	select {
	case err := <-fail:
		return nil, err
	default:
	}
	return out, ctx.Err()
}
