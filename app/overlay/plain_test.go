package overlay

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math/rand/v2"
	"testing"

	"firstsheet/proof"
)

// plainly draws bands as they are defined, a pixel at a time: by the mean of the square
// around it of what figure tells, leaving out what it does not tell.
func plainly(dst *image.RGBA, at image.Point, f *Field, limit float64, alpha int, figure func(proof.Sample) (deltaE00 float64, told bool)) {
	class := make([]int, f.W*f.H)
	for i, s := range f.Samples {
		if _, told := figure(s); !told {
			continue
		}
		var sum, n float64
		around(f, i, 3*f.line, func(k int) {
			if d, told := figure(f.Samples[k]); told {
				sum, n = sum+d, n+1
			}
		})
		if sum/n >= limit {
			class[i] = Band(sum / n)
		}
	}
	for i, c := range class {
		near, far := false, false
		for d := 1; d <= f.line+f.line*(c-1)/2; d++ {
			for _, to := range [][2]int{{-d, 0}, {d, 0}, {0, -d}, {0, d}} {
				x, y := i%f.W+to[0], i/f.W+to[1]
				if x >= 0 && y >= 0 && x < f.W && y < f.H {
					near, far = near || class[y*f.W+x] > c, far || class[y*f.W+x] < c
				}
			}
		}
		p := dst.Pix[dst.PixOffset(at.X+i%f.W, at.Y+i/f.W):]
		switch {
		case far:
			plainInk(p, color.NRGBA{}, 210)
		case near:
			plainInk(p, color.NRGBA{255, 255, 255, 255}, 210)
		case c > 0:
			plainInk(p, Tint(c), alpha)
		}
	}
}

// around calls do for the pixels of the square around pixel i, as far as it is in the field.
func around(f *Field, i, radius int, do func(k int)) {
	for y := max(i/f.W-radius, 0); y <= min(i/f.W+radius, f.H-1); y++ {
		for x := max(i%f.W-radius, 0); x <= min(i%f.W+radius, f.W-1); x++ {
			do(y*f.W + x)
		}
	}
}

func plainInk(p []uint8, c color.NRGBA, alpha int) {
	for k, v := range []uint8{c.R, c.G, c.B} {
		p[k] = uint8((int(p[k])*(256-alpha) + int(v)*alpha) / 256)
	}
}

func plainHatch(dst *image.RGBA, at image.Point, f *Field) {
	for i, s := range f.Samples {
		p, m := dst.Pix[dst.PixOffset(at.X+i%f.W, at.Y+i/f.W):], (i%f.W+i/f.W)%(7*f.line)
		switch {
		case !s.Darker || m >= 2*f.line:
		case m < f.line:
			plainInk(p, color.NRGBA{205, 205, 205, 255}, 190)
		default:
			plainInk(p, color.NRGBA{}, 190)
		}
	}
}

func plainGrey(dst *image.RGBA, at image.Point, f *Field) {
	for i := range f.Samples {
		p := dst.Pix[dst.PixOffset(at.X+i%f.W, at.Y+i/f.W):]
		g := uint8(90 + (54*int(p[0])+183*int(p[1])+19*int(p[2]))/256*130/255)
		p[0], p[1], p[2] = g, g, g
	}
}

// plain draws an overlay as it is defined.
var plain = map[string]func(dst *image.RGBA, at image.Point, f *Field, limit float64){
	"difference": func(dst *image.RGBA, at image.Point, f *Field, limit float64) {
		plainGrey(dst, at, f)
		plainly(dst, at, f, limit, 170, func(s proof.Sample) (float64, bool) { return s.DeltaE00.Float(), true })
	},
	"greyed": func(dst *image.RGBA, at image.Point, f *Field, _ float64) { plainGrey(dst, at, f) },
	"reach": func(dst *image.RGBA, at image.Point, f *Field, limit float64) {
		plainly(dst, at, f, limit, 140, func(s proof.Sample) (float64, bool) { return s.Reach.Float(), !s.Darker })
	},
	"darker": func(dst *image.RGBA, at image.Point, f *Field, _ float64) { plainHatch(dst, at, f) },
}

// hilly is a field of slopes and steps with grain over them.
func hilly(r *rand.Rand, w, h, line int) *Field {
	across, down, grain, dark := r.Float64()*24/float64(w), r.Float64()*24/float64(h), r.Float64()*4, r.Float64()*0.4
	step, wide := r.Float64()*8, 1+r.IntN(w+20)
	return newField(w, h, line, func(i int) proof.Sample {
		x, y := i%w, i/w
		d := float64(x)*across + float64(y)*down + (r.Float64()-0.5)*grain
		if (x/wide+y/wide)%2 == 1 {
			d += step
		}
		return proof.Sample{DeltaE00: proof.StepsOf(d), Reach: proof.StepsOf(d * 0.7), Darker: r.Float64() < dark}
	})
}

// Every overlay draws to the byte what it is defined as, also when its field was another
// one before, and under one limit after the other.
func TestOverlaysArePlainlyDrawn(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 15))
	used := new(Field)
	for round := range 60 {
		w, h, line := 1+r.IntN(90), 1+r.IntN(70), 1+r.IntN(3)
		f := hilly(r, w, h, line)
		used.Reset(w, h, line)
		copy(used.Samples, f.Samples)
		at := image.Pt(r.IntN(9), r.IntN(5))
		for _, o := range All() {
			for _, limit := range proof.BandEdges() {
				t.Run(fmt.Sprintf("%d/%s/%d by %d/line %d/limit %g", round, o.ID, w, h, line, limit), func(t *testing.T) {
					want := image.NewRGBA(image.Rect(0, 0, w+12, h+12))
					for i := range want.Pix {
						want.Pix[i] = uint8(r.UintN(256)) | uint8(i%4/3*255) // opaque
					}
					got := image.NewRGBA(want.Rect)
					copy(got.Pix, want.Pix)
					plain[o.ID](want, at, f, limit)
					o.Draw(got, at, used, limit)
					if bytes.Equal(got.Pix, want.Pix) {
						return
					}
					for i := range got.Pix {
						if got.Pix[i] != want.Pix[i] {
							t.Fatalf("byte %d of the pixel at %d, %d = %d, want %d", i%4, i/4%got.Rect.Dx()-at.X, i/4/got.Rect.Dx()-at.Y, got.Pix[i], want.Pix[i])
						}
					}
				})
			}
		}
	}
}

// What a moved picture and what another limit cost, on a sheet of 700 by 800.
func BenchmarkReachBands(b *testing.B) {
	o, _ := ByID(reachID)
	dst := flat(700, 800, 120)
	f := hilly(rand.New(rand.NewPCG(8, 15)), 700, 800, 1)
	for _, again := range []bool{false, true} {
		b.Run(map[bool]string{false: "field", true: "limit"}[again], func(b *testing.B) {
			b.SetBytes(700 * 800)
			for b.Loop() {
				if !again {
					f.Reset(f.W, f.H, f.line)
				}
				o.Draw(dst, image.Point{}, f, 2)
			}
		})
	}
}
