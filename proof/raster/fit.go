package raster

import (
	"context"
	"image"
	"math"
)

// mostEnlarged is how many times a picture is enlarged at most to fill its room: what is
// larger shows squares, and no more.
const mostEnlarged = 8

// Fit brings a picture to the size at which it just fits w by h pixels. levels are as
// [Levels] makes them. The error is the context's.
func Fit(ctx context.Context, levels []Pixels, w, h int) (Pixels, error) {
	full := levels[0]
	s := min(float64(w)/float64(full.W), float64(h)/float64(full.H), mostEnlarged)
	pw, ph := max(int(float64(full.W)*s+0.5), 1), max(int(float64(full.H)*s+0.5), 1)
	px := Sample(ctx, levels, View{Visible: image.Rect(0, 0, pw, ph), Scale: s})
	return px, ctx.Err()
}

// Cut brings a part of a picture to w by h pixels; from is in pixels of the picture at
// full size and has the shape of w by h. The error is the context's.
func Cut(ctx context.Context, levels []Pixels, from image.Rectangle, w, h int) (Pixels, error) {
	s := float64(w) / float64(max(from.Dx(), 1))
	px := Sample(ctx, levels, View{Visible: image.Rect(0, 0, w, h), Scale: s,
		X0: -int(math.Round(float64(from.Min.X) * s)), Y0: -int(math.Round(float64(from.Min.Y) * s))})
	return px, ctx.Err()
}
