package raster

import (
	"context"
	"image"
)

// Shift tells by how many device pixels a picture has moved between two views. It is ok
// where nothing else differs and some of it stays in view: [Sample] has the same numbers for that.
func (v View) Shift(to View) (by image.Point, ok bool) {
	by = image.Pt(to.X0-v.X0, to.Y0-v.Y0)
	stays := v.Visible.Intersect(v.Visible.Add(by))
	return by, v.Scale == to.Scale && v.Visible == to.Visible && !stays.Empty()
}

// Exposed returns the parts of w by h pixels that come into view where a picture moves.
func Exposed(w, h int, by image.Point) (parts []image.Rectangle) {
	whole := image.Rect(0, 0, w, h)
	stays := whole.Intersect(whole.Add(by))
	for _, p := range []image.Rectangle{
		image.Rect(0, 0, w, stays.Min.Y), image.Rect(0, stays.Max.Y, w, h),
		image.Rect(0, stays.Min.Y, stays.Min.X, stays.Max.Y), image.Rect(stays.Max.X, stays.Min.Y, w, stays.Max.Y),
	} {
		if !p.Empty() {
			parts = append(parts, p)
		}
	}
	return parts
}

// Pan makes p, which Sample has made for one view, what it makes for another that is
// shifted by by. When ctx ends the pixels are incomplete.
func Pan(ctx context.Context, p Pixels, levels []Pixels, to View, by image.Point) {
	Move(p.P8, p.W*p.Channels, by.X*p.Channels, by.Y)
	Move(p.P16, p.W*p.Channels, by.X*p.Channels, by.Y)
	for _, part := range Exposed(p.W, p.H, by) {
		view := to
		view.Visible = part.Add(to.Visible.Min)
		fresh := Sample(ctx, levels, view)
		Paste(p.P8, p.W*p.Channels, part.Min.X*p.Channels, part.Min.Y, fresh.P8, fresh.W*p.Channels)
		Paste(p.P16, p.W*p.Channels, part.Min.X*p.Channels, part.Min.Y, fresh.P16, fresh.W*p.Channels)
	}
}

// Part returns a copy of a part of p.
func (p Pixels) Part(at image.Rectangle) Pixels {
	q := New(at.Dx(), at.Dy(), p.Channels, p.Deep())
	for y := range q.H {
		from, to := p.Run((at.Min.Y+y)*p.W+at.Min.X, (at.Min.Y+y)*p.W+at.Max.X), q.Rows(y, y+1)
		copy(to.P8, from.P8)
		copy(to.P16, from.P16)
	}
	return q
}

// Move moves what lies in rows of so many entries by x entries and y rows. What comes
// into view is undefined.
func Move[T any](rows []T, stride, x, y int) {
	if n := y*stride + x; n > 0 {
		copy(rows[min(n, len(rows)):], rows)
	} else {
		copy(rows, rows[min(-n, len(rows)):])
	}
}

// Paste lays part, in rows of width entries, into rows of stride entries at x, y.
func Paste[T any](rows []T, stride, x, y int, part []T, width int) {
	for ; len(part) > 0; y, part = y+1, part[width:] {
		copy(rows[y*stride+x:][:width], part)
	}
}
