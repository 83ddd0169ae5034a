package printfile

import (
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/space"
)

// Numbers to light and back are the same numbers, of every built-in space and of
// profiles with tables, grey and inks.
func TestLightRoundTrip(t *testing.T) {
	sources := map[string]*proof.Profile{}
	for _, s := range space.All() {
		sources[s.ID] = proof.SpaceProfile(s)
	}
	for _, f := range []string{"ProPhotoRGB.icc", "LStar-RGB.icc", "default_gray.icc", "FOGRA39L_coated.icc"} {
		p, err := paper.ReadProfile(cache + "profiles/" + f)
		if err != nil {
			t.Fatal(err)
		}
		sources[f] = p
	}
	for name, s := range sources {
		l, err := newLight(engine(t), s)
		if err != nil {
			t.Fatal(err)
		}
		// The tables are single precision: a tenth of a step of 16 bits where curves
		// are as good as straight, up to half of one at the foot of a pure power.
		const tolerance = 0.5
		for k := range l.channels {
			for v := range 65536 {
				if got := l.number(k, l.decode[k][v]) * 65535; math.Abs(got-float64(v)) > tolerance {
					t.Errorf("%s, channel %d: %d comes back as %.3f", name, k, v, got)
					break
				}
			}
		}
	}
}

// The measured curve is the published one.
func TestLightIsLinear(t *testing.T) {
	for _, s := range space.All() {
		l, err := newLight(engine(t), proof.SpaceProfile(s))
		if err != nil {
			t.Fatal(err)
		}
		for v := 0; v < 65536; v += 257 {
			want := s.Decode(float64(v) / 65535)
			// 2,049 nodes and the binding's single precision.
			if got := float64(l.decode[1][v]); math.Abs(got-want) > 2e-6+1e-4*want {
				t.Errorf("%s: light of %d = %.7f, want %.7f", s.ID, v, got, want)
			}
		}
	}
}

// patches is a picture of four textured fields, each 60 pixels wide: weave, noise,
// stripes and a plain colour.
func patches(seed uint64) *photo.Picture {
	random := rand.New(rand.NewPCG(seed, 1))
	base := [4][3]float64{{0.6, 0.35, 0.3}, {0.3, 0.45, 0.3}, {0.5, 0.5, 0.55}, {0.8, 0.6, 0.5}}
	return drawn(240, 60, func(x, y int) [3]float64 {
		c := base[x/60]
		d := 0.0
		switch x / 60 {
		case 0:
			d = 0.1 * float64((x+y)%2*2-1)
		case 1:
			d = 0.15 * (random.Float64()*2 - 1)
		case 2:
			d = 0.2 * math.Sin(float64(x)*1.3)
		}
		return [3]float64{c[0] + d, c[1] + d, c[2] + d}
	})
}

// The mean light of a patch stays what it was, enlarged and reduced, within ΔE00
// 0.05. The patch is read inside its edges, where its neighbours do not reach.
func TestMeanStays(t *testing.T) {
	const tolerance = 0.05
	for _, id := range []string{"srgb", "romm"} {
		s, _ := space.ByID(id)
		pic := patches(7)
		src := named(t, pic, id)
		for _, long := range []int{240 * 3, 240*2 + 73, 240, 240 / 2, 240 / 3} {
			p := prepared(t, src, scaled("pearl", long))
			px := preview(t, p)
			for k := range 4 {
				// Whole periods of the weave; 15 pixels are five reaches of the filter.
				in := image.Rect(60*k+12, 12, 60*k+48, 48)
				f := float64(px.W) / 240
				out := image.Rect(int(math.Round(float64(in.Min.X)*f)), int(math.Round(float64(in.Min.Y)*f)), int(math.Round(float64(in.Max.X)*f)), int(math.Round(float64(in.Max.Y)*f)))
				if k == 1 || k == 2 {
					continue // of noise and waves the part's edges count: see below
				}
				want, got := meanLab(pixelsOf(pic), s, in), meanLab(px, s, out)
				if d := cie.DeltaE00(want, got); d > tolerance {
					t.Errorf("%s, %d pixels, patch %d: ΔE00 %.3f", id, long, k, d)
				}
			}
		}
	}
}

// So does the mean of a whole picture of noise, whose edges repeat.
func TestMeanOfNoise(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	s := space.SRGB()
	pic := drawn(300, 300, func(x, y int) [3]float64 {
		d := 0.12 * (random.Float64()*2 - 1)
		return [3]float64{0.55 + d, 0.4 + d, 0.35 + d}
	})
	want := meanLab(pixelsOf(pic), s, pic.Bounds())
	for _, long := range []int{700, 451, 120} {
		px := preview(t, prepared(t, named(t, pic, "srgb"), scaled("pearl", long)))
		if d := cie.DeltaE00(want, meanLab(px, s, image.Rect(0, 0, px.W, px.H))); d > 0.05 {
			t.Errorf("%d pixels: ΔE00 %.3f", long, d)
		}
	}
}

