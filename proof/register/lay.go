package register

import (
	"context"

	"firstsheet/proof/photo"
)

// Lay returns the photograph as it lies on the original: w by h pixels of three
// channels and 8 bits, in the photograph's own numbers and with its profile, white
// where the photograph ends. toPhoto is from [Align]. Each pixel is the mean of what
// it covers. A grey photograph becomes equal red, green and blue, without its profile.
// It returns ctx's error when it was stopped.
func Lay(ctx context.Context, photograph *photo.Picture, toPhoto Homography, w, h int) (*photo.Picture, error) {
	out := &photo.Picture{W: w, H: h, Channels: 3, Depth: 8, Pix8: make([]uint8, 3*w*h), ICC: photograph.ICC, Space: photograph.Space}
	if photograph.Channels != 3 {
		out.ICC = nil
	}
	for y := range h {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for x := range w {
			here := toPhoto.Apply(Point{float64(x) + 0.5, float64(y) + 0.5})
			next := toPhoto.Apply(Point{float64(x) + 1.5, float64(y) + 0.5})
			n := min(max(int(distance(here, next)+0.5), 1), 8) // samples a side
			var sum [3]float64
			for j := range n {
				for i := range n {
					p := toPhoto.Apply(Point{float64(x) + (float64(i)+0.5)/float64(n), float64(y) + (float64(j)+0.5)/float64(n)})
					for k, v := range sample(photograph, p) {
						sum[k] += v
					}
				}
			}
			for k, v := range sum {
				out.Pix8[3*(y*w+x)+k] = uint8(255*v/float64(n*n) + 0.5)
			}
		}
	}
	return out, nil
}

// sample returns the three numbers at a place, 0 to 1, white outside.
func sample(p *photo.Picture, at Point) [3]float64 {
	if !(at.X >= 0 && at.Y >= 0 && at.X < float64(p.W) && at.Y < float64(p.H)) {
		return [3]float64{1, 1, 1}
	}
	i := (int(at.Y)*p.W + int(at.X)) * p.Channels
	var out [3]float64
	for k := range out {
		c := i + min(k, p.Channels-1)
		if p.Depth == 16 {
			out[k] = float64(p.Pix16[c]) / 65535
		} else {
			out[k] = float64(p.Pix8[c]) / 255
		}
	}
	return out
}
