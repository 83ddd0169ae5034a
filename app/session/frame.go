package session

import (
	"bytes"
	"context"
	"image"
	"image/color"

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
	read    [MaxSheets]reading
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
	for n := range j.read {
		src := j.numbers.pixels[key.set[n].picture]
		switch {
		case n >= key.count:
			j.read[n] = reading{}
		case key.empty[n]:
			layEmpty(out[n], pl, key.line())
		case looks[n] == nil || src.W == 0:
			bare(out[n])
		default:
			if j.read[n].take(ctx, key.reading(n, pl), reader{looks[n], apart[n]}, src) != nil {
				return false
			}
			j.ground[n] = looks[n].Ground()
			lay(out[n], pl, j.read[n].pixels, j.ground[n])
			for _, o := range key.drawn(n) {
				o.Draw(out[n], pl.Pic.Min, &j.read[n].field, key.limit)
			}
		}
	}
	return ctx.Err() == nil
}

// sample brings what lies on the sheets to view size, and reports whether it got through.
// What was in view in the frame before is taken from there.
func (j *frameJob) sample(ctx context.Context, key frameKey, pl Placing) bool {
	before := j.numbers
	j.numbers = sampled{pl, map[int]raster.Pixels{}}
	by, near := before.at.View().Shift(pl.View())
	for n := range key.count {
		of := key.set[n].picture
		if _, done := j.numbers.pixels[of]; done || j.pics[n] == nil {
			continue
		}
		levels, view := j.pics[n].Levels, pl.View()
		// An observation has pixels of another size, and lies where the picture does.
		view.Scale *= float64(j.pic.Info.W) / float64(levels[0].W)
		px, have := before.pixels[of]
		switch {
		case !have || !near:
			px = raster.Sample(ctx, levels, view)
		case by != image.Point{}:
			raster.Pan(ctx, px, levels, view, by)
		}
		j.numbers.pixels[of] = px
	}
	return ctx.Err() == nil
}

// bare fills a buffer with the desk's grey.
func bare(b *image.RGBA) {
	desk := strip(b.Rect.Dx(), deskColour())
	for y := range b.Rect.Dy() {
		copy(b.Pix[y*b.Stride:], desk)
	}
}

func deskColour() color.RGBA { return color.RGBA{DeskGrey, DeskGrey, DeskGrey, 255} }

// strip returns the bytes of w pixels of a colour.
func strip(w int, c color.RGBA) []uint8 { return bytes.Repeat([]uint8{c.R, c.G, c.B, 255}, w) }

// lay puts a sheet on the desk: a soft shadow, the border in the paper's white, the
// picture, of which nil is none.
func lay(b *image.RGBA, pl Placing, pic []uint8, ground color.RGBA) {
	sheet := pl.Sheet.Intersect(b.Rect)
	desk, paper, width := strip(b.Rect.Dx(), deskColour()), strip(sheet.Dx(), ground), 4*pl.Pic.Dx()
	raster.InRows(b.Rect.Dy(), func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			row := b.Pix[y*b.Stride:]
			copy(row, desk)
			if y >= sheet.Min.Y && y < sheet.Max.Y {
				copy(row[4*sheet.Min.X:], paper)
			}
			if k := y - pl.Pic.Min.Y; pic != nil && k >= 0 && k < pl.Pic.Dy() {
				copy(row[4*pl.Pic.Min.X:], pic[k*width:][:width])
			}
		}
	})
	shadow(b, pl.Sheet)
}

// Greys of an empty sheet, neutral as the desk, and the distance of its hatching's lines.
const (
	emptyGrey  = 205
	hatchGrey  = 166
	hatchEvery = 12
)

// layEmpty lays a sheet on the desk that shows no picture: hatched, so that nobody takes it
// for bare paper. line is the width of a line in device pixels.
func layEmpty(b *image.RGBA, pl Placing, line int) {
	lay(b, pl, nil, color.RGBA{emptyGrey, emptyGrey, emptyGrey, 255})
	in := pl.Pic.Intersect(b.Rect)
	for y := in.Min.Y; y < in.Max.Y; y++ {
		for x := in.Min.X; x < in.Max.X; x++ {
			if (x+y)%(hatchEvery*line) < line {
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
