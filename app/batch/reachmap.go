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
	options := overlay.Options{Limit: j.lowestBand(), Line: max(1, (max(w, h)+mapLines/2)/mapLines)}
	bands, _ := overlay.ByID("difference")
	darker, _ := overlay.ByID("darker")
	// Strips start on a multiple of the hatching's period, the margins are wider than
	// the overlays look around.
	period := 7 * options.Line
	margin, core := 2*period, period*max(1, 512/period)
	rgb := make([]uint8, w*h*3)
	for y := 0; y < h; y += core {
		lo, hi := max(0, y-margin), min(h, y+core+margin)
		rows := pixels.Rows(lo, hi)
		samples := make([]proof.Sample, w*rows.H)
		if err := j.strips.Grid().Samples(ctx, samples, rows); err != nil {
			return err
		}
		var alpha []uint8
		if a := j.source.Picture.Alpha; a != nil {
			alpha = a[lo*w : hi*w]
		}
		strip := image.NewRGBA(image.Rect(0, 0, w, rows.H))
		if err := j.strips.Grid().Proof(ctx, strip.Pix, rows); err != nil {
			return err
		}
		field := mapField(samples, alpha, w, rows.H)
		bands.Draw(strip, image.Point{}, field, options)
		darker.Draw(strip, image.Point{}, field, options)
		for row := y; row < min(h, y+core); row++ {
			src, dst := strip.Pix[(row-lo)*strip.Stride:], rgb[3*row*w:]
			for x := range w {
				copy(dst[3*x:3*x+3], src[4*x:4*x+3])
			}
		}
	}
	return photo.Write(ctx, path, &photo.Picture{W: w, H: h, Channels: 3, Depth: 8, Pix8: rgb, ICC: space.SRGB().ICC()}, photo.WriteOptions{})
}

// mapField is what the overlays draw. Dark and fully transparent pixels lie in no band.
func mapField(samples []proof.Sample, alpha []uint8, w, h int) overlay.Field {
	f := overlay.Field{W: w, H: h, Diff: make([]float32, len(samples)), Dark: make([]bool, len(samples))}
	for i, s := range samples {
		if alpha != nil && alpha[i] == 0 {
			continue
		}
		if f.Dark[i] = s.Darker; !s.Darker {
			f.Diff[i] = float32(s.Reach.Float())
		}
	}
	return f
}
