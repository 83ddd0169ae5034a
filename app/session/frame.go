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

// sampled are pictures at view size, by their keys, and where they were sampled for.
type sampled struct {
	at     Placing
	pixels map[int]raster.Pixels
}

// frameJob makes one set of buffers. It runs away from the drawing goroutine.
type frameJob struct {
	pic     *Picture
	pics    [MaxSheets]*Picture // what lies on each sheet; all cover the same place
	numbers sampled
	ground  [MaxSheets]color.RGBA
}

// draw fills the buffers, one a sheet, and reports whether it got through.
func (j *frameJob) draw(ctx context.Context, key frameKey, looks [MaxSheets]Look,
	apart [MaxSheets]Difference, out [MaxSheets]*image.RGBA) bool {
	pl := Place(key.cell, key.view, j.pic.Info.W, j.pic.Info.H)
	if !j.sample(ctx, key, pl) {
		j.numbers = sampled{}
		return false
	}
	size := pl.Pic.Size()
	tight := image.NewRGBA(image.Rectangle{Max: size})
	options := overlay.Options{Limit: key.limit, Line: max(int(math.Round(key.cell.Scale)), 1)}
	for n := 0; n < key.count; n++ {
		bare(out[n])
		if key.empty[n] {
			layEmpty(out[n], pl, int(math.Round(key.cell.Scale)))
			continue
		}
		look, src := looks[n], j.numbers.pixels[key.set[n].picture]
		if look == nil || src.W == 0 {
			continue
		}
		if look.Proof(ctx, tight.Pix, src) != nil {
			return false
		}
		if drawn := key.drawn(n); len(drawn) > 0 {
			field, err := fieldOf(ctx, look, apart[n], src)
			if err != nil {
				return false
			}
			for _, o := range drawn {
				o.Draw(tight, image.Point{}, field, options)
			}
		}
		j.ground[n] = look.Ground()
		lay(out[n], pl, tight, j.ground[n])
	}
	return ctx.Err() == nil
}

// sample brings what lies on the sheets to view size, and reports whether it got through.
// What was sampled for the frame before is taken from there.
func (j *frameJob) sample(ctx context.Context, key frameKey, pl Placing) bool {
	before := j.numbers
	j.numbers = sampled{pl, map[int]raster.Pixels{}}
	for n := range key.count {
		of := key.set[n].picture
		if _, done := j.numbers.pixels[of]; done || j.pics[n] == nil {
			continue
		}
		px, have := before.pixels[of]
		if !have || before.at != pl {
			view := pl.View()
			// An observation has pixels of another size, and lies where the picture does.
			view.Scale *= float64(j.pic.Info.W) / float64(j.pics[n].Levels[0].W)
			px = raster.Sample(ctx, j.pics[n].Levels, view)
		}
		j.numbers.pixels[of] = px
	}
	return ctx.Err() == nil
}

// drawn lists what is drawn over sheet n: nothing while the difference that it shows
// is still being found.
func (k frameKey) drawn(n int) []overlay.Overlay {
	switch {
	case k.show[n] == ShowDifference && (k.apart[n] != nil || !k.against[n]):
		return k.over.Drawn(overlay.Differences)
	case k.set[n].Paper != "":
		return k.over.Drawn(overlay.Proofs)
	}
	return nil
}

// fieldOf finds what overlays draw; apart, where it is there, tells the differences.
func fieldOf(ctx context.Context, look Look, apart Difference, src raster.Pixels) (overlay.Field, error) {
	n := src.W * src.H
	f := overlay.Field{W: src.W, H: src.H, Reach: make([]float32, n), Diff: make([]float32, n), Dark: make([]bool, n)}
	samples := make([]proof.Sample, n)
	if err := look.Samples(ctx, samples, src); err != nil {
		return f, err
	}
	for i, s := range samples {
		f.Reach[i], f.Diff[i], f.Dark[i] = float32(s.Reach.Float()), float32(s.DeltaE00.Float()), s.Darker
	}
	if apart != nil {
		apart(f.Diff, src)
	}
	return f, nil
}

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

// Greys of an empty sheet, neutral as the desk, and the distance of its hatching's lines.
const (
	emptyGrey  = 205
	hatchGrey  = 166
	hatchEvery = 12
)

// layEmpty lays a sheet on the desk that shows no picture: hatched, so that nobody takes it
// for bare paper. unit is the device pixels per unit.
func layEmpty(b *image.RGBA, pl Placing, unit int) {
	unit = max(unit, 1)
	lay(b, pl, image.NewRGBA(image.Rectangle{}), color.RGBA{emptyGrey, emptyGrey, emptyGrey, 255})
	in := pl.Pic.Intersect(b.Rect)
	for y := in.Min.Y; y < in.Max.Y; y++ {
		for x := in.Min.X; x < in.Max.X; x++ {
			if (x+y)%(hatchEvery*unit) < unit {
				o := b.PixOffset(x, y)
				b.Pix[o], b.Pix[o+1], b.Pix[o+2] = hatchGrey, hatchGrey, hatchGrey
			}
		}
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
