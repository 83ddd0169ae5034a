package main

import (
	"context"
	"image"

	"firstsheet/app/overlay"
	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// mapLines is how many contour lines' widths fit along the longer side: lines of a
// 24-megapixel picture must still be seen when it is shown on a screen.
const mapLines = 1500

// writeReach draws the reach map: the picture in pale grey, the reach bands over it,
// hatched where it is darker than the paper.
//
// The overlays want a whole field at once. It is drawn in strips with a margin, so
// that a picture of any size needs little memory.
func (j *proofJob) writeReach(ctx context.Context, path string, pixels raster.Pixels) error {
	w, h := pixels.W, pixels.H
	line := max(1, (max(w, h)+mapLines/2)/mapLines)
	bands, _ := overlay.ByID("difference")
	darker, _ := overlay.ByID("darker")
	// Strips start on a multiple of the hatching's period, the margins are wider than
	// the overlays look around.
	period := 7 * line
	margin, core := 2*period, period*max(1, 512/period)
	rgb := make([]uint8, w*h*3)
	var field overlay.Field
	for y := 0; y < h; y += core {
		lo, hi := max(0, y-margin), min(h, y+core+margin)
		rows := pixels.Rows(lo, hi)
		field.Reset(w, rows.H, line)
		strip := image.NewRGBA(image.Rect(0, 0, w, rows.H))
		if err := j.strips.Grid().ProofAndSamples(ctx, strip.Pix, field.Samples, rows); err != nil {
			return err
		}
		var alpha []uint8
		if a := j.reading.Alpha; a != nil {
			alpha = a[lo*w : hi*w]
		}
		mapped(field.Samples, alpha)
		bands.Draw(strip, image.Point{}, &field, j.lowestBand())
		darker.Draw(strip, image.Point{}, &field, j.lowestBand())
		for row := y; row < min(h, y+core); row++ {
			src, dst := strip.Pix[(row-lo)*strip.Stride:], rgb[3*row*w:]
			for x := range w {
				copy(dst[3*x:3*x+3], src[4*x:4*x+3])
			}
		}
	}
	return photo.Write(ctx, path, &photo.Picture{W: w, H: h, Channels: 3, Depth: 8, Pix8: rgb, ICC: space.SRGB().ICC()}, photo.WriteOptions{})
}

// mapped makes samples those that the map draws: the reach in place of the difference. Dark
// and fully transparent pixels lie in no band.
func mapped(samples []proof.Sample, alpha []uint8) {
	for i, s := range samples {
		switch {
		case alpha != nil && alpha[i] == 0:
			samples[i] = proof.Sample{}
		case s.Darker:
			samples[i].DeltaE00 = 0
		default:
			samples[i].DeltaE00 = s.Reach
		}
	}
}
