// Package raster holds pictures as plain numbers and brings a part of one to the
// size at which a window shows it. It knows no colour: what the numbers mean is
// the engine's business.
package raster

// Pixels is a rectangle of interleaved numbers, rows top to bottom, without gaps.
// Exactly one of P8 and P16 is set; each has W*H*Channels entries, 0 to 255 or 0
// to 65535.
type Pixels struct {
	W, H, Channels int
	P8             []uint8
	P16            []uint16
}

// New returns pixels of zeros; deep makes them 16 bits a channel.
func New(w, h, channels int, deep bool) Pixels {
	p := Pixels{W: w, H: h, Channels: channels}
	if deep {
		p.P16 = make([]uint16, w*h*channels)
	} else {
		p.P8 = make([]uint8, w*h*channels)
	}
	return p
}

// Deep reports whether the numbers have 16 bits.
func (p Pixels) Deep() bool { return p.P16 != nil }

// Rows returns the rows from y0 up to but not including y1, sharing memory.
func (p Pixels) Rows(y0, y1 int) Pixels {
	q := p.Run(y0*p.W, y1*p.W)
	q.W, q.H = p.W, y1-y0
	return q
}

// Run returns the pixels from lo up to but not including hi, counted in reading order,
// as one row that shares memory.
func (p Pixels) Run(lo, hi int) Pixels {
	q := Pixels{W: hi - lo, H: 1, Channels: p.Channels}
	lo, hi = lo*p.Channels, hi*p.Channels
	if p.P16 != nil {
		q.P16 = p.P16[lo:hi:hi]
	} else {
		q.P8 = p.P8[lo:hi:hi]
	}
	return q
}

// RGB returns grey pixels with equal red, green and blue.
func (p Pixels) RGB() Pixels {
	return Pixels{W: p.W, H: p.H, Channels: 3, P8: triple(p.P8), P16: triple(p.P16)}
}

func triple[T uint8 | uint16](grey []T) []T {
	if grey == nil {
		return nil
	}
	out := make([]T, 0, 3*len(grey))
	for _, v := range grey {
		out = append(out, v, v, v)
	}
	return out
}

// At returns the numbers of one pixel, 0 to 1, appended to dst.
func (p Pixels) At(dst []float64, x, y int) []float64 {
	at := (y*p.W + x) * p.Channels
	for c := 0; c < p.Channels; c++ {
		if p.P16 != nil {
			dst = append(dst, float64(p.P16[at+c])/65535)
		} else {
			dst = append(dst, float64(p.P8[at+c])/255)
		}
	}
	return dst
}