// A plain colour stays the same number.
func TestPlainStays(t *testing.T) {
	pic := drawn(50, 40, func(int, int) [3]float64 { return [3]float64{0.123, 0.5, 0.987} })
	for _, long := range []int{20, 77, 300} { // down to 1.7 mm
		j := scaled("pearl", long)
		j.Sharpen.On = true
		px := preview(t, prepared(t, named(t, pic, "srgb"), j))
		for i, v := range px.P16 {
			if w := pic.Pix16[i%3]; max(v, w)-min(v, w) > 1 {
				t.Fatalf("%d pixels: number %d is %d, want %d", long, i, v, w)
			}
		}
	}
}

// Ringing beside an edge from L* 20 to L* 80, enlarged three times: how far the light
// goes beyond both sides, as a share of the edge, and what that is in L*.
func TestRinging(t *testing.T) {
	s := space.SRGB()
	numbers := func(l float64) [3]float64 { return s.FromLab(cie.Lab{L: l}) }
	pic := drawn(60, 20, func(x, y int) [3]float64 {
		if x < 30 {
			return numbers(20)
		}
		return numbers(80)
	})
	px := preview(t, prepared(t, named(t, pic, "srgb"), scaled("pearl", 180)))
	least, most := math.Inf(1), 0.0
	for x := range px.W {
		v := px.At(nil, x, 30)
		l := s.ToLab(v[0], v[1], v[2]).L
		least, most = min(least, l), max(most, l)
	}
	y := func(l float64) float64 { return cie.Lab{L: l}.ToXYZ(cie.D50).Y }
	over, under := (y(most)-y(80))/(y(80)-y(20)), (y(20)-y(least))/(y(80)-y(20))
	t.Logf("beyond the bright side %.1f %% of the edge (L* %.1f), beyond the dark side %.1f %% (L* %.1f)", over*100, most, under*100, least)
	// As package comments state it; and three quarters of the dark side's light are kept.
	if over > 0.12 || most > 83.5 || y(least) < darkKept*y(20)*0.99 {
		t.Errorf("ringing: %.3f over, darkest light %.4f of %.4f", over, y(least), y(20))
	}
	// Both sides are reached: the edge is not merely blurred.
	if most < 80 || least > 20 {
		t.Errorf("from %.2f to %.2f", least, most)
	}
}

// Detail that the smaller picture cannot hold becomes its mean, not a false pattern:
// stripes of one pixel, and rings that grow finer to the edge (a zone plate).
func TestNoFalsePattern(t *testing.T) {
	s := space.SRGB()
	stripes := drawn(400, 400, func(x, y int) [3]float64 {
		v := float64(x % 2)
		return [3]float64{v, v, v}
	})
	px := preview(t, prepared(t, named(t, stripes, "srgb"), scaled("pearl", 137)))
	half := s.Encode(0.5) * 65535
	for y := 5; y < px.H-5; y++ {
		for x := 5; x < px.W-5; x++ {
			// One step of 8 bits.
			if v := float64(px.P16[(y*px.W+x)*3]); math.Abs(v-half) > 257 {
				t.Fatalf("stripes reduced to %.0f at %d, %d, want %.0f: a false pattern", v, x, y, half)
			}
		}
	}
	const n = 512
	plate := drawn(n, n, func(x, y int) [3]float64 {
		dx, dy := float64(x)-n/2, float64(y)-n/2
		v := s.Encode(0.5 + 0.4*math.Cos(math.Pi*(dx*dx+dy*dy)/n)) // the finest at the middle of the sides
		return [3]float64{v, v, v}
	})
	px = preview(t, prepared(t, named(t, plate, "srgb"), scaled("pearl", n/4)))
	// Reduced to a quarter, a ring of radius r has dr = r/n turns a pixel; from n/4 out
	// all are finer than an eighth of a turn of the new pixels times 4: nothing is to be left.
	worst := 0.0
	for y := range px.H {
		for x := range px.W {
			r := math.Hypot(float64(x)-float64(px.W)/2, float64(y)-float64(px.H)/2) * 4
			if r < 0.36*n/2*2 || r > n/2-16 {
				continue
			}
			worst = max(worst, math.Abs(s.Decode(float64(px.P16[(y*px.W+x)*3])/65535)-0.5))
		}
	}
	t.Logf("left of rings of amplitude 0.4: %.4f", worst)
	if worst > 0.02 {
		t.Errorf("false rings of amplitude %.3f", worst)
	}
}

