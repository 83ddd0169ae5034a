package engine

import (
	"context"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/differ"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// Limits of looking for differences.
const (
	differSide = 500 // the least longer side of the picture that is compared: places are a sixth of it and more
	leastSeen  = 1.0 // ΔE00 of a place that is worth going to: about one just seen side by side
)

// Differing implements session.Engine.
func (e *Engine) Differing(ctx context.Context, pic *session.Picture, one setup.Setup, others []setup.Setup, name string, names []string) ([]session.Differing, error) {
	level := 0
	for level+1 < len(pic.Levels) && max(pic.Levels[level+1].W, pic.Levels[level+1].H) >= differSide {
		level++
	}
	small := pic.Levels[level]
	n := small.W * small.H
	most, from := make([]float32, n), make([]uint8, n)
	for i, other := range others {
		apart, err := e.Difference(ctx, pic, other, one)
		if err != nil {
			return nil, err
		}
		samples := make([]proof.Sample, n)
		apart(samples, small)
		for k, s := range samples {
			if d := float32(s.DeltaE00.Float()); d > most[k] {
				most[k], from[k] = d, uint8(i)
			}
		}
	}
	places, err := differ.Places(ctx, most, thin(pic.Alpha(), pic.Levels[0], small, level), small.W, small.H, session.MaxPlaces, leastSeen)
	if err != nil {
		return nil, err
	}
	var out []session.Differing
	for _, p := range places {
		at := min(int(p.Y*float64(small.H)), small.H-1)*small.W + min(int(p.X*float64(small.W)), small.W-1)
		k := from[at]
		spot := []pin.Pin{{X: p.X, Y: p.Y, Radius: p.Side / 2}}
		here, err := e.read(ctx, pic, one, spot)
		if err != nil {
			return nil, err
		}
		there, err := e.read(ctx, pic, others[k], spot)
		if err != nil {
			return nil, err
		}
		change := words.Compare(there[0].Counted, here[0].Counted)
		told := "Here " + change.Beside(name, names[k]) + session.ToWhichEye(one, others[k])
		if change.Same() {
			// The piece's mean is alike; what differs is within it.
			told = "Here " + name + " and " + names[k] + " differ within the piece, not as a whole"
		}
		out = append(out, session.Differing{Place: p, Words: told + ": " + words.DeltaE00(p.DeltaE00) + " on average."})
	}
	return out, nil
}

// thin picks the alpha of a halved level out of the full one; nil stays nil.
func thin(alpha []uint8, full, small raster.Pixels, level int) []uint8 {
	if alpha == nil || level == 0 {
		return alpha
	}
	out := make([]uint8, small.W*small.H)
	for y := range small.H {
		for x := range small.W {
			out[y*small.W+x] = alpha[min(y<<level, full.H-1)*full.W+min(x<<level, full.W-1)]
		}
	}
	return out
}
