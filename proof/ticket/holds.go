package ticket

import (
	"bytes"
	"image"
	"image/png"
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/printfile"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// What tells a print's numbers from the picture's own, as mean ΔE00 of a grid of cells: shown as the
// paper's they look like the proof on the ticket, and shown as sRGB less than half as much like the
// original. Prints of three photographs on two demo papers come to 0.5 to 1.8, a third of the
// other and less; the photographs themselves to 1.2 and more, at least four times the other.
const (
	holdsGrid   = 24
	likeProof   = 2.5
	timesNearer = 2
	sameAspect  = 0.02
)

// Holds reports whether numbers of three channels that nothing tells the meaning of are those of this
// print's file, which lost its profile: shown as numbers of the paper, whose profile is given, they look like the
// proof on the ticket, from which they are deltaE00 apart in the mean. It compares small pictures and
// proves nothing; the file for another paper can pass, farther apart. Files that were tagged only, or have a
// border, are never found.
func (t Ticket) Holds(e printfile.Engine, px raster.Pixels, paper *proof.Profile) (holds bool, deltaE00 float64, err error) {
	if t.Job.Converts != printfile.Here || px.Channels != 3 || paper.ColorSpace() != icc.SpaceRGB {
		return false, 0, nil
	}
	original, proofed, ok := t.pictures()
	if !ok || math.Abs(float64(px.W*original.H)/float64(px.H*original.W)-1) > sameAspect {
		return false, 0, nil
	}
	srgb := proof.SpaceProfile(space.SRGB())
	plain, err := e.Chain(proof.Plan{Source: srgb, Screen: srgb})
	if err != nil {
		return false, 0, err
	}
	defer plain.Close()
	onPaper, err := e.Chain(proof.Plan{Source: srgb, Paper: paper, White: t.Job.Setup.White, Screen: srgb})
	if err != nil {
		return false, 0, err
	}
	defer onPaper.Close()

	numbers := cells(px)
	asPaper, err := apart(plain, onPaper, numbers, cells(proofed))
	if err != nil || asPaper > likeProof {
		return false, 0, err
	}
	asPicture, err := apart(plain, plain, numbers, cells(original))
	return asPicture > timesNearer*asPaper, asPaper, err
}

// pictures returns the small pair, false for a ticket without it.
func (t Ticket) pictures() (original, proofed raster.Pixels, ok bool) {
	var pair [2]raster.Pixels
	for i, data := range [][]byte{t.Original, t.Proof} {
		img, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			return original, proofed, false
		}
		pair[i] = ofImage(img)
	}
	return pair[0], pair[1], true
}

// apart returns the mean ΔE00 between what a chain shows of numbers on a screen of sRGB and other numbers
// of sRGB; plain shows these as they are.
func apart(plain, shows *proof.Chain, numbers, others []float64) (float64, error) {
	n := len(numbers) / 3
	shown, a, b := make([]proof.Value, n), make([]proof.Value, n), make([]proof.Value, n)
	if err := shows.Values(shown, numbers); err != nil {
		return 0, err
	}
	var screen []float64
	for _, v := range shown {
		screen = append(screen, v.Screen[:]...)
	}
	if err := plain.Values(a, screen); err != nil {
		return 0, err
	}
	if err := plain.Values(b, others); err != nil {
		return 0, err
	}
	sum := 0.0
	for i := range a {
		sum += cie.DeltaE00(a[i].Original, b[i].Original)
	}
	return sum / float64(n), nil
}

// cells returns the means of a grid over a picture, three numbers each. Of large cells some pixels are
// taken.
func cells(px raster.Pixels) []float64 {
	const n, some = holdsGrid, 8
	out := make([]float64, 0, 3*n*n)
	var v []float64
	span := func(i, size int) (from, to, step int) {
		from = i * size / n
		to = max(from+1, (i+1)*size/n)
		return from, to, max(1, (to-from)/some)
	}
	for j := range n {
		y0, y1, down := span(j, px.H)
		for i := range n {
			x0, x1, across := span(i, px.W)
			var sum [3]float64
			count := 0.0
			for y := y0; y < y1; y += down {
				for x := x0; x < x1; x += across {
					v = px.At(v[:0], x, y)
					for k := range sum {
						sum[k] += v[k]
					}
					count++
				}
			}
			out = append(out, sum[0]/count, sum[1]/count, sum[2]/count)
		}
	}
	return out
}

func ofImage(img image.Image) raster.Pixels {
	b := img.Bounds()
	px := raster.Pixels{W: b.Dx(), H: b.Dy(), Channels: 3}
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r, g, bl, _ := img.At(x, y).RGBA()
			px.P8 = append(px.P8, uint8(r>>8), uint8(g>>8), uint8(bl>>8))
		}
	}
	return px
}
