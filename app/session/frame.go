package session

import (
	"context"
	"image"
	"image/color"
	"math"

	"firstsheet/app/overlay"
	"firstsheet/proof"
	"firstsheet/proof/raster"
)

// DeskGrey is the desk's grey in the buffers: the same as the theme's, so that
// the cells have no edge.
const DeskGrey = 119

// sampled is the picture at view size and what it was sampled for.
type sampled struct {
	picture int
	at      Placing
	pixels  raster.Pixels
}

// frameJob makes one set of buffers. It runs away from the drawing goroutine.
type frameJob struct {
	state   State
	pic     *Picture
	numbers sampled
	ground  [MaxSheets]color.RGBA
}

// draw fills the buffers, one a sheet, and reports whether it got through.
func (j *frameJob) draw(ctx context.Context, key frameKey, looks [MaxSheets]Look,
	apart [MaxSheets]Difference, out [MaxSheets]*image.RGBA) bool {
	pl := Place(key.cell, key.view, j.pic.Info.W, j.pic.Info.H)
	if j.numbers.picture != key.picture || j.numbers.at != pl {
		j.numbers = sampled{key.picture, pl, raster.Sample(ctx, j.pic.Levels, pl.View())}
	}
	src := j.numbers.pixels
	if ctx.Err() != nil {
		j.numbers = sampled{}
		return false
	}
	w, h := src.W, src.H
	tight := image.NewRGBA(image.Rect(0, 0, w, h))
	line := max(int(math.Round(key.cell.Scale)), 1)
	bands, _ := overlay.ByID("reach")
	dark, _ := overlay.ByID("darker")
	diff, _ := overlay.ByID("difference")
	for n := 0; n < key.count; n++ {
		bare(out[n])
		look := looks[n]
		if look == nil {
			continue
		}
		if look.Proof(ctx, tight.Pix, src) != nil {
			return false
		}
		differs := key.show[n] == ShowDifference && (key.apart[n] != nil || !againstSheet(j.state, n))
		if key.set[n].Paper != "" && key.bands || differs {
			f := overlay.Field{W: w, H: h, Reach: make([]float32, w*h), Diff: make([]float32, w*h), Dark: make([]bool, w*h)}
			samples := make([]proof.Sample, w*h)
			if look.Samples(ctx, samples, src) != nil {
				return false
			}
			for i, s := range samples {
				f.Reach[i], f.Diff[i], f.Dark[i] = s.Reach, s.DeltaE00, s.Darker
			}
			o := overlay.Options{Limit: key.limit, Line: line}
			switch {
			case differs:
				if apart[n] != nil {
					apart[n](f.Diff, src)
				}
				diff.Draw(tight, image.Point{}, f, o)
			default:
				bands.Draw(tight, image.Point{}, f, o)
				if key.darker {
					dark.Draw(tight, image.Point{}, f, o)
				}
			}
		}
		j.ground[n] = look.Ground()
		lay(out[n], pl, tight, j.ground[n])
	}
	return ctx.Err() == nil
}

func againstSheet(s State, n int) bool { return s.Shown(n).Against >= 0 }

// bare fills a buffer with the desk's grey.
func bare(b *image.RGBA) {
	for i := 0; i < len(b.Pix); i += 4 {
		b.Pix[i], b.Pix[i+1], b.Pix[i+2], b.Pix[i+3] = DeskGrey, DeskGrey, DeskGrey, 255
	}
}

// lay puts a sheet on the desk: a soft shadow, the border in the paper's white,
// the picture.
func lay(b *image.RGBA, pl Placing, pic *image.RGBA, ground color.RGBA) {
	shadow(b, pl.Sheet)
	fill := pl.Sheet.Intersect(b.Rect)
	for y := fill.Min.Y; y < fill.Max.Y; y++ {
		p := b.Pix[b.PixOffset(fill.Min.X, y) : b.PixOffset(fill.Max.X-1, y)+4]
		for i := 0; i < len(p); i += 4 {
			p[i], p[i+1], p[i+2], p[i+3] = ground.R, ground.G, ground.B, 255
		}
	}
	for y := 0; y < pic.Rect.Dy(); y++ {
		copy(b.Pix[b.PixOffset(pl.Pic.Min.X, pl.Pic.Min.Y+y):], pic.Pix[y*pic.Stride:(y+1)*pic.Stride])
	}
}

// shadow darkens the desk a little under the sheet's lower right edges, where
// there is room.
func shadow(b *image.RGBA, sheet image.Rectangle) {
	const reach = 5
	for d := reach; d >= 1; d-- {
		g := uint8(DeskGrey - 5*(reach+1-d))
		r := image.Rect(sheet.Min.X+2*d, sheet.Max.Y, sheet.Max.X+d, sheet.Max.Y+d)
		s := image.Rect(sheet.Max.X, sheet.Min.Y+2*d, sheet.Max.X+d, sheet.Max.Y+d)
		for _, q := range []image.Rectangle{r, s} {
			q = q.Intersect(b.Rect)
			for y := q.Min.Y; y < q.Max.Y; y++ {
				for x := q.Min.X; x < q.Max.X; x++ {
					o := b.PixOffset(x, y)
					b.Pix[o], b.Pix[o+1], b.Pix[o+2] = g, g, g
				}
			}
		}
	}
}
