package photo

import "context"

// turned reports whether Exif tag 274 says that the stored picture is not upright.
func turned(o int) bool { return o >= 2 && o <= 8 }

// orient returns w x h pixels of n channels turned upright, with the new width
// and height. o is Exif tag 274, 1 to 8: where row 0 and column 0 of the stored
// picture lie. 1 returns pix itself.
//
// Source: TIFF 6.0, section 8, "Orientation"; Exif 2.3, 4.6.4.
func orient[T sample](ctx context.Context, pix []T, w, h, n, o int) ([]T, int, int, error) {
	if !turned(o) || pix == nil {
		return pix, w, h, ctx.Err()
	}
	ow, oh := w, h
	if o >= 5 {
		ow, oh = h, w
	}
	// The stored pixel for upright (x, y) is start + x*dx + y*dy, in pixels.
	var start, dx, dy int
	switch o {
	case 2: // mirrored left to right
		start, dx, dy = w-1, -1, w
	case 3: // upside down
		start, dx, dy = w*h-1, -1, -w
	case 4: // mirrored top to bottom
		start, dx, dy = w*(h-1), 1, -w
	case 5: // rows are columns
		start, dx, dy = 0, w, 1
	case 6: // a quarter turn clockwise makes it upright
		start, dx, dy = w*(h-1), -w, 1
	case 7: // rows are columns, both reversed
		start, dx, dy = w*h-1, -w, -1
	case 8: // a quarter turn anticlockwise makes it upright
		start, dx, dy = w-1, w, -1
	}
	out := make([]T, len(pix))
	err := bands(ctx, oh, func(y0, y1 int) {
		// Square tiles: a quarter turn otherwise misses the cache at each pixel.
		const tile = 64
		for x0 := 0; x0 < ow; x0 += tile {
			x1 := min(ow, x0+tile)
			for y := y0; y < y1; y++ {
				from := (start + x0*dx + y*dy) * n
				to := (y*ow + x0) * n
				for x := x0; x < x1; x++ {
					copy(out[to:to+n], pix[from:from+n])
					to += n
					from += dx * n
				}
			}
		}
	})
	if err != nil {
		return nil, 0, 0, err
	}
	return out, ow, oh, nil
}

// Turned returns the picture after so many quarter turns clockwise: itself for none.
func (p *Picture) Turned(ctx context.Context, quarters int) (*Picture, error) {
	o := [4]int{1, 6, 3, 8}[quarters&3]
	if o == 1 {
		return p, nil
	}
	q := *p
	return q.upright(ctx, o)
}
