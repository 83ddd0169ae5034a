package gamut

import (
	"context"
	"errors"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// patches is a picture of w by h of the given colours side by side.
func patches(w, h int, colours ...[3]uint8) raster.Pixels {
	p := raster.New(w, h, 3, false)
	for y := range h {
		for x := range w {
			c := colours[x*len(colours)/w]
			copy(p.P8[(y*w+x)*3:], c[:])
		}
	}
	return p
}

func TestCloud(t *testing.T) {
	e := engine(t)
	pix := patches(30, 10, [3]uint8{200, 30, 40}, [3]uint8{120, 120, 120}, [3]uint8{20, 40, 200})
	alpha := make([]uint8, 300)
	for i := range alpha {
		if i%30 < 20 { // the blue third is not there
			alpha[i] = 1
		}
	}
	c, err := NewCloud(context.Background(), e, srgb, srgb, pix, alpha, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Points) != 2 || c.Pixels != 200 {
		t.Fatalf("%d colours of %g pixels, want 2 of 200", len(c.Points), c.Pixels)
	}
	for _, p := range c.Points {
		want := space.SRGB().ToLab(200.0/255, 30.0/255, 40.0/255)
		if p.Screen.G == 120 {
			want = space.SRGB().ToLab(120.0/255, 120.0/255, 120.0/255)
		} else if p.Screen.R != 200 || p.Screen.B != 40 {
			t.Errorf("painted %v", p.Screen)
		}
		if cie.DeltaE76(p.Lab, want) > 0.01 {
			t.Errorf("%v, want %v", p.Lab, want)
		}
	}
	if _, err := NewCloud(context.Background(), e, srgb, srgb, pix, make([]uint8, 300), nil); !errors.Is(err, ErrNoPixels) {
		t.Errorf("a picture that is not there: %v", err)
	}
	deep := raster.New(2, 1, 3, true)
	copy(deep.P16, []uint16{65535, 65535, 65535, 0, 0, 0})
	if c, err = NewCloud(context.Background(), e, srgb, srgb, deep, nil, nil); err != nil || len(c.Points) != 2 {
		t.Errorf("16 bits: %v, %v", c, err)
	}
}

func TestPaintIsExact(t *testing.T) {
	want := [3]uint8{180, 90, 60}
	lab := space.SRGB().ToLab(180.0/255, 90.0/255, 60.0/255)
	got, err := Paint(engine(t), srgb, []cie.Lab{lab, {L: 50, A: 200, B: 200}})
	if err != nil {
		t.Fatal(err)
	}
	if got[0].R != want[0] || got[0].G != want[1] || got[0].B != want[2] {
		t.Errorf("painted %v, want %v", got[0], want)
	}
	if got[1].A != 255 {
		t.Errorf("a colour no screen has is painted %v", got[1])
	}
}

// The mean of many equal pixels is that pixel: sums in 32-bit floats stand still from
// 16.8 million on.
func TestCloudOfManyPixels(t *testing.T) {
	const w, h = 6000, 4000
	pix := raster.New(w, h, 1, false)
	for i := range pix.P8 {
		pix.P8[i] = 255
	}
	numbers, weights, err := count(context.Background(), pix, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(weights) != 1 || weights[0] != w*h || numbers[0] != 1 {
		t.Errorf("white is counted as %v of %v pixels", numbers, weights)
	}
}
