package photo

import (
	"context"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
)

// fromImage turns what the standard decoders return into a Picture: grey stays
// one channel, 16 bits stay 16, alpha is laid over bare paper. code says how luma
// is encoded where it comes with colour differences.
//
// grey means that the file's own colour is grey although the decoder, for lack
// of a type for grey with alpha, made RGB of it.
func fromImage(ctx context.Context, img image.Image, code lumaCode, grey bool) (*Picture, error) {
	b := img.Bounds()
	p := &Picture{W: b.Dx(), H: b.Dy(), Channels: 3, Depth: 8}
	if grey {
		p.Channels = 1
	}
	var err error
	switch m := img.(type) {
	case *image.Gray:
		p.Channels = 1
		p.Pix8, err = gather[uint8](ctx, p.W, p.H, 1, 1, 0, m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride)
	case *image.Gray16:
		p.Channels, p.Depth = 1, 16
		p.Pix16, err = gather[uint16](ctx, p.W, p.H, 1, 1, 0, m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride)
	case *image.CMYK:
		p.Channels = 4
		p.Pix8, err = gather[uint8](ctx, p.W, p.H, 4, 4, 0, m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride)
	case *image.RGBA: // opaque when it comes from PNG and JPEG
		p.Pix8, err = withAlpha[uint8](ctx, p, m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride, alphaAssociated, m.Opaque())
	case *image.NRGBA:
		p.Pix8, err = withAlpha[uint8](ctx, p, m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride, alphaStraight, m.Opaque())
	case *image.RGBA64:
		p.Depth = 16
		p.Pix16, err = withAlpha[uint16](ctx, p, m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride, alphaAssociated, m.Opaque())
	case *image.NRGBA64:
		p.Depth = 16
		p.Pix16, err = withAlpha[uint16](ctx, p, m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride, alphaStraight, m.Opaque())
	case *image.Paletted:
		err = p.fromPalette(ctx, m)
	case *image.YCbCr:
		p.Pix8, err = fromYCbCr(ctx, m, code)
	case *image.NYCbCrA:
		if p.Pix8, err = fromYCbCr(ctx, &m.YCbCr, code); err != nil {
			return nil, err
		}
		alpha, err := gather[uint8](ctx, p.W, p.H, 1, 1, 0, m.A[m.AOffset(b.Min.X, b.Min.Y):], m.AStride)
		if err != nil {
			return nil, err
		}
		if p.Alpha, err = overPaper(ctx, p.Pix8, alpha, p.W, p.H, p.Channels, alphaStraight); err != nil {
			return nil, err
		}
	default:
		return nil, unsupported("decoded to %T", img)
	}
	if err != nil {
		return nil, err
	}
	p.noteAlpha(seeThrough(p.Alpha))
	return p, p.check()
}

// gather copies the samples first to first+n of each pixel, which has of samples,
// out of rows that are stride bytes apart. 16-bit samples are big-endian, as in
// the standard library's pictures.
func gather[T sample](ctx context.Context, w, h, n, of, first int, pix []byte, stride int) ([]T, error) {
	out := make([]T, w*h*n)
	err := bands(ctx, h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			switch dst := any(out[y*w*n : (y+1)*w*n]).(type) {
			case []uint8:
				src := pix[y*stride : y*stride+w*of]
				for x := range w {
					copy(dst[x*n:x*n+n], src[x*of+first:])
				}
			case []uint16:
				src := pix[y*stride : y*stride+2*w*of]
				for x := range w {
					for c := range n {
						dst[x*n+c] = binary.BigEndian.Uint16(src[2*(x*of+first+c):])
					}
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// withAlpha takes pixels of red, green, blue and opacity over. Of a picture that
// is grey, red alone is taken.
func withAlpha[T sample](ctx context.Context, p *Picture, pix []byte, stride int, kind alphaKind, opaque bool) ([]T, error) {
	if opaque {
		return gather[T](ctx, p.W, p.H, p.Channels, 4, 0, pix, stride)
	}
	alpha, err := gather[T](ctx, p.W, p.H, 1, 4, 3, pix, stride)
	if err != nil {
		return nil, err
	}
	colour, err := gather[T](ctx, p.W, p.H, p.Channels, 4, 0, pix, stride)
	if err != nil {
		return nil, err
	}
	p.Alpha, err = overPaper(ctx, colour, alpha, p.W, p.H, p.Channels, kind)
	return colour, err
}

// fromPalette expands colour indices to RGB.
func (p *Picture) fromPalette(ctx context.Context, m *image.Paletted) error {
	var table [256][4]uint8
	opaque := true
	for i := range table {
		if i >= len(m.Palette) {
			// Never met: the decoders refuse such an index, or extend the palette.
			table[i] = [4]uint8{0, 0, 0, 255}
			continue
		}
		c := color.NRGBAModel.Convert(m.Palette[i]).(color.NRGBA)
		table[i] = [4]uint8{c.R, c.G, c.B, c.A}
		opaque = opaque && c.A == 255
	}
	b := m.Bounds()
	p.Pix8 = make([]uint8, p.W*p.H*3)
	var alpha []uint8
	if !opaque {
		alpha = make([]uint8, p.W*p.H)
	}
	err := bands(ctx, p.H, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			src := m.Pix[m.PixOffset(b.Min.X, b.Min.Y+y):]
			for x := range p.W {
				i := y*p.W + x
				c := &table[src[x]]
				copy(p.Pix8[3*i:3*i+3], c[:3])
				if alpha != nil {
					alpha[i] = c[3]
				}
			}
		}
	})
	if err != nil || alpha == nil {
		return err
	}
	p.Alpha, err = overPaper(ctx, p.Pix8, alpha, p.W, p.H, 3, alphaStraight)
	return err
}

// FromImage copies img into a Picture without a colour meaning. Grey stays one
// channel, 16-bit types stay 16 bits, alpha is laid over white. It is for
// pictures made by this program, so types without a fast way are refused.
func FromImage(ctx context.Context, img image.Image) (*Picture, error) {
	if img.Bounds().Empty() {
		return nil, at("", Unsupported, fmt.Errorf("an empty image"))
	}
	p, err := fromImage(ctx, img, fullRange, false)
	return p, at("", Unsupported, err)
}

// percent writes n of total as a percentage that is never rounded to nothing or
// to all.
func percent(n, total int) string {
	v := 100 * float64(n) / float64(total)
	switch {
	case n == 0:
		return "0 %"
	case n == total:
		return "All"
	case v < 0.1:
		return "Less than 0.1 %"
	case v > 99.9:
		return "More than 99.9 %"
	case v < 10:
		return fmt.Sprintf("%.1f %%", v)
	}
	return fmt.Sprintf("%.0f %%", v)
}
