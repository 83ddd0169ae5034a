package printfile

import (
	"math"
	"path/filepath"
	"testing"

	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

var photographs = []string{"cat_srgb.png", "shore_srgb.png", "scene_srgb.png", "portrait.png", "coffee.png", "tabby.png", "rocket.jpg"}

func opened(t *testing.T, name string) setup.Source {
	t.Helper()
	pic, err := photo.Open(t.Context(), name)
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	src, err := setup.SourceOf(pic, nil)
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// A print file is known by its profile; a photograph is not taken for one.
func TestConverted(t *testing.T) {
	e := engine(t)
	for _, name := range photographs {
		if v, err := Converted(e, opened(t, cache+"photos/"+name), paper.All()); err != nil || v.Converted {
			t.Errorf("%s, never converted: %+v, %v", name, v, err)
		}
	}
	print := prepared(t, opened(t, cache+"photos/cat_srgb.png"), own("cotton"))
	path := filepath.Join(t.TempDir(), "print.tif")
	if err := print.Write(t.Context(), path, nil, nil); err != nil {
		t.Fatal(err)
	}
	again := opened(t, path)
	if v, err := Converted(engine(t), again, nil); err != nil || !v.Converted || !v.Certain || v.Paper != again.Profile.Name() || v.Why == "" {
		t.Errorf("a print file: %+v, %v", v, err)
	}
	// Converting it once more is warned of.
	if p := prepared(t, again, own("pearl")); !has(p.Warnings(), AlreadyConverted) || !p.Warnings()[0].Grave() {
		t.Errorf("warnings %v", p.Warnings())
	}
}

// curves is what a conversion may do to equal numbers: each channel its own curve.
func curves(v [3]float64) [3]float64 {
	for k, g := range []float64{0.85, 1, 1.12} {
		v[k] = 255 * math.Pow(v[k]/255, g)
	}
	return v
}

// Black and white photographs whose greys have moved to a known line are told from
// those as they were, and from coloured and toned ones.
func TestGreysMoved(t *testing.T) {
	var line [][3]float64
	for i := range 256 {
		v := float64(i)
		line = append(line, curves([3]float64{v, v, v}))
	}
	told := 0
	for _, name := range photographs {
		px := opened(t, cache+"photos/"+name).Pixels()
		each := func(f func([3]float64) [3]float64) raster.Pixels {
			out := raster.New(px.W, px.H, 3, false)
			for i := 0; i < len(px.P8); i += 3 {
				for k, v := range f([3]float64{float64(px.P8[i]), float64(px.P8[i+1]), float64(px.P8[i+2])}) {
					out.P8[i+k] = uint8(math.Round(v))
				}
			}
			return out
		}
		grey := func(v [3]float64) [3]float64 { return [3]float64{v[1], v[1], v[1]} }
		for what, c := range map[string]struct {
			px   raster.Pixels
			told bool
		}{
			"as it is":             {px, false},
			"black and white":      {each(grey), false},
			"toned":                {each(func(v [3]float64) [3]float64 { v = grey(v); v[2] *= 0.85; return v }), false},
			"grey, then converted": {each(func(v [3]float64) [3]float64 { return curves(grey(v)) }), true},
		} {
			switch share := gather(c.px).moved(line); {
			case share > 0 && !c.told:
				t.Errorf("%s, %s: %.3f", name, what, share)
			case share > 0:
				told++
			}
		}
	}
	// Two are mostly black or white, where lines meet.
	if told < len(photographs)-2 {
		t.Errorf("only %d were told", told)
	}
}
