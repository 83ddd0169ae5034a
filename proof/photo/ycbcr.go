package photo

import (
	"context"
	"image"
	"math"
)

// lumaCode is how luma and colour differences stand for red, green and blue: by
// which matrix, over the full range of numbers or video's, and where colour differences lie
// of which there are fewer.
type lumaCode struct {
	matrix lumaForm
	// video: luma 16 to 235, differences 16 to 240, not 0 to 255 and around 128; with more
	// bits so many times as much.
	video bool
	site  chromaSite
}

// lumaForm is what makes luma and differences of red, green and blue. Without a kind the
// weights are the shares of red and blue in luma.
type lumaForm struct {
	red, blue float64
	kind      lumaKind
}

type lumaKind uint8

const (
	weighted   lumaKind = iota
	asGBR               // green, blue and red themselves
	greenFirst          // YCgCo: luma, green's and orange's difference
)

// Matrices of ITU-T H.273, table 4: ITU-R BT.601, BT.709 and BT.2020, of older television,
// and without weights.
var (
	bt601  = lumaForm{red: 0.299, blue: 0.114}
	bt709  = lumaForm{red: 0.2126, blue: 0.0722}
	bt2020 = lumaForm{red: 0.2627, blue: 0.0593}
	fcc    = lumaForm{red: 0.30, blue: 0.11}
	st240  = lumaForm{red: 0.212, blue: 0.087}
	plain  = lumaForm{kind: asGBR}
	ycgco  = lumaForm{kind: greenFirst}
)

var (
	// fullRange is JFIF's (T.871, 7).
	fullRange = lumaCode{matrix: bt601}
	// videoRange is WebP's (VP8, as its reference decoder does it). The standard
	// library's conversion takes everything for full range, which greys a lossy WebP.
	videoRange = lumaCode{matrix: bt601, video: true}
)

// lumaMatrix makes red, green and blue: what Y, Cb and Cr are multiplied by, and what is added
// before the sum is divided by 2^lumaBits. Differences come 64 times as large.
type lumaMatrix struct{ y, cb, cr, add [3]int64 }

const lumaBits = 22

// factors is for samples of so many bits and results from 0 to most.
func (c lumaCode) factors(bits int, most uint32) lumaMatrix {
	full := float64(int(1)<<bits - 1)
	black, luma, middle, diff := 0.0, full, float64(int(1)<<(bits-1)), full
	if c.video {
		step := float64(int(1) << (bits - 8))
		black, luma, diff = 16*step, 219*step, 224*step
	}
	// Rows are red, green, blue; columns luma and differences, as shares of their range.
	var rows [3][3]float64
	centre := [3]float64{black, middle, middle}
	ranges := [3]float64{luma, diff, diff}
	switch c.matrix.kind {
	case asGBR:
		rows = [3][3]float64{{0, 0, 1}, {1, 0, 0}, {0, 1, 0}}
		centre, ranges = [3]float64{black, black, black}, [3]float64{luma, luma, luma}
	case greenFirst:
		rows = [3][3]float64{{1, -1, 1}, {1, 1, 0}, {1, -1, -1}}
	default:
		kr, kb := c.matrix.red, c.matrix.blue
		kg := 1 - kr - kb
		rows = [3][3]float64{
			{1, 0, 2 * (1 - kr)},
			{1, -2 * (1 - kb) * kb / kg, -2 * (1 - kr) * kr / kg},
			{1, 2 * (1 - kb), 0},
		}
	}
	var m lumaMatrix
	for i, row := range rows {
		add := 0.5
		var factor [3]float64
		for k := range row {
			factor[k] = row[k] / ranges[k] * float64(most)
			add -= factor[k] * centre[k]
		}
		m.y[i] = int64(math.Round(factor[0] * (1 << lumaBits)))
		m.cb[i] = int64(math.Round(factor[1] * (1 << (lumaBits - 6))))
		m.cr[i] = int64(math.Round(factor[2] * (1 << (lumaBits - 6))))
		m.add[i] = int64(math.Round(add * (1 << lumaBits)))
	}
	return m
}

// lumaPlanes is a picture of w by h pixels as luma and colour differences of so many bits. Each
// of the latter is across by down pixels large; their planes are nil when the picture is grey.
type lumaPlanes[T sample] struct {
	w, h, bits       int
	across, down     int
	y, cb, cr        []T
	yStride, cStride int
}