// Light is mixed, not numbers: a fine black and white weave becomes half the light.
func TestMixesLight(t *testing.T) {
	pic := drawn(64, 64, func(x, y int) [3]float64 { v := float64((x + y) % 2); return [3]float64{v, v, v} })
	for _, id := range []string{"srgb", "adobe1998", "romm"} {
		s, _ := space.ByID(id)
		px := preview(t, prepared(t, named(t, pic, id), scaled("pearl", 16)))
		if got, want := float64(px.P16[(8*16+8)*3])/65535, s.Encode(0.5); math.Abs(got-want) > 0.003 {
			t.Errorf("%s: %.4f, want %.4f", id, got, want)
		}
	}
}

// A print that is made in bands of any height, previewed in parts or turned, is one
// and the same.
func TestPartsJoin(t *testing.T) {
	pic := patches(11)
	src := named(t, pic, "srgb")
	for _, long := range []int{517, 100} {
		j := scaled("pearl", long)
		j.Sharpen = Sharpen{On: true, Finish: Matte}
		j.Border = 2
		p := prepared(t, src, j)
		all := rows(t, p, 16, 1<<20)
		for _, h := range []int{1, 7, 16} {
			got := rows(t, p, 16, h)
			for i := range all.P16 {
				if got.P16[i] != all.P16[i] {
					t.Fatalf("%d pixels, bands of %d: number %d is %d, want %d", long, h, i, got.P16[i], all.P16[i])
				}
			}
		}
		whole := preview(t, p)
		r := image.Rect(31, 9, 77, 24)
		part, err := p.Preview(t.Context(), r, r.Dx(), r.Dy())
		if err != nil {
			t.Fatal(err)
		}
		for y := range r.Dy() {
			for x := range r.Dx() {
				for c := range 3 {
					if a, b := part.P16[(y*part.W+x)*3+c], whole.P16[((y+r.Min.Y)*whole.W+x+r.Min.X)*3+c]; a != b {
						t.Fatalf("part differs at %d, %d: %d, want %d", x, y, a, b)
					}
				}
			}
		}
	}
}

// What a coarser screen shows of the print at its true size: as many pixels as asked
// for, of the same mean light, of resampled prints and of the picture's own pixels.
func TestPreviewCoarser(t *testing.T) {
	s := space.SRGB()
	pic := patches(5)
	for _, j := range []Job{own("pearl"), scaled("pearl", 500)} {
		p := prepared(t, named(t, pic, "srgb"), j)
		w, h := p.layout.W*10/30, p.layout.H*10/30
		px, err := p.Preview(t.Context(), image.Rect(0, 0, p.layout.W, p.layout.H), w, h)
		if err != nil || px.W != w || px.H != h {
			t.Fatalf("%d by %d pixels, %v, want %d by %d", px.W, px.H, err, w, h)
		}
		if d := cie.DeltaE00(meanLab(px, s, image.Rect(0, 0, w, h)), meanLab(pixelsOf(pic), s, pic.Bounds())); d > 0.3 {
			t.Errorf("ΔE00 of the whole %.2f", d) // cut pixels at the right and lower edge count
		}
		if _, err := p.Preview(t.Context(), image.Rect(-5, -5, 0, 0), 3, 3); err == nil {
			t.Error("a part outside is shown")
		}
	}
}

func TestTurnAndCrop(t *testing.T) {
	// A picture that tells each pixel's place.
	pic := drawn(40, 20, func(x, y int) [3]float64 { return [3]float64{float64(x) / 100, float64(y) / 100, 0} })
	src := named(t, pic, "srgb")
	for turn, want := range map[uint8][2]int{0: {10, 5}, 1: {10, 14}, 2: {29, 14}, 3: {29, 5}} {
		j := own("pearl")
		j.Turn = turn
		j.Crop = Crop{0.25, 0.25, 0.5, 0.5}
		px := preview(t, prepared(t, src, j))
		v := px.At(nil, 0, 0)
		if x, y := int(math.Round(v[0]*100)), int(math.Round(v[1]*100)); x != want[0] || y != want[1] {
			t.Errorf("turned %d: the corner shows %d, %d, want %v", turn, x, y, want)
		}
		if w, h := 20, 10; (turn%2 == 0) != (px.W == w && px.H == h) {
			t.Errorf("turned %d: %d by %d pixels", turn, px.W, px.H)
		}
	}
}

func BenchmarkBand(b *testing.B) {
	for _, sharpen := range []bool{false, true} {
		b.Run(fmt.Sprintf("sharpen=%t", sharpen), func(b *testing.B) {
			pic := drawn(2000, 400, func(x, y int) [3]float64 {
				return [3]float64{float64(x%97) / 97, float64(y%31) / 31, float64((x+y)%61) / 61}
			})
			j := scaled("pearl", 3000)
			j.Sharpen = Sharpen{On: sharpen, Finish: Pearl}
			p := prepared(b, named(b, pic, "romm"), j)
			r := p.Rows(16)
			b.ResetTimer()
			for range b.N {
				if _, err := r.Band(b.Context(), 0, 256); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.N)*3000*256/1e6/b.Elapsed().Seconds(), "MP/s")
		})
	}
}
