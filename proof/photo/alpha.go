package photo

import "context"

// alphaKind is how colour samples relate to their opacity.
type alphaKind uint8

const (
	alphaStraight   alphaKind = iota // colour as it is
	alphaAssociated                  // colour times opacity (TIFF ExtraSamples 1)
)

// overPaper lays colour samples over bare paper, in place, and returns the
// opacities in 8 bits, nil when every pixel is opaque. pix is w*h*n samples,
// alpha w*h. Bare paper is white, the largest value; with inks it is 0, no ink.
//
// It is done in the encoding of the file, as picture editors do by default, so
// that half-transparent edges look here as they looked there.
func overPaper[T sample](ctx context.Context, pix, alpha []T, w, h, n int, kind alphaKind) ([]uint8, error) {
	full := maxOf[T]()
	paper := full
	if n == 4 {
		paper = 0
	}
	out := make([]uint8, w*h)
	opaque := make([]bool, (h+bandRows-1)/bandRows)
	err := bands(ctx, h, func(y0, y1 int) {
		all := true
		for i := y0 * w; i < y1*w; i++ {
			a := uint32(alpha[i])
			out[i] = reduce(a, full)
			if a == full {
				continue
			}
			all = all && out[i] == 255 // 16-bit opacities just short of full
			px := pix[i*n : i*n+n]
			if kind == alphaAssociated {
				for c, v := range px {
					// Associated colour above its own opacity is no colour at
					// all; it is clipped like everything too bright.
					px[c] = T(min(full, uint32(v)+mix(paper, full-a, full)))
				}
				continue
			}
			for c, v := range px {
				// 64 bits: the two products reach 65535 squared each.
				sum := uint64(v)*uint64(a) + uint64(paper)*uint64(full-a)
				px[c] = T((sum + uint64(full)/2) / uint64(full))
			}
		}
		opaque[y0/bandRows] = all
	})
	if err != nil {
		return nil, err
	}
	for _, o := range opaque {
		if !o {
			return out, nil
		}
	}
	return nil, nil
}

func mix(v, share, full uint32) uint32 {
	return uint32((uint64(v)*uint64(share) + uint64(full)/2) / uint64(full))
}

// reduce rounds an opacity of 0 to full to 8 bits; what is visible stays so.
func reduce(a, full uint32) uint8 {
	if full == 255 {
		return uint8(a)
	}
	v := uint8((a*255 + full/2) / full)
	if v == 0 && a > 0 {
		return 1
	}
	return v
}

// noteAlpha says in figures how many pixels of the picture are not opaque.
func (p *Picture) noteAlpha(n int) {
	if n > 0 {
		p.note("%s of the picture is see-through; it lies on white here: bare paper, but a tint of ink with the absolute intent.", percent(n, p.W*p.H))
	}
}

// seeThrough returns how many of some opacities are not full.
func seeThrough(alpha []uint8) (n int) {
	for _, a := range alpha {
		if a < 255 {
			n++
		}
	}
	return n
}