// fromYCbCr converts what the standard decoders return to interleaved 8-bit RGB of w*h*3 samples.
func fromYCbCr(ctx context.Context, m *image.YCbCr, code lumaCode) ([]uint8, error) {
	b := m.Bounds()
	p := lumaPlanes[uint8]{w: b.Dx(), h: b.Dy(), bits: 8, yStride: m.YStride, cStride: m.CStride}
	p.across, p.down = subsampling(m.SubsampleRatio)
	p.y = m.Y[m.YOffset(b.Min.X, b.Min.Y):]
	from := m.COffset(b.Min.X, b.Min.Y)
	p.cb, p.cr = m.Cb[from:], m.Cr[from:]
	return p.rgb(ctx, code)
}

// rgb converts to interleaved RGB of w*h*3 samples, over the whole range of their type.
//
// Where there are fewer colour differences than pixels they are interpolated linearly between
// the places where they lie; repeating them instead would put steps of
// two pixels along every saturated edge.
func (p lumaPlanes[T]) rgb(ctx context.Context, code lumaCode) ([]T, error) {
	cw, ch := (p.w+p.across-1)/p.across, (p.h+p.down-1)/p.down
	most := maxOf[T]()
	mat := code.factors(p.bits, most)
	columns := make([]between, p.w)
	for x := range columns {
		columns[x] = neighbours(x, p.across, cw, code.site.left)
	}
	out := make([]T, p.w*p.h*3)
	err := bands(ctx, p.h, func(y0, y1 int) {
		near := make([]int64, 2*cw) // colour differences of this row, 8 times
		cbs, crs := near[:cw], near[cw:]
		for y := y0; y < y1; y++ {
			row := neighbours(y, p.down, ch, code.site.top)
			upsampleRow(cbs, p.cb, p.cStride, row)
			upsampleRow(crs, p.cr, p.cStride, row)
			luma := p.y[y*p.yStride:][:p.w]
			dst := out[y*p.w*3 : (y+1)*p.w*3]
			for x, v := range luma {
				at := columns[x]
				l, cb, cr := int64(v), at.of(cbs), at.of(crs)
				d := dst[3*x : 3*x+3 : 3*x+3]
				for i := range d {
					d[i] = T(clamp((l*mat.y[i]+cb*mat.cb[i]+cr*mat.cr[i]+mat.add[i])>>lumaBits, most))
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// grey returns the w*h samples of luma over the whole range of their type.
func (p lumaPlanes[T]) grey(ctx context.Context, code lumaCode) ([]T, error) {
	table := make([]T, 1<<p.bits)
	black, span := 0.0, float64(len(table)-1)
	if code.video {
		step := float64(int(1) << (p.bits - 8))
		black, span = 16*step, 219*step
	}
	most := maxOf[T]()
	for v := range table {
		table[v] = T(clamp(int64(math.Round((float64(v)-black)/span*float64(most))), most))
	}
	out := make([]T, p.w*p.h)
	err := bands(ctx, p.h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			for x, v := range p.y[y*p.yStride:][:p.w] {
				out[y*p.w+x] = table[int(v)&(len(table)-1)]
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func clamp(v int64, most uint32) uint32 {
	if v < 0 {
		return 0
	}
	return uint32(min(v, int64(most)))
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

// chromaSite is where colour differences lie that stand for several pixels: between them, or on
// the leftmost column, on the topmost row.
type chromaSite struct{ left, top bool }

// between is a place between two samples: the one that it lies nearest to, the other, and the
// latter's weight in eighths.
type between struct {
	own, other int
	weight     int64
}

// upsampleRow fills dst with 8 times the values of plane between two of its rows.
func upsampleRow[T sample](dst []int64, plane []T, stride int, at between) {
	a := plane[at.own*stride:]
	b := plane[at.other*stride:]
	for i := range dst {
		dst[i] = int64(a[i])*(8-at.weight) + int64(b[i])*at.weight
	}
}

// of returns 64 times the value there, of a row that upsampleRow made.
func (b between) of(row []int64) int64 {
	return row[b.own]*(8-b.weight) + row[b.other]*b.weight
}

// neighbours returns between which samples the pixel at x lies, of n that are size pixels wide
// and lie in the middle of theirs or on the first. At the border a sample is its own neighbour.
func neighbours(x, size, n int, first bool) between {
	own := x / size
	if size == 1 {
		return between{own, own, 0}
	}
	if first {
		return between{own, min(own+1, n-1), int64(8 * (x % size) / size)}
	}
	// Distance from the sample's centre in eighths of a sample: size 2 gives -2
	// and 2, size 4 gives -3, -1, 1, 3.
	d := int64((2*(x%size)+1)*4/size - 4)
	if d < 0 {
		return between{own, max(own-1, 0), -d}
	}
	return between{own, min(own+1, n-1), d}
}
