package differ

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

const w, h = 200, 100

// field is a picture that differs by d within squares of side 24 (about 3 %) whose top
// left corners are given, and else by up to 1 at random.
func field(d float32, corners ...[2]int) []float32 {
	r := rand.New(rand.NewPCG(1, 2))
	v := make([]float32, w*h)
	for i := range v {
		v[i] = r.Float32()
	}
	for _, c := range corners {
		for y := range 24 {
			for x := range 24 {
				v[(c[1]+y)*w+c[0]+x] = d
			}
		}
		d /= 2
	}
	return v
}

// The pieces are found in the order of their differences, and one noisy pixel is none.
func TestPlaces(t *testing.T) {
	v := field(8, [2]int{120, 40}, [2]int{20, 10})
	v[5*w+190] = 500
	got, err := Places(context.Background(), v, nil, w, h, 2, 1)
	if err != nil || len(got) != 2 {
		t.Fatalf("%v, %v", got, err)
	}
	for i, want := range []Place{{X: 132.0 / w, Y: 52.0 / h, DeltaE00: 8}, {X: 32.0 / w, Y: 22.0 / h, DeltaE00: 4}} {
		g := got[i]
		if math.Abs(g.X-want.X)*w > 3 || math.Abs(g.Y-want.Y)*h > 3 || math.Abs(g.DeltaE00-want.DeltaE00) > 0.15*want.DeltaE00 {
			t.Errorf("place %d is %+v, want %+v", i, g, want)
		}
		if share := g.Side * w * g.Side * w / (w * h); math.Abs(share-Share) > 0.004 {
			t.Errorf("place %d covers %.4f of the picture, want %.4f", i, share, Share)
		}
	}
}

func TestPlacesKeepApart(t *testing.T) {
	got, err := Places(context.Background(), field(8, [2]int{120, 40}), nil, w, h, 6, 0)
	if err != nil || len(got) != 6 {
		t.Fatalf("%d places, %v", len(got), err)
	}
	for i, a := range got {
		for _, b := range got[:i] {
			if math.Abs(a.X-b.X)*w < 24 && math.Abs(a.Y-b.Y)*h < 24 {
				t.Errorf("%+v and %+v lie over each other", a, b)
			}
			if a.DeltaE00 > b.DeltaE00 {
				t.Errorf("%+v comes after %+v", a, b)
			}
		}
	}
}

// What can't be seen differs nowhere, and alike pictures have no place at all.
func TestNoPlaces(t *testing.T) {
	v := field(8, [2]int{120, 40})
	alpha := make([]uint8, w*h)
	for i := range alpha {
		if i%w < 110 {
			alpha[i] = 255
		}
	}
	got, err := Places(context.Background(), v, alpha, w, h, 1, 0)
	if err != nil || len(got) != 1 || got[0].X*w > 115 {
		t.Errorf("with the piece see-through: %+v, %v", got, err)
	}
	if got, err := Places(context.Background(), field(0), nil, w, h, 3, 1); err != nil || len(got) != 0 {
		t.Errorf("alike pictures differ at %+v, %v", got, err)
	}
	if _, err := Places(context.Background(), v[1:], nil, w, h, 1, 0); err == nil {
		t.Error("too few differences are taken")
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Places(ctx, v, nil, w, h, 1, 0); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	if got, err := Places(context.Background(), []float32{3}, nil, 1, 1, 2, 1); err != nil || len(got) != 1 || got[0].X != 0.5 {
		t.Errorf("of one pixel: %+v, %v", got, err)
	}
}
