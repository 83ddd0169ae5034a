package main

import (
	"math"
	"runtime"
	"sync"
)

// picture is linear RGB with what guides the noise filter.
type picture struct {
	w, h   int
	rgb    [3]plane
	albedo [3]plane
	normal [3]plane
	vari   plane // variance of the mean of the three channels in the filter's scale; nil when unknown
}

// squash maps light to a scale on which noise is about even and highlights do not rule.
func squash(v float32) float32 { return float32(math.Log1p(4 * float64(max(v, 0)))) }

// denoise averages each pixel with those in a window of the given radius whose
// surroundings look alike: colour patches for the light itself, colour of the surface and normals
// as guides. strength 1 is meant for the noise of the picture's own variance; 0 leaves it as it is.
//
// The weights are those of non-local means with feature guides: Rousselle, Manzi and Zwicker,
// 'Robust denoising using feature and color information', 2013, without the second pass.
func denoise(p *picture, radius int, strength float64) {
	if strength <= 0 {
		return
	}
	n := p.w * p.h
	var guide [3]plane
	for c := range guide {
		guide[c] = make(plane, n)
		for i, v := range p.rgb[c] {
			guide[c][i] = squash(v)
		}
	}
	vari := blurred(p.vari, p.w, p.h, 2)
	var sum [3]plane
	for c := range sum {
		sum[c] = make(plane, n)
	}
	weight := make(plane, n)
	k2 := float32(strength * strength)

	// Bands of rows, each with its own scratch; the offsets run inside.
	bands := runtime.GOMAXPROCS(0)
	step := 32
	jobs := make(chan int)
	var wg sync.WaitGroup
	for range bands {
		wg.Add(1)
		go func() {
			defer wg.Done()
			const pr = 2 // patch radius
			hgt := step + 2*pr
			d := make(plane, hgt*p.w)
			bx := make(plane, hgt*p.w)
			for top := range jobs {
				bot := min(top+step, p.h)
				for dy := -radius; dy <= radius; dy++ {
					for dx := -radius; dx <= radius; dx++ {
						for y := top - pr; y < bot+pr; y++ {
							row := d[(y-top+pr)*p.w:][:p.w]
							yy := min(max(y, 0), p.h-1)
							y2 := min(max(yy+dy, 0), p.h-1)
							for x := range row {
								x2 := min(max(x+dx, 0), p.w-1)
								i, j := yy*p.w+x, y2*p.w+x2
								var e float32
								for c := range guide {
									t := guide[c][i] - guide[c][j]
									e += t * t
								}
								vi, vj := vari[i], min(vari[i], vari[j])
								row[x] = (e/3 - (vi + vj)) / (1e-6 + k2*(vi+vari[j]))
							}
						}
						// box filter of the distances, across then down
						for y := range bot - top + 2*pr {
							src, dst := d[y*p.w:][:p.w], bx[y*p.w:][:p.w]
							var s float32
							for x := -pr; x <= pr; x++ {
								s += src[min(max(x, 0), p.w-1)]
							}
							for x := range dst {
								dst[x] = s
								s += src[min(x+pr+1, p.w-1)] - src[max(x-pr, 0)]
							}
						}
						for y := top; y < bot; y++ {
							y2 := y + dy
							if y2 < 0 || y2 >= p.h {
								continue
							}
							for x := max(0, -dx); x < min(p.w, p.w-dx); x++ {
								var e float32
								for q := -pr; q <= pr; q++ {
									e += bx[(y-top+pr+q)*p.w+x]
								}
								e = max(e/((2*pr+1)*(2*pr+1)), 0)
								i, j := y*p.w+x, y2*p.w+x+dx
								var f float32
								for c := range 3 {
									t := p.normal[c][i] - p.normal[c][j]
									f += t * t * 12
									t = p.albedo[c][i] - p.albedo[c][j]
									f += t * t * 500
								}
								if e+f > 12 {
									continue
								}
								w := float32(math.Exp(-float64(e + f)))
								weight[i] += w
								for c := range sum {
									sum[c][i] += w * p.rgb[c][j]
								}
							}
						}
					}
				}
			}
		}()
	}
	for top := 0; top < p.h; top += step {
		jobs <- top
	}
	close(jobs)
	wg.Wait()
	for c := range sum {
		for i := range sum[c] {
			p.rgb[c][i] = sum[c][i] / weight[i]
		}
	}
}

// blurred returns src averaged over a square of the given radius.
func blurred(src plane, w, h, r int) plane {
	tmp, out := make(plane, len(src)), make(plane, len(src))
	for y := range h {
		for x := range w {
			var s float32
			for k := -r; k <= r; k++ {
				s += src[y*w+min(max(x+k, 0), w-1)]
			}
			tmp[y*w+x] = s / float32(2*r+1)
		}
	}
	for y := range h {
		for x := range w {
			var s float32
			for k := -r; k <= r; k++ {
				s += tmp[min(max(y+k, 0), h-1)*w+x]
			}
			out[y*w+x] = s / float32(2*r+1)
		}
	}
	return out
}
