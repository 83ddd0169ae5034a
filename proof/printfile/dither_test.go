package printfile

import (
	"math"
	"slices"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/setup"
)

// The tile holds every threshold once, and neighbours differ: blue noise has little of
// the coarse unevenness that random thresholds have.
func TestNoiseTile(t *testing.T) {
	n := newNoise()
	sorted := slices.Clone(n[:])
	slices.Sort(sorted)
	for i, v := range sorted {
		if want := (float32(i) + 0.5) / float32(len(sorted)); v != want {
			t.Fatalf("threshold %d is %g, want %g", i, v, want)
		}
	}
	// Means of 8 x 8 thresholds: of random ones they spread by 0.289 / 8 = 0.036.
	var squares float64
	for y := 0; y < noiseSide; y += 8 {
		for x := 0; x < noiseSide; x += 8 {
			sum := 0.0
			for k := range 64 {
				sum += float64(n.at(x+k%8, y+k/8, 0))
			}
			squares += (sum/64 - 0.5) * (sum/64 - 0.5)
		}
	}
	if spread := math.Sqrt(squares / 64); spread > 0.012 {
		t.Errorf("means of 8 x 8 spread by %.4f, want a third of random noise's 0.036 at most", spread)
	}
}

// A smooth sky in 8 bits: dithered, the mean of every small part follows the exact
// ramp; rounded, it steps. White stays white.
func TestDitherFollowsRamp(t *testing.T) {
	// 12 steps of 8 bits over 600 pixels.
	pic := drawn(640, 64, func(x, _ int) [3]float64 {
		v := 0.70 + 12.0/255*float64(x)/640
		if x >= 600 {
			v = 1
		}
		return [3]float64{v, v, v}
	})
	src := named(t, pic, "srgb")
	worst := map[bool]float64{}
	for _, plain := range []bool{false, true} {
		j := own("pearl")
		j.Converts, j.Depth, j.Plain = Later, 8, plain
		px := rows(t, prepared(t, src, j), 8, 50)
		for x0 := 0; x0+16 <= 600; x0 += 8 {
			var got, want float64
			for y := range 64 {
				for x := x0; x < x0+16; x++ {
					i := (y*px.W + x) * 3
					got += float64(px.P8[i])
					want += float64(pic.Pix16[i]) / 257
				}
			}
			worst[plain] = max(worst[plain], math.Abs(got-want)/(64*16))
		}
		for y := range 64 {
			if v := px.P8[(y*px.W+620)*3]; v != 255 {
				t.Fatalf("plain %t: white is %d", plain, v)
			}
		}
	}
	t.Logf("means of 16 x 64 pixels are off by %.3f steps dithered, %.3f rounded", worst[false], worst[true])
	if worst[false] > 0.05 || worst[true] < 0.3 {
		t.Errorf("off by %.3f dithered and %.3f rounded", worst[false], worst[true])
	}
}

// The file's numbers are the exact chain's, rounded: half a step of 8 and of 16 bits,
// on RGB, CMYK and grey papers; bare paper in the border.
func TestNumbersAreTheChains(t *testing.T) {
	pic := drawn(61, 37, func(x, y int) [3]float64 {
		return [3]float64{float64(x) / 60, float64(y) / 36, float64((x*y)%37) / 36}
	})
	src := named(t, pic, "romm")
	for _, ref := range []string{"pearl", "cotton", cache + "profiles/FOGRA39L_coated.icc"} {
		for _, intent := range proof.Intents() {
			j := own(ref)
			j.Setup.Intent = intent
			j.Border, j.Plain = 1, true
			p := prepared(t, src, j)
			c, err := engine(t).Chain(p.Plan())
			if err != nil {
				t.Fatal(err)
			}
			n, in := p.Plan().Paper.Channels(), p.layout.Inset
			for _, depth := range []int{8, 16} {
				px := rows(t, p, depth, 16)
				step := 1 / float64(int(1)<<depth-1)
				for y := range pic.H {
					want, err := c.Device(pic.AppendRow(nil, y))
					if err != nil {
						t.Fatal(err)
					}
					for x := range pic.W {
						got := px.At(nil, x+in.X, y+in.Y)
						for k, v := range got {
							if d := math.Abs(v - want[x*n+k]); d > step/2*1.0001 {
								t.Fatalf("%s, %v, %d bits: off by %.3f steps at %d, %d", ref, intent, depth, d/step, x, y)
							}
						}
					}
				}
				white := 1.0
				if n == 4 {
					white = 0
				}
				for k, v := range px.At(nil, 0, 0) {
					if v != white {
						t.Errorf("%s: border channel %d is %g", ref, k, v)
					}
				}
			}
			c.Close()
		}
	}
}

// A picture that is only tagged keeps its numbers, whatever its bits.
func TestLaterKeepsNumbers(t *testing.T) {
	deep := drawn(50, 30, func(x, y int) [3]float64 { return [3]float64{float64(x) / 49, float64(y) / 29, 0.3} })
	shallow := &photo.Picture{W: 16, H: 16, Channels: 3, Depth: 8, Pix8: make([]uint8, 768)}
	for i := range shallow.Pix8 {
		shallow.Pix8[i] = uint8(i)
	}
	for _, pic := range []*photo.Picture{deep, shallow} {
		j := own("pearl")
		j.Converts = Later
		p := prepared(t, named(t, pic, "romm"), j)
		px := rows(t, p, pic.Depth, 11)
		if !slices.Equal(px.P16, pic.Pix16) || !slices.Equal(px.P8, pic.Pix8) {
			t.Errorf("%d bits: numbers have changed", pic.Depth)
		}
		if name := p.Embedded().Name(); name != "ROMM RGB" {
			t.Errorf("tagged %s", name)
		}
	}
}

func profileData(t *testing.T, name string) []byte {
	t.Helper()
	return fileData(t, cache+"profiles/"+name)
}

// embedded makes a source of a picture with a profile.
func embedded(t *testing.T, p *photo.Picture) setup.Source {
	t.Helper()
	s, err := setup.SourceOf(p, nil)
	if err != nil || s.Origin != setup.Embedded {
		t.Fatalf("%v, %v", s.Origin, err)
	}
	return s
}
