package photo

import (
	"context"
	"image"
	"math"
)

// lumaCode is how luma and colour differences stand for red, green and blue: by
// which matrix, and over the full range of numbers or video's.
type lumaCode struct {
	matrix lumaWeights
	// video: luma 16 to 235, differences 16 to 240, not 0 to 255 and around 128.
	video bool
}

// lumaWeights are the shares of red and blue in luma.
type lumaWeights struct{ red, blue float64 }

// Matrices of ITU-R BT.601, BT.709 and BT.2020, as in ITU-T H.273, table 4.
var (
	bt601  = lumaWeights{0.299, 0.114}
	bt709  = lumaWeights{0.2126, 0.0722}
	bt2020 = lumaWeights{0.2627, 0.0593}
)

var (
	// fullRange is JFIF's (T.871, 7).
	fullRange = lumaCode{matrix: bt601}
	// videoRange is WebP's (VP8, as its reference decoder does it). The standard
	// library's conversion takes everything for full range, which greys a lossy WebP.
	videoRange = lumaCode{matrix: bt601, video: true}
)

// lumaMatrix has factors of 2^16.
type lumaMatrix struct{ yOff, y, rv, gu, gv, bu int32 }

func (c lumaCode) factors() lumaMatrix {
	kr, kb := c.matrix.red, c.matrix.blue
	kg := 1 - kr - kb
	luma, diff, off := 1.0, 1.0, int32(0)
	if c.video {
		luma, diff, off = 255.0/219, 255.0/224, 16
	}
	fixed := func(v float64) int32 { return int32(math.Round(v * 65536)) }
	return lumaMatrix{
		yOff: off, y: fixed(luma),
		rv: fixed(2 * (1 - kr) * diff),
		gu: fixed(-2 * (1 - kb) * kb / kg * diff), gv: fixed(-2 * (1 - kr) * kr / kg * diff),
		bu: fixed(2 * (1 - kb) * diff),
	}
}

// fromYCbCr converts to interleaved 8-bit RGB of w*h*3 samples.
//
// Halved and quartered colour differences are interpolated linearly between
// their centres, as T.871 places them; repeating them instead would put steps of
// two pixels along every saturated edge.
func fromYCbCr(ctx context.Context, m *image.YCbCr, code lumaCode) ([]uint8, error) {
	b := m.Bounds()
	w, h := b.Dx(), b.Dy()
	sx, sy := subsampling(m.SubsampleRatio)
	cw, ch := (w+sx-1)/sx, (h+sy-1)/sy
	mat := code.factors()
	out := make([]uint8, w*h*3)
	err := bands(ctx, h, func(y0, y1 int) {
		near := make([]int32, 2*cw) // colour differences of this row, 8 times
		for y := y0; y < y1; y++ {
			upsampleRow(near[:cw], m.Cb, m.CStride, m.COffset(b.Min.X, b.Min.Y), y, sy, ch)
			upsampleRow(near[cw:], m.Cr, m.CStride, m.COffset(b.Min.X, b.Min.Y), y, sy, ch)
			luma := m.Y[m.YOffset(b.Min.X, b.Min.Y+y):]
			dst := out[y*w*3 : (y+1)*w*3]
			for x := range w {
				cb := at64(near[:cw], x, sx) - 128<<6
				cr := at64(near[cw:], x, sx) - 128<<6
				// Differences carry 6 more bits than luma: at most 2^13, so that the
				// largest factor, below 2^18, keeps within 32 bits.
				l := (int32(luma[x])-mat.yOff)*mat.y + 1<<15
				dst[3*x] = clamp8((l + mat.rv*cr>>6) >> 16)
				dst[3*x+1] = clamp8((l + (mat.gu*cb+mat.gv*cr)>>6) >> 16)
				dst[3*x+2] = clamp8((l + mat.bu*cb>>6) >> 16)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// stretch turns luma of video range, in place, into grey of the full one.
func stretch(luma []uint8) {
	mat := videoRange.factors()
	var table [256]uint8
	for v := range table {
		table[v] = clamp8(((int32(v)-mat.yOff)*mat.y + 1<<15) >> 16)
	}
	for i, v := range luma {
		luma[i] = table[v]
	}
}

func clamp8(v int32) uint8 {
	if uint32(v) > 255 {
		if v < 0 {
			return 0
		}
		return 255
	}
	return uint8(v)
}

func subsampling(r image.YCbCrSubsampleRatio) (x, y int) {
	switch r {
	case image.YCbCrSubsampleRatio422:
		return 2, 1
	case image.YCbCrSubsampleRatio420:
		return 2, 2
	case image.YCbCrSubsampleRatio440:
		return 1, 2
	case image.YCbCrSubsampleRatio411:
		return 4, 1
	case image.YCbCrSubsampleRatio410:
		return 4, 2
	}
	return 1, 1
}

// upsampleRow fills dst with 8 times the value of plane at picture row y, whose
// rows are sy picture rows high; n is how many of them there are.
func upsampleRow(dst []int32, plane []uint8, stride, offset, y, sy, n int) {
	row, next, w := neighbours(y, sy, n)
	a := plane[offset+row*stride:]
	b := plane[offset+next*stride:]
	for i := range dst {
		dst[i] = int32(a[i])*(8-w) + int32(b[i])*w
	}
}

// at64 returns 64 times the value at picture column x of a row that upsampleRow
// made, whose samples are sx columns wide.
func at64(row []int32, x, sx int) int32 {
	i, j, w := neighbours(x, sx, len(row))
	return row[i]*(8-w) + row[j]*w
}

// neighbours returns the sample that position x lies in, the nearest other one,
// and the latter's weight in eighths. At the border a sample is its own
// neighbour.
func neighbours(x, size, n int) (own, other int, weight int32) {
	if size == 1 {
		return x, x, 0
	}
	own = x / size
	// Distance from the sample's centre in eighths of a sample: size 2 gives -2
	// and 2, size 4 gives -3, -1, 1, 3.
	d := int32((2*(x%size)+1)*4/size - 4)
	if d < 0 {
		return own, max(own-1, 0), -d
	}
	return own, min(own+1, n-1), d
}
