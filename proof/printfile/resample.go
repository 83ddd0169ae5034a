package printfile

import (
	"context"
	"image"
	"math"

	"firstsheet/proof/raster"
)

// lobes is how far the filter reaches to each side, in pixels of the coarser side.
const lobes = 3

// kernel is the windowed filter: the sine cardinal, which keeps exactly what so many
// pixels can hold, under a window that is its own main lobe, stretched to [lobes].
//
// Source: Duchon, Lanczos filtering in one and two dimensions, J. Appl. Meteorol. 18
// (1979); from memory.
func kernel(x float64) float64 {
	if x == 0 {
		return 1
	}
	if x <= -lobes || x >= lobes {
		return 0
	}
	a, b := math.Pi*x, math.Pi*x/lobes
	return math.Sin(a) / a * math.Sin(b) / b
}

// darkKept bounds how much darker than its darkest near neighbour a pixel may get.
// Beside an edge the filter swings by up to 11.5 % of its height, to both sides: from
// L* 20 to 80 that is 3.4 L* on the bright side, but more light than there is on the
// dark side, where it would print as a black line. With three quarters of the light
// kept it is 3.3 L* there, too.
const darkKept = 0.75

// tap is how one pixel of a row or column is made: weights of the pixels from first
// on, which sum to 1, and which of them are near.
type tap struct {
	first            int
	weights          []float32
	nearFrom, nearTo int // in weights
}

// taps returns how n pixels are made of the part from lo to hi of size pixels.
// Reduced, the filter is widened by the same factor, so that what the fewer pixels
// cannot hold is averaged away instead of turning into false patterns. Pixels behind
// the edge repeat it.
func taps(n, lo, hi, size int) []tap {
	out := make([]tap, n)
	ratio := float64(hi-lo) / float64(n) // of the picture's pixels to one made
	wide := max(ratio, 1)
	for i := range out {
		centre := float64(lo) + (float64(i)+0.5)*ratio - 0.5
		from, to := int(math.Floor(centre-lobes*wide))+1, int(math.Ceil(centre+lobes*wide))
		first, last := min(max(from, 0), size-1), max(min(to-1, size-1), 0)
		w := make([]float64, last-first+1)
		sum := 0.0
		for k := from; k < to; k++ {
			v := kernel((float64(k) - centre) / wide)
			w[min(max(k, first), last)-first] += v
			sum += v
		}
		t := tap{first: first, weights: make([]float32, len(w)), nearFrom: len(w), nearTo: 0}
		for k, v := range w {
			t.weights[k] = float32(v / sum)
			if math.Abs(float64(first+k)-centre) < wide {
				t.nearFrom, t.nearTo = min(t.nearFrom, k), max(t.nearTo, k+1)
			}
		}
		if t.nearTo == 0 { // a centre behind the edge: its pixel alone
			t.nearFrom, t.nearTo = 0, len(w)
		}
		out[i] = t
	}
	return out
}

// mix returns the weighted sum of values that lie step apart.
func (t *tap) mix(v []float32, step int) float32 {
	var sum float32
	least := float32(math.Inf(1))
	for k, w := range t.weights {
		x := v[k*step]
		sum += w * x
		if k >= t.nearFrom && k < t.nearTo && x < least {
			least = x
		}
	}
	return max(sum, darkKept*least)
}

// scaler makes parts of a picture at print size, in linear light.
type scaler struct {
	light *light
	src   raster.Pixels
	crop  image.Rectangle
	w, h  int
	// across and down are nil where the picture's own pixels are kept.
	across, down []tap
}

func newScaler(l *light, src raster.Pixels, crop image.Rectangle, w, h int) *scaler {
	s := &scaler{light: l, src: src, crop: crop, w: w, h: h}
	if w != crop.Dx() || h != crop.Dy() {
		s.across = taps(w, crop.Min.X, crop.Max.X, src.W)
		s.down = taps(h, crop.Min.Y, crop.Max.Y, src.H)
	}
	return s
}

// area is light of a part of the print: r.Dx()*r.Dy() pixels, interleaved.
type area struct {
	r   image.Rectangle
	n   int
	pix []float32
}

func newArea(r image.Rectangle, n int) area {
	return area{r, n, make([]float32, r.Dx()*r.Dy()*n)}
}

// row returns row y of the print, from r.Min.X on.
func (a area) row(y int) []float32 {
	n := a.r.Dx() * a.n
	return a.pix[(y-a.r.Min.Y)*n : (y-a.r.Min.Y+1)*n]
}

// at returns the part r of the print, which lies inside it.
func (s *scaler) at(r image.Rectangle) area {
	out := newArea(r, s.src.Channels)
	if s.across == nil {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			s.decode(out.row(y), s.crop.Min.Y+y, s.crop.Min.X+r.Min.X, s.crop.Min.X+r.Max.X)
		}
		return out
	}
	across, down := s.across[r.Min.X:r.Max.X], s.down[r.Min.Y:r.Max.Y]
	x0, x1 := span(across)
	y0, y1 := span(down)
	// Rows first: of the picture's rows that are needed, each is made once.
	line := make([]float32, (x1-x0)*out.n)
	width := r.Dx() * out.n
	rows := make([]float32, (y1-y0)*width)
	for y := y0; y < y1; y++ {
		s.decode(line, y, x0, x1)
		dst := rows[(y-y0)*width:]
		for i := range across {
			t := &across[i]
			v := line[(t.first-x0)*out.n:]
			for k := range out.n {
				dst[i*out.n+k] = t.mix(v[k:], out.n)
			}
		}
	}
	for i := range down {
		t := &down[i]
		v := rows[(t.first-y0)*width:]
		dst := out.pix[i*width : (i+1)*width]
		for x := range dst {
			dst[x] = t.mix(v[x:], width)
		}
	}
	return out
}

// store writes the whole print as numbers of 16 bits.
func (s *scaler) store(ctx context.Context, dst raster.Pixels) error {
	return inBands(ctx, s.h, func(y0, y1 int) error {
		a := s.at(image.Rect(0, y0, s.w, y1))
		for i, v := range a.pix {
			dst.P16[y0*s.w*a.n+i] = uint16(math.Round(s.light.number(i%a.n, v) * 65535))
		}
		return nil
	})
}

// span returns which pixels some taps read.
func span(list []tap) (lo, hi int) {
	lo = list[0].first
	for _, t := range list {
		lo, hi = min(lo, t.first), max(hi, t.first+len(t.weights))
	}
	return lo, hi
}

// decode writes the light of the pixels x0 to x1 of a row of the picture.
func (s *scaler) decode(dst []float32, y, x0, x1 int) {
	n := s.src.Channels
	at := (y*s.src.W + x0) * n
	for i := range (x1 - x0) * n {
		table := s.light.decode[i%n]
		if s.src.P16 != nil {
			dst[i] = table[s.src.P16[at+i]]
		} else {
			dst[i] = table[int(s.src.P8[at+i])*257]
		}
	}
}
