package printfile

import (
	"math"
	"path/filepath"
	"slices"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
)

// What a file of 8 bits can promise. One pixel can be off by no less than half a step,
// and in the deepest shadows of these papers half a step is worth ΔE00 0.6, so the colour
// that is promised is that of a small part, as the eye sees it: 8 by 8 pixels are 0.7 mm
// at 300 ppi, about 5 minutes of arc from 50 cm.
const partSide = 8

// accuracy is how far a file is from the exact chain.
type accuracy struct {
	steps       float64 // the largest error of a number, in steps of 8 bits
	worst, p99  float64 // ΔE00 of single pixels
	worstOfPart float64 // ΔE00 of the mean light of 8 by 8 pixels
}

func accuracyOf(t *testing.T, p *Print, file raster.Pixels) accuracy {
	t.Helper()
	exact := preview(t, p)
	e := engine(t)
	chain, err := e.Chain(p.Plan())
	if err != nil {
		t.Fatal(err)
	}
	defer chain.Close()
	stock := p.Plan().Paper
	back, err := e.Chain(proof.Plan{Source: stock, Paper: stock, Screen: p.Plan().Screen})
	if err != nil {
		t.Fatal(err)
	}
	defer back.Close()
	var a accuracy
	w, h := file.W, file.H
	want, got := make([]cie.Lab, w*h), make([]cie.Lab, w*h)
	var single []float64
	for y := range h {
		numbers := file.At(nil, 0, y)[:0]
		row := exact.At(nil, 0, y)[:0]
		for x := range w {
			numbers, row = file.At(numbers, x, y), exact.At(row, x, y)
		}
		device, err := chain.Device(row)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range device {
			a.steps = max(a.steps, 255*math.Abs(v-numbers[i]))
		}
		for x := range w {
			at := y*w + x
			want[at] = chain.Value(row[3*x : 3*x+3]).Relative
			got[at] = back.Value(numbers[3*x : 3*x+3]).Original
			single = append(single, cie.DeltaE00(want[at], got[at]))
		}
	}
	mean := func(l []cie.Lab, x0, y0 int) cie.Lab {
		var sum cie.XYZ
		for y := y0; y < y0+partSide; y++ {
			for x := x0; x < x0+partSide; x++ {
				c := l[y*w+x].ToXYZ(cie.D50)
				sum.X, sum.Y, sum.Z = sum.X+c.X, sum.Y+c.Y, sum.Z+c.Z
			}
		}
		return sum.Scale(1.0 / (partSide * partSide)).ToLab(cie.D50)
	}
	for y := 0; y+partSide <= h; y += partSide {
		for x := 0; x+partSide <= w; x += partSide {
			a.worstOfPart = max(a.worstOfPart, cie.DeltaE00(mean(want, x, y), mean(got, x, y)))
		}
	}
	slices.Sort(single)
	a.worst, a.p99 = single[len(single)-1], single[len(single)*99/100]
	return a
}

// photograph is a part of a real photograph, its numbers taken for a wide space so that
// they reach the papers' borders and deepest shadows.
func photograph(t *testing.T, stock string) Job {
	j := own(stock)
	j.Depth = 8
	j.Crop = Crop{0.4, 0.4, 192.0 / 2268, 192.0 / 1512}
	return j
}

func TestEightBits(t *testing.T) {
	flower, err := photo.Open(t.Context(), cache+"photos/flower.png")
	if err != nil {
		t.Fatal(err)
	}
	flower.ICC = nil
	for _, stock := range []string{"pearl", "cotton"} {
		for _, plain := range []bool{false, true} {
			j := photograph(t, stock)
			j.Plain = plain
			p := prepared(t, named(t, flower, "romm"), j)
			a := accuracyOf(t, p, rows(t, p, 8, 64))
			t.Logf("%s, plain %t: %.3f steps; ΔE00 of a pixel %.2f, 99 of 100 within %.2f, of %d by %d pixels %.3f", stock, plain, a.steps, a.worst, a.p99, partSide, partSide, a.worstOfPart)
			steps, worst := 1.0, 1.2 // dithered: the step below or the one above
			if plain {
				steps, worst = 0.5, 0.7
			}
			if a.steps > steps+1e-3 || a.worst > worst || a.worstOfPart > 0.2 {
				t.Errorf("%s, plain %t: %+v; at most %g steps, ΔE00 %g of a pixel, 0.2 of a part", stock, plain, a, steps, worst)
			}
		}
	}
}

// A JPEG's promise at its usual quality. What is left at 100 comes of luma and colour
// differences being rounded on their own, and cut off where a number is at its end.
func TestJPEGQuality(t *testing.T) {
	flower, err := photo.Open(t.Context(), cache+"photos/flower.png")
	if err != nil {
		t.Fatal(err)
	}
	flower.ICC = nil
	at := map[int]accuracy{}
	for _, quality := range []int{90, 0, 100} {
		j := photograph(t, "pearl")
		j.Quality = quality
		p := prepared(t, named(t, flower, "romm"), j)
		path := filepath.Join(t.TempDir(), "a.jpg")
		if err := p.Write(t.Context(), path, nil, nil); err != nil {
			t.Fatal(err)
		}
		f, err := photo.Open(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		at[quality] = accuracyOf(t, p, pixelsOf(f))
		t.Logf("quality %d: ΔE00 of a pixel %.2f, 99 of 100 within %.2f, of %d by %d pixels %.3f", quality, at[quality].worst, at[quality].p99, partSide, partSide, at[quality].worstOfPart)
	}
	if a := at[0]; a.worst > 4.5 || a.p99 > 1.5 || a.worstOfPart > 0.5 {
		t.Errorf("at the usual quality %+v; at most ΔE00 4.5 of a pixel, 1.5 of 99 in 100, 0.5 of a part", a)
	}
	// Dithered or rounded before the encoder it would be 0.9 and more.
	if a := at[100]; a.p99 > 0.85 {
		t.Errorf("at quality 100 99 of 100 pixels are within %.2f, at most 0.85", a.p99)
	}
	if at[100].p99 >= at[0].p99 || at[0].p99 >= at[90].p99 {
		t.Errorf("a higher quality is no better: %+v", at)
	}
}
