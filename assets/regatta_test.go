package assets

import (
	"bytes"
	"context"
	"math"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/space"
)

// reach is what a pin's mean colour is to lie in: CIELAB under D50 as lightness,
// chroma and hue angle. hue is ignored where the chroma may be small.
type reach struct{ l, c, h [2]float64 }

// The scene was lit and painted for these colours: a red that sRGB cannot hold, a fresh green, three painted skins, black with detail, white short of paper white.
var regattaReach = map[string]reach{
	"shirt":       {l: [2]float64{40, 47}, c: [2]float64{76, 88}, h: [2]float64{30, 37}},
	"leaf":        {l: [2]float64{40, 58}, c: [2]float64{42, 62}, h: [2]float64{120, 136}},
	"cheek light": {l: [2]float64{66, 76}, c: [2]float64{18, 28}, h: [2]float64{48, 62}},
	"cheek brown": {l: [2]float64{46, 55}, c: [2]float64{20, 30}, h: [2]float64{48, 62}},
	"cheek dark":  {l: [2]float64{30, 38}, c: [2]float64{14, 23}, h: [2]float64{44, 60}},
	"tar":         {l: [2]float64{3, 14}, c: [2]float64{0, 6}},
	"sky":         {l: [2]float64{80, 92}, c: [2]float64{1, 16}},
	"sail":        {l: [2]float64{92, 98}, c: [2]float64{0, 8}},
}

func openRegatta(t *testing.T, name string, data []byte) *photo.Picture {
	t.Helper()
	p, err := photo.OpenReader(context.Background(), name, bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// linear returns the light of channel c at pixel i, 0 to 1.
func linear(p *photo.Picture, s space.Space, i, c int) float64 {
	if p.Depth == 16 {
		return s.Decode(float64(p.Pix16[3*i+c]) / 65535)
	}
	return s.Decode(float64(p.Pix8[3*i+c]) / 255)
}

func pinColour(p *photo.Picture, s space.Space, pin RegattaPin) cie.Lab {
	w := float64(p.W)
	cx, cy, r := pin.X*w, pin.Y*float64(p.H), pin.Radius*w
	var sum [3]float64
	n := 0.0
	for y := int(cy - r); y <= int(cy+r); y++ {
		for x := int(cx - r); x <= int(cx+r); x++ {
			if math.Hypot(float64(x)+0.5-cx, float64(y)+0.5-cy) > r {
				continue
			}
			for c := range sum {
				sum[c] += linear(p, s, y*p.W+x, c)
			}
			n++
		}
	}
	return s.ToLab(s.Encode(sum[0]/n), s.Encode(sum[1]/n), s.Encode(sum[2]/n))
}

func TestRegattaPicture(t *testing.T) {
	romm, ok := space.ByID("romm")
	if !ok {
		t.Fatal("no ROMM RGB")
	}
	small := openRegatta(t, "regatta.jpg", RegattaJPEG())
	deep := openRegatta(t, "regatta16.png", RegattaDeep())
	if small.W*small.H < 6e6 || small.Depth != 8 || deep.W < 1200 || deep.Depth != 16 {
		t.Errorf("sizes %dx%d at %d bits and %dx%d at %d", small.W, small.H, small.Depth, deep.W, deep.H, deep.Depth)
	}
	if n := len(RegattaJPEG()) + len(RegattaDeep()); n > 4e6 {
		t.Errorf("both files take %d bytes, more than 4 MB", n)
	}
	pins, err := RegattaPins()
	if err != nil {
		t.Fatal(err)
	}
	if pins[0].Name != "shirt" {
		t.Errorf("the first pin is %q, not the shirt", pins[0].Name)
	}
	seen := map[string]bool{}
	for _, pin := range pins {
		seen[pin.Name] = true
		if pin.X-pin.Radius < 0 || pin.X+pin.Radius > 1 || pin.Y < 0.02 || pin.Y > 0.98 {
			t.Fatalf("%s lies over the edge: %+v", pin.Name, pin)
		}
	}
	for _, p := range []*photo.Picture{small, deep} {
		if !bytes.Equal(p.ICC, romm.ICC()) {
			t.Errorf("%s: the embedded profile of %d bytes is not ROMM RGB", p.Path, len(p.ICC))
		}
		for _, pin := range pins {
			want, ok := regattaReach[pin.Name]
			if !ok {
				continue
			}
			got := pinColour(p, romm, pin).LCh()
			if got.L < want.l[0] || got.L > want.l[1] || got.C < want.c[0] || got.C > want.c[1] ||
				want.h != [2]float64{} && (got.H < want.h[0] || got.H > want.h[1]) {
				t.Errorf("%s: %s is %+.1f, want within %v", p.Path, pin.Name, got, want)
			}
		}
	}
	for name := range regattaReach {
		if !seen[name] {
			t.Errorf("no pin named %s", name)
		}
	}
	// the point of a wide master: the shirt lies outside sRGB
	v := space.SRGB().FromLab(pinColour(small, romm, pins[0]))
	if min(v[0], v[1], v[2]) >= 0 {
		t.Errorf("sRGB holds the shirt: %.3f", v)
	}
}

// The two files show the same picture: the pins agree, and so does the mean of the light.
func TestRegattaFilesAgree(t *testing.T) {
	romm, _ := space.ByID("romm")
	small := openRegatta(t, "regatta.jpg", RegattaJPEG())
	deep := openRegatta(t, "regatta16.png", RegattaDeep())
	pins, err := RegattaPins()
	if err != nil {
		t.Fatal(err)
	}
	for _, pin := range pins {
		if d := cie.DeltaE00(pinColour(small, romm, pin), pinColour(deep, romm, pin)); d > 1 {
			t.Errorf("%s differs by ΔE00 %.2f between the files", pin.Name, d)
		}
	}
}
