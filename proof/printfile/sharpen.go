package printfile

import (
	"image"
	"math"
)

// Strength and width of output sharpening. All of these are common practice without
// a source: they are where prints begin to look sharp and not yet sharpened.
const (
	// spread is how far ink and light run in the paper, as a standard deviation in mm.
	mattSpread, pearlSpread, glossSpread = 0.050, 0.030, 0.020
	// amount is the share of the lost detail that is given back. 1 undoes a normal
	// spread to the first order (the series of its inverse: 1 + (1 - H) + ...); more
	// stands for the orders above.
	mattAmount, pearlAmount, glossAmount = 2.0, 1.6, 1.3
	// eyeShare is the part of a minute of arc that the eye itself spreads.
	eyeShare = 0.5

	noiseL = 0.3  // L*: smaller differences are noise and are sharpened little
	mostL  = 10.0 // L*: no edge gets more than this
	// widestSigma keeps bands from reading each other's half: 3 standard deviations.
	widestSigma = 12.0 // pixels
)

// sharpener gives detail back on lightness alone: a* and b* of every pixel stay.
type sharpener struct {
	light  *light
	amount float64
	blur   []float32 // half of the blurring weights, from the middle on
}

// newSharpener returns what sharpens for a finish, a resolution and a distance; nil
// when there is nothing to do.
func newSharpener(l *light, s Sharpen, ppi, distance float64) *sharpener {
	if !s.On || !l.known {
		return nil
	}
	ink, amount := pearlSpread, pearlAmount
	switch s.Finish {
	case Matte:
		ink, amount = mattSpread, mattAmount
	case Gloss:
		ink, amount = glossSpread, glossAmount
	}
	if s.More > 0 {
		amount *= s.More
	}
	eye := eyeShare * distance * arcMinute
	sigma := math.Hypot(ink, eye) / mmPerInch * ppi
	// Below a third of a pixel there is no neighbour that could be told from it.
	if sigma < 1.0/3 {
		return nil
	}
	return &sharpener{light: l, amount: amount, blur: gauss(min(sigma, widestSigma))}
}

// gauss returns the weights of a normal distribution from its middle to 3 standard
// deviations; with the mirrored half they sum to 1.
func gauss(sigma float64) []float32 {
	w := make([]float64, int(math.Ceil(3*sigma))+1)
	sum := 0.0
	for i := range w {
		w[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += w[i]
		if i > 0 {
			sum += w[i]
		}
	}
	out := make([]float32, len(w))
	for i, v := range w {
		out[i] = float32(v / sum)
	}
	return out
}

// reach is how many pixels around a part are needed to sharpen it.
func (s *sharpener) reach() int {
	if s == nil {
		return 0
	}
	return len(s.blur) - 1
}

// apply sharpens the part r inside an area that is larger by reach where the print
// goes on; at the print's edge the edge repeats.
func (s *sharpener) apply(a area, r image.Rectangle) {
	if s == nil {
		return
	}
	w, h := a.r.Dx(), a.r.Dy()
	plane := make([]float32, w*h)
	for i := range plane {
		plane[i] = float32(s.light.lightness(a.pix[i*a.n : i*a.n+a.n]))
	}
	wide := make([]float32, w*h)
	for y := range h {
		blurLine(wide[y*w:], plane[y*w:], w, 1, s.blur)
	}
	line := make([]float32, w)
	for y := r.Min.Y - a.r.Min.Y; y < r.Max.Y-a.r.Min.Y; y++ {
		clear(line)
		for k, weight := range s.blur {
			up, down := wide[max(y-k, 0)*w:], wide[min(y+k, h-1)*w:]
			if k == 0 {
				weight /= 2 // counted from both sides
			}
			for x := range line {
				line[x] += weight * (up[x] + down[x])
			}
		}
		for x := r.Min.X - a.r.Min.X; x < r.Max.X-a.r.Min.X; x++ {
			i := y*w + x
			if d := s.gain(float64(plane[i] - line[x])); d != 0 {
				s.light.relight(a.pix[i*a.n:i*a.n+a.n], d)
			}
		}
	}
}

// gain returns by how much L* of a pixel changes that differs by d from its
// surroundings.
func (s *sharpener) gain(d float64) float64 {
	d *= s.amount * d * d / (d*d + noiseL*noiseL)
	if math.Abs(d) < 0.01 {
		return 0
	}
	return mostL * math.Tanh(d/mostL)
}

// blurLine blurs n values that lie step apart.
func blurLine(dst, src []float32, n, step int, half []float32) {
	for i := range n {
		sum := half[0] * src[i*step]
		for k := 1; k < len(half); k++ {
			sum += half[k] * (src[max(i-k, 0)*step] + src[min(i+k, n-1)*step])
		}
		dst[i*step] = sum
	}
}
