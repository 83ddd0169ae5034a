package printfile

import (
	"math"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/space"
)

// edges is a picture of coloured edges, soft as those of a photograph.
func edges() *photo.Picture {
	s := space.SRGB()
	return drawn(120, 40, func(x, _ int) [3]float64 {
		f := 1 / (1 + math.Exp(-float64(x-60)))
		return s.FromLab(cie.Lab{L: 35 + 30*f, A: 20 - 10*f, B: 15})
	})
}

// Sharpening changes lightness alone, makes edges steeper, and leaves level parts.
func TestSharpenLightnessAlone(t *testing.T) {
	s := space.SRGB()
	src := named(t, edges(), "srgb")
	plain := preview(t, prepared(t, src, own("pearl")))
	before := 0.0
	for x := 1; x < plain.W; x++ {
		a, b := plain.At(nil, x-1, 20), plain.At(nil, x, 20)
		before = max(before, s.ToLab(b[0], b[1], b[2]).L-s.ToLab(a[0], a[1], a[2]).L)
	}
	for _, f := range []Finish{Gloss, Pearl, Matte} {
		j := own("pearl")
		j.Sharpen = Sharpen{On: true, Finish: f}
		px := preview(t, prepared(t, src, j))
		steepest, worst := 0.0, 0.0
		for x := 1; x < px.W; x++ {
			a, b := px.At(nil, x-1, 20), px.At(nil, x, 20)
			o := plain.At(nil, x, 20)
			la, lb, lo := s.ToLab(a[0], a[1], a[2]), s.ToLab(b[0], b[1], b[2]), s.ToLab(o[0], o[1], o[2])
			steepest = max(steepest, lb.L-la.L)
			worst = max(worst, math.Abs(lb.A-lo.A), math.Abs(lb.B-lo.B))
			if (x < 30 || x > 90) && math.Abs(lb.L-lo.L) > 0.02 {
				t.Errorf("%v: level part at %d changes by L* %.3f", f, x, lb.L-lo.L)
			}
			if math.Abs(lb.L-lo.L) > mostL {
				t.Errorf("%v: L* changes by %.1f at %d", f, lb.L-lo.L, x)
			}
		}
		// 16 bits of numbers are 0.003 in a* and b* here.
		if worst > 0.02 {
			t.Errorf("%v: a* or b* change by %.3f", f, worst)
		}
		// Rougher paper gets more, and any more than none.
		if steepest <= before+0.2 {
			t.Errorf("%v: the edge rises by L* %.2f a pixel, before %.2f", f, steepest, before)
		}
		before = steepest
	}
}

// A grey picture with its own profile is sharpened, too; inks are not, and it is said.
func TestSharpenGreyAndInks(t *testing.T) {
	grey := &photo.Picture{W: 60, H: 20, Channels: 1, Depth: 8, Pix8: make([]uint8, 1200), ICC: profileData(t, "default_gray.icc")}
	inks := &photo.Picture{W: 60, H: 20, Channels: 4, Depth: 8, Pix8: make([]uint8, 4800), ICC: profileData(t, "FOGRA39L_coated.icc")}
	for i := range 1200 {
		grey.Pix8[i] = uint8(90 + 70/(1+math.Exp(-float64(i%60-30))))
		inks.Pix8[4*i] = 255 - grey.Pix8[i]
	}
	for _, c := range []struct {
		pic     *photo.Picture
		changes bool
	}{{grey, true}, {inks, false}} {
		src := embedded(t, c.pic)
		j := own("pearl")
		j.Sharpen = Sharpen{On: true, Finish: Pearl}
		p := prepared(t, src, j)
		px := preview(t, p)
		changed := false
		for i, v := range px.P16 {
			w := int(c.pic.Pix8[i]) * 257
			changed = changed || max(int(v)-w, w-int(v)) > 1
		}
		said := has(p.Warnings(), NotSharpened)
		if changed != c.changes || said == c.changes {
			t.Errorf("%d channels: changed %t, said not to be %t", c.pic.Channels, changed, said)
		}
	}
}

func has(list []Warning, k Kind) bool {
	for _, w := range list {
		if w.Kind == k {
			return true
		}
	}
	return false
}
